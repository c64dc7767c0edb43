"""What the keeper is shown of the coming weeks: frozen values, in words and in the keeper's days.

Actions build them, the Ahead screen and the commands `ahead`, `away` and `temperatures` read them.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from boxside.core.values.chart import Chart
from boxside.core.values.due import Reason
from boxside.core.values.forecast import Outlook
from boxside.core.values.views import Notice


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a number: what it stands for and how much it is."""

    label: str
    value: float


@dataclass(frozen=True, slots=True)
class Sum:
    """A number with the parts that make it up; `multiplied` where they multiply instead of adding."""

    value: float
    unit: str
    parts: tuple[Part, ...] = ()
    multiplied: bool = False


@dataclass(frozen=True, slots=True)
class Expected:
    """Something that is expected to happen, as a range of days.

    `what` is hatch, pupate, emerge, wake or quarantine; `subject` names it ("B07, clutch 2026 K"); `n` animals of
    `stage` and `sex` (empty where it does not matter). Eight times in ten it falls between `earliest` and
    `latest`: `share_frac` says so. The dates are None where `outlook` says that none can be given.
    """

    key: str
    what: str
    subject: str
    headline: str
    box_id: str
    cohort_id: str
    n: int
    stage: str
    sex: str
    outlook: Outlook
    earliest: date | None
    likely: date | None
    latest: date | None
    share_frac: float
    reasons: tuple[Reason, ...] = ()

    @property
    def by(self) -> date:
        """The day by which it is listed: the likely one, else the earliest, else at once."""
        return self.likely or self.earliest or date.min


@dataclass(frozen=True, slots=True)
class Visit:
    """One box on one day: its code and what is to be done there; `sure` where it follows from what was logged.

    A visit that is not sure repeats an interval: it holds if the visit before it is made when due.
    """

    box_id: str
    label: str
    tasks: tuple[str, ...]
    sure: bool


@dataclass(frozen=True, slots=True)
class AheadDay:
    """A day and how many boxes it asks for; `heavy` where they are far more than usual.

    `visits` names them, most urgent first, in the first two weeks looked at; later days are only counted.
    """

    on: date
    n_boxes: int
    visits: tuple[Visit, ...] = ()
    heavy: bool = False


@dataclass(frozen=True, slots=True)
class AheadWeek:
    """Seven days (the last week may be shorter) and what is expected to begin in them."""

    from_on: date
    days: tuple[AheadDay, ...]
    expected: tuple[Expected, ...]

    @property
    def n_visits(self) -> int:
        """How many visits the week asks for."""
        return sum(day.n_boxes for day in self.days)


@dataclass(frozen=True, slots=True)
class AheadView:
    """The weeks from a day to another: visits, what is expected, and what could not be foretold and why."""

    from_on: date
    to_on: date
    weeks: tuple[AheadWeek, ...]
    expected: tuple[Expected, ...]
    unknown: tuple[str, ...] = ()
    resting: tuple[str, ...] = ()
    chart: Chart | None = None
    notice: Notice | None = None


@dataclass(frozen=True, slots=True)
class MovedTask:
    """A task better done on another day: which box and task, from when to when, and how many days later (or,
    below 0, earlier)."""

    box_id: str
    label: str
    task: str
    from_on: date
    to_on: date
    days: int


@dataclass(frozen=True, slots=True)
class SmoothView:
    """Boxes a day before and after spreading what can be spread, and each task that would move."""

    days: tuple[tuple[date, int, int], ...]
    moved: tuple[MovedTask, ...]


@dataclass(frozen=True, slots=True)
class AreaClimate:
    """What is known of one area's temperatures: boxes in it, days measured and filled in, the latest, the light.

    `basis` says in a sentence what forecasts take for the days to come; `chart` shows lowest and highest by day.
    """

    area_id: str
    name: str
    n_boxes: int
    usual_c: float | None
    cool: bool
    n_measured: int
    n_filled: int
    last_on: date | None
    last_text: str
    basis: str
    light: str
    chart: Chart | None = None


@dataclass(frozen=True, slots=True)
class ClimateView:
    """All areas; boxes that stand in none are counted in `n_homeless`."""

    areas: tuple[AreaClimate, ...]
    n_homeless: int


@dataclass(frozen=True, slots=True)
class LayoutWay:
    """One way of reading a logger's file: its place in the list of ways, and what it takes for what."""

    number: int
    when: str
    value: str
    order: str
    decimal: str
    unit: str


@dataclass(frozen=True, slots=True)
class ImportView:
    """A logger's file before it is taken in: how it would be read and what comes of that; nothing is saved.

    `ways` has more than one entry where the keeper must choose (`question` asks). `problems` are (line, reason);
    with any of them nothing can be imported. `sample` holds (day, lowest, highest) of the first days. `n_new` days
    would be logged; `n_known` are logged already and left alone.
    """

    path: str
    columns: tuple[str, ...]
    ways: tuple[LayoutWay, ...]
    chosen: int
    question: str
    remembered: bool
    n_rows: int
    n_missing: int
    n_new: int
    n_known: int
    n_future: int
    partial: tuple[date, ...]
    first_on: date | None
    last_on: date | None
    sample: tuple[tuple[date, float, float], ...]
    problems: tuple[tuple[int, str], ...]

    @property
    def ready(self) -> bool:
        """Whether it can be imported as it stands."""
        return not self.problems and not self.question and self.n_new > 0


