"""Numbers that come with their doubt: an interval, an estimate, a belief about a share."""

from __future__ import annotations

from dataclasses import dataclass

FEW_DEATHS = 10
"""Below this many events a curve misleads; counts are shown instead (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Interval:
    """A range from `low` to `high` that holds with confidence `level` (0 to 1); `method` names how."""

    low: float
    high: float
    level: float
    method: str

    def holds(self, value: float) -> bool:
        """Return whether `value` lies in the range, ends included."""
        return self.low <= value <= self.high


@dataclass(frozen=True, slots=True)
class Estimate:
    """A number with its interval, the count `n` it rests on, and the limits of the method in words.

    `interval` is None where too few values allow none.
    """

    value: float
    interval: Interval | None
    n: int
    limits: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class BetaBelief:
    """What is believed about a share from 0 to 1: a Beta distribution with parameters `a` and `b`.

    Both are above zero. A share known from a count of x in n is `BetaBelief.of_count(x, n)`, which
    starts from Jeffreys' prior Beta(1/2, 1/2).

    References
    ----------
    Brown L.D., Cai T.T., DasGupta A. 2001, Interval estimation for a binomial proportion,
    Statistical Science 16:101-133 (from memory).
    """

    a: float
    b: float

    def __post_init__(self) -> None:
        if not (self.a > 0 and self.b > 0):
            raise ValueError(f"a Beta belief needs a and b above zero, got {self.a} and {self.b}")

    @property
    def mean(self) -> float:
        """The expected share."""
        return self.a / (self.a + self.b)

    @classmethod
    def of_count(cls, count: int, total: int) -> BetaBelief:
        """Return the belief after seeing `count` of `total`, from Jeffreys' prior.

        Raises
        ------
        ValueError : unless 0 <= count <= total
        """
        if not 0 <= count <= total:
            raise ValueError(f"{count} of {total} is no share")
        return cls(count + 0.5, total - count + 0.5)
