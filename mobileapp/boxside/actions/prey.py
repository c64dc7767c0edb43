"""Prey: what is in stock, what the coming weeks need, when it runs out, and which sizes fit whom."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from boxside.actions.ahead import Outlook, outlook_of
from boxside.actions.context import profile, today
from boxside.actions.meals import UNSAID, box_meals, by_kind, kind_name
from boxside.actions.prey_stock import breeders, stock_rows
from boxside.actions.services import Services
from boxside.core.planning import (
    Breeder,
    Demand,
    Figure,
    How,
    PlannedMeal,
    PreyClass,
    SetAside,
    SizeRule,
    demand,
    fitting_prey,
    meals_ahead,
    set_aside,
    stock_out,
)
from boxside.core.values.ahead import InstarPrey, Part, PreyNeed, PreyView, StockRow, Sum
from boxside.core.values.chart import Bars, Chart, Role, date_axis, number_axis
from boxside.core.values.profile import Prey, Profile
from boxside.core.values.stages import Stage


def prey_view(services: Services) -> PreyView:
    """Return stock, the next eight weeks' demand by kind, and which batches fit which instars."""
    day = today(services)
    now = outlook_of(services)
    stock = stock_rows(services)
    kinds = list(dict.fromkeys(row.prey for row in stock))
    meals = by_kind(box_meals(services, now), kinds)
    planned = meals_ahead(meals, day)
    kinds += [kind for kind in dict.fromkeys(meal.prey for meal in planned) if kind not in kinds]
    own = profile(services)
    kept = breeders(services)
    needs = tuple(_need(kind, planned, stock, kept.get(kind, 0), own, day) for kind in kinds)
    return PreyView(
        from_on=day,
        stock=stock,
        needs=needs,
        fits=_fits(now, own, stock),
        notes=_notes(stock, needs),
        cautions=tuple(caution.text for caution in own.cautions if caution.where == "feed"),
        chart=_chart(needs, day),
    )


def _need(
    kind: str, planned: Sequence[PlannedMeal], stock: Sequence[StockRow], kept: int, own: Profile, day: date
) -> PreyNeed:
    wanted = demand(planned, kind, day)
    counted = any(row.prey == kind for row in stock)
    usable = sum(row.left for row in stock if row.prey == kind and not row.in_quarantine)
    out = stock_out(usable, min(float(kept), usable), planned, kind)
    known = prey_of(own, kind)
    bred = _bred(wanted, known)
    return PreyNeed(
        prey=kind,
        counted=counted,
        stock=usable,
        total=sum_view(wanted.total),
        by_week=tuple(sum_view(week) for week in wanted.by_week),
        runs_out_on=out.runs_out_on if counted else None,
        first_unfed=out.first_unfed if counted else "",
        left=sum_view(out.left),
        breeders=sum_view(bred.n_breeders) if bred else None,
        bridge=sum_view(bred.bridge) if bred else None,
        ready_on=bred.ready_on if bred else None,
        breeding_source=known.breeding.source if known and known.breeding else "",
        cautions=(known.caution,) if known and known.caution else (),
    )


def _bred(wanted: Demand, known: Prey | None) -> SetAside | None:
    if known is None or known.breeding is None or wanted.total.value == 0:
        return None
    said = known.breeding
    return set_aside(wanted, Breeder(said.young_per_week, said.survival_frac, said.weeks_to_size, said.source))


def prey_of(own: Profile, kind: str) -> Prey | None:
    """Return what the profile knows of a kind: by its name, or by a name that the kind's own words hold."""
    names = {kind_name(prey.name): prey for prey in own.prey}
    return names.get(kind) or next((prey for name, prey in names.items() if name in kind), None)


def sum_view(figure: Figure) -> Sum:
    """Return a figure of the plan as a screen shows it."""
    parts = tuple(Part(term.label, term.value) for term in figure.terms)
    return Sum(figure.value, figure.unit, parts, figure.how is How.PRODUCT)


def _fits(now: Outlook, own: Profile, stock: Sequence[StockRow]) -> tuple[InstarPrey, ...]:
    held: dict[int, int] = {}
    for group in now.groups:
        if group.stage is Stage.LARVA and group.instar:
            held[group.instar] = held.get(group.instar, 0) + group.n
    classes = [
        PreyClass(f"{row.prey} {row.batch}".strip(), row.size_mm, round(row.left))
        for row in stock
        if row.size_mm is not None and row.left >= 1
    ]
    rows = []
    for instar in sorted(held):
        helping = own.helping_of(instar)
        rules = [SizeRule(instar, helping.low_mm, helping.high_mm, helping.source)] if helping else []
        fit = fitting_prey(instar, rules, classes)
        named = [tuple(prey.name for prey in some) for some in (fit.fits, fit.too_small, fit.too_large)]
        rows.append(InstarPrey(instar, held[instar], fit.reason, *named))
    return tuple(rows)


def _notes(stock: Sequence[StockRow], needs: Sequence[PreyNeed]) -> tuple[str, ...]:
    notes = ["Each meal is reckoned for the larvae there are now, by the profile and the box's own last meals."]
    if not stock:
        notes.append("No stock was logged, so nothing can be said of when it runs out.")
    if any(row.in_quarantine for row in stock):
        notes.append("Batches in quarantine are not counted as stock.")
    if any(row.unsaid for row in stock):
        notes.append("Meals without an amount were fed from the stock: count it again now and then.")
    if any(need.prey == UNSAID for need in needs):
        notes.append("Some boxes' meals never said what was fed.")
    return tuple(notes)


def _chart(needs: Sequence[PreyNeed], day: date) -> Chart | None:
    weeks = [sum(need.by_week[i].value for need in needs) for i in range(len(needs[0].by_week))] if needs else []
    if not any(weeks):
        return None
    at = tuple(float(day.toordinal() + 7 * i) for i in range(len(weeks)))
    return Chart(
        title="Prey a week",
        x=date_axis("Week from", day, date.fromordinal(int(at[-1]) + 6)),
        y=number_axis("Prey", "", 0, max(weeks)),
        series=(Bars("prey", Role.MAIN, at, tuple(weeks)),),
    )
