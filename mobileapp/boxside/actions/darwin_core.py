"""A season as a Darwin Core Archive, for keepers who share their data: no notes, no persons, no place.

What is told: animals that were counted or seen, that reached a stage or died, and what was measured. Everything is of
captive stock and says so.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from boxside.actions.accept_measure import rows_of
from boxside.actions.context import setting
from boxside.actions.services import Services
from boxside.actions.spans import Span, span_of_choice
from boxside.core.tables import CORE_TABLES, EVENT, MEASUREMENT, OCCURRENCE, core_descriptor, core_text
from boxside.core.tables.darwin_core import DESCRIPTOR
from boxside.core.values.carry import ArchiveDone, SeasonChoice
from boxside.core.values.ledger import PRESENT, Account
from boxside.core.values.moments import iso_text
from boxside.device.zip_file import write_zip
from boxside.store import reading
from boxside.store.rows import event_of

Row = tuple[object, ...]
_CLASSES = ("Animalia", "Arthropoda", "Insecta", "Coleoptera", "Lampyridae")
_COUNTS = ("count", "seen", "confirmed_empty")
_BODY = (
    ("body length", "length_mm", "length_se_mm"),
    ("body width", "width_mm", "width_se_mm"),
    ("head capsule width", "head_width_mm", "head_width_se_mm"),
)
_READINGS = {
    "temperature": (
        ("temperature", "now_c", "°C"),
        ("lowest temperature", "min_c", "°C"),
        ("highest temperature", "max_c", "°C"),
    ),
    "humidity": (
        ("relative humidity", "now_pct", "%"),
        ("lowest relative humidity", "min_pct", "%"),
        ("highest relative humidity", "max_pct", "%"),
    ),
    "light_hours": (("day length", "hours", "h"),),
}


@dataclass(slots=True)
class _Told:
    """What the archive tells of one event: rows of occurrences and measurements without the event's id."""

    occurrences: list[Row] = field(default_factory=list)
    measurements: list[Row] = field(default_factory=list)


def write_darwin_core(services: Services, path: Path, choice: SeasonChoice) -> ArchiveDone:
    """Write the archive of a season: events, occurrences, measurements, and the descriptor that says what is what.

    Raises
    ------
    EntryError : if the span is the wrong way round, or chooses what is not there; nothing was written
    StoreError : if the disk refuses
    """
    span = span_of_choice(services, choice)
    counts: dict[str, int] = {}

    def counted(name: str, rows: Iterator[Row]) -> Iterator[Row]:
        counts[name] = 0
        for row in rows:
            counts[name] += 1
            yield row

    makers = {EVENT.file: _event_rows, OCCURRENCE.file: _occurrence_rows, MEASUREMENT.file: _measurement_rows}
    texts = {
        table.file: core_text(table, counted(table.file, makers[table.file](services, span))) for table in CORE_TABLES
    }
    n_bytes, _ = write_zip(path, {DESCRIPTOR: [core_descriptor()], **texts})
    return ArchiveDone(str(path), n_bytes, tuple(counts.items()))


def _event_rows(services: Services, span: Span) -> Iterator[Row]:
    codes = {box.id: box.shown for box in reading.entities(services.store, "box")}
    kinds = services.catalog.vocabulary.kinds
    for row, _ in _told(services, span):
        yield (
            row[0], row[4], "Observation", iso_text(row[5], row[6]), f"{kinds[row[1]].label} by the keeper",
            "captive stock, rearing box", row[3] if row[2] == "box" else None, codes.get(row[3]),
        )  # fmt: skip


def _occurrence_rows(services: Services, span: Span) -> Iterator[Row]:
    for row, told in _told(services, span):
        for nth, occurrence in enumerate(told.occurrences, 1):
            yield (row[0], f"{row[0]}:o{nth}", *occurrence)


def _measurement_rows(services: Services, span: Span) -> Iterator[Row]:
    for row, told in _told(services, span):
        for nth, measurement in enumerate(told.measurements, 1):
            yield (row[0], f"{row[0]}:m{nth}", *measurement)


