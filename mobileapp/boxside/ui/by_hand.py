"""Lengths measured by hand: one after another on the keypad, booked together when the last is in."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from boxside.core.values.photo_view import MeasureDone
from boxside.ui.keeping import Keeping
from boxside.ui.words import say, say_n

SHORTEST_MM, LONGEST_MM = 0.3, 200.0


class ByHand:
    """Asks for lengths at a box; `done` gets what was saved, and what an undo left."""

    def __init__(self, shell: Any, box_id: str, done: Callable[[Any], None], visit: str = "") -> None:
        self.shell = shell
        self.box_id = box_id
        self.done = done
        self.visit = visit
        self.lengths_mm: list[float] = []

    def begin(self) -> None:
        """Ask for the next length; left empty, that was all."""
        n, said = len(self.lengths_mm), " · ".join(f"{length:g}" for length in self.lengths_mm[-6:])
        self.shell.open_number(
            say("by_hand_is", n=n + 1), hint=say_n("by_hand_hint", n, lengths=said),
            by_keypad=True, whole=False, minimum=SHORTEST_MM, maximum=LONGEST_MM, unit="mm", then=self._take,
            can_skip=True, blank=say("by_hand_last") if self.lengths_mm else say("cancel"),
            out=say("undo") if self.lengths_mm else "", on_leave=self._step_back,
        )  # fmt: skip

    def _step_back(self) -> None:
        """Take the last length back and ask for it anew; nothing where there is none."""
        if self.lengths_mm:
            self.lengths_mm.pop()
            self.begin()

    def _take(self, length: float | None) -> None:
        if length is not None:
            self.lengths_mm.append(length)
            self.begin()
        elif self.lengths_mm:
            args = (self.box_id, tuple(self.lengths_mm), self.visit)
            Keeping(self.shell).keep("accept_lengths", args, self._booked)

    def _booked(self, booked: MeasureDone) -> None:
        self.shell.flow_saved(booked.flow, self.done)


__all__ = ["ByHand"]
