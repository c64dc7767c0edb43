"""Logs an act: hands it to the flow that it has, or asks for its fields, then has it saved."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from boxside.core.values.event import Draft, Json
from boxside.core.values.views import Act, Saved
from boxside.ui.asking import Answers, Asking
from boxside.ui.keeping import Keeping
from boxside.ui.words import say

if TYPE_CHECKING:
    from boxside.ui.flows import Stop

LATER_DAYS = (1, 2, 3, 7)


class Logging:
    """Logs acts at one box for a screen; `done` gets what came of each, after it is safe on the disk.

    `passed` returns the boxes that a round has left behind.
    """

    def __init__(
        self, shell: Any, done: Callable[[Saved], None], passed: Callable[[], tuple[str, ...]] = tuple
    ) -> None:
        self.shell = shell
        self.done = done
        self.passed = passed
        self.keeping = Keeping(shell)

    def act(self, act: Act, box_id: str, visit: str, button: Any, label: str = "") -> None:
        """Log an act, after asking for what it asks; `button` shows how it goes."""
        # Flows are loaded with the first act, not with the first box.
        from boxside.ui.flows import FLOWS, Stop, flow_of
        from boxside.ui.flows.groups import PICKS, ask_group

        stop = Stop(self.shell, act, box_id, label, visit, button, self.done, self.passed())
        name = flow_of(act)
        if name:
            FLOWS[name](stop)
        elif act.kind in PICKS:
            stop.ask("stage_view", box_id, then=lambda view: ask_group(stop, view.groups, act.label, self._fields))
        else:
            self._fields(stop, {})

    def _fields(self, stop: Stop, picked: dict[str, Json]) -> None:
        """Ask for an act's fields, then save it."""
        act = stop.act

        def save(answers: Answers) -> None:
            values: dict[str, Json] = {**act.preset, **picked, **answers}
            self.save(Draft(act.kind or act.command, "box", stop.box_id, values, visit=stop.visit or None), stop.button)

        Asking(self.shell, act.label, act.asks, save, act.preset).begin()

    def save(self, draft: Draft, button: Any) -> None:
        """Have a draft saved; one that cannot be is offered as a correction where that can be."""
        args = (draft, self.passed())
        self.keeping.keep(
            "log_event", args, lambda saved: self.shell.saved(saved, self.done), button, corrected=(*args, True)
        )

    def put_off(self, box_id: str, tasks: tuple[str, ...], visit: str, button: Any) -> None:
        """Ask for how long, then put off every task that is due."""
        items = [(days, say(f"days_{days}"), "later") for days in LATER_DAYS]

        def save(days: int) -> None:
            drafts = tuple(
                Draft("later", "box", box_id, {"task": task, "days": days}, visit=visit or None) for task in tasks
            )
            args = (drafts, self.passed())
            self.keeping.keep("log_together", args, lambda saved: self.shell.saved(saved, self.done), button)

        self.shell.open_choices(say("later"), items, save, say("later_hint"))


__all__ = ["LATER_DAYS", "Logging"]
