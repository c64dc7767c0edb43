"""Whole animals shared out over lines: no fractions, and always the same way."""

from __future__ import annotations

from collections.abc import Mapping

from boxside.core.values.ledger import Line


def apportion(n: int, weights: Mapping[Line, int]) -> dict[Line, int]:
    """Return how many of `n` animals fall to each line, in proportion to `weights`.

    Largest remainders get the animals that are left over; equal remainders go to the heavier, then to
    the smaller line. With `n` at most the sum of the weights no line is given more than its weight.

    Parameters
    ----------
    n : animals, 0 or more
    weights : positive number a line

    References
    ----------
    Hamilton's method of largest remainders (Balinski M. L., Young H. P. 1982, Fair Representation).

    Examples
    --------
    >>> from boxside.core.values.stages import Stage
    >>> a, b = Line("b1", "c1", Stage.LARVA), Line("b1", "c2", Stage.LARVA)
    >>> [apportion(5, {a: 6, b: 3})[line] for line in (a, b)]
    [3, 2]
    """
    whole = sum(weights.values())
    if n <= 0 or whole <= 0:
        return {}
    shares = {line: divmod(n * weight, whole) for line, weight in weights.items()}
    left = n - sum(quotient for quotient, _ in shares.values())
    by_rest = sorted(shares, key=lambda line: (-shares[line][1], -weights[line], line))
    given = {line: shares[line][0] + (rank < left) for rank, line in enumerate(by_rest)}
    return {line: count for line, count in sorted(given.items()) if count}
