"""The door: what is entered is checked here, in front of the keeper, and nowhere later."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from boxside.actions.context import zone_of
from boxside.actions.corrections import balances_at, lacking
from boxside.actions.services import Services
from boxside.actions.wording import stage_words
from boxside.core.care import TASKS
from boxside.core.ledger import Fold, order_key, touched_boxes
from boxside.core.values.errors import CorrectableError, EntryError
from boxside.core.values.event import Draft, Event, Json
from boxside.core.values.ledger import PRESENT, Account, Line
from boxside.core.values.moments import day_of, iso_text
from boxside.core.values.vocabulary import Field, FieldType, Kind
from boxside.store import reading
from boxside.store.intervals import last_of_stage, surplus_after
from boxside.store.ledger import is_last, place_of

_ENTITIES = {FieldType.BOX: "box", FieldType.COHORT: "cohort", FieldType.AREA: "area"}
# A visit's first act and its last lie minutes apart; a little leeway also for clocks that are set back.
_AHEAD_MS = 60_000
# What is remembered of the time before the log.
_ABOUT_BEFORE = ("last_fed", "note", "void")


def kind_named(services: Services, name: str) -> Kind:
    """Return the kind of that name; EntryError with the names that come close."""
    kind = services.catalog.vocabulary.get(name)
    if kind is None:
        near = [k for k in services.catalog.vocabulary.kinds if k.startswith(name[:3])]
        hint = f" Did you mean {' or '.join(near[:3])}?" if near else ""
        raise EntryError(f"{name!r} is not a kind of event. Nothing was saved.{hint}")
    return kind


def checked(services: Services, draft: Draft) -> Draft:
    """Return the draft with its defaults filled in.

    Raises
    ------
    EntryError : if a field is unknown, missing, of the wrong type or out of range, if a box or cohort is
        not known, or if it happened in the future
    """
    kind = kind_named(services, draft.kind)
    check_subject(services, kind, draft.subject_type, draft.subject_id)
    if kind.name == "void" and draft.voids is None:
        raise EntryError("Nothing is named to take back. Nothing was saved. Undo takes back what was logged last.")
    if draft.at_ms is not None:
        _check_moment(services, draft.at_ms)
        if draft.subject_type == "box":
            _check_box_was_there(services, kind, draft.subject_id, draft.at_ms)
    for name in draft.fields:
        if kind.field(name) is None:
            known = ", ".join(field.name for field in kind.fields) or "none"
            raise EntryError(f"{kind.label} has no field {name!r} (known: {known}). Nothing was saved.")
    fields = {field.name: _value(services, kind, field, draft.fields.get(field.name)) for field in kind.fields}
    given = {name: value for name, value in fields.items() if value is not None}
    _check_task(kind, given)
    return Draft(
        kind=draft.kind, subject_type=draft.subject_type, subject_id=draft.subject_id, fields=given,
        at_ms=draft.at_ms, visit=draft.visit, by=draft.by, note=draft.note, voids=draft.voids,
        replaces=draft.replaces,
    )  # fmt: skip


def check_subject(services: Services, kind: Kind, subject_type: str, subject: str) -> None:
    """Refuse a kind that is not logged at such a subject, and a box, cohort or area that is not there.

    Raises
    ------
    EntryError : saying which; nothing was saved
    """
    if subject_type not in kind.subjects:
        raise EntryError(f"{kind.label} is not logged at a {subject_type}. Nothing was saved.")
    is_known = subject_type not in _ENTITIES.values() or kind.sets == subject_type
    if not is_known and reading.entity(services.store, subject_type, subject) is None:
        raise EntryError(f"There is no such {subject_type}. Nothing was saved.")


def _check_box_was_there(services: Services, kind: Kind, box: str, at_ms: int) -> None:
    """Refuse what is said to have been done at a box days before it was made; animals may be older than their box."""
    made_ms = reading.made_ms(services.store, box)
    if made_ms is None or kind.group == "setting" or kind.name in _ABOUT_BEFORE:
        return
    zone = zone_of(services)
    made_on, on = day_of(made_ms, zone), day_of(at_ms, zone)
    if on < made_on:
        raise EntryError(
            f"{box_label(services, box)} was made on {made_on}, and {kind.label.lower()!r} is dated {on}. Nothing was "
            "saved. Give a later day, or correct when the box was made first."
        )


def _check_moment(services: Services, at_ms: int) -> None:
    if at_ms > services.clock.now_ms() + _AHEAD_MS:
        raise EntryError("That time lies in the future. Nothing was saved. Log it when it has happened.")
    if at_ms < 0:
        raise EntryError("That time lies before 1970. Nothing was saved. Check the year.")


def _check_task(kind: Kind, fields: Mapping[str, Json]) -> None:
    if kind.name == "later" and fields.get("task") not in TASKS:
        raise EntryError(f"{fields.get('task')!r} is not a task (known: {', '.join(TASKS)}). Nothing was saved.")


def _value(services: Services, kind: Kind, field: Field, value: Json) -> Json:
    """Return a field's value, its default where nothing was said."""
    if value is None:
        if field.required:
            raise EntryError(f"{kind.label} needs {field.label.lower()!r} ({field.name}). Nothing was saved.")
        return field.default
    _CHECKS[field.type](field, value)
    if field.type in _ENTITIES and reading.entity(services.store, _ENTITIES[field.type], str(value)) is None:
        raise EntryError(f"{field.label}: there is no such {_ENTITIES[field.type]}. Nothing was saved.")
    return value


