"""Ahead: the coming weeks, which boxes they ask for and what is expected in them, each with its reasons."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from kivy.properties import NumericProperty

from boxside.actions.ahead_words import weekday_text
from boxside.actions.wording import day_text
from boxside.core.values.ahead import AheadDay, AheadWeek, Expected, OverlapView
from boxside.ui.foretold import expected_row, tell_reasons
from boxside.ui.kv import load_kv
from boxside.ui.outside import hand_over
from boxside.ui.rows_page import RowsPage
from boxside.ui.screens.ahead.overlap import tell_overlap
from boxside.ui.screens.ahead.spreading import Spreading
from boxside.ui.widgets.figures import chart_rows
from boxside.ui.widgets.pages import RowsView, Turner  # noqa: F401  used by the kv file
from boxside.ui.widgets.reading import read
from boxside.ui.widgets.rows import RowData, head, paragraph, row, rows_width
from boxside.ui.words import say, say_n

WEEKS = (2, 4, 8, 13, 26)
BUSY = 3
HARD_SPACE = "\u00a0"


class AheadScreen(RowsPage):
    """Shows one `AheadView`."""

    n_weeks = NumericProperty(4)

    def refresh(self, *_: Any) -> None:
        """Fetch the weeks anew."""
        self.ask("today", then=self._ask)

    def _ask(self, day: date) -> None:
        last = day + timedelta(days=7 * int(self.n_weeks) - 1)
        self.ask("ahead_view", day, last, then=self.show)

    def rows(self) -> list[RowData]:
        """Return the rows of the view."""
        width, view = rows_width(self.ids.rows), self.view
        within = [one for one in view.expected if one.by <= view.to_on]
        later = [one for one in view.expected if one.by > view.to_on]
        return [
            *chart_rows(width, view.chart),
            self._spread(width),
            *(data for week in view.weeks for data in self._week(width, week, within)),
            *self._ways(width),
            *([head(width, say("may_begin"))] if later else []),
            *(expected_row(width, one, view.from_on, self.why) for one in later),
            *(paragraph(width, text, icon="rest") for text in view.resting),
            *(paragraph(width, text, icon="unknown") for text in view.unknown),
        ]

    def _spread(self, width: float) -> RowData:
        heavy = [day for week in self.view.weeks for day in week.days if day.heavy]
        said = ", ".join(self._day_words(day) for day in heavy[:BUSY])
        return row(
            width, self.spread, None, icon="separate", title=say("spread"), detail=said or say("spread_none"),
            is_late=bool(heavy), trail="right",
        )  # fmt: skip

    def _ways(self, width: float) -> list[RowData]:
        return [
            row(width, self.meet, None, icon="sex", title=say("overlap"), detail=say("overlap_hint"), trail="right"),
            row(width, self.choose_weeks, None, icon="season", title=say_n("weeks_shown", int(self.n_weeks)),
                trail="right"),
            row(width, self.export, None, icon="save", title=say("calendar_file"), detail=say("calendar_hint"),
                trail="right"),
        ]  # fmt: skip

    def _day_words(self, day: AheadDay) -> str:
        return say_n("boxes_on", day.n_boxes) + f" {weekday_text(day.on, self.view.from_on)}"

    def _week(self, width: float, week: AheadWeek, within: list[Expected]) -> list[RowData]:
        day = self.view.from_on
        counts = " · ".join(f"{weekday_text(on.on, day).split()[0]}{HARD_SPACE}{on.n_boxes}" for on in week.days)
        rows = [
            head(width, say("week_of", first=day_text(week.from_on, day), last=day_text(week.days[-1].on, day))),
            row(width, self.tell_week, week, icon="box", title=say_n("visits", week.n_visits), detail=counts,
                trail="right"),
        ]  # fmt: skip
        return [*rows, *(expected_row(width, one, day, self.why) for one in week.expected if one in within)]

    # ---- more about it ----

    def why(self, one: Expected) -> None:
        """Show why something is expected when it is."""
        tell_reasons(self.shell, one, self.view.from_on)

    def tell_week(self, week: AheadWeek) -> None:
        """Show which boxes a week asks for, day by day."""
        day = self.view.from_on
        title = say("week_of", first=day_text(week.from_on, day), last=day_text(week.days[-1].on, day))
        read(self.shell, title, lambda width: [data for on in week.days for data in self._day(width, on)])

    def _day(self, width: float, on: AheadDay) -> list[RowData]:
        name = weekday_text(on.on, self.view.from_on)
        rows = [head(width, f"{name}: {say_n('boxes_on', on.n_boxes)}")]
        said = [
            paragraph(width, ", ".join(visit.tasks) + ("" if visit.sure else f" {say('if_before')}"), visit.label)
            for visit in on.visits
        ]
        if on.n_boxes and not said:
            said = [paragraph(width, say("only_counted"))]
        return [*rows, *said]

    def choose_weeks(self, _: Any) -> None:
        """Ask how far to look."""

        def chosen(n: int) -> None:
            self.n_weeks = n
            self.refresh()

        items = [(n, say_n("weeks", n), "season") for n in WEEKS]
        self.shell.open_choices(say("how_far"), items, chosen, "", int(self.n_weeks))

    def spread(self, _: Any) -> None:
        """Offer to spread what falls on heavy days."""
        Spreading(self.shell, self.view.from_on, self.refresh).begin()

    def meet(self, _: Any) -> None:
        """Show whether males and females will be adult together."""
        self.ask("overlap_view", then=self._show_overlap)

    def _show_overlap(self, view: OverlapView) -> None:
        tell_overlap(self.shell, view)

    def export(self, _: Any) -> None:
        """Write the weeks as a calendar file, say where, and offer to share or save it."""
        view = self.view
        self.ask("save_calendar", view.from_on, view.to_on, then=self._exported)

    def _exported(self, path: Any) -> None:
        hand_over(self.shell, say("written"), [path], say("calendar_do"))


load_kv(__file__)

__all__ = ["WEEKS", "AheadScreen"]
