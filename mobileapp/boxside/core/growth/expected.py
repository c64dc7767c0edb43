"""What a species' profile lets expect: length at an age, and the instar of a length."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from boxside.core.growth.student import positive

LIMITS = (
    "Growth is taken as even on a logarithmic scale from hatchling to grown larva; winter and meals are not "
    "known to it (common practice, no source).",
    "Soft length grows within an instar: next instars overlap.",
)


@dataclass(frozen=True, slots=True)
class Frame:
    """Sizes between which a species' larvae grow, from its profile.

    `hatchling_mm` at hatching, `mature_mm` least and greatest when grown, `larva_days` shortest and longest larval
    life, `n_instars` of the sex with more.
    """

    hatchling_mm: float
    mature_mm: tuple[float, float]
    larva_days: tuple[float, float]
    n_instars: int

    def __post_init__(self) -> None:
        low, high = self.mature_mm
        if not 0.0 < self.hatchling_mm < low <= high:
            raise ValueError(f"larvae grow from {self.hatchling_mm} to {low}-{high} mm: not in order")
        if not 0.0 < self.larva_days[0] <= self.larva_days[1] or self.n_instars < 1:
            raise ValueError("larval life needs days above zero, in order, and at least one instar")


@dataclass(frozen=True, slots=True)
class InstarGuess:
    """How probable each instar is for each body: `probability[i][k]` that body i is of instar k + 1.

    `starts_mm` are the usual lengths at the start of each instar and, last, when grown.
    """

    probability: tuple[tuple[float, ...], ...]
    starts_mm: tuple[float, ...]
    limits: tuple[str, ...] = LIMITS

    def most_probable(self) -> tuple[int, ...]:
        """Return the most probable instar of each body, the younger of equal ones."""
        return tuple(row.index(max(row)) + 1 for row in self.probability)


def expected_length_mm(frame: Frame, age_days: float) -> tuple[float, float]:
    """Return between which lengths larvae of an age are expected.

    The slowest reaches the least mature length at the end of the longest larval life, the fastest the greatest at
    the end of the shortest; nobody grows on after that.

    Raises
    ------
    ValueError : if the age is below zero
    """
    if not age_days >= 0.0:
        raise ValueError(f"an age is not below zero, got {age_days}")
    ends = zip(frame.mature_mm, reversed(frame.larva_days), strict=True)
    low, high = (
        frame.hatchling_mm * (mature / frame.hatchling_mm) ** min(1.0, age_days / days) for mature, days in ends
    )
    return low, high


def guess_instars(frame: Frame, lengths_mm: Sequence[float], log_sd: float = 0.12) -> InstarGuess:
    """Return how probable each instar is for bodies of these lengths.

    Parameters
    ----------
    frame : the species' sizes; the middle of the mature length is where the last instar ends
    lengths_mm : length of each body
    log_sd : how far a length, as a logarithm, scatters about that of its instar (larvae stretch and contract; 0.12
        is common practice, no source)

    Raises
    ------
    ValueError : if there is no body, a length is not above zero, or log_sd is not above zero

    Notes
    -----
    Each moult multiplies length by one ratio (Dyar's rule). What is shorter than a hatchling counts as first,
    what is longer than a grown larva as last instar.

    References
    ----------
    Dyar H.G. 1890, The number of molts of lepidopterous larvae, Psyche 5:420-422 (from memory).
    """
    if not log_sd > 0.0:
        raise ValueError(f"log_sd is above zero, got {log_sd}")
    logs = [math.log(length) for length in positive(lengths_mm, "lengths").tolist()]
    first, last = math.log(frame.hatchling_mm), math.log(sum(frame.mature_mm) / 2)
    edges = [first + (last - first) * k / frame.n_instars for k in range(frame.n_instars + 1)]
    inner = edges[1:-1]
    rows = []
    for log in logs:
        below = [0.0, *(_below((edge - log) / log_sd) for edge in inner), 1.0]
        rows.append(tuple(b - a for a, b in pairwise(below)))
    return InstarGuess(tuple(rows), tuple(math.exp(edge) for edge in edges))


def _below(z: float) -> float:
    """Return the normal law's share below z."""
    return 0.5 * math.erfc(-z / math.sqrt(2.0))
