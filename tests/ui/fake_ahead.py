"""The coming weeks of the invented colony: views as the actions would return them, and what was called.

`services.settings["ahead"]` chooses: full (the usual), quiet (nothing is due, stocked or known).
"""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import Any

from boxside.core.values.ahead import (
    AheadDay,
    AheadView,
    AheadWeek,
    AwayView,
    Expected,
    Job,
    JobDay,
    LateTask,
    MovedTask,
    OverlapView,
    PairOverlap,
    SmoothView,
    Treated,
    Visit,
)
from boxside.core.values.chart import Bars, Chart, Role, date_axis, number_axis
from boxside.core.values.due import Reason
from boxside.core.values.errors import EntryError
from boxside.core.values.forecast import Outlook
from boxside.core.values.season import Flow
from boxside.core.values.views import Saved, Undo
from tests.ui.fake_colony import Services, fail_if_told

TODAY = date(2026, 5, 28)
COUNTS = (8, 3, 8, 14, 10, 11, 12, 4, 10, 9, 15, 2, 11, 10, 8, 31, 7, 0, 12, 4, 13, 11, 3, 8, 10, 13, 3, 6)
BEGAN = Reason("began", "e1", 0, "It began on 2026-04-12.")
SUMS = Reason("warmth", None, 0, "It takes about 310 degree-days above 9 °C, by the profile and 3 own intervals.")
SEASON = Reason("season", None, 0, "Larvae pupate from Apr to Aug: what would fall outside waits for the next month.")


def is_quiet(services: Services) -> bool:
    """Whether the colony has nothing to say."""
    return services.settings.get("ahead") == "quiet"


def expected(
    what: str, headline: str, days: tuple[int, int, int] | None, n: int, stage: str, sex: str = "",
    outlook: Outlook = Outlook.EXPECTED,
) -> Expected:  # fmt: skip
    """Return something expected in so many days: earliest, likely, latest."""
    on = [TODAY + timedelta(days=n) for n in days] if days else [None] * 3
    return Expected(
        f"{what}{headline}", what, "B07, Clutch of the second female 2026", headline, "id7", "c1", n, stage, sex,
        outlook, on[0], on[1], on[2], 0.8, (BEGAN, SUMS, SEASON),
    )  # fmt: skip


EXPECTED = (
    expected("hatch", "First larvae in B07", (-20, -12, -3), 60, "egg", outlook=Outlook.OVERDUE),
    expected("emerge", "Males emerge in B04", (1, 3, 6), 3, "pupa", "male"),
    expected("emerge", "Females emerge in B04", (4, 8, 13), 4, "pupa", "female"),
    expected("hatch", "First larvae in B03", (9, 15, 24), 55, "egg"),
    expected("pupate", "Larvae pupate in B02", (20, 300, 390), 12, "larva"),
    expected("hatch", "First larvae in B09", None, 40, "egg", outlook=Outlook.STALLED),
)


