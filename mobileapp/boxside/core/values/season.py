"""What the keeper enters and is shown around headcounts, transfers, stages and the season: frozen values.

Counts are whole animals; words are ready to be shown; ids are UUIDs of the log.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from boxside.core.values.chart import Chart
from boxside.core.values.views import Notice, Saved


@dataclass(frozen=True, slots=True)
class Group:
    """Animals of one box that are told apart only by number, in words and as what selects them."""

    label: str
    n: int
    cohort: str
    cohort_name: str
    stage: str
    instar: int = 0
    sex: str = "unknown"


@dataclass(frozen=True, slots=True)
class Target:
    """A box that animals can go to: its code and who lives there."""

    box_id: str
    label: str
    who: str
    is_empty: bool


@dataclass(frozen=True, slots=True)
class TransferView:
    """What a transfer out of a box starts with.

    `expected` animals should be there, `about` says that they were never all counted; `groups` can be moved
    apart from each other; `steps` are the flow in words, `checks` where to look for those left behind;
    `next_label` is a free code for a fresh box, `label` may be given again to renew the box under its code.
    """

    box_id: str
    label: str
    who: str
    expected: int
    about: bool
    groups: tuple[Group, ...]
    targets: tuple[Target, ...]
    next_label: str
    sizes: tuple[tuple[str, str], ...]
    steps: tuple[str, ...]
    checks: tuple[str, ...]
    cautions: tuple[str, ...] = ()
    visit: str = ""


@dataclass(frozen=True, slots=True)
class TransferPart:
    """Animals that go to one box.

    `to_box` is an open box; `to_label` instead makes a fresh one, and the code of the old box renews it. `n` None
    means all that are left. `cohort`, `stage`, `instar`, `sex` pick a group, empty (0) for any; `size` says how they
    were graded: small, middle, large.
    """

    n: int | None = None
    to_box: str = ""
    to_label: str = ""
    cohort: str = ""
    stage: str = ""
    instar: int = 0
    sex: str = ""
    size: str = ""


@dataclass(frozen=True, slots=True)
class TransferDraft:
    """A transfer as it is entered: one part moves a box, several split or grade it.

    `empties` says that all were meant to go: what is not among the moved stays expected in the old box, which is
    to be checked. `counted` False: the numbers are an estimate. `photo` is the sha256 of a photo counted from.
    """

    box_id: str
    parts: tuple[TransferPart, ...]
    empties: bool = True
    counted: bool = True
    photo: str = ""
    note: str = ""
    visit: str = ""
    at_ms: int | None = None


@dataclass(frozen=True, slots=True)
class Flow:
    """What came of entering several events at once.

    `events` are all of them, for `undo_flow`; `made` the boxes and cohorts that are new, as (id, label).
    """

    saved: Saved
    events: tuple[str, ...]
    made: tuple[tuple[str, str], ...] = ()
    notice: Notice | None = None


@dataclass(frozen=True, slots=True)
class TransferDone:
    """A transfer that was saved: what moved and what is still expected in the old box, in words."""

    flow: Flow
    sentence: str
    n_moved: int
    left_behind: int
    checks: tuple[str, ...]
    old_label: str


@dataclass(frozen=True, slots=True)
class CountDraft:
    """A count as it is entered; `stage`, `cohort`, `instar` and `sex` narrow it, empty (0) for all in the box."""

    box_id: str
    n: int
    complete: bool = True
    cohort: str = ""
    stage: str = ""
    instar: int = 0
    sex: str = ""
    low: int | None = None
    high: int | None = None
    method: str = "hand"
    photo: str = ""
    note: str = ""
    visit: str = ""
    at_ms: int | None = None


@dataclass(frozen=True, slots=True)
class CountResult:
    """A count held against what was expected.

    `unaccounted` is expected minus counted, negative where more were found; `p_value` the chance that ordinary
    deaths alone lose so many or more, None for a count that is not complete or lacks nothing. `verdict` is complete,
    surplus, lower_bound, explained or more_than_explained; `sentence` says it, `checks` what to do next.
    """

    saved: Saved
    expected: int
    counted: int
    unaccounted: int
    complete: bool
    verdict: str
    sentence: str
    checks: tuple[str, ...] = ()
    p_value: float | None = None

    @property
    def is_alarm(self) -> bool:
        """Whether to look for an escape now."""
        return self.verdict == "more_than_explained"


@dataclass(frozen=True, slots=True)
class StageOffer:
    """A stage that animals of a box can go on to: how many could, and what `change_stage` is given."""

    to: str
    label: str
    most: int
    has_sex: bool = False
    instar: int = 0


@dataclass(frozen=True, slots=True)
class StageView:
    """The groups of a box and the stages they can go on to; part of a group may."""

    box_id: str
    label: str
    who: str
    groups: tuple[Group, ...]
    offers: tuple[StageOffer, ...]
    causes: tuple[tuple[str, str], ...]
    visit: str = ""


@dataclass(frozen=True, slots=True)
class StageDraft:
    """Animals that went on to a stage: larva (hatched), prepupa, pupa, adult; larva with an instar is a moult.

    `n` None means all that could; `sex` is that of the pupa or adult where it was seen. `as_correction` books first
    what must have happened before but was not logged.
    """

    box_id: str
    to: str
    n: int | None = None
    sex: str = ""
    instar: int = 0
    cohort: str = ""
    as_correction: bool = False
    note: str = ""
    visit: str = ""
    at_ms: int | None = None


@dataclass(frozen=True, slots=True)
class Parent:
    """Animals of a cohort that may be the dams (or sires) of a clutch, `n` of them."""

    cohort: str
    n: int = 0
    name: str = ""


@dataclass(frozen=True, slots=True)
class ClutchView:
    """What a clutch in a box starts with: who can have laid it and sired it, a free name, earlier clutches here."""

    box_id: str
    label: str
    next_name: str
    dams: tuple[Parent, ...]
    sires: tuple[Parent, ...]
    clutches: tuple[tuple[str, str], ...]
    visit: str = ""


@dataclass(frozen=True, slots=True)
class ClutchDraft:
    """Eggs that were laid.

    `quality` is counted, estimated or assumed, `low` and `high` bound an estimate. `dams` and `sires` empty: all
    adults that could be. `clutch_id` adds a later batch of the same female to an earlier clutch. `laid_by` says whose
    the eggs are, female, group or some (empty: one female, and nobody said so), of whom `n_dams` laid; `n_sires` males
    come into question, of whom `males_per_clutch` fathered one female's eggs.
    """

    box_id: str
    n: int
    quality: str = "estimated"
    low: int | None = None
    high: int | None = None
    dams: tuple[Parent, ...] = ()
    sires: tuple[Parent, ...] = ()
    clutch_id: str = ""
    name: str = ""
    note: str = ""
    visit: str = ""
    at_ms: int | None = None
    laid_by: str = ""
    n_dams: int | None = None
    n_sires: int | None = None
    males_per_clutch: int | None = None


@dataclass(frozen=True, slots=True)
class MarkDraft:
    """One animal that is marked: `mark` tells it from the others, such as `blue dot`.

    `cohort`, `stage` and `sex` say which animal it is; empty where the box has but one choice.
    """

    box_id: str
    mark: str
    cohort: str = ""
    stage: str = ""
    sex: str = ""
    visit: str = ""


@dataclass(frozen=True, slots=True)
class Section:
    """One question of the season: a picture, its key numbers in words, and the rows it was drawn from.

    `chart` is None where there is too little to draw; `numbers` are (what, in words); `columns` head the `rows`;
    `notes` are the limits of the method.
    """

    key: str
    title: str
    chart: Chart | None
    numbers: tuple[tuple[str, str], ...] = ()
    columns: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SeasonView:
    """What happened from one day to another, both included, to all cohorts or to one.

    `cohorts` and `seasons` are the choices: (id, name) and (name, first day, last day).
    """

    title: str
    from_day: date
    to_day: date
    sections: tuple[Section, ...]
    cohort: str = ""
    cohorts: tuple[tuple[str, str], ...] = ()
    seasons: tuple[tuple[str, date, date], ...] = field(default=())
