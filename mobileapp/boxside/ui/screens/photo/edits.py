"""What a keeper changes on a measured photo, step by step, each of which can be taken back; nothing is saved."""

from __future__ import annotations

from dataclasses import dataclass

from boxside.core.values.photo_view import BodyRow, MeasureView
from boxside.ui.sight import Point, covered, nearest, nearest_end


@dataclass(frozen=True)
class State:
    """A measured photo and the ids of the bodies that are left out of it."""

    view: MeasureView
    out: frozenset[str] = frozenset()


class Edits:
    """The present state, and those before it."""

    def __init__(self, view: MeasureView) -> None:
        self.now = State(view)
        self._past: list[State] = []

    @property
    def can_undo(self) -> bool:
        """Whether anything was changed."""
        return bool(self._past)

    @property
    def rows(self) -> tuple[BodyRow, ...]:
        """All bodies, those left out among them."""
        return self.now.view.bodies

    def standing(self) -> list[BodyRow]:
        """Return the bodies that are not left out."""
        return [row for row in self.rows if row.id not in self.now.out]

    def row(self, body_id: str) -> BodyRow:
        """Return a body by its id; KeyError for one that is not there."""
        found = next((row for row in self.rows if row.id == body_id), None)
        if found is None:
            raise KeyError(body_id)
        return found

    def toggle(self, body_id: str) -> bool:
        """Leave a body out, or bring it back; whether it is out now."""
        self._put(State(self.now.view, self.now.out ^ {body_id}))
        return body_id in self.now.out

    def take(self, view: MeasureView, replaced: str = "") -> None:
        """Take a view in which a body was added or moved; `replaced` is the body that the new one stands for."""
        self._put(State(view, self.now.out | ({replaced} if replaced else set())))

    def undo(self) -> None:
        """Go one step back."""
        if self._past:
            self.now = self._past.pop()

    def _put(self, state: State) -> None:
        self._past.append(self.now)
        self.now = state

    # ---- what a touch means ----

    def body_at(self, at: Point, reach: float) -> str:
        """Return the id of the body that a touch means, left out or not; empty for none."""
        found = nearest([row.outline_px or row.midline_px for row in self.rows], at, reach)
        return self.rows[found].id if found is not None else ""

    def end_at(self, at: Point, reach: float) -> tuple[str, int] | None:
        """Return the end that a touch means, as the id of its body and 0 or 1."""
        standing = self.standing()
        found = nearest_end([row.midline_px for row in standing], at, reach)
        return (standing[found[0]].id, found[1]) if found is not None else None

    def replaced_by(self, first: Point, second: Point, reach: float) -> str:
        """Return the id of the body that one between two taps would be measured in place of; empty for none."""
        standing = self.standing()
        found = covered([row.outline_px for row in standing], first, second, reach)
        return standing[found].id if found is not None else ""


__all__ = ["Edits", "State"]
