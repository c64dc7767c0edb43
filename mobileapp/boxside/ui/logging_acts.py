"""Logs an act: asks for its fields, shows on its button how the saving goes, keeps what was not saved."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from boxside.core.values.event import Draft, Json
from boxside.core.values.views import Act, Notice, Saved
from boxside.core.values.vocabulary import Field, FieldType
from boxside.ui.asking import Answers, Asking
from boxside.ui.words import say

COUNT_FIELDS = (
    Field("n", FieldType.INTEGER, "", minimum=0, maximum=100000, required=True),
    Field("complete", FieldType.BOOLEAN, "", required=True),
)
LATER_DAYS = (1, 2, 3, 7)


class Logging:
    """Logs acts at one box for a screen; `done` gets what came of each, after it is safe on the disk."""

    def __init__(self, shell: Any, done: Callable[[Saved], None]) -> None:
        self.shell = shell
        self.done = done
        self.unsaved: Draft | None = None

    def act(self, act: Act, box_id: str, visit: str, button: Any) -> None:
        """Log an act, after asking for what it asks; `button` shows how it goes."""
        by_keypad = act.command == "count" or act.kind == "count"
        fields = act.asks or (COUNT_FIELDS if by_keypad else ())
        kind = act.kind or act.command

        def save(answers: Answers) -> None:
            values: dict[str, Json] = {**act.preset, **answers}
            self.save(Draft(kind, "box", box_id, values, visit=visit or None), button)

        Asking(self.shell, act.label, fields, save, act.preset, by_keypad).begin()

    def save(self, draft: Draft, button: Any, passed: tuple[str, ...] = ()) -> None:
        """Have a draft saved: pending at once, tick and haptic only once it is on the disk."""
        if button is not None:
            button.state = "pending"

        def saved(result: Saved) -> None:
            self.unsaved = None
            self._mark(button, "done")
            self.shell.saved(result, self.done)

        def failed(notice: Notice) -> None:
            self.unsaved = draft
            self._mark(button, "failed")
            self.shell.services.device.haptics.reject()
            self.shell.show(not_saved(notice), lambda: self.save(draft, button, passed), say("giving_up"))

        self.shell.ask("log_event", draft, passed, then=saved, failed=failed)

    @staticmethod
    def _mark(button: Any, state: str) -> None:
        if button is not None:
            button.state = state

    def put_off(self, box_id: str, tasks: tuple[str, ...], visit: str, button: Any) -> None:
        """Ask for how long, then put off every task that is due."""
        items = [(days, say(f"days_{days}"), "later") for days in LATER_DAYS]

        def save(days: int) -> None:
            for task in tasks:
                self.save(Draft("later", "box", box_id, {"task": task, "days": days}, visit=visit or None), button)

        self.shell.open_choices(say("later"), items, save, say("later_hint"))


def not_saved(notice: Notice) -> Notice:
    """Return a notice of failure that begins with what matters: it is not saved, and is kept here."""
    what = say("not_saved")
    return Notice(what=what, safe=notice.what, do=notice.do or notice.safe or say("not_saved_do"), bad=True)


__all__ = ["COUNT_FIELDS", "LATER_DAYS", "Logging", "not_saved"]
