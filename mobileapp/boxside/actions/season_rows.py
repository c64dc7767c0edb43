"""The rows of a season's tables, in the order of their declared columns."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from datetime import date

from boxside.actions.accept_measure import rows_of
from boxside.actions.context import zone_of
from boxside.actions.facts import cohort_facts
from boxside.actions.figure_rows import headcounts, lifetable, stages, survival, transfers
from boxside.actions.line import line_view
from boxside.actions.services import Services
from boxside.actions.spans import Span
from boxside.core.ledger import order_key, totals
from boxside.core.values.event import Event, Json
from boxside.core.values.ledger import PRESENT, Line
from boxside.core.values.moments import day_of, iso_ms_text, iso_text
from boxside.core.values.stages import Sex, Stage
from boxside.store import reading
from boxside.store.ledger import place_of, present_before
from boxside.store.rows import event_of

Row = tuple[object, ...]


def _codes(services: Services) -> dict[str, str]:
    return {box.id: box.shown for box in reading.entities(services.store, "box")}


def events(services: Services, span: Span) -> Iterator[Row]:
    """Yield all events of the span, their fields as the JSON that is kept."""
    codes = _codes(services)
    for row in reading.event_rows(services.store, span.from_ms, span.to_ms, scope=span.scope):
        (
            event, kind, subject_type, subject, visit, at_ms, offset_min, zone, logged_ms, device, seq, fields, by,
            note, voids, replaces, why, _,
        ) = row  # fmt: skip
        at = iso_ms_text(at_ms, offset_min)
        yield (
            event, kind, subject_type, subject, codes.get(subject), at, zone, at[:10], visit, iso_ms_text(logged_ms, 0),
            device, seq, by, note, voids, replaces, why or "counts", fields,
        )  # fmt: skip


def event_fields(services: Services, span: Span) -> Iterator[Row]:
    """Yield the fields of all events of the span, one a row."""
    units = {
        (kind.name, field.name): field.unit
        for kind in services.catalog.vocabulary.kinds.values()
        for field in kind.fields
    }
    for event, kind, text in reading.field_rows(services.store, span.from_ms, span.to_ms, span.scope):
        if text != "{}":
            for name, value in json.loads(text).items():
                if value is not None and value != "":
                    yield event, kind, name, value, units.get((kind, name))


def _standing(services: Services, span: Span, kind: str) -> Iterator[Event]:
    for row in reading.event_rows(services.store, span.from_ms, span.to_ms, (kind,), span.scope, standing=True):
        yield event_of(row[:16])


def _when(event: Event, codes: dict[str, str]) -> Row:
    at = iso_text(event.at_ms, event.offset_min)
    return (event.id, at, event.tz, date.fromisoformat(at[:10]), event.subject_id, codes.get(event.subject_id))


def feedings(services: Services, span: Span) -> Iterator[Row]:
    """Yield the standing feedings."""
    codes = _codes(services)
    for row in reading.event_rows(services.store, span.from_ms, span.to_ms, ("fed",), span.scope, standing=True):
        at, said = iso_text(row[5], row[6]), json.loads(row[11])
        yield (
            row[0], at, row[7], at[:10], row[3], codes.get(row[3]), said.get("prey"), said.get("batch"),
            said.get("amount"),
        )  # fmt: skip


def counts(services: Services, span: Span) -> Iterator[Row]:
    """Yield the standing counts with what was expected and what was booked as unaccounted."""
    codes = _codes(services)
    kind = services.catalog.vocabulary.kinds["count"]
    for event in _standing(services, span, "count"):
        said = event.fields
        place = place_of(order_key(event, kind))
        before = present_before(services.store, event.subject_id, place)
        expected = sum(n for line, n in before.items() if _in_scope(line, said))
        booked = reading.booked(services.store, event.id, "unaccounted")
        yield (
            *_when(event, codes), said.get("cohort"), said.get("stage"), said.get("n"), said.get("complete", True),
            expected, booked, said.get("low"), said.get("high"), said.get("method"),
        )  # fmt: skip


def _in_scope(line: Line, said: dict[str, Json] | object) -> bool:
    fields = said if isinstance(said, dict) else {}
    return all(fields.get(name) in (None, getattr(line, name)) for name in ("cohort", "stage", "instar", "sex"))


def movements(services: Services, span: Span) -> Iterator[Row]:
    """Yield the ledger's postings."""
    codes = _codes(services)
    for row in reading.postings(services.store, span.from_ms, span.to_ms, span.scope):
        event_id, nth, at_ms, offset_min, box, cohort, stage, instar, sex, account, delta = row
        when = iso_text(at_ms, offset_min)
        line = (cohort or None, stage, instar, sex, account or "present", delta)
        yield (event_id, nth, when, when[:10], box or None, codes.get(box), *line)


def opening(services: Services, span: Span) -> Iterator[Row]:
    """Yield the lines and accounts as they stood when the span began."""
    codes = _codes(services)
    for box, cohort, stage, instar, sex, account, n in reading.balances_before(services.store, span.from_ms):
        if span.has(box, cohort):
            yield box, codes.get(box), cohort, stage, instar, sex, account or "present", n


