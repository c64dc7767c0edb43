"""Has long work done behind a sheet that says how far it is and lets it be stopped."""

from __future__ import annotations

import gc
from collections.abc import Callable
from typing import Any

from boxside.core.values.views import Notice
from boxside.ui.widgets.working import WorkingSheet
from boxside.ui.words import say


def work(
    shell: Any, name: str, *args: Any, title: str, then: Callable[[Any], None], can_stop: bool = True,
    failed: Callable[[Notice], None] | None = None,
) -> None:  # fmt: skip
    """Have an action run that takes a watch as its last argument.

    `can_stop` is for work that is all or nothing; what was stopped is told in a word, and `then` is not called.
    """
    # Loaded here, since most starts of the app come without long work.
    from boxside.actions.watching import STOPPED, Watch

    watch = Watch()
    sheet = WorkingSheet(title=title, watch=watch, can_stop=can_stop)
    sweep_again = _unswept()

    def done(result: Any) -> None:
        sweep_again()
        sheet.close()
        then(result)

    def not_done(notice: Notice) -> None:
        sweep_again()
        sheet.close()
        if notice.what == STOPPED:
            shell.show(Notice(say("stopped"), say("nothing_changed")))
        else:
            (failed or shell.show)(notice)

    shell.open_sheet(sheet)
    shell.ask(name, *args, watch, then=done, failed=not_done)


def _unswept() -> Callable[[], None]:
    """Keep the collector from going through all widgets, for which the screen would stand still, until called back."""
    was_enabled = gc.isenabled()
    gc.disable()
    return gc.enable if was_enabled else lambda: None


__all__ = ["work"]
