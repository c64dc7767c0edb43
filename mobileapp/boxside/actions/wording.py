"""Animals, moments and events in words, as the views carry them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from zoneinfo import ZoneInfo

from boxside.actions.services import Services
from boxside.core.values.event import Event, Json
from boxside.core.values.ledger import Line
from boxside.core.values.moments import from_ms
from boxside.core.values.stages import Sex, Stage
from boxside.core.values.vocabulary import Field, FieldType
from boxside.store import reading

_PLURAL = {
    Stage.EGG: "eggs",
    Stage.LARVA: "larvae",
    Stage.PREPUPA: "prepupae",
    Stage.PUPA: "pupae",
    Stage.ADULT: "adults",
}
_SEXES = {Sex.FEMALE: "female", Sex.MALE: "male", Sex.UNKNOWN: "unsexed"}
# What names a photo or says how it was measured is kept for those who look closer, and no news to a keeper.
_UNSAID = frozenset({"sha256", "photo", "algorithm", "mm_per_px", "scale_se_pct", "tilt_deg", "bar_mm", "known"})
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def stage_words(stage: str, n: int) -> str:
    """Return `34 larvae`, `1 larva`."""
    known = Stage(stage)
    return f"{n} {known if n == 1 else _PLURAL[known]}"


def who_text(lines: Sequence[tuple[Line, int]], about: bool = False) -> str:
    """Return who lives in a box, as a keeper would say it.

    Examples
    --------
    >>> who_text([(Line("b", "c", Stage.LARVA, 3), 30), (Line("b", "c", Stage.LARVA, 4), 4)], about=True)
    'about 34 larvae, instar 3–4'
    """
    if not lines:
        return "no animals"
    parts = []
    for stage in sorted({line.stage for line, _ in lines}, key=lambda s: s.rank):
        here = [(line, n) for line, n in lines if line.stage == stage]
        n = sum(count for _, count in here)
        parts.append(("about " if about else "") + stage_words(stage, n) + _told_apart(here))
    return "; ".join(parts)


def _told_apart(here: Sequence[tuple[Line, int]]) -> str:
    instars = sorted({line.instar for line, _ in here if line.instar})
    said = ""
    if instars:
        said = f", instar {instars[0]}" if len(instars) == 1 else f", instar {instars[0]}–{instars[-1]}"
    by_sex = {sex: sum(n for line, n in here if line.sex is sex) for sex in Sex}
    if by_sex[Sex.FEMALE] or by_sex[Sex.MALE]:
        said += ", " + ", ".join(f"{n} {_SEXES[sex]}" for sex, n in by_sex.items() if n)
    return said


def is_about(services: Services, box: str) -> bool:
    """Return whether a box's headcount is an estimate: no complete count has been made of it."""
    counts = [item for item in reading.newest(services.store, "box", [box])[box] if item.kind == "count"]
    return not any(item.fields.get("complete", True) for item in counts)


def moment_text(ms: int, zone: ZoneInfo, now_ms: int) -> str:
    """Return a moment as today, yesterday or a date, with the time of day."""
    then, now = from_ms(ms, zone), from_ms(now_ms, zone)
    days = (now.date() - then.date()).days
    clock = f"{then:%H:%M}"
    if days in (0, 1):
        return f"{'today' if days == 0 else 'yesterday'} {clock}"
    return f"{day_text(then.date(), now.date())}, {clock}"


def day_text(day: date, today: date) -> str:
    """Return a date as `3 May`, with its year where that is not this one."""
    year = "" if day.year == today.year else f" {day.year}"
    return f"{day.day} {MONTHS[day.month - 1]}{year}"


def event_label(services: Services, event: Event) -> str:
    """Return what an event says in its first words."""
    kind = services.catalog.vocabulary.get(event.kind)
    return kind.said if kind else f"{event.kind} (from a newer Boxside)"


def event_detail(services: Services, event: Event) -> str:
    """Return an event's own fields in words."""
    kind = services.catalog.vocabulary.get(event.kind)
    if kind is None:
        return ""
    parts = []
    for field in kind.fields:
        value = event.fields.get(field.name)
        if value is not None and value != "" and field.name not in _UNSAID:
            parts.append(_SAY.get(field.type, _say_text)(services, field, value))
    return ", ".join(part for part in parts if part)


def _say_number(services: Services, field: Field, value: Json) -> str:
    if field.name == "n":
        return f"{value} {field.unit.removesuffix('s') if value == 1 else field.unit}".strip()
    unit = f" {field.unit}" if field.unit not in ("", "animals") else ""
    return f"{field.label.lower()} {value:g}{unit}" if isinstance(value, (int, float)) else str(value)


def _say_choice(services: Services, field: Field, value: Json) -> str:
    return str(value).replace("_", " ")


def _say_yes(services: Services, field: Field, value: Json) -> str:
    if field.name == "complete":
        return "complete" if value else "not complete: some may be hidden"
    return field.label.lower() if value and value is not field.default else ""


def _say_entity(kind: str) -> Callable[[Services, Field, Json], str]:
    def say(services: Services, field: Field, value: Json) -> str:
        entity = reading.entity(services.store, kind, str(value))
        return f"{field.label.lower()} {entity.shown if entity else str(value)[:8]}"

    return say


def _say_text(services: Services, field: Field, value: Json) -> str:
    return f"{field.label.lower()} {value}"


def _say_list(services: Services, field: Field, value: Json) -> str:
    return f"{len(value)} {field.label.lower()}" if isinstance(value, list) else ""


_SAY: Mapping[FieldType, Callable[[Services, Field, Json], str]] = {
    FieldType.INTEGER: _say_number,
    FieldType.NUMBER: _say_number,
    FieldType.CHOICE: _say_choice,
    FieldType.BOOLEAN: _say_yes,
    FieldType.BOX: _say_entity("box"),
    FieldType.COHORT: _say_entity("cohort"),
    FieldType.AREA: _say_entity("area"),
    FieldType.PARTS: _say_list,
    FieldType.ROWS: _say_list,
}
