"""Which acts are offered at a box: from the catalog, by the stage that decides what the box needs."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import date

from boxside.actions.context import setting
from boxside.actions.services import Services
from boxside.catalog.catalog import COMMANDS
from boxside.core.values.event import Json
from boxside.core.values.facts import BoxFacts
from boxside.core.values.ledger import Line
from boxside.core.values.stages import Stage
from boxside.core.values.views import Act
from boxside.core.values.vocabulary import Field, FieldType, Kind

_LABELS = {"next": ("Next", "next"), "look": ("Look", "look"), "later": ("Later", "later"), "photo": ("Photo", "photo")}
_ASKED = (FieldType.INTEGER, FieldType.NUMBER, FieldType.CHOICE, FieldType.BOOLEAN)
_NOT_BY_BUTTON = (FieldType.BOX, FieldType.COHORT, FieldType.PARTS, FieldType.ROWS, FieldType.EVENT)
_RARELY = {"quality", "low", "high", "method", "amount", "body_kept", "share_pct", "from_min", "until_min", "days"}
_GROUPS = ("care", "seen", "headcount", "stage", "pairing", "rest")
_SELECTORS = {"cohort", "stage", "instar", "sex"}
# What a button alone cannot say: a note is written, a measurement comes from a photo.
_NEVER = {"measured", "note", "last_fed"}
# Larvae are nearly all of the work, and eggs and pupae among them keep until they have been seen to.
_DECIDES = (Stage.LARVA, Stage.ADULT, Stage.PUPA, Stage.PREPUPA, Stage.EGG)


def deciding_stage(lines: Sequence[tuple[Line, int]]) -> str:
    """Return the stage by which a box is handled, `empty` where nobody lives in it."""
    here = {line.stage for line, _ in lines}
    return next((str(stage) for stage in _DECIDES if stage in here), "empty")


def round_acts(
    services: Services, lines: Sequence[tuple[Line, int]], tasks: Collection[str], done: Collection[str]
) -> tuple[tuple[Act, ...], tuple[Act, ...], tuple[Act, ...]]:
    """Return the main acts, the smaller ones and the signs for a box.

    An act that closes a due task is always offered, first among the smaller ones. `done` names the kinds
    already logged in this visit.
    """
    stage = deciding_stage(lines)
    acts = services.catalog.acts
    main, more = list(acts.main[stage]), list(acts.more[stage])
    closing = [k.name for k in services.catalog.vocabulary.kinds.values() if set(k.closes) & set(tasks)]
    here = {line.stage for line, _ in lines}
    needed = [k for k in closing if k not in main and _fits(services, k, here) and can_be_a_button(services, k)]
    more = needed + [name for name in more if name not in needed]
    signs = tuple(
        act_of(services, sign.kind, done, sign.label, sign.icon, dict(sign.fields))
        for sign in acts.signs
        if _fits(services, sign.kind, here)
    )
    return (
        tuple(act_of(services, name, done) for name in main),
        tuple(act_of(services, name, done) for name in more),
        signs,
    )


def box_acts(services: Services, facts: BoxFacts, today: date) -> tuple[Act, ...]:
    """Return every act that a button can log at a box as it now is."""
    lines = facts.lines
    here = {line.stage for line, _ in lines}
    names = [
        kind.name
        for kind in services.catalog.vocabulary.kinds.values()
        if kind.group in _GROUPS and "box" in kind.subjects and can_be_a_button(services, kind.name)
    ]
    missing = {"confirmed_empty"} if lines else set()
    missing |= {"rest_ended"} if facts.rest is None else {"rest_began"}
    missing |= {"quarantine_ended"} if not _in_quarantine(facts) else {"quarantine_began"}
    fitting = [name for name in names if _fits(services, name, here) and name not in missing]
    until: dict[str, Json] = {"until": rest_until(services, today).isoformat()}
    acts = [act_of(services, name, (), preset=until if name == "rest_began" else None) for name in fitting]
    return (*acts, act_of(services, "photo", ()), act_of(services, "later", ()))


def _in_quarantine(facts: BoxFacts) -> bool:
    began, ended = facts.latest.get("quarantine_began"), facts.latest.get("quarantine_ended")
    return began is not None and (ended is None or (ended.at_ms, ended.event) < (began.at_ms, began.event))


def rest_until(services: Services, today: date) -> date:
    """Return the day on which a winter rest that begins now would usually end."""
    month = int(setting(services, "rest_month"))
    return date(today.year + (today.month >= month), month, 1)


def act_of(
    services: Services,
    name: str,
    done: Collection[str],
    label: str = "",
    icon: str = "",
    preset: dict[str, Json] | None = None,
) -> Act:
    """Return the button of a kind or command."""
    if name in COMMANDS:
        said, drawn = _LABELS[name]
        return Act(label or said, icon or drawn, command=name)
    kind = services.catalog.vocabulary.kinds[name]
    command = "count" if name == "count" else ""
    return Act(
        label=label or kind.label,
        icon=icon or kind.icon,
        kind=name,
        command=command,
        preset=preset or {},
        asks=asks_of(kind, preset or {}),
        done=name in done,
    )


def asks_of(kind: Kind, preset: dict[str, Json]) -> tuple[Field, ...]:
    """Return the fields that a person is asked for: none where one tap suffices."""
    if kind.one_tap:
        return ()
    asked = [field for field in kind.fields if field.required or (field.type in _ASKED and field.name not in _RARELY)]
    return tuple(f for f in asked if f.name not in preset and (f.required or f.name not in _SELECTORS))


def can_be_a_button(services: Services, name: str) -> bool:
    """Return whether a kind can be logged without a form of its own."""
    kind = services.catalog.vocabulary.kinds[name]
    if name in _NEVER:
        return False
    texts = [f for f in kind.fields if f.required and f.type in (FieldType.TEXT, FieldType.DATE)]
    return not texts and not any(field.required and field.type in _NOT_BY_BUTTON for field in kind.fields)


def _fits(services: Services, name: str, here: Collection[Stage]) -> bool:
    kind = services.catalog.vocabulary.kinds[name]
    return not kind.stages or bool(set(kind.stages) & set(here))