def boxes(services: Services, span: Span) -> Iterator[Row]:
    """Yield every box as it stood at the end of the span."""
    areas = {area.id: area.label for area in reading.entities(services.store, "area")}
    held: dict[str, int] = {}
    for box, *_, account, n in reading.balances_before(services.store, span.to_ms):
        held[box] = held.get(box, 0) + (n if account == PRESENT else 0)
    zone = zone_of(services)
    for box in reading.entities(services.store, "box"):
        if not span.has_box(box.id):
            continue
        made = [item for item in reading.newest(services.store, "box", [box.id])[box.id] if item.kind == "box_made"]
        said = box.data
        yield (
            box.id, box.shown, day_of(made[0].at_ms, zone) if made else None, box.open,
            areas.get(str(said.get("area"))), said.get("position"), said.get("substrate"), said.get("vents"),
            held.get(box.id, 0),
        )  # fmt: skip


def cohorts(services: Services, span: Span) -> Iterator[Row]:
    """Yield every cohort as it stood at the end of the span."""
    balances: dict[str, dict[tuple[Line, str], int]] = {}
    for box, cohort, stage, instar, sex, account, n in reading.balances_before(services.store, span.to_ms):
        line = Line(box, cohort, Stage(stage), instar, Sex(sex))
        balances.setdefault(cohort, {})[(line, account)] = n
    entities = [one for one in reading.entities(services.store, "cohort") if span.has_cohort(one.id)]
    facts = cohort_facts(services, [cohort.id for cohort in entities], zone_of(services))
    for cohort in entities:
        said, own = cohort.data, facts[cohort.id]
        sums = totals(balances.get(cohort.id, {}))
        left = sums.present + sums.went_out + sums.dead + sums.unaccounted
        yield (
            cohort.id, cohort.label, said.get("origin"), said.get("species"), own.started_on, own.laid_on,
            own.hatched_on, said.get("mark"), said.get("place"), said.get("permit"), sums.came_in, sums.present,
            sums.went_out, sums.dead, sums.unaccounted, left - sums.came_in,
        )  # fmt: skip


def temperatures(services: Services, span: Span) -> Iterator[Row]:
    """Yield the standing temperatures of areas and boxes."""
    names = {area.id: area.shown for area in reading.entities(services.store, "area")} | _codes(services)
    for event in _standing(services, span, "temperature"):
        said = event.fields
        where = (event.subject_type, event.subject_id, names.get(event.subject_id))
        yield (*_moment(event), *where, said.get("now_c"), said.get("min_c"), said.get("max_c"))


def prey(services: Services, span: Span) -> Iterator[Row]:
    """Yield what was counted of the prey and added to it."""
    for event in _standing(services, span, "prey_stock"):
        said = event.fields
        yield (
            *_moment(event), said.get("prey"), said.get("batch"), said.get("n"), said.get("added"),
            said.get("size_mm"), said.get("origin"), said.get("quarantine_until"),
        )  # fmt: skip


def _moment(event: Event) -> Row:
    at = iso_text(event.at_ms, event.offset_min)
    return (event.id, at, event.tz, date.fromisoformat(at[:10]))


def line(services: Services, span: Span) -> Iterator[Row]:
    """Yield every cohort of the line; it follows from the whole log, whatever was chosen: descent has no ends."""
    for row in line_view(services).cohorts:
        shares = ";".join(f"{name}={share:.6g}" for name, share in row.founder_shares)
        yield (
            row.name, None if row.unknown else row.id, row.kind, row.generation, row.born_on, row.n, row.inbreeding,
            row.within, row.mean_kinship, row.parents, shares, row.unknown, " ".join(row.notes) or None,
        )  # fmt: skip


_OF_BODY = (
    "status", "flags", "length_mm", "length_se_mm", "width_mm", "width_se_mm", "head_width_mm", "head_width_se_mm",
    "n_low", "n_best", "n_high", "x1_mm", "y1_mm", "x2_mm", "y2_mm",
)  # fmt: skip


def bodies(services: Services, span: Span) -> Iterator[Row]:
    """Yield the bodies of the standing measurings."""
    codes = _codes(services)
    for event in _standing(services, span, "measured"):
        said = event.fields
        *when, subject, code = _when(event, codes)
        is_box = event.subject_type == "box"
        cohort = said.get("cohort") if is_box else subject
        for nth, row in enumerate(rows_of(event), 1):
            yield (
                *when, subject if is_box else None, code, cohort, nth, said.get("stage"), said.get("instar"),
                *(row.get(name) for name in _OF_BODY),
                *(said.get(name) for name in ("photo", "algorithm", "scale", "scale_se_pct")),
            )  # fmt: skip


ROWS: dict[str, Callable[[Services, Span], Iterator[Row]]] = {
    "events": events,
    "event_fields": event_fields,
    "boxes": boxes,
    "cohorts": cohorts,
    "feedings": feedings,
    "counts": counts,
    "bodies": bodies,
    "movements": movements,
    "opening": opening,
    "temperatures": temperatures,
    "prey": prey,
    "line": line,
    "headcounts": headcounts,
    "transfers": transfers,
    "stages": stages,
    "survival": survival,
    "lifetable": lifetable,
}