def ahead_view(services: Services, from_on: date | None = None, to_on: date | None = None) -> AheadView:
    """Return four weeks, whatever is asked; what is asked is remembered."""
    services.asked.append(("ahead_view", (from_on, to_on)))
    counts = (0,) * 28 if is_quiet(services) else COUNTS
    days = [
        AheadDay(
            TODAY + timedelta(days=n), count, visits(count) if n < 14 else (), heavy=count > 20
        )
        for n, count in enumerate(counts)
    ]  # fmt: skip
    found = () if is_quiet(services) else EXPECTED
    weeks = []
    for at in range(0, 28, 7):
        last = TODAY + timedelta(days=at + 6)
        begins = [one for one in found if at == max(0, min(21, (one.by - TODAY).days // 7 * 7))] if found else []
        weeks.append(AheadWeek(last - timedelta(days=6), tuple(days[at : at + 7]), tuple(begins)))
    x = tuple(float(day.on.toordinal()) for day in days)
    chart = Chart(
        "Boxes a day", date_axis("Day", TODAY, days[-1].on), number_axis("Boxes", "", 0, max(*counts, 1)),
        (Bars("boxes to visit", Role.MAIN, x, tuple(map(float, counts))),),
        ("Repeated tasks are counted as if each were done when due.",),
    )  # fmt: skip
    unknown = ("Grown larvae of unknown age in B08: no date of pupation can be given. Watch for shelter seekers.",)
    resting = ("In winter rest until 5 Mar 2027: B05, B10, B11.",)
    said = ((), ()) if is_quiet(services) else (unknown, resting)
    return AheadView(TODAY, days[-1].on, tuple(weeks), found, *said, chart)


def visits(n: int) -> tuple[Visit, ...]:
    """Return so many visits, every third of them not sure."""
    tasks = (("Feed", "Check moisture", "Renew the substrate"), ("Check moisture",), ("Watch for emergence",))
    return tuple(Visit(f"id{i}", f"B{i:02d}", tasks[i % 3], i % 3 > 0) for i in range(1, n + 1))


MOVED = (
    MovedTask("id1", "B01", "renew", TODAY + timedelta(days=2), TODAY + timedelta(days=1), -1),
    MovedTask("id2", "B02", "feed", TODAY + timedelta(days=3), TODAY + timedelta(days=4), 1),
    MovedTask("id3", "B03", "clean", TODAY + timedelta(days=3), TODAY + timedelta(days=6), 3),
)


def smooth_view(services: Services, heavy_from: int = 0) -> SmoothView:
    """Return moves; none where a quiet colony is asked."""
    services.asked.append(("smooth_view", heavy_from))
    quiet = is_quiet(services)
    days = tuple((TODAY + timedelta(days=n), 0 if quiet else COUNTS[n], 0 if quiet else 9) for n in range(14))
    return SmoothView(days, () if quiet else MOVED)


def spread_tasks(services: Services, moved: tuple[MovedTask, ...]) -> Flow:
    """Remember what was put off."""
    return kept_flow(services, "spread_tasks", moved, "2 tasks put off")


def kept_flow(services: Services, name: str, given: Any, label: str) -> Flow:
    """Remember what an action was given; return a flow of two entries."""
    fail_if_told(services)
    services.asked.append((name, given))
    return Flow(Saved("f2", Undo("f2", label), None), ("f1", "f2"))


def kept(services: Services, name: str, given: Any, label: str) -> Saved:
    """Remember what an action was given; return that it was saved as `k1`."""
    fail_if_told(services)
    services.asked.append((name, given))
    return Saved("k1", Undo("k1", label), None)


def overlap_view(services: Services) -> OverlapView:
    """Return one pair of cohorts and one without the other sex."""
    notes = ("Each is seen in the same possible futures. What cooling costs the pupae is not known and not counted.",)
    if is_quiet(services):
        return OverlapView((), (), notes)
    rows = [
        Treated(label, males, females, (low, likely, high), (-2.0, 3.0, 8.0))
        for label, males, females, low, likely, high in (
            ("as they are", 0.0, 0.0, 0.31, 0.58, 0.84), ("males 3 °C cooler", -3.0, 0.0, 0.6, 0.83, 0.97),
            ("females 3 °C warmer", 0.0, 3.0, 0.55, 0.8, 0.95), ("both of these", -3.0, 3.0, 0.7, 0.9, 1.0),
        )
    ]  # fmt: skip
    pair = PairOverlap("Alder 2026", "Birch 2025", 3, 4, rows[0], tuple(rows[1:]), "No temperature sum is known.")
    return OverlapView((pair,), ("Cedar 2026",), notes)


def save_calendar(services: Services, from_on: date | None = None, to_on: date | None = None) -> Path:
    """Remember an export."""
    fail_if_told(services)
    services.asked.append(("save_calendar", (from_on, to_on)))
    return Path(services.device.data_dir) / "exports" / f"ahead_{from_on}_{to_on}.ics"


def today(services: Services) -> date:
    """Return the day on which all of it stands."""
    return TODAY


# ---- going away ----


def away_view(services: Services, leave_on: date, back_on: date, helper: str = "") -> AwayView:
    """Return what a trip asks for."""
    services.asked.append(("away_view", (leave_on, back_on, helper)))
    if (back_on - TODAY).days > 400:
        raise EntryError(f"{back_on} is more than 400 days from now. Nothing was changed. Look less far.")
    if is_quiet(services):
        return AwayView(leave_on, back_on, JobDay(leave_on, ()), (), (), None, (), (), ("Glow-worms",))
    jobs = tuple(job(n, "Check moisture", "mist so that it is damp, never wet; no puddles") for n in range(1, 24))
    meals = tuple(job(n, "Feed", f"{n + 2} prey of 5 to 15 mm") for n in (2, 20))
    late = [
        LateTask(f"id{n}", f"B{n:02d}", task, leave_on + timedelta(days=4), (back_on - leave_on).days - 3)
        for n, task in ((23, "meal_out"), *((n, "moisture") for n in range(1, 12)), (2, "feed"))
    ]
    come = leave_on + timedelta(days=3)
    return AwayView(
        leave_on, back_on, JobDay(leave_on, (*jobs[:7], *meals)), tuple(late),
        (JobDay(come, (*jobs, *meals), ("Males emerge in B04: between 29 May and 3 Jun, likely 31 May",)),),
        leave_on + timedelta(days=3), ("B23",), EXPECTED[1:3], ("Glow-worms, 29 May to 5 Jun",),
    )  # fmt: skip


def job(n: int, task: str, how: str) -> Job:
    """Return a job at a box."""
    why = "Late from 2026-06-04, before the return on 2026-06-05."
    return Job(f"id{n}", f"B{n:02d}", f"Cellar shelf {n}", f"{n} larvae, instar 4", task, how, why)


def save_sheet(services: Services, leave_on: date, back_on: date, helper: str = "") -> tuple[Path, Path]:
    """Remember an export."""
    fail_if_told(services)
    services.asked.append(("save_sheet", (leave_on, back_on, helper)))
    stem = Path(services.device.data_dir) / "exports" / f"away_{leave_on}_{back_on}"
    return stem.with_suffix(".pdf"), stem.with_suffix(".txt")


NAMES = (
    "ahead_view", "away_view", "overlap_view", "save_calendar", "save_sheet", "smooth_view", "spread_tasks", "today",
)  # fmt: skip
AHEAD_ACTIONS: dict[str, Any] = {name: globals()[name] for name in NAMES}

__all__ = ["AHEAD_ACTIONS", "EXPECTED", "MOVED", "TODAY", "is_quiet", "kept", "kept_flow"]
