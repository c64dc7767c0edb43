"""The season's survival: curves, between inspections, by stage, how long stages take, and the life table."""

from __future__ import annotations

import math
from collections.abc import Sequence

from boxside.actions.season_figures import (
    ALLOCATION,
    CohortTable,
    Colony,
    between_of,
    cohort_table,
    lives_of,
    stays_of,
)
from boxside.actions.season_words import days_words, p_words, pct, quantile_words, range_words, share_words, unique
from boxside.core.ledger import Passage
from boxside.core.survival import (
    IntervalCurve,
    Missing,
    StageSurvival,
    SurvivalCurve,
    both_ways,
    group_test,
    interval_curve,
    interval_quantile,
    life_table_of_stages,
    quantile_day,
    quantile_interval,
    stage_chart,
    stage_survival,
    survival_chart,
    survival_curve,
)
from boxside.core.values.chart import Bars, Chart, Role, Steps, category_axis, number_axis
from boxside.core.values.estimates import FEW_DEATHS, Interval
from boxside.core.values.season import Section
from boxside.core.values.stages import Sex

MOST_CURVES = 4
_TAKEN = {Missing.DEAD: "missing counted as dead", Missing.CENSORED: "missing counted as alive"}
_CURVE_COLUMNS = ("curve", "day", "at risk", "died", "alive", "95 % interval")


def survival_section(colony: Colony, cohorts: Sequence[str], cohort: str) -> Section | None:
    """Return the product-limit curves: of one cohort with the missing taken both ways, else cohort by cohort."""
    curves: dict[str, SurvivalCurve] = {}
    if cohort:
        for missing, said in _TAKEN.items():
            if lives := lives_of(colony, colony.of(cohort), missing):
                curves[said] = survival_curve(lives)
    else:
        for one in _largest(colony, cohorts):
            curves[colony.name(one)] = survival_curve(lives_of(colony, colony.of(one), Missing.DEAD))
    if not curves:
        return None
    title = f"Survival of {colony.name(cohort)}" if cohort else "Survival by cohort"
    numbers = [(name, _last_words(curve)) for name, curve in curves.items()]
    if not cohort and (test := _compared(colony, _largest(colony, cohorts))):
        numbers.append(("Do the cohorts differ?", test))
    rows = [
        (name, f"{day:.0f}", str(k), str(d), pct(s), range_words(Interval(low, high, 0.95, "")))
        for name, c in curves.items()
        for day, k, d, s, low, high in zip(c.days, c.n_at_risk, c.n_died, c.survival, c.low, c.high, strict=True)
    ]
    chart = survival_chart(curves, title)
    notes = unique(chart.notes, ("Age counts from the day the animals came into the cohort.",))
    return Section("survival", title, chart, tuple(numbers), _CURVE_COLUMNS, tuple(rows), notes)


def _largest(colony: Colony, cohorts: Sequence[str]) -> list[str]:
    sizes = {cohort: sum(p.n for p in colony.of(cohort) if p.is_last) for cohort in cohorts}
    kept = sorted((c for c in cohorts if sizes[c]), key=lambda c: -sizes[c])[:MOST_CURVES]
    return [cohort for cohort in cohorts if cohort in kept]


def _last_words(curve: SurvivalCurve) -> str:
    if curve.show_counts_not_curve:
        return f"{curve.n_events} of {curve.n} died; fewer than {FEW_DEATHS} deaths are counts, not a curve"
    last = range_words(Interval(curve.low[-1], curve.high[-1], curve.level, ""))
    half = quantile_day(curve)
    median = quantile_interval(curve)
    said = f"; half by day {half:.0f} ({days_words(median.low, median.high)})" if half is not None else ""
    died = f"{last}; {curve.n_events} of {curve.n} died"
    return f"{pct(curve.survival[-1])} alive after {curve.last_day:.0f} days ({died}){said}"


def _compared(colony: Colony, cohorts: Sequence[str]) -> str:
    groups = [lives_of(colony, colony.of(cohort), Missing.DEAD) for cohort in cohorts]
    if len(groups) < 2 or not any(life.died for group in groups for life in group):
        return ""
    test = group_test(groups)
    few = f"; fewer than {FEW_DEATHS} deaths, so hardly to be trusted" if test.show_counts_not_curve else ""
    return f"log-rank {p_words(test.p_value)} (chi² {test.chi2:.2f}, {test.df} df){few}"


