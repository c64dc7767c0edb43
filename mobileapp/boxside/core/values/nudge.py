"""Nudges as values: what the keeper prefers, what was posted, and the dated digests that are planned."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from boxside.core.values.due import Due
from boxside.core.values.errors import EntryError

DAY_MINUTES = 24 * 60
MAX_SLOTS = 3


@dataclass(frozen=True, slots=True)
class BoxDues:
    """One box's due tasks, with its lid code and who lives in it, in words."""

    box: str
    label: str
    who: str
    dues: tuple[Due, ...]


@dataclass(frozen=True, slots=True)
class LaterMove:
    """The keeper's `Later` on a digest: which, when it was asked for, and by how many minutes."""

    digest: str
    asked_ms: int
    minutes: int


@dataclass(frozen=True, slots=True)
class Posted:
    """A digest that the phone has posted: which, when, and whether it still shows."""

    digest: str
    at_ms: int
    showing: bool = True


@dataclass(frozen=True, slots=True)
class NudgePrefs:
    """When the keeper wants to be nudged, in minutes of the local day.

    `slots` are one to three times of day; no nudge is posted from `quiet_from` up to `quiet_to` (which may
    lie on the next day; equal means no quiet hours). `zone` is the IANA name of the keeper's zone.

    Raises
    ------
    EntryError : for no slot or more than three, equal ones, times outside the day, or in the quiet hours
    """

    slots: tuple[int, ...] = (18 * 60,)
    quiet_from: int = 21 * 60 + 30
    quiet_to: int = 7 * 60
    zone: str = "UTC"
    wanted: bool = True
    max_lines: int = 4
    later: tuple[LaterMove, ...] = ()

    def __post_init__(self) -> None:
        if not 1 <= len(self.slots) <= MAX_SLOTS or len(set(self.slots)) < len(self.slots):
            raise EntryError("Choose one, two or three different times for reminders. Nothing was changed.")
        if any(not 0 <= minute < DAY_MINUTES for minute in (*self.slots, self.quiet_from, self.quiet_to)):
            raise EntryError("A time of day lies between 0:00 and 23:59. Nothing was changed.")
        if any(self.is_quiet(minute) for minute in self.slots):
            raise EntryError("A reminder would fall into the quiet hours. Move it or the quiet hours.")

    def is_quiet(self, minute: int) -> bool:
        """Return whether a minute of the local day lies in the quiet hours."""
        if self.quiet_from <= self.quiet_to:
            return self.quiet_from <= minute < self.quiet_to
        return minute >= self.quiet_from or minute < self.quiet_to


@dataclass(frozen=True, slots=True)
class Digest:
    """One planned nudge.

    `id` is stable for a day and slot, so that it is updated in place. `at_local` and `until_local` are wall
    times of the phone ("YYYY-MM-DDTHH:MM"): it is posted from the first on and no more from the second on;
    `at_ms` is the first as an instant in the zone of the plan. `brief` says nothing private and may show on
    the lock screen. `silent` replaces one that already shows, without a sound.
    """

    id: str
    day: date
    slot: int
    at_ms: int
    at_local: str
    until_local: str
    title: str
    brief: str
    lines: tuple[str, ...]
    boxes: tuple[str, ...]
    n_boxes: int
    silent: bool = False


@dataclass(frozen=True, slots=True)
class NudgePlan:
    """All digests from today on, soonest first, and what is to become of those that were posted.

    `withdraw` names posted digests that are to be taken away; `forget` those that are taken away and may be
    posted again under the same id.
    """

    made_ms: int
    zone: str
    quiet_from: int
    quiet_to: int
    digests: tuple[Digest, ...]
    withdraw: tuple[str, ...] = ()
    forget: tuple[str, ...] = ()
