"""How many unrelated newcomers the line needs to bring its mean kinship below a target."""

from __future__ import annotations

import math

import numpy as np

from boxside.core.breeding.diversity import Diversity, Scheme, same_sire
from boxside.core.breeding.draw import Floats
from boxside.core.values.errors import EntryError

_ROUNDING = 1e-9


def newcomers_once(mean_kinship: float, target: float) -> int:
    """Return the fewest unrelated, non-inbred newcomers, brought in once, that allow mean kinship <=
    `target`.

    Notes
    -----
    Each newcomer adds one founder genome equivalent, if its genes make up the best share of the next
    generation, 1 / (1 + 1 / (2 m k)) for m of them at mean kinship k: 1 / (2 k') = 1 / (2 k) + m. Brought in
    as one animal like any other, more are needed: see `newcomers_as_equals`.
    """
    _check_target(mean_kinship, target)
    return max(0, math.ceil(1.0 / (2.0 * target) - 1.0 / (2.0 * mean_kinship) - _ROUNDING))


def newcomer_share(mean_kinship: float, n_newcomers: int) -> float:
    """Return the share of the next generation's genes that `n_newcomers` should have for the least "
    "kinship."""
    if n_newcomers < 1:
        return 0.0
    return mean_kinship / (mean_kinship + 1.0 / (2.0 * n_newcomers))


def newcomers_as_equals(n_living: int, mean_kinship: float, target: float) -> int | None:
    """Return the fewest newcomers that bring mean kinship to `target` if all animals breed alike, None if
    none can.

    With N living at mean kinship k and m newcomers it becomes (N**2 k + m / 2) / (N + m)**2.
    """
    _check_target(mean_kinship, target)
    if n_living < 1:
        raise EntryError("No animal is alive, so newcomers would be founders. Enter the living first.")
    if mean_kinship <= target:
        return 0
    # target (N + m)^2 - m/2 - N^2 k = 0, whose larger root is where the target is met
    b, c = 2.0 * target * n_living - 0.5, n_living**2 * (target - mean_kinship)
    root = (-b + math.sqrt(b * b - 4.0 * target * c)) / (2.0 * target)
    return math.ceil(root - _ROUNDING)


def kinship_with_newcomers(
    now: Diversity, scheme: Scheme, n_new_females: int, n_new_males: int, n_generations: int
) -> Floats:
    """Return the kinship of distinct offspring, now and after each generation with newcomers in it.

    Parameters
    ----------
    n_new_females, n_new_males : unrelated newcomers among the `scheme` parents of every generation

    Returns
    -------
    (n_generations + 1,)
    """
    _check_newcomers(scheme, n_new_females, n_new_males)
    new_dam, new_sire = n_new_females / scheme.n_dams, n_new_males / scheme.n_sires
    within, inbreeding = now.within, now.inbreeding
    values = np.empty(n_generations + 1)
    values[0] = within
    for t in range(n_generations):
        within, inbreeding = _step(within, inbreeding, scheme, new_dam, new_sire)
        values[t + 1] = within
    return values


def newcomers_each_generation(
    now: Diversity, scheme: Scheme, target: float, n_generations: int
) -> tuple[int, int] | None:
    """Return (females, males): fewest newcomers a generation that hold kinship at or below `target`.

    The kinship is that of distinct offspring after `n_generations`. Females and males are added in turn, the
    sex first that helps more. None if even newcomers alone are not enough, as one pair a generation never is
    below 1/4.
    """
    _check_target(max(now.within, _ROUNDING), target)
    females = males = 0
    while kinship_with_newcomers(now, scheme, females, males, n_generations)[-1] > target + _ROUNDING:
        choices = [
            (kinship_with_newcomers(now, scheme, f, m, n_generations)[-1], f, m)
            for f, m in ((females + 1, males), (females, males + 1))
            if f <= scheme.n_dams and m <= scheme.n_sires
        ]
        if not choices:
            return None
        _, females, males = min(choices)
    return females, males


def _step(within: float, inbreeding: float, scheme: Scheme, new_dam: float, new_sire: float) -> tuple[float, float]:
    """One generation: (within, inbreeding) of its offspring; newcomers have s = 1/2 and no kin."""
    own = (1.0 + inbreeding) / 2.0
    dams = _pair(within, own, scheme.n_dams, new_dam, 1.0 / scheme.n_dams)
    sires = _pair(within, own, scheme.n_sires, new_sire, same_sire(scheme))
    mates = (1.0 - new_dam) * (1.0 - new_sire) * within
    return dams / 4.0 + sires / 4.0 + mates / 2.0, mates


def _pair(within: float, own: float, n: int, new: float, same: float) -> float:
    """Mean kinship of two parents of one sex, the same one with chance `same`, else two of the n."""
    n_old = n * (1.0 - new)
    both_old = n_old * (n_old - 1.0) / (n * (n - 1.0)) if n > 1 else 0.0
    return same * ((1.0 - new) * own + new / 2.0) + (1.0 - same) * both_old * within


def _check_newcomers(scheme: Scheme, n_new_females: int, n_new_males: int) -> None:
    if not (0 <= n_new_females <= scheme.n_dams and 0 <= n_new_males <= scheme.n_sires):
        raise EntryError(
            f"{n_new_females} new females and {n_new_males} new males do not fit among {scheme.n_dams} "
            "dams and "
            f"{scheme.n_sires} sires a generation. Enter fewer, or more parents."
        )


def _check_target(mean_kinship: float, target: float) -> None:
    if not (0 < target < 1 and 0 < mean_kinship <= 1):
        raise EntryError("Mean kinship and its target lie between 0 and 1.")
