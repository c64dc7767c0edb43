"""Dyar's rule: hard parts grow by about one ratio at each moult; a step that does not is suspect."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from boxside.core.growth.student import positive

LIMITS = (
    "The rule is for hard parts (head capsule, pronotum); soft length grows within an instar.",
    "Sexes may differ in their number of instars: their mean sizes then mix at the end.",
)


@dataclass(frozen=True, slots=True)
class DyarFit:
    """A line through log sizes of instars in a row.

    `ratios[i]` is size i+1 over size i; `ratio` exp(slope) of the line; `geometric_ratio` that of first and
    last; `crosby_pct[i]` how much, in per cent, ratio i+1 differs from ratio i. `suspect_steps` are the
    steps (from, to) whose ratio differs from the one before by more than `limit_pct`: an instar between
    them may have been missed, or two mixed.
    """

    first_instar: int
    sizes_mm: tuple[float, ...]
    ratios: tuple[float, ...]
    mean_ratio: float
    geometric_ratio: float
    slope: float
    intercept: float
    ratio: float
    r2: float
    fitted_mm: tuple[float, ...]
    crosby_pct: tuple[float, ...]
    limit_pct: float
    suspect_steps: tuple[tuple[int, int], ...]
    limits: tuple[str, ...] = LIMITS


def dyar_fit(sizes_mm: Sequence[float], first_instar: int = 1, limit_pct: float = 10.0) -> DyarFit:
    """Return Dyar's rule fitted to the mean sizes of instars in a row.

    Parameters
    ----------
    sizes_mm : mean size of each instar, at least two
    first_instar : number of the first of them
    limit_pct : a Crosby ratio beyond this, either way, makes a step suspect

    Raises
    ------
    ValueError : with fewer than two sizes, or one not above zero

    Notes
    -----
    With two sizes the line passes through both and r2 is 1, which proves nothing.

    References
    ----------
    Dyar H.G. 1890, The number of molts of lepidopterous larvae, Psyche 5:420-422. Crosby T.K. 1973, Dyar's
    rule predated by Brooks' rule, NZ Entomol. 5:175-176 (the 10 % limit). Both from memory; values are
    checked on Lamprigera, Silalom et al.
    """
    sizes = positive(sizes_mm, "instar sizes", least=2)
    logs = np.log(sizes)
    n = np.arange(first_instar, first_instar + sizes.size, dtype=np.float64)
    off = n - n.mean()
    slope = float(off @ logs) / float(off @ off)
    intercept = float(logs.mean()) - slope * float(n.mean())
    total = float(((logs - logs.mean()) ** 2).sum())
    ratios = sizes[1:] / sizes[:-1]
    crosby = tuple(100.0 * (b - a) / a for a, b in pairwise(ratios.tolist()))
    return DyarFit(
        first_instar=first_instar, sizes_mm=tuple(sizes.tolist()), ratios=tuple(ratios.tolist()),
        mean_ratio=float(ratios.mean()), geometric_ratio=math.exp(float(np.log(ratios).mean())),
        slope=slope, intercept=intercept, ratio=math.exp(slope),
        r2=slope**2 * float(off @ off) / total if total > 0 else 0.0,
        fitted_mm=tuple(np.exp(intercept + slope * n).tolist()), crosby_pct=crosby, limit_pct=limit_pct,
        suspect_steps=tuple(
            (first_instar + i + 1, first_instar + i + 2) for i, c in enumerate(crosby) if abs(c) > limit_pct
        ),
    )  # fmt: skip
