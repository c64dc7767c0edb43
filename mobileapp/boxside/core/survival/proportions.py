"""Shares and their intervals: hatch rates, emergence, sex ratio, and the difference of two shares."""

from __future__ import annotations

import math

from boxside.core.survival.tails import beta_quantile, binomial_pmf, two_sided_z
from boxside.core.values.estimates import Estimate, Interval

LIMITS = ("Animals count as independent; those of one clutch resemble each other, so the truth is wider.",)


def wilson(count: int, total: int, level: float = 0.95) -> Estimate:
    """Return the share count / total with Wilson's score interval.

    Raises
    ------
    ValueError : unless 0 <= count <= total, total >= 1 and 0 < level < 1

    Notes
    -----
    Holds its level on average, not for every true share; right down to a handful of animals.

    References
    ----------
    Wilson E.B. 1927, Probable inference, the law of succession, and statistical inference, J. Am.
    Stat. Assoc. 22:209-212. Newcombe R.G. 1998, Stat. Med. 17:857-872.
    """
    share = _share(count, total)
    z = two_sided_z(level)
    centre = share + z * z / (2 * total)
    reach = z * math.sqrt(share * (1 - share) / total + z * z / (4 * total * total))
    scale = 1 + z * z / total
    low = 0.0 if count == 0 else max(0.0, (centre - reach) / scale)
    high = 1.0 if count == total else min(1.0, (centre + reach) / scale)
    return Estimate(share, Interval(low, high, level, "Wilson score"), total, LIMITS)


def clopper_pearson(count: int, total: int, level: float = 0.95) -> Estimate:
    """Return the share count / total with the exact interval, which is never too narrow, often too wide.

    Raises
    ------
    ValueError : unless 0 <= count <= total, total >= 1 and 0 < level < 1

    References
    ----------
    Clopper C.J., Pearson E.S. 1934, The use of confidence or fiducial limits illustrated in the case
    of the binomial, Biometrika 26:404-413 (from memory).
    """
    share = _share(count, total)
    two_sided_z(level)
    tail = (1.0 - level) / 2.0
    low = 0.0 if count == 0 else beta_quantile(tail, count, total - count + 1)
    high = 1.0 if count == total else beta_quantile(1.0 - tail, count + 1, total - count)
    return Estimate(share, Interval(low, high, level, "Clopper-Pearson exact"), total, LIMITS)


def binomial_test(count: int, total: int, share: float = 0.5) -> float:
    """Return the exact two-sided p of seeing `count` of `total` if the true share is `share`.

    The default asks whether a sex ratio departs from 1:1.

    Raises
    ------
    ValueError : unless 0 <= count <= total, total >= 1 and 0 <= share <= 1

    Notes
    -----
    Adds up all outcomes that are no likelier than the one seen. Sex known only of those that grew up
    says nothing on the ratio at laying if the sexes die differently.
    """
    _share(count, total)
    if not 0.0 <= share <= 1.0:
        raise ValueError(f"a share lies between 0 and 1, got {share}")
    chances = binomial_pmf(total, share)
    return min(1.0, float(chances[chances <= chances[count] * (1.0 + 1e-7)].sum()))


def share_difference(first: tuple[int, int], second: tuple[int, int], level: float = 0.95) -> Estimate:
    """Return first share minus second share with Newcombe's hybrid score interval.

    Parameters
    ----------
    first, second : (count, total) of each

    Raises
    ------
    ValueError : unless 0 <= count <= total, total >= 1 and 0 < level < 1

    References
    ----------
    Newcombe R.G. 1998, Interval estimation for the difference between independent proportions:
    comparison of eleven methods, Stat. Med. 17:873-890, method 10.
    """
    one, two = wilson(*first, level), wilson(*second, level)
    if one.interval is None or two.interval is None:
        raise ArithmeticError("a Wilson interval is always there")
    gap = one.value - two.value
    down = math.hypot(one.value - one.interval.low, two.interval.high - two.value)
    up = math.hypot(one.interval.high - one.value, two.value - two.interval.low)
    interval = Interval(gap - down, gap + up, level, "Newcombe hybrid score")
    return Estimate(gap, interval, first[1] + second[1], LIMITS)


def _share(count: int, total: int) -> float:
    if not 0 <= count <= total or total < 1:
        raise ValueError(f"{count} of {total} is no share")
    return count / total
