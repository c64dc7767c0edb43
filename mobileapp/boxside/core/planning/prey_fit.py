"""Which prey fits which instar, and which boxes ate from a batch."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from boxside.core.planning.figures import Figure, Term, sum_of
from boxside.core.values.errors import EntryError

# From how many refusing boxes on a batch is suspect (common practice, no source).
SUSPECT_BOXES = 2


@dataclass(frozen=True, slots=True)
class SizeRule:
    """Prey sizes in mm (shell or body) that larvae of one instar take, and where that is from."""

    instar: int
    low_mm: float
    high_mm: float
    source: str


@dataclass(frozen=True, slots=True)
class PreyClass:
    """A size class of the stock: its name, typical size in mm and number."""

    name: str
    size_mm: float
    n: int


@dataclass(frozen=True, slots=True)
class PreyFit:
    """How the stock fits an instar: the classes that do, those too small and too large, and by which rule.

    `rule` is None where none is known for the instar; then nothing is sorted. `reason` says it in a sentence.
    """

    rule: SizeRule | None
    fits: tuple[PreyClass, ...]
    too_small: tuple[PreyClass, ...]
    too_large: tuple[PreyClass, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class BatchMeal:
    """One feeding from a batch: box, day, how many (None where not said), and whether it was refused."""

    box: str
    on: date
    batch: str
    n: float | None = None
    refused: bool = False


@dataclass(frozen=True, slots=True)
class BatchUse:
    """Who ate from a batch: the meals in order, the boxes, those that refused, and the sum fed.

    `n_unsaid` meals have no amount and are not in `fed`; `suspect` where two or more boxes refused.
    """

    batch: str
    meals: tuple[BatchMeal, ...]
    boxes: tuple[str, ...]
    refusing: tuple[str, ...]
    fed: Figure
    n_unsaid: int
    suspect: bool


def fitting_prey(instar: int, rules: Sequence[SizeRule], stock: Sequence[PreyClass]) -> PreyFit:
    """Return which classes of the stock fit larvae of an instar.

    Parameters
    ----------
    instar : 1 for hatchlings
    rules : at most one per instar; nothing is guessed for instars without one
    stock : size classes in any order

    Raises
    ------
    EntryError : two rules for one instar, or a rule whose sizes are the wrong way round
    """
    matching = [rule for rule in rules if rule.instar == instar]
    if len(matching) > 1 or any(rule.low_mm > rule.high_mm for rule in matching):
        raise EntryError(f"The prey sizes for instar {instar} contradict each other. Correct the profile.")
    if not matching:
        return PreyFit(None, (), (), (), f"No prey size is known for instar {instar}.")
    rule = matching[0]
    ordered = sorted(stock, key=lambda prey: prey.size_mm)
    return PreyFit(
        rule,
        tuple(prey for prey in ordered if rule.low_mm <= prey.size_mm <= rule.high_mm),
        tuple(prey for prey in ordered if prey.size_mm < rule.low_mm),
        tuple(prey for prey in ordered if prey.size_mm > rule.high_mm),
        f"Instar {instar} takes {rule.low_mm:g} to {rule.high_mm:g} mm ({rule.source}).",
    )


def batch_use(meals: Sequence[BatchMeal], batch: str) -> BatchUse:
    """Return which boxes ate a batch, when, how much, and who refused it."""
    eaten = tuple(sorted((m for m in meals if m.batch == batch), key=lambda m: (m.on, m.box)))
    refusing = tuple(dict.fromkeys(meal.box for meal in eaten if meal.refused))
    terms = [
        Term(f"{meal.box} on {meal.on.isoformat()}", meal.n)
        for meal in eaten
        if meal.n is not None and not meal.refused
    ]
    return BatchUse(
        batch,
        eaten,
        tuple(dict.fromkeys(meal.box for meal in eaten)),
        refusing,
        sum_of("prey", terms),
        sum(meal.n is None and not meal.refused for meal in eaten),
        len(refusing) >= SUSPECT_BOXES,
    )