def between_section(colony: Colony, cohort: str) -> Section | None:
    """Return the curve of deaths known only between two inspections, missing animals counted as dead."""
    rows = between_of(colony, colony.of(cohort), Missing.DEAD)
    if not any(row.n for row in rows):
        return None
    curve = interval_curve(rows)
    if curve.n_events == 0:
        return None
    table = [
        (
            f"{after:.0f}",
            f"{by:.0f}" if math.isfinite(by) else "later",
            pct(mass),
            f"{low * 100:.0f}–{high * 100:.0f} %",
        )
        for after, by, mass, low, high in _steps(curve)
    ]
    half = interval_quantile(curve)
    numbers = (
        ("Animals", f"{curve.n}, of which {curve.n_events} died or went missing"),
        ("Half of them", quantile_words(half)),
    )
    title = "Survival between inspections"
    chart = None if curve.show_counts_not_curve else _between_chart(curve, title)
    notes = unique(curve.limits, ALLOCATION)
    return Section("between", title, chart, numbers, ("after day", "by day", "died", "alive then"), tuple(table), notes)


def _steps(curve: IntervalCurve) -> list[tuple[float, float, float, float, float]]:
    """Return the masses with the least and greatest share alive at the end of each interval."""
    found = []
    for after, by, mass in zip(curve.after, curve.by, curve.mass, strict=True):
        if mass > 1e-9:
            low, high = curve.bounds_at(by) if math.isfinite(by) else (0.0, mass)
            found.append((after, by, mass, low, high))
    return found


def _between_chart(curve: IntervalCurve, title: str) -> Chart:
    """Return the share alive as a line with a band as wide as the data leave open."""
    ends = [by for by in curve.by if math.isfinite(by)] + list(curve.after)
    days = sorted({0.0, *(max(0.0, day) for day in ends)})
    bounds = [curve.bounds_at(day) for day in days]
    middle = tuple((low + high) / 2 for low, high in bounds)
    line = Steps(
        "alive", Role.MAIN, tuple(days), middle, days[-1], tuple(low for low, _ in bounds), tuple(h for _, h in bounds)
    )
    x, y = number_axis("age", "d", 0.0, max(1.0, days[-1])), number_axis("alive", "share", 0.0, 1.0)
    return Chart(title, x, y, (line,), ("The band is what the inspections leave open, not a confidence interval.",))


def stage_section(colony: Colony, passages: Sequence[Passage]) -> Section | None:
    """Return what share gets through each stage, with the missing taken both ways."""
    ways = both_ways(stays_of(colony, passages))
    stages = ways[Missing.DEAD]
    if not any(stage.survival for stage in stages):
        return None
    title = "Survival by stage"
    table = life_table_of_stages(stages)
    numbers = [
        (
            stage.stage.value,
            f"{share_words(stage.survival)}, or {share_words(other.survival)} with the missing as alive",
        )
        for stage, other in zip(stages, ways[Missing.CENSORED], strict=True)
        if stage.survival is not None
    ]
    if table is not None:
        numbers.append(("From egg to adult, if all fare alike", f"{pct(table.survival)}; k {table.k:.2f} in all"))
        numbers.append(("Most is lost in", table.key_stage))
    rows = [_stage_row(stage, missing) for missing, found in ways.items() for stage in found]
    columns = ("stage", "missing as", "entered", "through", "dead", "open", "survival", "95 % interval", "k")
    return Section("stages", title, stage_chart(stages, title), tuple(numbers), columns, tuple(rows),
                   unique(*(stage.limits for stage in stages), table.limits if table else ()))  # fmt: skip


def _stage_row(stage: StageSurvival, missing: Missing) -> tuple[str, ...]:
    share = stage.survival
    k = "" if stage.k is None else "∞" if math.isinf(stage.k) else f"{stage.k:.3f}"
    return (
        stage.stage.value, str(missing), str(stage.n_entered), str(stage.n_through), str(stage.n_dead),
        str(stage.n_open), pct(share.value) if share else "", range_words(share.interval) if share else "", k,
    )  # fmt: skip


