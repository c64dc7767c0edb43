"""How much prey the coming weeks need, when the stock runs out, and how many to keep for breeding."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from boxside.core.planning.figures import Figure, Term, product_of, sum_of
from boxside.core.values.errors import EntryError

WEEKS_AHEAD = 8
# A profile's helping counts like two own meals (common practice, no source).
_PROFILE_MEALS = 2


@dataclass(frozen=True, slots=True)
class PastMeal:
    """A meal that was logged with its amount: how many prey for how many larvae."""

    n_larvae: int
    n_prey: float


@dataclass(frozen=True, slots=True)
class BoxMeals:
    """What decides a box's meals to come.

    `next_on` is when it is due, `interval_days` how often then; `per_larva` the profile's helping in prey
    animals; `past` its own meals (leave out those without a logged amount); no meal falls after `until_on`
    (rest, pupation), None for no end.
    """

    box: str
    prey: str
    next_on: date
    interval_days: int
    n_larvae: int
    per_larva: float
    past: tuple[PastMeal, ...] = ()
    until_on: date | None = None


@dataclass(frozen=True, slots=True)
class PlannedMeal:
    """One meal to come: box, day, kind of prey, and how many with the calculation."""

    box: str
    on: date
    prey: str
    amount: Figure


@dataclass(frozen=True, slots=True)
class Demand:
    """Prey of one kind wanted from a day on: in all, and by week (the first begins with that day)."""

    prey: str
    from_on: date
    total: Figure
    by_week: tuple[Figure, ...]


@dataclass(frozen=True, slots=True)
class StockOut:
    """How long the stock lasts: the first day on which a meal cannot be served in full, or None.

    `left` is what is there at the end (below 0: what is missing), as a sum over the meals.
    """

    runs_out_on: date | None
    first_unfed: str
    left: Figure


@dataclass(frozen=True, slots=True)
class Breeder:
    """What a breeding prey animal yields: young a week, the share that grows up, and in how many weeks."""

    young_per_week: float
    survival_frac: float
    weeks_to_size: float
    source: str = "common practice, no source"


@dataclass(frozen=True, slots=True)
class SetAside:
    """How many prey to keep for breeding, the stock that bridges the time until their young are big enough,
    and the day from which those feed the colony."""

    n_breeders: Figure
    bridge: Figure
    ready_on: date


def helping(meals: BoxMeals) -> Figure:
    """Return how many prey one meal of a box takes: its larvae times the helping its own meals speak for.

    Raises
    ------
    EntryError : a negative number of larvae or prey, or a past meal without larvae

    Notes
    -----
    The profile's helping counts like two own meals, so that one odd meal does not rule.
    """
    if meals.n_larvae < 0 or meals.per_larva < 0:
        raise EntryError(f"{meals.box} cannot hold fewer than no larvae, nor a helping be below 0.")
    if any(past.n_larvae < 1 or past.n_prey < 0 for past in meals.past):
        raise EntryError(f"A past meal of {meals.box} has no larvae or less than no prey: correct it.")
    own = math.fsum(past.n_prey / past.n_larvae for past in meals.past)
    each = (_PROFILE_MEALS * meals.per_larva + own) / (_PROFILE_MEALS + len(meals.past))
    said = f"prey a larva, by the profile and {len(meals.past)} own meals"
    return product_of(meals.prey, [Term("larvae", meals.n_larvae), Term(said, each)])


def meals_ahead(boxes: Sequence[BoxMeals], from_on: date, weeks: int = WEEKS_AHEAD) -> tuple[PlannedMeal, ...]:
    """Return every meal due in the weeks from a day on, in order of day and box.

    Parameters
    ----------
    boxes : boxes that feed
    from_on : today; what is overdue counts as today's
    weeks : how far to look

    Raises
    ------
    EntryError : an interval below one day, or as `helping`
    """
    end = from_on + timedelta(weeks=weeks)
    planned: list[PlannedMeal] = []
    for box in boxes:
        if box.interval_days < 1:
            raise EntryError(f"{box.box} is fed every {box.interval_days} days: give at least one.")
        amount, on = helping(box), max(box.next_on, from_on)
        while on < end and (box.until_on is None or on <= box.until_on):
            planned.append(PlannedMeal(box.box, on, box.prey, amount))
            on += timedelta(days=box.interval_days)
    return tuple(sorted(planned, key=lambda meal: (meal.on, meal.box, meal.prey)))


def demand(meals: Sequence[PlannedMeal], prey: str, from_on: date, weeks: int = WEEKS_AHEAD) -> Demand:
    """Return how much of a prey the meals want, in all and by week; each meal is a term."""
    terms: list[list[Term]] = [[] for _ in range(weeks)]
    for meal in meals:
        week = (meal.on - from_on).days // 7
        if meal.prey == prey and 0 <= week < weeks:
            terms[week].append(Term(f"{meal.box} on {meal.on.isoformat()}", meal.amount.value))
    by_week = tuple(sum_of(prey, week) for week in terms)
    return Demand(prey, from_on, sum_of(prey, [term for week in terms for term in week]), by_week)


def stock_out(stock: float, kept_back: float, meals: Sequence[PlannedMeal], prey: str) -> StockOut:
    """Return when a stock no longer serves the meals.

    Parameters
    ----------
    stock : prey animals there
    kept_back : of these, kept for breeding
    meals : in order of day, from `meals_ahead`
    prey : the kind in question

    Raises
    ------
    EntryError : numbers below 0

    Notes
    -----
    Nothing is assumed to be born or to die in the stock meanwhile: count it again now and then.
    """
    if stock < 0 or kept_back < 0:
        raise EntryError("A stock cannot be below 0. Count it again.")
    terms = [Term("stock", stock), Term("kept for breeding", -kept_back)]
    left = max(stock - kept_back, 0.0)
    out_on, unfed = None, ""
    for meal in meals:
        if meal.prey != prey:
            continue
        terms.append(Term(f"{meal.box} on {meal.on.isoformat()}", -meal.amount.value))
        left -= meal.amount.value
        if left < -1e-9 and out_on is None:
            out_on, unfed = meal.on, meal.box
    return StockOut(out_on, unfed, sum_of(prey, terms))


def set_aside(wanted: Demand, breeder: Breeder) -> SetAside:
    """Return how many prey to keep for breeding so that their young cover a demand.

    Parameters
    ----------
    wanted : the coming weeks' demand; its mean week is what must be bred
    breeder : what one breeding animal yields

    Raises
    ------
    EntryError : a yield or survival that is not above 0, or survival above 1
    """
    if breeder.young_per_week <= 0 or not 0 < breeder.survival_frac <= 1 or breeder.weeks_to_size < 0:
        raise EntryError("Prey that yields no surviving young cannot be bred. Correct its numbers.")
    week = wanted.total.value / max(len(wanted.by_week), 1)
    n = product_of(
        "breeding animals",
        [
            Term(f"{wanted.prey} a week", week),
            Term("1 / young of a breeder a week", 1 / breeder.young_per_week),
            Term("1 / share that reaches feeding size", 1 / breeder.survival_frac),
        ],
        rounded_up=True,
    )
    bridge = product_of(
        wanted.prey,
        [Term("weeks until their young are big enough", breeder.weeks_to_size), Term("a week", week)],
    )
    ready = wanted.from_on + timedelta(days=math.ceil(7 * breeder.weeks_to_size))
    return SetAside(n, bridge, ready)
