"""The desk: has one action after another run on a worker thread and brings results to the screens.

One worker, so that what is tapped first is saved first; nothing of it runs on the thread that draws.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from functools import partial
from typing import Any

from boxside.core.values.errors import BoxsideError, CorrectableError
from boxside.core.values.views import Notice

Action = Callable[..., Any]
Back = Callable[[Callable[[], None]], None]

log = logging.getLogger("boxside.desk")


def notice_of(error: BoxsideError) -> Notice:
    """Return what an error says as a notice: its first sentence is what happened, the rest what to do."""
    first, stop, rest = str(error).partition(". ")
    may_correct = isinstance(error, CorrectableError)
    return Notice(what=first.rstrip(".") + ".", do=rest if stop else "", bad=True, correctable=may_correct)


UNFORESEEN = Notice(
    what="Something unforeseen went wrong.",
    safe="Everything that was confirmed with a tick is kept.",
    do="Try again. If it stays, close the app and open it again.",
    bad=True,
)


def outcome(action: Action, services: Any, args: tuple[Any, ...]) -> Any:
    """Return what the action returns, or the notice that says why it did not."""
    try:
        return action(services, *args)
    except BoxsideError as error:
        return notice_of(error)
    except Exception:
        log.exception("an action failed")
        return UNFORESEEN


def _deliver(result: Any, then: Callable[[Any], None], failed: Callable[[Notice], None]) -> None:
    if isinstance(result, Notice) and result.bad:
        failed(result)
    else:
        then(result)


class Desk:
    """Runs actions on one worker thread; `back` brings a call to the thread that draws.

    `after` runs on the worker after each action whose answer is under way; what it returns goes nowhere.
    """

    def __init__(self, services: Any, back: Back, after: Action | None = None) -> None:
        self.services = services
        self._back = back
        self._after = after
        self._worker = ThreadPoolExecutor(max_workers=1, thread_name_prefix="boxside")
        self._beside: ThreadPoolExecutor | None = None

    def ask(self, action: Action, *args: Any, then: Callable[[Any], None], failed: Callable[[Notice], None]) -> None:
        """Have `action(services, *args)` run; its result goes to `then`, a notice of failure to `failed`."""

        def done(future: Future[Any]) -> None:
            self._back(partial(_deliver, future.result(), then, failed))

        self._worker.submit(outcome, action, self.services, args).add_done_callback(done)
        if self._after is not None:
            self._worker.submit(outcome, self._after, self.services, ())

    def beside(self, action: Action, *args: Any, then: Callable[[Any], None], failed: Callable[[Notice], None]) -> None:
        """Have an action run that takes long and has a connection of its own, so that no save waits for it."""

        def done(future: Future[Any]) -> None:
            self._back(partial(_deliver, future.result(), then, failed))

        if self._beside is None:
            self._beside = ThreadPoolExecutor(max_workers=1, thread_name_prefix="boxside-beside")
        self._beside.submit(outcome, action, self.services, args).add_done_callback(done)

    def close(self, last: Callable[[], object] | None = None) -> None:
        """Finish what was asked, run `last` on each worker, then stop them."""
        for worker in (self._worker, self._beside):
            if worker is not None:
                if last is not None:
                    worker.submit(last)
                worker.shutdown(wait=True)


class InlineDesk:
    """The same without a thread, for tests and for drawing pictures."""

    def __init__(self, services: Any) -> None:
        self.services = services

    def ask(self, action: Action, *args: Any, then: Callable[[Any], None], failed: Callable[[Notice], None]) -> None:
        """Run the action at once and hand its result on."""
        _deliver(outcome(action, self.services, args), then, failed)

    def beside(self, action: Action, *args: Any, then: Callable[[Any], None], failed: Callable[[Notice], None]) -> None:
        """Run the action at once, as any other."""
        self.ask(action, *args, then=then, failed=failed)

    def close(self, last: Callable[[], object] | None = None) -> None:
        """Run `last`; there is nothing to stop."""
        if last is not None:
            last()


__all__ = ["UNFORESEEN", "Desk", "InlineDesk", "notice_of"]