def _number(field: Field, value: Json) -> None:
    whole = field.type is FieldType.INTEGER
    if isinstance(value, bool) or not isinstance(value, int if whole else (int, float)):
        raise EntryError(f"{field.label}: {value!r} is not a {'whole ' if whole else ''}number. Nothing was saved.")
    low, high = field.minimum, field.maximum
    is_low, is_high = low is not None and value < low, high is not None and value > high
    if is_low or is_high or value != value:
        raise EntryError(f"{field.label}: {value} is not between {low} and {high}. Nothing was saved.")


def _text(field: Field, value: Json) -> None:
    if not isinstance(value, str) or len(value) > 2000:
        raise EntryError(f"{field.label}: a text of at most 2,000 characters is needed. Nothing was saved.")


def _choice(field: Field, value: Json) -> None:
    if value not in field.choices:
        raise EntryError(f"{field.label}: {value!r} is none of {', '.join(field.choices)}. Nothing was saved.")


def _boolean(field: Field, value: Json) -> None:
    if not isinstance(value, bool):
        raise EntryError(f"{field.label}: say yes or no, not {value!r}. Nothing was saved.")


def _date(field: Field, value: Json) -> None:
    try:
        date.fromisoformat(str(value))
    except ValueError as error:
        raise EntryError(f"{field.label}: {value!r} is not a date like 2026-05-03. Nothing was saved.") from error


def _list(field: Field, value: Json) -> None:
    if not isinstance(value, list) or not all(isinstance(part, dict) for part in value):
        raise EntryError(f"{field.label}: a list of parts is needed. Nothing was saved.")


_CHECKS = {
    FieldType.INTEGER: _number,
    FieldType.NUMBER: _number,
    FieldType.TEXT: _text,
    FieldType.CHOICE: _choice,
    FieldType.BOOLEAN: _boolean,
    FieldType.DATE: _date,
    FieldType.BOX: _text,
    FieldType.COHORT: _text,
    FieldType.AREA: _text,
    FieldType.EVENT: _text,
    FieldType.PARTS: _list,
    FieldType.ROWS: _list,
}


def check_against_box(services: Services, event: Event) -> None:
    """Refuse what the box, as it then was, cannot have seen.

    Raises
    ------
    EntryError : if no animal of a fitting stage was there
    CorrectableError : if fewer were there than the event says
    """
    kind = services.catalog.vocabulary.get(event.kind)
    if kind is None or event.subject_type != "box":
        return
    boxes = touched_boxes(event, kind)
    here = balances_at(services, event, kind)
    label = box_label(services, event.subject_id)
    fits = any(line.stage in kind.stages and line.box in boxes for line in here)
    revises = kind.overdraft == Account.REVISED and any(
        last_of_stage(services.store, event.subject_id, stage) for stage in kind.stages
    )
    if kind.stages and not (fits or revises):
        held = ", ".join(sorted({f"{n_of(here, s)} {s}" for s in {line.stage for line in here}})) or "no animals"
        raise EntryError(
            f"{kind.label} does not fit {label}: it is for {' or '.join(kind.stages)}, and the box holds {held}. "
            "Nothing was saved."
        )
    missing = lacking(event, kind, here) if kind.overdraft == Account.SURPLUS else 0
    if missing:
        raise CorrectableError(
            f"{label} holds {_fitting(event, kind, here)}, {missing} fewer than were entered. Nothing was saved. "
            "Count the box first, enter the number that fits, or save it as a correction."
        )


