"""What is known about one box: the state that follows from the log, as plain values and without a clock.

Facts never hold today's date: what is due can therefore be worked out once after each event and kept.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from boxside.core.values.event import Json
from boxside.core.values.ledger import Line
from boxside.core.values.stages import Stage


@dataclass(frozen=True, slots=True)
class Seen:
    """The latest effective event of a kind at a box.

    `event` is its id, `at_ms` its moment in milliseconds UTC, `day` the keeper's calendar day it fell on,
    `fields` the kind's own fields (absent or None where the keeper did not say).
    """

    event: str
    at_ms: int
    day: date
    fields: Mapping[str, Json] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Rest:
    """A winter rest that has begun and not ended: since when, until when it is planned, box or area.

    `until` is None where no end was planned; `event` is the id of the event that began it.
    """

    since: date
    until: date | None = None
    where: str = "box"
    event: str | None = None


@dataclass(frozen=True, slots=True)
class CohortFacts:
    """What matters to the care of a cohort that lives in the box.

    `origin` is laid, founders, received, blend or individual; `started_on` the day it was booked in, `laid_on` the
    day its first eggs were laid, `hatched_on` the day its first larvae hatched; None where not known.
    """

    cohort: str
    origin: str = "laid"
    started_on: date | None = None
    laid_on: date | None = None
    hatched_on: date | None = None


@dataclass(frozen=True, slots=True)
class BoxFacts:
    """One box as the log leaves it.

    `lines` holds the animals expected in the box, positive numbers only; `latest` maps an event kind to
    its latest effective event here, and `later:<task>` to the latest postponement of that task.
    `area_cool` says whether the box's area is cool, None where nobody knows; `area_mean_c` is its recent
    mean temperature in degrees Celsius. `loss_note` is one sentence where the latest complete count left
    more animals unaccounted than the stage's survival explains, empty otherwise. `shares_code` says that an
    earlier open box carries the same code.
    """

    box: str
    label: str
    made_on: date
    lines: tuple[tuple[Line, int], ...] = ()
    latest: Mapping[str, Seen] = field(default_factory=dict)
    rest: Rest | None = None
    area_cool: bool | None = None
    area_mean_c: float | None = None
    cohorts: tuple[CohortFacts, ...] = ()
    loss_note: str = ""
    shares_code: bool = False

    def n_of(self, stage: Stage) -> int:
        """Return how many animals of a stage are expected in the box."""
        return sum(n for line, n in self.lines if line.stage is stage)

    def lines_of(self, stage: Stage) -> tuple[Line, ...]:
        """Return the lines of one stage."""
        return tuple(line for line, n in self.lines if line.stage is stage and n > 0)

    def latest_of(self, *kinds: str) -> Seen | None:
        """Return the latest of several kinds by moment and id, None where none of them happened."""
        seen = [self.latest[kind] for kind in kinds if kind in self.latest]
        return max(seen, key=lambda s: (s.at_ms, s.event), default=None)