def length_section(colony: Colony, passages: Sequence[Passage]) -> Section | None:
    """Return how long each stage takes, by the sex that was found out in the end."""
    rows: list[tuple[str, ...]] = []
    drawn: list[tuple[str, float, float, float]] = []
    limits: tuple[str, ...] = ()
    for sex in Sex:
        for stage in stage_survival(stays_of(colony, [p for p in passages if p.sex is sex]), Missing.CENSORED):
            length = stage.length
            if length is None or length.median.day is None:
                continue
            limits = stage.limits
            name = f"{stage.stage} {'' if sex is Sex.UNKNOWN else sex}".strip()
            quartiles = (length.lower, length.median, length.upper)
            rows.append((stage.stage.value, str(sex), str(length.curve.n_events), *map(quantile_words, quartiles)))
            low, high = length.lower.day, length.upper.day
            drawn.append((name, length.median.day, low or 0.0, length.median.day if high is None else high))
    if not rows:
        return None
    order = sorted(range(len(rows)), key=lambda i: (_rank(rows[i][0]), rows[i][1]))
    rows, drawn = [rows[i] for i in order], [drawn[i] for i in order]
    title = "How long stages take"
    x = tuple(float(i) for i in range(len(drawn)))
    bars = Bars("median, with quartiles", Role.MAIN, x, tuple(m for _, m, _, _ in drawn),
                tuple(low for _, _, low, _ in drawn), tuple(high for _, _, _, high in drawn))  # fmt: skip
    y = number_axis("days", "d", 0.0, max(1.0, *(high for *_, high in drawn)))
    chart = Chart(title, category_axis("stage", tuple(name for name, *_ in drawn)), y, (bars,))
    numbers = tuple((f"{row[0]}, {row[1]}", f"half by {row[4]} (n {row[2]})") for row in rows)
    columns = ("stage", "sex", "n", "a quarter by", "half by", "three quarters by")
    return Section("lengths", title, chart, numbers, columns, tuple(rows), unique(limits, ALLOCATION))


def _rank(stage: str) -> int:
    return ("egg", "larva", "prepupa", "pupa", "adult").index(stage)


def table_section(colony: Colony, cohort: str) -> Section | None:
    """Return the life table of one cohort: who is alive at each age, and the eggs that were laid."""
    found = cohort_table(colony, cohort) if cohort else None
    if found is None:
        return None
    table = found.table
    title = f"Life table of {colony.name(cohort)}"
    rows = [
        (f"{age:.0f}", f"{lx:.3f}", f"{dx:.3f}", f"{qx:.3f}", f"{mx:.2f}", str(eggs))
        for age, lx, dx, qx, mx, eggs in zip(
            table.ages, table.alive, table.dying, table.risk, table.births, found.eggs, strict=True
        )
    ]
    last = max(1.0, table.ages[-1])
    line = Steps("alive (lx)", Role.MAIN, table.ages, table.alive, last)
    chart = Chart(title, number_axis("age", "d", 0.0, last), number_axis("alive", "share", 0.0, 1.0), (line,))
    notes = unique(table.limits, _table_notes(found))
    columns = ("age, days", "lx", "dx", "qx", "mx", "eggs")
    return Section("lifetable", title, chart, growth_numbers(found), columns, tuple(rows), notes)


def growth_numbers(found: CohortTable) -> tuple[tuple[str, str], ...]:
    """Return R0, T and r in words; that no eggs were laid where there are none."""
    table = found.table
    if table.generation is None:
        return (("Eggs", "none are known to be laid by this cohort: no R0, T or r"),)
    rate = "" if table.rate is None else f"{table.rate:.4f} a day (× {math.exp(365 * table.rate):.1f} a year)"
    return (
        ("R0, eggs for each animal", f"{table.net_rate:.2f}"),
        ("T, mean age at laying", f"{table.generation:.0f} days"),
        ("r, by Euler and Lotka", rate or "none"),
    )


def _table_notes(found: CohortTable) -> tuple[str, ...]:
    begun = "Age counts from laying." if found.from_egg else "Age counts from the day the cohort came, not from laying."
    return (begun, "Eggs count where the entry names this cohort as the mother; both sexes are counted throughout.")