def _told(services: Services, span: Span) -> Iterator[tuple[tuple[Any, ...], _Told]]:
    """Yield the standing events of which there is something to tell, as they are kept, and what that is."""
    species = _species(services)
    moved = _grouped(reading.postings(services.store, span.from_ms, span.to_ms, span.scope))
    ahead = next(moved, None)
    stage_kinds = {kind.name for kind in services.catalog.vocabulary.kinds.values() if kind.group == "stage"}
    for row in reading.event_rows(services.store, span.from_ms, span.to_ms, scope=span.scope, standing=True):
        postings: list[tuple[Any, ...]] = []
        # Both streams go by time and id, so that they are walked side by side without being held.
        while ahead is not None and ahead[0] <= (row[5], row[0]):
            postings = ahead[1] if ahead[0] == (row[5], row[0]) else []
            ahead = next(moved, None)
        told = _Told()
        if row[1] in _COUNTS:
            told.occurrences.append(_count(row, species))
        else:
            told.occurrences.extend(_changes(row[1], postings, species, row[1] in stage_kinds))
        told.measurements.extend(_measurements(row))
        if told.occurrences or told.measurements:
            yield row, told


def _grouped(
    postings: Iterator[tuple[Any, ...]],
) -> Iterator[tuple[tuple[int, str], list[tuple[Any, ...]]]]:
    """Yield the postings of each event, with its time and id."""
    key: tuple[int, str] | None = None
    held: list[tuple[Any, ...]] = []
    for posting in postings:
        own = (posting[2], posting[0])
        if key is not None and own != key:
            yield key, held
            held = []
        key = own
        held.append(posting)
    if key is not None:
        yield key, held


def _species(services: Services) -> dict[str, str]:
    """Return the scientific name of every cohort; that of the usual species under the empty id."""
    profiles = services.catalog.profiles
    usual = setting(services, "species")
    found = {c.id: str(c.data.get("species") or usual) for c in reading.entities(services.store, "cohort")}
    keys = {**found, "": usual}
    return {name: profiles[key].scientific_name if key in profiles else key for name, key in keys.items()}


def _count(row: tuple[Any, ...], species: Mapping[str, str]) -> Row:
    said = json.loads(row[11])
    n = int(said.get("n") or 0)
    whole = row[1] == "confirmed_empty" or (row[1] == "count" and said.get("complete", True))
    cohort = str(said.get("cohort") or "")
    remarks = "every animal of the box was looked for" if whole else "at least so many"
    return _occurrence(species.get(cohort, species[""]), said.get("stage"), said.get("sex"), n, cohort, "", remarks)


def _changes(
    kind: str, postings: list[tuple[Any, ...]], species: Mapping[str, str], reaches_stage: bool
) -> Iterator[Row]:
    """Yield the animals that an event let die or reach a stage."""
    for _, _, _, _, _, cohort, stage, _, sex, account, delta in postings:
        name = species.get(cohort, species[""])
        if account == Account.DEAD and delta > 0:
            yield _occurrence(name, stage, sex, delta, cohort, "dead", kind.replace("_", " "))
        elif account == PRESENT and delta > 0 and reaches_stage:
            yield _occurrence(name, stage, sex, delta, cohort, "alive", kind.replace("_", " "))


def _occurrence(name: str, stage: object, sex: object, n: int, cohort: str, vitality: str, remarks: str) -> Row:
    told_sex = sex if sex in ("female", "male") else None
    status = "present" if n else "absent"
    return (
        "LivingSpecimen", status, name, *_CLASSES, stage, told_sex, n, cohort or None, "captive", vitality or None,
        remarks,
    )  # fmt: skip


def _measurements(row: tuple[Any, ...]) -> Iterator[Row]:
    kind = row[1]
    if kind == "measured":
        yield from _bodies(row)
    elif kind == "weighed":
        said = json.loads(row[11])
        n = said.get("n") or 1
        yield "body mass", said["mass_mg"], None, "mg", "weighed", f"{n} animals together" if n != 1 else None
    elif kind in _READINGS:
        said = json.loads(row[11])
        for name, key, unit in _READINGS[kind]:
            if said.get(key) is not None:
                yield name, said[key], None, unit, "thermometer or logger" if kind == "temperature" else None, None


def _bodies(row: tuple[Any, ...]) -> Iterator[Row]:
    event = event_of(row[:16])
    method = f"photo, scale from {event.fields.get('scale') or 'unknown'}, {event.fields.get('algorithm') or 'unknown'}"
    for nth, body in enumerate(rows_of(event), 1):
        for name, key, error in _BODY:
            if body.get(key) is not None:
                yield name, body[key], body.get(error), "mm", method, f"animal {nth} on the photo"