@dataclass(frozen=True, slots=True)
class Imported:
    """What came of an import: days logged, left alone and left out, and the events to take it back with."""

    area: str
    n_new: int
    n_known: int
    partial: tuple[date, ...]
    event_ids: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StockRow:
    """One batch of prey: kind, size, number left by what was counted and fed since, source and quarantine.

    `unsaid` meals were fed from it without an amount, so that fewer may be left.
    """

    prey: str
    batch: str
    size_mm: float | None
    counted: float
    counted_on: date
    left: float
    unsaid: int
    origin: str
    quarantine_until: date | None
    in_quarantine: bool


@dataclass(frozen=True, slots=True)
class NewStock:
    """A batch of prey as it is entered: `n` there are now, or `added` that came (below 0: went)."""

    prey: str
    n: int | None = None
    added: int | None = None
    batch: str = ""
    size_mm: float | None = None
    origin: str = ""
    quarantine_until: date | None = None


@dataclass(frozen=True, slots=True)
class PreyNeed:
    """One kind of prey: stock, demand by week, the day the stock runs out, and how many to keep for breeding.

    `counted` says whether any stock of it was logged; else nothing is said of when it runs out. `runs_out_on` is
    also None where the stock lasts the weeks looked at. `breeders` and `bridge` are None where nothing is
    known about breeding it. `cautions` say where a kind is regulated or carries something.
    """

    prey: str
    counted: bool
    stock: float
    total: Sum
    by_week: tuple[Sum, ...]
    runs_out_on: date | None
    first_unfed: str
    left: Sum
    breeders: Sum | None
    bridge: Sum | None
    ready_on: date | None
    breeding_source: str
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class InstarPrey:
    """Which sizes of prey an instar takes, and which batches of the stock fit, are too small or too large."""

    instar: int
    n_larvae: int
    reason: str
    fits: tuple[str, ...]
    too_small: tuple[str, ...]
    too_large: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PreyView:
    """Stock, demand and fit of prey for the coming weeks; `notes` say what was assumed."""

    from_on: date
    stock: tuple[StockRow, ...]
    needs: tuple[PreyNeed, ...]
    fits: tuple[InstarPrey, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    chart: Chart | None = None


@dataclass(frozen=True, slots=True)
class BatchView:
    """Which boxes ate a batch: (day, box, amount in words) in order, who refused it, and whether it is suspect."""

    batch: str
    meals: tuple[tuple[date, str, str], ...]
    boxes: tuple[str, ...]
    refusing: tuple[str, ...]
    fed: Sum
    n_unsaid: int
    suspect: bool


@dataclass(frozen=True, slots=True)
class Job:
    """Something to do at a box: its code, where it stands, who lives there, what to do, how, and why."""

    box_id: str
    label: str
    place: str
    who: str
    task: str
    how: str
    why: str


@dataclass(frozen=True, slots=True)
class JobDay:
    """A day and its jobs in the order of the shelf; `event` where something is expected by then."""

    on: date
    jobs: tuple[Job, ...]
    events: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LateTask:
    """A task that nobody does in time without a helper: from which day it is late, and by how many days."""

    box_id: str
    label: str
    task: str
    late_from: date
    late_days: int


@dataclass(frozen=True, slots=True)
class AwayView:
    """What leaving home asks for: the last day's work, what goes wrong without a helper, the helper's days.

    `safe_until` is the last day of return with which nothing is late without a helper, set by the boxes `limiting`;
    None where nothing is due at all. `expected` may happen meanwhile. `sheet` is the helper's page as lines of text.
    """

    leave_on: date
    back_on: date
    last_day: JobDay
    unattended: tuple[LateTask, ...]
    helper: tuple[JobDay, ...]
    safe_until: date | None
    limiting: tuple[str, ...]
    expected: tuple[Expected, ...]
    sheet: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LightRow:
    """The light of one day: sunrise, sunset and civil dusk by the wall clock (None where the sun does not cross),
    hours from sunrise to sunset, and hours of light in the area asked about."""

    on: date
    sunrise: datetime | None
    sunset: datetime | None
    dusk: datetime | None
    day_length_h: float
    box_light_h: float


@dataclass(frozen=True, slots=True)
class LightView:
    """Day length and dusk through the year at the keeper's place, and what a lamp or a dark cupboard changes."""

    place: str
    area: str
    today: LightRow | None
    rows: tuple[LightRow, ...]
    notes: tuple[str, ...]
    chart: Chart | None = None
    notice: Notice | None = None


@dataclass(frozen=True, slots=True)
class Treated:
    """What cooling or warming one sex would do: degrees, the share of females that meet a living male (low, likely,
    high), and how many days the females come after the males."""

    label: str
    males_c: float
    females_c: float
    met_frac: tuple[float, float, float]
    lag_days: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class PairOverlap:
    """Males of one cohort and females of another (or the same): how well their adult lives meet."""

    males: str
    females: str
    n_males: int
    n_females: int
    as_is: Treated
    treated: tuple[Treated, ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class OverlapView:
    """Every pair of cohorts with male and female pupae; `unpaired` names those that lack the other sex."""

    pairs: tuple[PairOverlap, ...]
    unpaired: tuple[str, ...]
    notes: tuple[str, ...]
