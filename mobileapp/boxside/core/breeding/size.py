"""Effective size, and what it means for inbreeding and gene diversity over time.

References
----------
Wright S. 1931, Evolution in Mendelian populations, Genetics 16:97-159 (sex ratio, harmonic mean, decay).
Wright S. 1938, Size of population and breeding structure in relation to evolution, Science 87:430-431;
Crow J.F., Kimura M. 1970, An introduction to population genetics theory (variance in family size).
Soulé M., Gilpin M., Conway W., Foose T. 1986, The millenium ark, Zoo Biology 5:101-113 (90 % for a century).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from boxside.core.values.errors import EntryError


def size_from_sexes(n_males: float, n_females: float) -> float:
    """Return Ne = 4 Nm Nf / (Nm + Nf); one male with any number of females stays below 4.

    Examples
    --------
    >>> round(size_from_sexes(1, 10), 6)
    3.636364
    """
    if n_males < 0 or n_females < 0:
        raise EntryError("There cannot be fewer than 0 breeding animals. Enter how many had offspring.")
    total = n_males + n_females
    return 4.0 * n_males * n_females / total if total else 0.0


def size_from_families(n_parents: float, variance: float) -> float:
    """Return Ne = (4 N - 2) / (Vk + 2) of N parents whose numbers of offspring have variance Vk.

    Notes
    -----
    For a population of constant size (two offspring a parent on average). Vk = 2, as chance alone makes it,
    gives about N; Vk = 0, equal families, nearly twice N. For two sexes some authors write 4 N - 4: two
    fewer in the numerator, negligible beside the error of a variance estimated from a few families.

    Examples
    --------
    >>> size_from_families(20, 0)
    39.0
    """
    if n_parents < 1 or variance < 0:
        raise EntryError("Effective size needs at least one parent and a variance of 0 or more.")
    return (4.0 * n_parents - 2.0) / (variance + 2.0)


def family_variance(family_sizes: Sequence[float]) -> float:
    """Return the variance in family size, scaled to a constant population (two offspring a parent).

    Parameters
    ----------
    family_sizes : offspring of each parent that were counted, zeros included; at least two parents

    Notes
    -----
    Counts of many larvae say more than the two that will replace the parents: with mean m and variance V, the
    variance at a mean of 2 is 2 + (V - m) (2 / m)**2, as if two of them survived at random. Not below 0.

    References
    ----------
    Crow J.F., Morton N.E. 1955, Measurement of gene frequency drift in small populations, Evolution
    9:202-214.
    """
    n = len(family_sizes)
    if n < 2 or min(family_sizes) < 0 or sum(family_sizes) <= 0:
        raise EntryError("A variance in family size needs at least two parents and some offspring.")
    mean = math.fsum(family_sizes) / n
    variance = math.fsum((size - mean) ** 2 for size in family_sizes) / (n - 1)
    return max(0.0, 2.0 + (variance - mean) * (2.0 / mean) ** 2)


def effective_number(shares: Sequence[float]) -> float:
    """Return 1 / sum of squared shares: how many equal parents (or founders) would be as good as these."""
    total = math.fsum(shares)
    if not shares or min(shares) < 0 or total <= 0:
        raise EntryError("Shares must be 0 or more, and not all 0.")
    return total**2 / math.fsum(share**2 for share in shares)


def size_over_generations(sizes: Sequence[float]) -> float:
    """Return the harmonic mean of effective sizes, one a generation: the narrowest generation rules."""
    if not sizes or min(sizes) <= 0:
        raise EntryError("Every generation needs an effective size above 0.")
    return len(sizes) / math.fsum(1.0 / size for size in sizes)


def inbreeding_after(effective_size: float, n_generations: float) -> float:
    """Return F = 1 - (1 - 1 / (2 Ne))**t of an unrelated start after t generations.

    Notes
    -----
    An approximation for two sexes, poor below Ne of about 10 and in the first generations; `kinships` is
    exact.

    Examples
    --------
    >>> inbreeding_after(10, 1)
    0.050000000000000044
    """
    _check_size(effective_size)
    return 1.0 - math.pow(1.0 - 1.0 / (2.0 * effective_size), n_generations)


def diversity_after(effective_size: float, n_generations: float) -> float:
    """Return the share of gene diversity left after t generations, (1 - 1 / (2 Ne))**t."""
    return 1.0 - inbreeding_after(effective_size, n_generations)


def size_from_inbreeding(before: float, after: float, n_generations: float = 1.0) -> float:
    """Return the effective size that would have raised inbreeding (or kinship) from `before` to `after`.

    Infinite where it has not risen.
    """
    if not (0 <= before < 1 and 0 <= after < 1 and n_generations > 0):
        raise EntryError("Inbreeding must lie from 0 to below 1, over more than 0 generations.")
    if after <= before:
        return math.inf
    left = math.pow((1.0 - after) / (1.0 - before), 1.0 / n_generations)
    return 1.0 / (2.0 * (1.0 - left))


def size_needed(retained: float, years: float, generation_years: float) -> float:
    """Return the Ne that keeps a share `retained` of gene diversity for `years`.

    Notes
    -----
    The usual aim of 90 % for 100 years takes about 475 / L with L the years of a generation: for a
    generation of two or three years 238 or 158, which most private lines cannot reach.
    """
    if not 0 < retained < 1 or years <= 0 or generation_years <= 0:
        raise EntryError("The share to keep lies between 0 and 1, years and generation are above 0.")
    return 1.0 / (2.0 * (1.0 - math.pow(retained, generation_years / years)))


def differentiation(n_migrants: float) -> float:
    """Return Fst = 1 / (4 Nm + 1) of lines that exchange Nm animals a generation.

    Notes
    -----
    Balance of many equal lines (Wright 1931). At least 1 and at most 10 a generation are advised (Mills L.S.,
    Allendorf F.W. 1996, The one-migrant-per-generation rule, Conservation Biology 10:1509-1518).
    """
    if n_migrants < 0:
        raise EntryError("There cannot be fewer than 0 animals exchanged.")
    return 1.0 / (4.0 * n_migrants + 1.0)


def _check_size(effective_size: float) -> None:
    if effective_size < 0.5:
        raise EntryError("An effective size below one half has no meaning here. Check the breeding animals.")
