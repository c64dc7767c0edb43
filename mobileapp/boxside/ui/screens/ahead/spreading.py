"""Heavy days made lighter: what would move, by how much, and putting it off with one undo for all of it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

from boxside.actions.ahead_words import move_text
from boxside.core.values.ahead import SmoothView
from boxside.core.values.chart import Bars, Chart, Dots, Role, date_axis, number_axis
from boxside.core.values.season import Flow
from boxside.core.values.views import Saved
from boxside.ui.keeping import Keeping
from boxside.ui.widgets.figures import chart_rows
from boxside.ui.widgets.reading import read
from boxside.ui.widgets.rows import RowData, head, paragraph, row
from boxside.ui.words import say


class Spreading:
    """One look at how the load could be spread; `done` is called after something was put off or taken back."""

    def __init__(self, shell: Any, day: date, done: Callable[[], None]) -> None:
        self.shell = shell
        self.day = day
        self.done = done

    def begin(self) -> None:
        """Relieve only days that are clearly above the mean."""
        self.shell.ask("smooth_view", then=self._with_limit)

    def _with_limit(self, view: SmoothView) -> None:
        counts = [before for _, before, _ in view.days]
        limit = 1 + -(-sum(counts) // max(1, len(counts)))
        self.shell.ask("smooth_view", limit, then=lambda some: self._show(some, limit))

    def _even_out(self, _: Any = None) -> None:
        self.shell.ask("smooth_view", 0, then=lambda all_of_it: self._show(all_of_it, 0))

    def _show(self, view: SmoothView, limit: int) -> None:
        later = [move for move in view.moved if move.days > 0 and move.to_on > self.day]

        def make(width: float) -> list[RowData]:
            if not view.moved:
                said = [paragraph(width, say("no_heavy", n=limit) if limit else say("even_already"))]
            else:
                said = [*chart_rows(width, _chart(view)), *self._moves(width, view)]
            even = row(width, self._even_out, None, icon="separate", title=say("even_out"), detail=say("even_hint"))
            return [*said, *([even] if limit else [])]

        read(
            self.shell, say("spread"), make, yes=say("put_off") if later else "", yes_icon="later",
            then=lambda: self._put_off(view),
        )  # fmt: skip

    def _moves(self, width: float, view: SmoothView) -> list[RowData]:
        rows: list[RowData] = []
        for heading, some in (
            (say("do_later"), [move for move in view.moved if move.days > 0]),
            (say("do_sooner"), [move for move in view.moved if move.days < 0]),
        ):
            if some:
                rows.append(head(width, heading))
            for move in some:
                task, when = move_text(move, self.day)
                rows.append(paragraph(width, when, f"{move.label}: {task.lower()}"))
        return rows

    def _put_off(self, view: SmoothView) -> None:
        Keeping(self.shell).keep("spread_tasks", (view.moved,), self._kept)

    def _kept(self, flow: Flow) -> None:
        self.shell.flow_saved(flow, self._after)

    def _after(self, _: Saved) -> None:
        self.done()


def _chart(view: SmoothView) -> Chart:
    days = [on for on, _, _ in view.days]
    x = tuple(float(on.toordinal()) for on in days)
    before = tuple(float(n) for _, n, _ in view.days)
    after = tuple(float(n) for _, _, n in view.days)
    return Chart(
        title=say("tasks_a_day"),
        x=date_axis(say("axis_day"), days[0], days[-1]),
        y=number_axis(say("axis_tasks"), "", 0, max(*before, *after, 1.0)),
        series=(Bars(say("spread_out"), Role.MAIN, x, after), Dots(say("as_it_is"), Role.OTHER, x, before)),
    )


__all__ = ["Spreading"]
