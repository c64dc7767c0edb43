"""Charts of an invented colony of common glow-worms, as its keeper would see them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from boxside.core.survival import Life, counts_chart, survival_chart, survival_curve
from boxside.core.values.chart import (
    Bars,
    Chart,
    Dots,
    QuartileBox,
    Role,
    Steps,
    category_axis,
    date_axis,
    number_axis,
    stacked,
)


def survival() -> Chart:
    """Three cohorts of larvae, some of them never seen to the end."""
    rng = np.random.default_rng(7)
    curves = {}
    for name, mean in (("C1 · shelf by the window", 300), ("C2 · cellar", 210), ("C3 · late clutch", 130)):
        lives = []
        for _ in range(46):
            day, closed = float(np.ceil(rng.gamma(2.2, mean / 2.2))), float(rng.integers(220, 420))
            lives.append(Life(min(day, closed), died=day <= closed))
        curves[name] = survival_curve(lives)
    chart = survival_chart(curves, "Survival of larvae")
    series = tuple(replace(s, marks_name="left observation") if isinstance(s, Steps) else s for s in chart.series)
    return replace(chart, series=series)


def timeline() -> Chart:
    """How many animals of each stage were alive over a season."""
    first = date(2025, 5, 1)
    days = np.arange(0, 430, 7)
    x = tuple(float((first + timedelta(days=int(d))).toordinal()) for d in days)

    def bump(middle: float, wide: float, high: float) -> tuple[float, ...]:
        return tuple(float(round(high * np.exp(-(((d - middle) / wide) ** 2)))) for d in days)

    larva = tuple(
        float(round(72 / (1 + np.exp(-(d - 88) / 9)) * (0.35 + 0.65 * np.exp(-d / 260)) / (1 + np.exp((d - 372) / 12))))
        for d in days
    )
    layers = (
        ("eggs", Role.EGG, bump(75, 26, 84)),
        ("larvae", Role.LARVA, larva),
        ("prepupae", Role.PREPUPA, bump(378, 16, 12)),
        ("pupae", Role.PUPA, bump(396, 16, 22)),
        ("adults", Role.ADULT, tuple(a + b for a, b in zip(bump(48, 20, 16), bump(420, 18, 26), strict=True))),
    )
    most = max(sum(column) for column in zip(*(h for _, _, h in layers), strict=True))
    axis = date_axis("", first, first + timedelta(days=427))
    return Chart("Stages over the season", axis, number_axis("animals", "", 0, most), stacked(layers, x))


def durations() -> Chart:
    """Days spent in each stage, females and males apart."""
    rng = np.random.default_rng(3)
    means = {"egg": (31, 31), "larva": (318, 286), "prepupa": (6, 5), "pupa": (11, 13), "adult": (17, 12)}
    series = []
    for at, (name, role) in enumerate((("female", Role.MAIN), ("male", Role.OTHER))):
        x, y, boxes = [], [], []
        for i, mean in enumerate(means.values()):
            days = sorted(float(round(d)) for d in rng.gamma(60, mean[at] / 60, 22))
            x += [float(i)] * 22
            y += days
            q = np.quantile(days, [0.25, 0.5, 0.75])
            boxes.append(QuartileBox(float(i), *(float(v) for v in q)))
        series.append(Dots(name, role, tuple(x), tuple(y), tuple(boxes)))
    names = category_axis("stage", tuple(means))
    return Chart("Days in each stage, by sex", names, number_axis("duration", "d", 0, 400), tuple(series))


def lengths() -> Chart:
    """Body lengths of two cohorts by age."""
    rng = np.random.default_rng(11)
    series = []
    for name, role, pace in (("C1", Role.MAIN, 1.0), ("C2", Role.OTHER, 0.8)):
        x, y, boxes = [], [], []
        for day in range(10, 330, 28):
            middle = 3.4 + 20 * pace * (1 - np.exp(-day / 160))
            sizes = sorted(float(v) for v in rng.normal(middle, 0.09 * middle, 14))
            at = float(day + (4 if name == "C2" else 0))
            x += [at] * 14
            y += sizes
            q = np.quantile(sizes, [0.25, 0.5, 0.75])
            boxes.append(QuartileBox(at, *(float(v) for v in q)))
        series.append(Dots(name, role, tuple(x), tuple(y), tuple(boxes)))
    return Chart("Length of larvae", number_axis("age", "d", 0, 330), number_axis("length", "mm", 0, 30), tuple(series))


def losses() -> Chart:
    """What animals were lost to."""
    causes = (
        "not hatched",
        "fungus",
        "failed moult",
        "drowned in condensation",
        "eaten by another larva",
        "escaped",
        "unknown",
    )
    counts = (23.0, 9.0, 14.0, 3.0, 6.0, 2.0, 17.0)
    bars = Bars("lost", Role.BAD, tuple(float(i) for i in range(len(causes))), counts)
    return Chart("Losses by cause", category_axis("", causes), number_axis("animals lost", "", 0, 23), (bars,))


def feedings() -> Chart:
    """Feedings in each week of half a year."""
    rng = np.random.default_rng(5)
    first = date(2025, 6, 2)
    weeks = [first + timedelta(days=7 * i) for i in range(26)]
    x = tuple(float(week.toordinal()) for week in weeks)
    y = tuple(float(v) for v in rng.poisson([14 + 8 * np.sin(i / 4) for i in range(26)]))
    axis = date_axis("week", first - timedelta(days=4), weeks[-1] + timedelta(days=4))
    return Chart("Feedings per week", axis, number_axis("feedings", "", 0, max(y)), (Bars("fed", Role.MAIN, x, y),))


def stages() -> Chart:
    """Share that gets through each stage, with intervals."""
    names = category_axis("stage", ("egg", "larva", "pupa"))
    bars = Bars("got through", Role.GOOD, (0.0, 1.0, 2.0), (0.82, 0.41, 0.93), (0.7, 0.3, 0.78), (0.9, 0.53, 0.98))
    return Chart(
        "Survival of each stage", names, number_axis("got through", "share", 0, 1), (bars,),
        ("Animals whose stage at death is unknown are not counted.",),
    )  # fmt: skip


def counts() -> Chart:
    """Too few deaths for a curve: counts."""
    curves = {
        name: survival_curve([Life(4.0 + i, died=i < dead) for i in range(9)]) for name, dead in (("C1", 3), ("C2", 5))
    }
    return counts_chart(curves, "Deaths so far")


def nothing() -> Chart:
    """A chart before the first entry."""
    axis = number_axis("age", "d", 0, 10)
    alive = number_axis("alive", "share", 0, 1)
    return Chart("Survival of larvae", axis, alive, (), nothing="no death was logged, and no cohort was closed")


def long_series() -> Chart:
    """Twenty thousand temperatures."""
    rng = np.random.default_rng(1)
    day = np.arange(20_000) / 48
    warm = 15 + 6 * np.sin(day / 58) + rng.normal(0, 0.5, day.size)
    x = tuple(float(d) + date(2025, 5, 1).toordinal() for d in day)
    y = tuple(float(v) for v in warm)
    axis = date_axis("", date(2025, 5, 1), date(2026, 6, 24))
    return Chart(
        "Temperature on the shelf",
        axis,
        number_axis("temperature", "°C", 6, 24),
        (Steps("shelf", Role.MAIN, x, y, x[-1]),),
    )


SAMPLES: dict[str, Callable[[], Chart]] = {
    "survival": survival, "timeline": timeline, "durations": durations, "lengths": lengths, "losses": losses,
    "feedings": feedings, "stages": stages, "counts": counts, "nothing": nothing, "long": long_series,
}  # fmt: skip
