"""Asks for the fields of an act, one sheet each, then hands on the answers."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from boxside.core.values.event import Json
from boxside.core.values.vocabulary import Field, FieldType
from boxside.ui.words import say, say_choice

Answers = dict[str, Json]
_MANY = 40


class Asking:
    """One run through the fields of an act; `then` gets the answers, `left` is called when it is left."""

    def __init__(
        self, shell: Any, title: str, fields: Sequence[Field], then: Callable[[Answers], None],
        have: Mapping[str, Json] | None = None, by_keypad: bool = False,
    ) -> None:  # fmt: skip
        self.shell = shell
        self.title = title
        self.fields = [field for field in fields if field.type in _SHEETS]
        self.then = then
        self.by_keypad = by_keypad
        self.have = dict(have or {})
        self.answers: Answers = {}

    def begin(self) -> None:
        """Ask the first field, or hand on at once where there is none."""
        self._ask(0)

    def _ask(self, at: int) -> None:
        if at >= len(self.fields):
            self.then(self.answers)
            return
        field = self.fields[at]

        def take(value: Json) -> None:
            if value is not None and value != "":
                self.answers[field.name] = value
            self._ask(at + 1)

        _SHEETS[field.type](self, field, take)

    def _title(self, field: Field) -> str:
        return f"{self.title}: {field.label}" if field.label else self.title

    def known(self, field: Field) -> Json:
        """Return what the field holds so far: the value to correct, else the declared default."""
        return self.have.get(field.name, field.default)

    def ask_choice(self, field: Field, take: Callable[[Json], None]) -> None:
        """Ask for one of the declared choices."""
        items: list[tuple[Any, str, str]] = [(choice, say_choice(choice), "") for choice in field.choices]
        self._choose(field, items, take)

    def ask_yes(self, field: Field, take: Callable[[Json], None]) -> None:
        """Ask yes or no; for the completeness of a count in its own words."""
        if field.name == "complete":
            items = [(True, say("complete_yes"), "check"), (False, say("complete_no"), "unknown")]
            self.shell.open_choices(say("complete"), items, take, say("complete_hint"), self.known(field))
            return
        self._choose(field, [(True, say("yes"), "check"), (False, say("no"), "close")], take)

    def ask_number(self, field: Field, take: Callable[[Json], None]) -> None:
        """Ask for a number, by stepper where it is small, else by keypad."""
        low = 0 if field.minimum is None else field.minimum
        high = 99999 if field.maximum is None else field.maximum
        known = self.known(field)
        start = known if isinstance(known, int | float) else max(low, 1)
        whole = field.type is FieldType.INTEGER
        self.shell.open_number(
            self._title(field), then=take, value=start, minimum=low, maximum=high, unit=field.unit,
            whole=whole, can_skip=not field.required, by_keypad=self.by_keypad or not whole or start > _MANY,
            typed=f"{known:g}" if isinstance(known, int | float) else "",
        )  # fmt: skip

    def ask_text(self, field: Field, take: Callable[[Json], None]) -> None:
        """Ask for a few words."""
        self.shell.open_text(self._title(field), str(self.known(field) or ""), take)

    def ask_box(self, field: Field, take: Callable[[Json], None]) -> None:
        """Ask for a box: its code, then which of those that match."""
        self.shell.open_boxes(self._title(field), take, can_skip=not field.required)

    def ask_listed(self, field: Field, take: Callable[[Json], None]) -> None:
        """Ask for one of the cohorts or areas there are."""

        def show(view: Any) -> None:
            listed = view.cohorts if field.type is FieldType.COHORT else view.areas
            self._choose(field, [(key, name, "") for key, name in listed], take)

        self.shell.ask("new_box_view", then=show)

    def _choose(self, field: Field, items: list[tuple[Any, str, str]], take: Callable[[Json], None]) -> None:
        extra = [] if field.required else [(None, say("skip"), "right")]
        self.shell.open_choices(self._title(field), [*items, *extra], take, "", self.known(field))


_SHEETS: dict[FieldType, Callable[[Asking, Field, Callable[[Json], None]], None]] = {
    FieldType.CHOICE: Asking.ask_choice,
    FieldType.BOOLEAN: Asking.ask_yes,
    FieldType.INTEGER: Asking.ask_number,
    FieldType.NUMBER: Asking.ask_number,
    FieldType.TEXT: Asking.ask_text,
    FieldType.DATE: Asking.ask_text,
    FieldType.BOX: Asking.ask_box,
    FieldType.COHORT: Asking.ask_listed,
    FieldType.AREA: Asking.ask_listed,
}


def can_ask(field: Field) -> bool:
    """Whether there is a sheet for a field of that type."""
    return field.type in _SHEETS


def said_value(value: Json) -> str:
    """Return how a field's value reads."""
    if value is None:
        return "–"
    if isinstance(value, bool):
        return say("yes" if value else "no")
    return say_choice(value) if isinstance(value, str) else str(value)


__all__ = ["Answers", "Asking", "can_ask", "said_value"]
