"""A number with the calculation behind it, so that a screen can show where it comes from."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum


class How(StrEnum):
    """How the terms of a figure make it up."""

    SUM = "sum"
    PRODUCT = "product"


@dataclass(frozen=True, slots=True)
class Term:
    """One part of a figure: what it stands for, and its number."""

    label: str
    value: float


@dataclass(frozen=True, slots=True)
class Figure:
    """A number, its unit, and the terms that add or multiply up to it.

    `rounded_up` is True where whole animals are needed: then `value` is the next whole number.
    """

    value: float
    unit: str
    terms: tuple[Term, ...]
    how: How = How.SUM
    rounded_up: bool = False


def sum_of(unit: str, terms: Iterable[Term]) -> Figure:
    """Return the figure that its terms add up to."""
    kept = tuple(terms)
    return Figure(math.fsum(term.value for term in kept), unit, kept)


def product_of(unit: str, terms: Iterable[Term], rounded_up: bool = False) -> Figure:
    """Return the figure that its terms multiply up to, on request as whole animals."""
    kept = tuple(terms)
    value = math.prod(term.value for term in kept)
    if rounded_up:
        # A rounding error above a whole number must not ask for one animal more.
        value = float(math.ceil(round(value, 9)))
    return Figure(value, unit, kept, How.PRODUCT, rounded_up)
