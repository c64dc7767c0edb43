"""Has long work done behind a sheet that says how far it is and lets it be stopped."""

from __future__ import annotations

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

    def done(result: Any) -> None:
        sheet.close()
        then(result)

    def not_done(notice: Notice) -> None:
        sheet.close()
        if notice.what == STOPPED:
            shell.show(Notice(say("stopped"), say("nothing_changed")))
        else:
            (failed or shell.show)(notice)

    shell.open_sheet(sheet)
    shell.ask(name, *args, watch, then=done, failed=not_done)


__all__ = ["work"]
