"""Stages and sexes, in the order of life."""

from __future__ import annotations

from enum import StrEnum


class Stage(StrEnum):
    """A stage of a holometabolous life, prepupa told apart because it no longer feeds."""

    EGG = "egg"
    LARVA = "larva"
    PREPUPA = "prepupa"
    PUPA = "pupa"
    ADULT = "adult"

    @property
    def rank(self) -> int:
        """The place in the order of life, egg 0 to adult 4."""
        return list(Stage).index(self)


class Sex(StrEnum):
    """Sex where it is known."""

    FEMALE = "female"
    MALE = "male"
    UNKNOWN = "unknown"
