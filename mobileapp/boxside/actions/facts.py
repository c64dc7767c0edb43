"""What the log says about boxes, as the values that the care rules take."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from zoneinfo import ZoneInfo

from boxside.actions.context import setting, zone_of
from boxside.actions.services import Services
from boxside.core.values.facts import BoxFacts, CohortFacts, Rest, Seen
from boxside.core.values.moments import day_of
from boxside.store import reading
from boxside.store.reading import Entity, Newest


def box_facts(services: Services, boxes: Sequence[str]) -> dict[str, BoxFacts]:
    """Return the facts of the given boxes; a handful of statements however many boxes there are."""
    zone = zone_of(services)
    store = services.store
    newest = {box: _with_meals(services, box, found) for box, found in reading.newest(store, "box", boxes).items()}
    lines = reading.lines(store, boxes)
    held = {line.cohort for found in lines.values() for line, _ in found if line.cohort}
    cohorts = cohort_facts(services, sorted(held), zone)
    areas = {area.id: area for area in reading.entities(store, "area")}
    climate = reading.newest(store, "area", list(areas))
    # Only boxes that are worked out anew need the statistics, and numpy with them.
    from boxside.actions.loss_note import loss_notes

    losses = loss_notes(services, newest)
    facts: dict[str, BoxFacts] = {}
    for box in boxes:
        entity = reading.entity(store, "box", box)
        if entity is None:
            continue
        area = areas.get(str(entity.data.get("area", "")))
        there = climate.get(area.id, []) if area else []
        facts[box] = BoxFacts(
            box=box,
            label=entity.shown,
            made_on=_made_on(newest[box], zone),
            shares_code=entity.shown != entity.label,
            lines=tuple(lines[box]),
            latest=_latest(newest[box], zone, entity),
            rest=_rest(newest[box], "box", zone) or _rest(there, "area", zone),
            area_cool=_is_cool(area),
            area_mean_c=_mean_c(area, there),
            cohorts=tuple(cohorts[c] for c in dict.fromkeys(line.cohort for line, _ in lines[box]) if c in cohorts),
            loss_note=losses.get(box, ""),
        )
    return facts


def _with_meals(services: Services, box: str, newest: Sequence[Newest]) -> list[Newest]:
    """Add the meal that animals had in the box they came from, where they had none here since."""
    moved = next((item for item in newest if item.kind == "transfer" and item.fields.get("to_box") == box), None)
    fed = next((item for item in newest if item.kind == "fed"), None)
    if moved is None or (fed is not None and fed.at_ms >= moved.at_ms):
        return list(newest)
    meal = reading.newest_before(services.store, moved.subject, "fed", moved.at_ms)
    if meal is None or (fed is not None and fed.at_ms >= meal.at_ms):
        return list(newest)
    return [item for item in newest if item.kind != "fed"] + [meal]


def cohort_facts(services: Services, cohorts: Sequence[str], zone: ZoneInfo) -> dict[str, CohortFacts]:
    """Return where cohorts come from and when they were laid and hatched."""
    facts = {}
    for cohort in cohorts:
        entity = reading.entity(services.store, "cohort", cohort)
        eggs_ms = reading.first_posting_ms(services.store, cohort, "egg")
        larvae_ms = reading.first_posting_ms(services.store, cohort, "larva")
        started_ms = reading.first_posting_ms(services.store, cohort)
        laid = eggs_ms is not None
        facts[cohort] = CohortFacts(
            cohort=cohort,
            origin=str(entity.data.get("origin", "founders")) if entity else "founders",
            started_on=day_of(started_ms, zone) if started_ms is not None else None,
            laid_on=day_of(eggs_ms, zone) if eggs_ms is not None else None,
            hatched_on=day_of(larvae_ms, zone) if laid and larvae_ms is not None else None,
        )
    return facts


def species_of(services: Services, facts: BoxFacts) -> str:
    """Return the species of the animals in a box; the keeper's usual one where the cohort names none."""
    for cohort in facts.cohorts:
        entity = reading.entity(services.store, "cohort", cohort.cohort)
        if entity and isinstance(entity.data.get("species"), str):
            return str(entity.data["species"])
    return setting(services, "species")


def _latest(newest: Sequence[Newest], zone: ZoneInfo, entity: Entity) -> dict[str, Seen]:
    latest: dict[str, Seen] = {}
    for item in newest:
        name = f"{item.kind}:{item.key}" if item.key else item.kind
        fields = dict(item.fields)
        if item.kind == "box_made":
            fields = {**fields, **entity.data}
        latest[name] = Seen(item.event, item.at_ms, day_of(item.at_ms, zone), fields)
    return latest


def _made_on(newest: Sequence[Newest], zone: ZoneInfo) -> date:
    made = [item.at_ms for item in newest if item.kind == "box_made"] or [item.at_ms for item in newest]
    return day_of(min(made), zone)


def _rest(newest: Sequence[Newest], where: str, zone: ZoneInfo) -> Rest | None:
    """Return the winter rest that has begun and not ended, if there is one."""
    found = {item.kind: item for item in newest if item.kind in ("rest_began", "rest_ended")}
    began, ended = found.get("rest_began"), found.get("rest_ended")
    if began is None or (ended is not None and (ended.at_ms, ended.event) > (began.at_ms, began.event)):
        return None
    until = began.fields.get("until")
    return Rest(
        since=day_of(began.at_ms, zone),
        until=date.fromisoformat(until) if isinstance(until, str) else None,
        where=where,
        event=began.event,
    )


def _is_cool(area: Entity | None) -> bool | None:
    cool = area.data.get("cool") if area else None
    return cool if isinstance(cool, bool) else None


def _mean_c(area: Entity | None, climate: Sequence[Newest]) -> float | None:
    """Return the newest temperature of an area: the mean of its range, else the reading, else the usual one."""
    for item in climate:
        low, high, now = (item.fields.get(name) for name in ("min_c", "max_c", "now_c"))
        if item.kind == "temperature" and isinstance(low, (int, float)) and isinstance(high, (int, float)):
            return (low + high) / 2
        if item.kind == "temperature" and isinstance(now, (int, float)):
            return float(now)
    usual = area.data.get("usual_c") if area else None
    return float(usual) if isinstance(usual, (int, float)) else None
