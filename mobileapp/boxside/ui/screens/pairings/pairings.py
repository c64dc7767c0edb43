"""Pairings: whose males to whose females now, why, and what the next best would lose."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from kivy.clock import Clock
from kivy.properties import ListProperty, ObjectProperty, StringProperty

from boxside.core.values.line_view import PairingsView, PairRow
from boxside.ui.kv import load_kv
from boxside.ui.shell import Page
from boxside.ui.widgets.pages import RowsView, Turner  # noqa: F401  used by the kv file
from boxside.ui.widgets.reading import read
from boxside.ui.widgets.rows import RowData, head, paragraph, row, rows_width
from boxside.ui.words import say, say_n

WEEKS = (0, 1, 2, 4, 8)


class PairingsScreen(Page):
    """Shows one `PairingsView`; each pairing opens with all its reasons."""

    view = ObjectProperty(None, allownone=True)
    day = StringProperty("")
    data = ListProperty([])
    back_to = StringProperty("more")

    def __init__(self, **kwargs: Any) -> None:
        self._today: date | None = None
        self._remeasure = Clock.create_trigger(self._lay)
        super().__init__(**kwargs)

    def enter(self, back_to: str = "more", **_: Any) -> None:
        """Show the pairings of today."""
        self.back_to, self._today = back_to, None
        self.day = self.day or say("working")
        self._ask(None)

    def _ask(self, on: date | None) -> None:
        self.ask("pairings_view", on, then=self.show)

    def show(self, view: PairingsView) -> None:
        """Show a view."""
        self._today = self._today or view.on
        self.view = view
        self.day = say("pairings_on", day=f"{view.on.day} {view.on:%B %Y}")
        self._lay()
        self.ids.rows.scroll_y = 1

    def on_size(self, *_: Any) -> None:
        self._remeasure()

    def _lay(self, *_: Any) -> None:
        view = self.view
        if view is None:
            return
        width = rows_width(self.ids.rows)
        self.data = [
            *([paragraph(width, view.empty)] if view.empty else []),
            *(paragraph(width, text, icon="late") for text in view.warnings),
            *(self._pair(width, pair) for pair in view.pairs),
            *self._reached(width, view),
            *([head(width, say("adults"))] if view.available else []),
            *(paragraph(width, adult.text, icon=adult.sex) for adult in view.available),
            *(paragraph(width, note, icon="info") for note in view.notes),
        ]

    def _pair(self, width: float, pair: PairRow) -> RowData:
        reasons = [text for _, _, text in pair.reasons[:1]]
        soft = "\n".join([*reasons, *([f"{say('second_best')}: {pair.second_best}"] if pair.second_best else [])])
        return row(
            width, self.tell, pair, icon="pair", title=title_of(pair), trail="right", soft=soft,
            detail=f"{say('kinship', value=f'{pair.kinship:.3f}')}\n{pair.when}\n{pair.boxes}",
        )  # fmt: skip

    @staticmethod
    def _reached(width: float, view: PairingsView) -> list[RowData]:
        if view.mean_kinship is None or view.best_mean_kinship is None:
            return []
        words = say("reached", value=f"{view.mean_kinship:.4f}", best=f"{view.best_mean_kinship:.4f}")
        return [paragraph(width, words, say("offspring"))]

    def tell(self, pair: PairRow) -> None:
        """Tell all reasons of a pairing, and what the next best would lose."""

        def rows(width: float) -> list[RowData]:
            second = pair.second_best or say("second_best_none")
            return [
                paragraph(width, say("kinship", value=f"{pair.kinship:.3f}")),
                paragraph(width, pair.when, say("when_both")),
                paragraph(width, pair.boxes, say("where_now")),
                head(width, say("why")),
                *(paragraph(width, text, icon="dot") for _, _, text in pair.reasons),
                head(width, say("second_best")),
                paragraph(width, second),
            ]

        read(self.shell, title_of(pair), rows)

    def choose_day(self) -> None:
        """Ask for which weeks to plan."""
        if self._today is None:
            return
        today = self._today
        items = [(n, say_n("weeks_ahead", n), "today") for n in WEEKS]
        self.shell.open_choices(
            say("pairings_when"), items, lambda n: self._ask(today + timedelta(weeks=n)), say("pairings_when_hint"),
            (self.view.on - today).days // 7,
        )  # fmt: skip


def title_of(pair: PairRow) -> str:
    """Return who goes to whom."""
    males = say_n("males_of", pair.n_males, who=pair.males)
    return say("with", males=males, females=say_n("females_of", pair.n_females, who=pair.females))


load_kv(__file__)

__all__ = ["PairingsScreen", "title_of"]