def _fitting(event: Event, kind: Kind, here: dict[Line, int]) -> str:
    """Return how many animals an entry could mean, with their stages."""
    taken: dict[str, int] = {}
    for posting in Fold.of(event, kind, here).postings:
        if posting.account == PRESENT and posting.delta < 0:
            taken[posting.line.stage] = taken.get(posting.line.stage, 0) - posting.delta
    stages = ", ".join(stage_words(stage, n) for stage, n in taken.items())
    return f"{sum(taken.values())} animals that this could mean{f' ({stages})' if stages else ''}"


def later_surplus(services: Services, event: Event) -> set[str] | None:
    """Return the later entries that already lack animals; None where nothing at these boxes comes later."""
    kind = services.catalog.vocabulary.get(event.kind)
    if kind is None or not (kind.moves or kind.census):
        return None
    place, boxes = place_of(order_key(event, kind)), touched_boxes(event, kind)
    return None if is_last(services.store, boxes, place) else surplus_after(services.store, boxes, place)


def check_later(services: Services, event: Event, before: set[str] | None) -> None:
    """Refuse an entry of the past, just appended, that leaves a later one without its animals.

    Raises
    ------
    CorrectableError : naming that later entry; the open transaction must be rolled back
    """
    kind = services.catalog.vocabulary.get(event.kind)
    if before is None or kind is None:
        return
    place, boxes = place_of(order_key(event, kind)), touched_boxes(event, kind)
    for event_id in sorted(surplus_after(services.store, boxes, place) - before):
        later = reading.event(services.store, event_id)
        later_kind = services.catalog.vocabulary.get(later.kind) if later else None
        if later is None or later_kind is None or later_kind.overdraft != Account.SURPLUS:
            continue
        raise CorrectableError(
            f"{kind.label} at that time would leave too few animals for {later_kind.said.lower()!r} of "
            f"{iso_text(later.at_ms, later.offset_min)[:10]}. Nothing was saved. Correct that entry first, or save "
            "this one as a correction."
        )


def n_of(lines: dict[Line, int], stage: str) -> int:
    """Return how many animals of a stage there are."""
    return sum(n for line, n in lines.items() if line.stage == stage)


def box_label(services: Services, box_id: str) -> str:
    """Return the code that a box shows."""
    box = reading.entity(services.store, "box", box_id)
    return box.shown if box else box_id[:8]


def box_named(services: Services, label: str) -> reading.Entity:
    """Return the one open box with a code, or the box with an id.

    Raises
    ------
    EntryError : if there is none, or several share the code
    """
    found = reading.boxes_labelled(services.store, label)
    exact = [box for box in found if box.shown == label] or found
    if len(exact) == 1:
        return exact[0]
    by_id = reading.entity(services.store, "box", label)
    if by_id is not None:
        return by_id
    if not found:
        known = [box.shown for box in reading.open_boxes(services.store)]
        shown = f" Open boxes: {', '.join(known[:12])}{' …' if len(known) > 12 else ''}." if known else ""
        raise EntryError(f"There is no box {label!r}. Nothing was saved.{shown}")
    names = ", ".join(box.shown for box in found)
    raise EntryError(f"Several boxes are called {label!r}: {names}. Nothing was saved. Give them codes of their own.")


def named_entity(services: Services, entity_type: str, name: str) -> str:
    """Return the id of the cohort or area of that name or id; EntryError where there is not exactly one."""
    found = [e for e in reading.entities(services.store, entity_type) if name in (e.id, e.label)]
    if len(found) != 1:
        names = ", ".join(e.label for e in reading.entities(services.store, entity_type)) or "none"
        raise EntryError(f"{name!r} names no single {entity_type} (known: {names}). Nothing was saved.")
    return found[0].id
