"""Which instars a box of larvae holds, from their sizes; or that sizes cannot tell."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from boxside.core.growth.mixture import Mixture, MixtureRule, best_mixture, memberships
from boxside.core.growth.overlap import Cut, Group, cut_between
from boxside.core.growth.student import FloatArray, positive

LIMITS = (
    "Sizes show groups, not instars: rare or overlapping instars stay hidden.",
    "Hard parts (head capsule, pronotum) part instars far better than body length.",
    "Species with a variable number of moults, or sexes that differ, break the rule of even steps.",
)

_TOLERANCE = 1e-8


@dataclass(frozen=True, slots=True)
class InstarRule:
    """What sizes must show before instars are told apart.

    `most` groups tried; `least_per_group` animals for each; `even_tolerance` how far a step of log size
    may be from the mean step, as a share of it; `least_bic_lead` by how much the best number of groups
    must beat the next (2, after Raftery 1995, from memory); `most_misclassified` the greatest share of an
    instar that may fall on a neighbour's side; `least_ratio` and `most_ratio` of sizes at a moult, wide
    around the 1.2 to 1.7 that is printed; `measuring_error_frac` the least spread of log size within an
    instar and `widest_sd` the greatest (unmixed instars of Lamprigera spread by 3 to 8 %, Silalom et al.).
    What is not marked is common practice, no source.
    """

    most: int = 6
    least_per_group: int = 8
    even_tolerance: float = 0.35
    least_bic_lead: float = 2.0
    most_misclassified: float = 0.25
    least_ratio: float = 1.1
    most_ratio: float = 2.0
    measuring_error_frac: float = 0.01
    widest_sd: float = 0.12


@dataclass(frozen=True, slots=True)
class InstarSplit:
    """Groups of sizes that can be told apart, smallest first.

    `first_instar` is the number of the smallest, where the caller knows it, else None: then groups are
    only ranked. `ratio` is size per moult (None for one group); `probability[i][j]` that body i is of
    group j; `bic` by number of groups; `mixture` on the logarithm of mm.
    """

    typical_mm: tuple[float, ...]
    ratio: float | None
    cuts: tuple[Cut, ...]
    probability: tuple[tuple[float, ...], ...]
    first_instar: int | None
    bic: Mapping[int, float]
    mixture: Mixture
    limits: tuple[str, ...] = LIMITS


@dataclass(frozen=True, slots=True)
class CannotTell:
    """Sizes do not show which instars there are; `reasons` say why, `bic` by number of groups tried."""

    reasons: tuple[str, ...]
    bic: Mapping[int, float]
    limits: tuple[str, ...] = LIMITS


def instars_of(
    sizes_mm: Sequence[float], rule: InstarRule | None = None, first_instar: int | None = None
) -> InstarSplit | CannotTell:
    """Return the instars among the bodies, or why sizes cannot tell.

    Parameters
    ----------
    sizes_mm : size of each body, best of a hard part
    rule : what must be shown; None for the default
    first_instar : number of the smallest instar, if it is known from elsewhere

    Raises
    ------
    ValueError : if there is no body or a size is not above zero

    Notes
    -----
    Mixtures of 1 to `most` normal laws on log size, with means held on a line (Dyar's rule) and spreads
    either shared or free, are compared by Schwarz's criterion. The winner is refused where another
    number of groups is nearly as good, where free means are not evenly spaced, or where neighbours overlap.

    References
    ----------
    Frequency curves hide instars: Schmidt F.H., Campbell R.K., Trotter S.J. 1977, Ann. Ent. Soc. Am.
    70 (year and pages from memory).
    """
    rule = rule or InstarRule()
    logs = np.log(positive(sizes_mm, "sizes"))
    most = min(rule.most, logs.size // rule.least_per_group)
    if most < 2:
        text = f"{logs.size} bodies are too few: {rule.least_per_group} for each of two instars are needed"
        return CannotTell((text,), {})
    tried = {k: _best_even(logs, k, rule) for k in range(1, most + 1)}
    bic = {k: fit.bic for k, fit in tried.items()}
    k = min(bic, key=lambda count: bic[count])
    cuts = _cuts(tried[k])
    doubts = _count_doubts(tried, k, rule) + _step_doubts(logs, tried[k], rule)
    doubts += _overlap_doubts(tried[k], cuts, rule)
    if doubts:
        return CannotTell(tuple(doubts), bic)
    return _split(logs, tried[k], tuple(cut for cut in cuts if cut is not None), first_instar, bic)


def instar_probability(split: InstarSplit, sizes_mm: Sequence[float]) -> tuple[tuple[float, ...], ...]:
    """Return for further bodies the probability of each group, one row a body.

    Raises
    ------
    ValueError : if there is no body or a size is not above zero
    """
    return _probability(np.log(positive(sizes_mm, "sizes")), split.mixture)


def _best_even(logs: FloatArray, k: int, rule: InstarRule) -> Mixture:
    even = MixtureRule(evenly_spaced=True, least_sd=rule.measuring_error_frac, tolerance=_TOLERANCE)
    fits = [best_mixture(logs, k, replace(even, shared_sd=shared)) for shared in (True, False)]
    return min(fits, key=lambda fit: fit.bic)


def _count_doubts(tried: Mapping[int, Mixture], k: int, rule: InstarRule) -> list[str]:
    # A rival that needs an all but empty group is no other account of the same instars.
    doubts = [
        f"{count} groups explain the sizes about as well as {k}"
        for count, fit in tried.items()
        if count != k and fit.bic - tried[k].bic < rule.least_bic_lead and _is_filled(fit, rule)
    ]
    if k == max(tried):
        doubts.append(f"{k} groups fit best, and no more could be tried")
    return doubts


def _is_filled(fit: Mixture, rule: InstarRule) -> bool:
    """Return whether each group holds at least half of the animals that an instar is asked for."""
    return min(fit.weights) * fit.n >= rule.least_per_group / 2


def _step_doubts(logs: FloatArray, fit: Mixture, rule: InstarRule) -> list[str]:
    k = len(fit.means)
    doubts = []
    if not _is_filled(fit, rule):
        doubts.append("a group holds too few animals to be an instar of its own")
    if max(fit.sds) > rule.widest_sd:
        doubts.append(f"a group spreads by {max(fit.sds):.0%}, wider than one instar: it may hold several")
    if k == 1:
        return doubts
    ratio = math.exp((fit.means[-1] - fit.means[0]) / (k - 1))
    if not rule.least_ratio <= ratio <= rule.most_ratio:
        doubts.append(f"groups differ by a factor of {ratio:.2f}, which is not the growth of one moult")
    loose = MixtureRule(shared_sd=fit.shared_sd, least_sd=rule.measuring_error_frac, tolerance=_TOLERANCE)
    free = best_mixture(logs, k, loose)
    steps = [b - a for a, b in pairwise(free.means)]
    mean = sum(steps) / len(steps)
    if any(abs(step / mean - 1.0) > rule.even_tolerance for step in steps):
        said = ", ".join(f"{math.exp(step):.2f}" for step in steps)
        doubts.append(f"steps between groups are not even ({said}): an instar may be missing")
    return doubts


def _cuts(fit: Mixture) -> tuple[Cut | None, ...]:
    """Return the cuts between neighbours in mm; None where one group covers the other."""
    groups = [Group(*group) for group in zip(fit.means, fit.sds, fit.weights, strict=True)]
    found = [cut_between(a, b) if a.mean < b.mean else None for a, b in pairwise(groups)]
    return tuple(None if cut is None else replace(cut, at=math.exp(cut.at)) for cut in found)


def _overlap_doubts(fit: Mixture, cuts: Sequence[Cut | None], rule: InstarRule) -> list[str]:
    doubts = []
    for i, cut in enumerate(cuts):
        if cut is None:
            doubts.append(f"group {i + 1} and {i + 2} cover each other")
            continue
        worst = max(cut.smaller_taken_for_larger, cut.larger_taken_for_smaller)
        if worst > rule.most_misclassified:
            doubts.append(f"group {i + 1} and {i + 2} overlap: {worst:.0%} would be taken for the neighbour")
    return doubts


def _split(
    logs: FloatArray, fit: Mixture, cuts: tuple[Cut, ...], first_instar: int | None, bic: Mapping[int, float]
) -> InstarSplit:
    k = len(fit.means)
    return InstarSplit(
        typical_mm=tuple(math.exp(mean) for mean in fit.means),
        ratio=math.exp((fit.means[-1] - fit.means[0]) / (k - 1)) if k > 1 else None,
        cuts=cuts, probability=_probability(logs, fit), first_instar=first_instar, bic=bic, mixture=fit,
    )  # fmt: skip


def _probability(logs: FloatArray, fit: Mixture) -> tuple[tuple[float, ...], ...]:
    shares, _ = memberships(logs, np.array(fit.means), np.array(fit.sds), np.array(fit.weights))
    return tuple(tuple(row) for row in shares.tolist())
