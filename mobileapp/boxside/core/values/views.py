"""What screens and commands are shown: frozen values, already in words and in the keeper's zone.

Actions build them, screens draw them; a screen needs no database to be tested.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from boxside.core.values.event import Json
from boxside.core.values.vocabulary import Field


@dataclass(frozen=True, slots=True)
class Notice:
    """A message for the person: what happened, what is safe, what to do; `bad` where something failed.

    `correctable` where the entry that was refused can be logged as a correction.
    """

    what: str
    safe: str = ""
    do: str = ""
    bad: bool = False
    correctable: bool = False


@dataclass(frozen=True, slots=True)
class Act:
    """One thing that can be logged with one button.

    `preset` is logged with it; `asks` are the fields a person is asked for before it is saved (empty:
    one tap suffices). `command` is set instead of `kind` for buttons that do not log: next, look, photo,
    later, count.
    """

    label: str
    icon: str
    kind: str = ""
    command: str = ""
    preset: Mapping[str, Json] = field(default_factory=dict)
    asks: tuple[Field, ...] = ()
    done: bool = False


@dataclass(frozen=True, slots=True)
class DueLine:
    """One due task of a box in words: the task, since when, why; `late` once its latest day is past."""

    task: str
    label: str
    when: str
    why: str
    late: bool = False


@dataclass(frozen=True, slots=True)
class Undo:
    """What can be taken back at once: the event, and what was logged in words.

    `events` are all entries of an act that made several; empty where the one event is all.
    """

    event_id: str
    label: str
    events: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class RoundView:
    """One due box, or an empty round.

    `box_id` is empty when nothing is due: then `headline` says so and `why` when the next box is due.
    `place` and `total` say where in today's round this box stands; `main` holds at most four acts.
    """

    box_id: str
    label: str
    headline: str
    who: str
    why: str
    due: tuple[DueLine, ...] = ()
    main: tuple[Act, ...] = ()
    more: tuple[Act, ...] = ()
    signs: tuple[Act, ...] = ()
    visit: str = ""
    place: int = 0
    total: int = 0
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Saved:
    """What came of logging: the event that was kept, the undo for it, the box as it now is."""

    event_id: str
    undo: Undo | None
    view: RoundView | None
    notice: Notice | None = None
    box_done: bool = False


@dataclass(frozen=True, slots=True)
class ShelfRow:
    """One box in the list of all boxes, most pressing first."""

    box_id: str
    label: str
    who: str
    due: str
    why: str
    late: bool = False
    due_today: bool = False


@dataclass(frozen=True, slots=True)
class ShelfView:
    """The boxes from `offset` on that match what was searched for, and how many there are in all."""

    rows: tuple[ShelfRow, ...]
    total: int
    offset: int = 0
    search: str = ""


@dataclass(frozen=True, slots=True)
class HistoryRow:
    """One entry of a box's history; struck ones (taken back or corrected) stay visible.

    `values` are its fields as they can be corrected; `fields` their declarations; `at_ms` is when it happened.
    """

    event_id: str
    kind: str
    when: str
    label: str
    detail: str
    at_ms: int
    note: str = ""
    struck: str = ""
    visit: str = ""
    values: Mapping[str, Json] = field(default_factory=dict)
    fields: tuple[Field, ...] = ()
    can_correct: bool = True


@dataclass(frozen=True, slots=True)
class BoxView:
    """One box: who lives there, what is due, all acts, its history from the newest on."""

    box_id: str
    label: str
    who: str
    facts: tuple[tuple[str, str], ...]
    due: tuple[DueLine, ...]
    acts: tuple[Act, ...]
    history: tuple[HistoryRow, ...]
    more_history: bool = False
    signs: tuple[Act, ...] = ()
    photos: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    is_open: bool = True


@dataclass(frozen=True, slots=True)
class SettingRow:
    """One setting: what it is called, what it is now, how it can be changed.

    `how` is choice, number, minute (of the day), or text; `group` is the heading it stands under.
    """

    key: str
    group: str
    label: str
    value: Json
    shown: str
    how: str
    choices: tuple[tuple[str, str], ...] = ()
    minimum: float | None = None
    maximum: float | None = None
    step: float = 1
    unit: str = ""
    hint: str = ""


@dataclass(frozen=True, slots=True)
class SettingsView:
    """All settings by group, the cautions, and what the nudge of today says."""

    rows: tuple[SettingRow, ...]
    cautions: tuple[tuple[str, str], ...]
    nudge: tuple[str, ...] = ()
    about: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class NewBox:
    """A box as it is added: its code, what lives in it, and when it was last fed.

    `fed` is today, about (with `fed_days` ago), or unknown; `stage` empty makes an empty box.
    """

    label: str
    stage: str = ""
    n: int | None = None
    instar: int | None = None
    fed: str = "unknown"
    fed_days: int | None = None
    cohort_id: str = ""
    area_id: str = ""
    sex: str = ""


@dataclass(frozen=True, slots=True)
class NewBoxView:
    """What the form for a new box starts with: a free code, the cohorts and areas there are."""

    next_label: str
    cohorts: tuple[tuple[str, str], ...]
    areas: tuple[tuple[str, str], ...]
    stages: tuple[tuple[str, str], ...]
    instars: int


@dataclass(frozen=True, slots=True)
class NudgeView:
    """What today's nudge says and whether it was handed over; `day` is the keeper's, `brief` only how many are due."""

    day: date
    title: str
    lines: tuple[str, ...]
    posted: bool
    notice: Notice | None = None
    brief: str = ""


@dataclass(frozen=True, slots=True)
class StartView:
    """What the app needs before its first screen: whether the log is empty, and the theme."""

    is_new: bool
    theme: str
    notice: Notice | None = None
    keep_awake: bool = True
