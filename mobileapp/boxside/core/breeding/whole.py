"""From shares to whole families: rounding, exchange, and the kinship of a plan with whole animals."""

from __future__ import annotations

import numpy as np

from boxside.core.breeding.choice import Choice
from boxside.core.breeding.draw import Floats
from boxside.core.breeding.transport import Counts, least_cost, with_one_more
from boxside.core.values.errors import EntryError

_GAIN = 1e-12
_TIE = 1e-9


def whole_families(choice: Choice, shares: Floats, n_families: int) -> Counts:
    """Return whole families, (females, males), near the shares and with as little mean kinship as can be
    found.

    Each share is rounded down; the rest is filled one family at a time where it raises the mean kinship
    least; then single families are exchanged as long as that lowers it; last, with the totals kept, mates
    are chosen for the least inbreeding. Ties go to the lower kinship of the pair, then to the order of the
    cohorts' names.

    Notes
    -----
    Exchange of single families stops at a plan that no single exchange improves, which need not be the best
    of all; the gap to the optimum with fractions is reported with the plan.
    """
    families = np.floor(shares * n_families + _TIE).astype(np.int64)
    while families.sum() < n_families:
        families = _one_more(choice, families)
    while (better := _exchanged(choice, families)) is not None:
        families = better
    return least_cost(families, choice.allowed, choice.kinship)


def pool_kinship(choice: Choice, families: Counts) -> float:
    """Return the mean kinship of the next pool: offspring of these families, and the standing animals."""
    n = int(families.sum())
    frac = choice.offspring_frac
    f, m = families.sum(axis=1), families.sum(axis=0)
    females = f @ choice.among_females @ f + f @ (choice.own_f - choice.among_females.diagonal())
    squares = squares_of_sires(m, _n_males(choice))
    males = m @ choice.among_males @ m + squares @ (choice.own_m - choice.among_males.diagonal())
    offspring = (females + males + 2.0 * f @ choice.kinship @ m) / (4.0 * n * n)
    to_standing = (f @ choice.to_standing_f + m @ choice.to_standing_m) / (2.0 * n)
    rest = 1.0 - frac
    return float(frac**2 * offspring + 2.0 * frac * rest * to_standing + rest**2 * choice.standing)


def squares_of_sires(n_clutches: Counts, n_males: Counts) -> Counts:
    """Return, by source, the sum of squared clutches a male, spread over as many males as there are."""
    used = np.maximum(np.minimum(n_clutches, n_males), 1)
    each, over = np.divmod(n_clutches, used)
    squares: Counts = over * (each + 1) ** 2 + (used - over) * each**2
    return squares


def kinship_with_one_more(choice: Choice, families: Counts) -> Floats:
    """Return (females, males), the pool's mean kinship with one more family of each pair; inf where it "
    "cannot be."""
    f, m = families.sum(axis=1), families.sum(axis=0)
    n, frac = int(families.sum()) + 1, choice.offspring_frac
    base_f = f @ choice.among_females @ f + f @ (choice.own_f - choice.among_females.diagonal())
    by_female = base_f + 2.0 * choice.among_females @ f + choice.own_f
    own = choice.own_m - choice.among_males.diagonal()
    squares, more = squares_of_sires(m, _n_males(choice)), squares_of_sires(m + 1, _n_males(choice))
    by_male = m @ choice.among_males @ m + squares @ own + 2.0 * choice.among_males @ m
    by_male = by_male + choice.among_males.diagonal() + (more - squares) * own
    across = f @ choice.kinship @ m + (choice.kinship @ m)[:, None] + (f @ choice.kinship)[None, :] + choice.kinship
    offspring = (by_female[:, None] + by_male[None, :] + 2.0 * across) / (4.0 * n * n)
    standing_f = f @ choice.to_standing_f + choice.to_standing_f
    standing_m = m @ choice.to_standing_m + choice.to_standing_m
    to_standing = (standing_f[:, None] + standing_m[None, :]) / (2.0 * n)
    rest = 1.0 - frac
    pool = frac**2 * offspring + 2.0 * frac * rest * to_standing + rest**2 * choice.standing
    possible = choice.allowed & (f < choice.most_f)[:, None] & (m < choice.most_m)[None, :]
    return np.where(possible, pool, np.inf)


def best_pair(choice: Choice, pool: Floats) -> tuple[int, int]:
    """Return the pair with the least pool kinship, ties by kinship of the pair and then by order."""
    tied = pool <= pool.min() + _GAIN
    kinship = np.where(tied, choice.kinship, np.inf)
    j, i = divmod(int(kinship.argmin()), pool.shape[1])
    return j, i


def _n_males(choice: Choice) -> Counts:
    return np.array([item.n for item in choice.males])


def _one_more(choice: Choice, families: Counts) -> Counts:
    pool = kinship_with_one_more(choice, families)
    if np.isinf(pool).all():
        more = with_one_more(families, choice.allowed, choice.most_f, choice.most_m)
        if more is None:
            raise EntryError(f"Only {int(families.sum())} families can be had. Ask for fewer.")
        return more
    families = families.copy()
    families[best_pair(choice, pool)] += 1
    return families


def _exchanged(choice: Choice, families: Counts) -> Counts | None:
    """The best exchange of one family for another, None if none lowers the mean kinship."""
    best, found = pool_kinship(choice, families) - _GAIN, None
    for j, i in np.argwhere(families > 0):
        fewer = families.copy()
        fewer[j, i] -= 1
        pool = kinship_with_one_more(choice, fewer)
        if pool.min() < best:
            best, found = float(pool.min()), fewer
            found[best_pair(choice, pool)] += 1
    return found
