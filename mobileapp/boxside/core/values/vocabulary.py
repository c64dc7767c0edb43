"""The vocabulary of events as values; `shared/events.toml` is its one source."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from boxside.core.values.event import Json


class FieldType(StrEnum):
    """What a field of an event holds."""

    INTEGER = "integer"
    NUMBER = "number"
    TEXT = "text"
    CHOICE = "choice"
    BOOLEAN = "boolean"
    DATE = "date"
    BOX = "box"
    COHORT = "cohort"
    AREA = "area"
    EVENT = "event"
    PARTS = "parts"
    ROWS = "rows"


class Witness(StrEnum):
    """How far an event is evidence of living animals: a feeding is no census."""

    NONE = "none"
    SOME_ALIVE = "some_alive"
    ALL_COUNTED = "all_counted"


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a kind: its type, unit, range, default and whether it must be given."""

    name: str
    type: FieldType
    label: str
    unit: str = ""
    minimum: float | None = None
    maximum: float | None = None
    default: Json = None
    required: bool = False
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Move:
    """One shift of animals: how many (`n`, a field or a number), from which lines, to what.

    `source` and `target` map a line's attributes (or `account`) to a literal, a list in order of
    preference, `@field`, `+1` or `-` (none); `blank` says what a missing number means; `each` names a
    field that holds a list of parts, each a move of its own.
    """

    n: str | int
    source: Mapping[str, Json] = field(default_factory=dict)
    target: Mapping[str, Json] = field(default_factory=dict)
    blank: str = "none"
    each: str = ""


@dataclass(frozen=True, slots=True)
class Census:
    """How a kind counts: the field or number it counts, and when that count is complete.

    `complete` is true, false, or the name of the field that says so.
    """

    n: str | int
    complete: bool | str


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of event, as declared."""

    name: str
    label: str
    said: str
    group: str
    subjects: tuple[str, ...]
    stages: tuple[str, ...]
    fields: tuple[Field, ...]
    moves: tuple[Move, ...] = ()
    census: Census | None = None
    witness: Witness = Witness.NONE
    overdraft: str = "surplus"
    icon: str = "dot"
    one_tap: bool = False
    closes: tuple[str, ...] = ()
    sets: str = ""
    latest_by: str = ""
    selectors: bool = False

    @property
    def phase(self) -> int:
        """Place within a visit: removals 0, moves and all the rest 1, counts 2."""
        if self.census is not None:
            return 2
        out = any("account" in move.target for move in self.moves)
        return 0 if out else 1

    def field(self, name: str) -> Field | None:
        """Return the field of that name, or None."""
        return next((f for f in self.fields if f.name == name), None)


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """All kinds by name, in the order of the file."""

    kinds: Mapping[str, Kind]

    def get(self, name: str) -> Kind | None:
        """Return the kind of that name; None for one that a newer app has written."""
        return self.kinds.get(name)
