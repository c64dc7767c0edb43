"""Has something saved and shows on its button how that goes; keeps what was not saved, and offers a way on."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from boxside.core.values.views import Notice
from boxside.ui.words import say


class Keeping:
    """Saves for one screen or flow; `unsaved` holds what was refused or failed, by the action's name."""

    def __init__(self, shell: Any) -> None:
        self.shell = shell
        self.unsaved: tuple[str, tuple[Any, ...]] | None = None

    def keep(
        self, name: str, args: tuple[Any, ...], then: Callable[[Any], None], button: Any = None,
        corrected: tuple[Any, ...] | None = None,
    ) -> None:  # fmt: skip
        """Have an action save: pending at once, the tick only once it is on the disk.

        `corrected` are the arguments that log it as a correction, where the action takes it so.
        """
        mark(button, "pending")

        def kept(result: Any) -> None:
            self.unsaved = None
            mark(button, "done")
            then(result)

        def failed(notice: Notice) -> None:
            self.unsaved = (name, args)
            mark(button, "failed")
            self.shell.services.device.haptics.reject()
            if corrected is not None and notice.correctable:
                self.shell.show(
                    not_saved(notice), out=say("giving_up"), other=say("as_correction"),
                    then_other=lambda: self.keep(name, corrected, then, button),
                )  # fmt: skip
                return
            self.shell.show(not_saved(notice), lambda: self.keep(name, args, then, button, corrected), say("giving_up"))

        self.shell.ask(name, *args, then=kept, failed=failed)


def mark(button: Any, state: str) -> None:
    """Show a state of saving on a button, where there is one."""
    if button is not None:
        button.state = state


def not_saved(notice: Notice) -> Notice:
    """Return a notice of failure that begins with what matters: it is not saved, and is kept here."""
    what = say("not_saved")
    return Notice(what=what, safe=notice.what, do=notice.do or notice.safe or say("not_saved_do"), bad=True)


__all__ = ["Keeping", "mark", "not_saved"]
