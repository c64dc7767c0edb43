"""Prey in stock by batch: what was counted and added, less what was fed since."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from boxside.actions.context import today, zone_of
from boxside.actions.log_event import log_all
from boxside.actions.meals import kind_name, said_of
from boxside.actions.services import Services
from boxside.core.planning import BatchMeal, batch_use
from boxside.core.values.ahead import BatchView, NewStock, Part, StockRow, Sum
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft, Json
from boxside.core.values.moments import day_of
from boxside.store import outlook, reading
from boxside.store.outlook import Logged

_EVER = -(1 << 53)


def log_stock(services: Services, new: NewStock) -> str:
    """Log how many of a batch there are, or how many came; return the event's id.

    Raises
    ------
    EntryError : without a kind, or without any number; nothing was saved
    """
    if not new.prey.strip() or (new.n is None and new.added is None):
        raise EntryError("A stock needs a kind of prey, and how many there are or came. Nothing was saved.")
    fields: dict[str, Json] = {
        "prey": new.prey.strip(),
        "batch": new.batch.strip() or None,
        "n": new.n,
        "added": new.added,
        "size_mm": new.size_mm,
        "origin": new.origin.strip() or None,
        "quarantine_until": new.quarantine_until.isoformat() if new.quarantine_until else None,
    }
    # The kind itself names the subject, so that the logs of two phones speak of the same stock.
    (event,) = log_all(services, [Draft("prey_stock", "prey", kind_name(new.prey), fields)])
    return event.id


def log_culture(services: Services, prey: str, breeders: int | None = None, young: int | None = None) -> str:
    """Log how many of a kind are set aside for breeding, and their young; return the event's id."""
    fields: dict[str, Json] = {"prey": prey.strip(), "breeders": breeders, "young": young}
    (event,) = log_all(services, [Draft("prey_culture", "prey", kind_name(prey), fields)])
    return event.id


def stock_rows(services: Services) -> tuple[StockRow, ...]:
    """Return every batch that was ever counted and may hold something still, kinds in order."""
    batches = _batches(services)
    if not batches:
        return ()
    since = min(min(item.at_ms for item in items) for items in batches.values())
    fed = outlook.at_boxes_since(services.store, "fed", since)
    rows = [_row(services, kind, batch, items, fed, batches) for (kind, batch), items in batches.items()]
    return tuple(sorted(rows, key=lambda row: (row.prey, row.counted_on, row.batch)))


def breeders(services: Services) -> dict[str, int]:
    """Return how many of each kind were last said to be set aside for breeding."""
    newest = outlook.newest_of(services.store, "prey", ("prey_culture",))
    kept = {kind_name(said_of(item.fields, "prey") or item.subject): item.fields.get("breeders") for item in newest}
    return {kind: n for kind, n in kept.items() if isinstance(n, int)}


def _batches(services: Services) -> dict[tuple[str, str], list[Logged]]:
    """Return the stock's entries by kind and batch, from the last count of each on."""
    batches: dict[tuple[str, str], list[Logged]] = {}
    for subject in outlook.subjects_of(services.store, "prey", "prey_stock"):
        for item in outlook.standing(services.store, "prey", subject, "prey_stock"):
            key = (kind_name(said_of(item.fields, "prey") or subject), said_of(item.fields, "batch"))
            held = batches.setdefault(key, [])
            if isinstance(item.fields.get("n"), int):
                held.clear()
            held.append(item)
    return batches


def _row(
    services: Services,
    kind: str,
    batch: str,
    items: Sequence[Logged],
    fed: Sequence[Logged],
    batches: dict[tuple[str, str], list[Logged]],
) -> StockRow:
    first, zone = items[0], zone_of(services)
    counted = sum(_whole(item, "n") + _whole(item, "added") for item in items)
    eaten = [m for m in fed if m.at_ms >= first.at_ms and _is_from(m, kind, batch, batches)]
    amounts = [m.fields.get("amount") for m in eaten]
    said = sum(float(amount) for amount in amounts if isinstance(amount, (int, float)))
    until = _last(items, "quarantine_until")
    quarantine = date.fromisoformat(until) if isinstance(until, str) else None
    size = _last(items, "size_mm")
    return StockRow(
        prey=kind,
        batch=batch,
        size_mm=float(size) if isinstance(size, (int, float)) else None,
        counted=float(counted),
        counted_on=day_of(first.at_ms, zone),
        left=max(counted - said, 0.0),
        unsaid=sum(not isinstance(amount, (int, float)) for amount in amounts),
        origin=str(_last(items, "origin") or ""),
        quarantine_until=quarantine,
        in_quarantine=quarantine is not None and quarantine > today(services),
    )


def _is_from(meal: Logged, kind: str, batch: str, batches: dict[tuple[str, str], list[Logged]]) -> bool:
    """Return whether a meal came from a batch: it said so, or said none and this is the only one of its kind."""
    told = said_of(meal.fields, "batch")
    if told:
        return told == batch
    mine = [key for key in batches if key[0] == kind]
    return kind_name(said_of(meal.fields, "prey")) == kind and mine == [(kind, batch)]


def _whole(item: Logged, name: str) -> int:
    value = item.fields.get(name)
    return value if isinstance(value, int) else 0


def _last(items: Sequence[Logged], name: str) -> Json:
    return next((item.fields[name] for item in reversed(items) if item.fields.get(name) is not None), None)


def batch_view(services: Services, batch: str) -> BatchView:
    """Return which boxes ate a batch, when, how much, and which refused it afterwards.

    Raises
    ------
    EntryError : where no meal and no stock names it
    """
    stocked = [items for (_, name), items in _batches(services).items() if name == batch]
    fed = outlook.at_boxes_since(services.store, "fed", _EVER)
    if not stocked and not any(said_of(item.fields, "batch") == batch for item in fed):
        raise EntryError(f"No meal and no stock is of a batch {batch!r}. Nothing was changed.")
    labels = {box.id: box.shown for box in reading.entities(services.store, "box")}
    zone = zone_of(services)
    refused = _refused(services, fed)
    meals = [
        BatchMeal(
            labels.get(item.subject, item.subject[:8]),
            day_of(item.at_ms, zone),
            said_of(item.fields, "batch"),
            _amount(item),
            item.event in refused,
        )
        for item in fed
    ]
    use = batch_use(meals, batch)
    return BatchView(
        batch=batch,
        meals=tuple((meal.on, meal.box, _amount_text(meal)) for meal in use.meals),
        boxes=use.boxes,
        refusing=use.refusing,
        fed=Sum(use.fed.value, use.fed.unit, tuple(Part(term.label, term.value) for term in use.fed.terms)),
        n_unsaid=use.n_unsaid,
        suspect=use.suspect,
    )


def _refused(services: Services, fed: Sequence[Logged]) -> frozenset[str]:
    """Return the meals that a box refused: the last one before it was said."""
    seen = outlook.at_boxes_since(services.store, "appetite", _EVER)
    by_box: dict[str, list[Logged]] = {}
    for item in fed:
        by_box.setdefault(item.subject, []).append(item)
    found = set()
    for sign in seen:
        if sign.fields.get("appetite") == "refused":
            before = [item.event for item in by_box.get(sign.subject, ()) if item.at_ms <= sign.at_ms]
            found.update(before[-1:])
    return frozenset(found)


def _amount(item: Logged) -> float | None:
    value = item.fields.get("amount")
    return float(value) if isinstance(value, (int, float)) else None


def _amount_text(meal: BatchMeal) -> str:
    if meal.refused:
        return "refused"
    return "amount not said" if meal.n is None else f"{meal.n:g}"
