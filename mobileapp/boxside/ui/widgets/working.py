"""A sheet over everything while a long piece of work goes on elsewhere: how far it is, and a way to stop it."""

from __future__ import annotations

from typing import Any

from kivy.clock import Clock
from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty

from boxside.ui.kv import load_kv
from boxside.ui.widgets.sheet import Sheet
from boxside.ui.words import say

# What is done sooner is not worth a sheet that comes and goes; touches are held back from the first moment.
UNSEEN_S = 0.3
LOOK_S = 0.2


class WorkingSheet(Sheet):
    """Reads a watch (`part`, `done`, `total`) a few times a second; leaving it asks the work to stop, if it can."""

    watch = ObjectProperty(None)
    can_stop = BooleanProperty(True)
    is_stopping = BooleanProperty(False)
    far = StringProperty("")
    share = NumericProperty(-1)

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.opacity = 0
        self._showing = Clock.schedule_once(self.show, UNSEEN_S)
        self._looking = Clock.schedule_interval(self.look, LOOK_S)
        self.look()

    def show(self, *_: Any) -> None:
        """Let it be seen."""
        self.opacity = 1

    def look(self, *_: Any) -> None:
        """Say how far the work is."""
        part, done, total = self.watch.part, self.watch.done, self.watch.total
        if self.is_stopping or not part:
            self.far, self.share = say("stopping" if self.is_stopping else "working"), -1
        elif total:
            self.far, self.share = say("far", done=f"{done:,}", total=f"{total:,}", part=part), done / total
        else:
            self.far, self.share = f"{done:,} {part}", -1

    def leave(self) -> None:
        """Ask the work to stop; the sheet goes when it has."""
        if self.can_stop:
            self.watch.is_stopped = self.is_stopping = True
            self.show()
            self.look()

    def close(self) -> None:
        """Take the sheet away."""
        self._showing.cancel()
        self._looking.cancel()
        super().close()


load_kv(__file__)

__all__ = ["WorkingSheet"]
