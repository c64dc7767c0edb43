"""From a declared side of a move to real lines: which are meant, and where they land."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from boxside.core.ledger.touched import box_of
from boxside.core.values.event import Event, Json
from boxside.core.values.ledger import Line
from boxside.core.values.stages import Sex, Stage
from boxside.core.values.vocabulary import Kind

_ATTRIBUTES = ("box", "cohort", "stage", "instar", "sex")
_SELECTORS = ("cohort", "stage", "instar", "sex")
Wanted = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Scope:
    """The lines that an event means: for each attribute the accepted values, best first; all if none."""

    wanted: Mapping[str, Wanted]

    def groups(self, balances: Mapping[Line, int]) -> list[dict[Line, int]]:
        """Return the matching lines with animals in them, grouped and ordered by preference."""
        found: dict[tuple[int, ...], dict[Line, int]] = {}
        for line in sorted(balances):
            if balances[line] > 0 and (place := self.place(line)) is not None:
                found.setdefault(place, {})[line] = balances[line]
        return [found[place] for place in sorted(found)]

    def place(self, line: Line) -> tuple[int, ...] | None:
        """Return how well a line fits, smaller is better; None where it does not."""
        places = []
        for name, accepted in self.wanted.items():
            value = getattr(line, name)
            if value not in accepted:
                return None
            places.append(accepted.index(value))
        return tuple(places)

    def template(self, balances: Mapping[Line, int]) -> Line:
        """Return the line for animals nobody expected: as stated, else as the fullest line of the box."""
        box = str(self.first("box", ""))
        there = {line: n for line, n in balances.items() if n > 0 and line.box == box}
        fullest = max(there, key=lambda line: (there[line], line), default=None)
        fitting = {line.cohort for line in there if self.place(line) is not None}
        cohorts = fitting if len(fitting) == 1 else {line.cohort for line in there}
        cohort = next(iter(cohorts)) if len(cohorts) == 1 else ""
        stage = _stage(self.first("stage", fullest.stage if fullest else Stage.LARVA))
        return Line(
            box=box,
            cohort=str(self.first("cohort", cohort)),
            stage=stage,
            instar=_instar(self.first("instar", 0)),
            sex=_sex(self.first("sex", Sex.UNKNOWN)),
        )

    def first(self, name: str, default: str | int) -> str | int:
        """Return the best accepted value of an attribute, or `default` where none is stated."""
        accepted = self.wanted.get(name)
        return accepted[0] if accepted else default


def scope_of(side: Mapping[str, Json], event: Event, kind: Kind, fields: Mapping[str, Json]) -> Scope:
    """Return the lines that one side of a move means, narrowed by the event's selector fields."""
    wanted: dict[str, Wanted] = {"box": (box_of(event),)}
    for name in _ATTRIBUTES:
        if values := _values(side.get(name), event, fields):
            wanted[name] = values
    for name in _SELECTORS:
        said = fields.get(name)
        selects = kind.selectors and isinstance(said, (str, int)) and not isinstance(said, bool)
        if selects and (name not in side or said in wanted.get(name, (said,))):
            wanted[name] = (said,)  # type: ignore[assignment]
    return Scope(wanted)


def landing(side: Mapping[str, Json], line: Line, event: Event, fields: Mapping[str, Json]) -> Line:
    """Return the line that animals of `line` become; what the side does not say stays as it was."""
    values: dict[str, str | int] = {name: getattr(line, name) for name in _ATTRIBUTES}
    for name in _ATTRIBUTES:
        stated = side.get(name)
        for option in stated if isinstance(stated, list) else [stated]:
            value = _landed(option, values[name], event, fields)
            if value is not None:
                values[name] = value
                break
    return Line(
        box=str(values["box"]),
        cohort=str(values["cohort"]),
        stage=_stage(values["stage"]),
        instar=_instar(values["instar"]),
        sex=_sex(values["sex"]),
    )


def _landed(option: Json, before: str | int, event: Event, fields: Mapping[str, Json]) -> str | int | None:
    """Return what one stated value means for an attribute that was `before`; None: nothing stated."""
    if option == "-":
        return "" if isinstance(before, str) else 0
    if option == "+1":
        return before + 1 if isinstance(before, int) and before else before
    return _value(option, event, fields)


def _values(stated: Json, event: Event, fields: Mapping[str, Json]) -> Wanted:
    """Return the accepted values of an attribute; none, so any, where the preferred one is not said."""
    options = stated if isinstance(stated, list) else [stated]
    found = [_value(option, event, fields) for option in options]
    if not found or found[0] is None:
        return ()
    return tuple(value for value in found if value is not None)


def _value(option: Json, event: Event, fields: Mapping[str, Json]) -> str | int | None:
    """Return a literal, or what the named field (`@self` the box, `@subject`, `@field-1`) holds."""
    if isinstance(option, bool) or not isinstance(option, (str, int)):
        return None
    if not isinstance(option, str) or not option.startswith("@"):
        return option
    if option == "@self":
        return box_of(event)
    if option == "@subject":
        return event.subject_id
    name, less, _ = option[1:].partition("-1")
    said = fields.get(name)
    if isinstance(said, bool) or not isinstance(said, (str, int)):
        return None
    return said - 1 if less and isinstance(said, int) else said


def _stage(value: str | int) -> Stage:
    """Return the stage; animals of a stage that nobody knows are taken for larvae, the longest one."""
    return Stage(value) if value in set(Stage) else Stage.LARVA


def _sex(value: str | int) -> Sex:
    return Sex(value) if value in set(Sex) else Sex.UNKNOWN


def _instar(value: str | int) -> int:
    return value if isinstance(value, int) and value > 0 else 0
