"""What became of the animals of a cohort, stage by stage: when they entered, when and how they left."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from boxside.core.values.ledger import Account, Line
from boxside.core.values.stages import Sex, Stage


class End(StrEnum):
    """How animals left a stage, as far as the log says."""

    MOVED_ON = "moved_on"
    DIED = "died"
    UNACCOUNTED = "unaccounted"
    REMOVED = "removed"
    PRESENT = "present"


ENDS = {
    Account.DEAD: End.DIED,
    Account.UNACCOUNTED: End.UNACCOUNTED,
    Account.GIVEN_AWAY: End.REMOVED,
    Account.ESCAPED: End.REMOVED,
}


@dataclass(frozen=True, slots=True)
class Passage:
    """`n` animals of a cohort in one stage; instants in milliseconds UTC.

    They came into the cohort at `came_ms`, entered the stage in (`entered_after_ms`, `entered_ms`] and left it in
    (`left_after_ms`, `left_ms`]. Unknown are None: when animals that came in from outside entered their
    stage, and the end of those still in it (then `left_after_ms` is when they were last known to be alive).
    `sex` is the one found out last; `event` is what ended the stage; `is_last` marks the stage in which they were last.
    """

    cohort: str
    box: str
    stage: Stage
    sex: Sex
    n: int
    came_ms: int
    entered_after_ms: int | None
    entered_ms: int | None
    left_after_ms: int
    left_ms: int | None
    end: End
    event: str
    is_last: bool


@dataclass(frozen=True, slots=True)
class Stint:
    """A stage that is behind a lot: the bounds of entering and leaving it, and the event that ended it."""

    stage: Stage
    entered_after_ms: int | None
    entered_ms: int | None
    left_after_ms: int
    left_ms: int
    event: str


@dataclass(frozen=True, slots=True)
class Lot:
    """Animals with one history, told apart only by number.

    `seen_ms` is the last moment at which they are known to have been alive, and in this stage.
    """

    line: Line
    came_ms: int
    entered_after_ms: int | None
    entered_ms: int | None
    seen_ms: int
    past: tuple[Stint, ...] = ()

    def passages(self, n: int, end: End, event: str, left_ms: int | None) -> list[Passage]:
        """Return all stages of `n` animals of this lot, the last one ended as said."""
        return [
            *(self._passage(n, stint, End.MOVED_ON, stint.left_ms) for stint in self.past),
            self._passage(n, self._now(event), end, left_ms),
        ]

    def _now(self, event: str) -> Stint:
        return Stint(self.line.stage, self.entered_after_ms, self.entered_ms, self.seen_ms, self.seen_ms, event)

    def _passage(self, n: int, stint: Stint, end: End, left_ms: int | None) -> Passage:
        return Passage(
            cohort=self.line.cohort,
            box=self.line.box,
            stage=stint.stage,
            sex=self.line.sex,
            n=n,
            came_ms=self.came_ms,
            entered_after_ms=stint.entered_after_ms,
            entered_ms=stint.entered_ms,
            left_after_ms=stint.left_after_ms,
            left_ms=left_ms,
            end=end,
            event=stint.event,
            is_last=end is not End.MOVED_ON,
        )


def by_entry(lot: Lot) -> tuple[float, ...]:
    """Order of leaving a stage: the first to enter it are the first to leave; unknown entries lead."""
    entered = float("-inf") if lot.entered_ms is None else float(lot.entered_ms)
    return (entered, lot.came_ms, lot.seen_ms)


def by_sight(lot: Lot) -> tuple[float, ...]:
    """Order of dying: the longest unseen first, since nothing says that they still lived."""
    return (lot.seen_ms, *by_entry(lot))
