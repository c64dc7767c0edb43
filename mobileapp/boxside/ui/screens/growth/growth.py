"""Growth: sizes over time, which instars they may be, how fast they grow, and what to do about it."""

from __future__ import annotations

from typing import Any

from kivy.clock import Clock
from kivy.properties import ListProperty, ObjectProperty, StringProperty

from boxside.core.values.photo_view import Advice, GrowthView, InstarGuess
from boxside.core.values.views import Act
from boxside.ui.by_hand import ByHand
from boxside.ui.kv import load_kv
from boxside.ui.logging_acts import Logging
from boxside.ui.shell import Page
from boxside.ui.widgets.figures import chart_rows, part_row
from boxside.ui.widgets.pages import RowsView, Turner  # noqa: F401  used by the kv file
from boxside.ui.widgets.reading import ShareRow, share  # noqa: F401  one is used as a row
from boxside.ui.widgets.rows import RowData, head, paragraph, row, rows_width
from boxside.ui.words import say

ADVICE_ICONS = {"grade": "transfer", "runts": "search", "pupation": "pupa"}
TO_BE_GRADED = "grade"
CHART_HIGH = 1.0
MOST_BESIDE = 16


class GrowthScreen(Page):
    """Shows one `GrowthView`, of the larvae of a box."""

    view = ObjectProperty(None, allownone=True)
    data = ListProperty([])
    title = StringProperty("")
    back_to = StringProperty("box")

    def __init__(self, **kwargs: Any) -> None:
        self._box_id = ""
        self._remeasure = Clock.create_trigger(self._lay)
        super().__init__(**kwargs)
        self.logging = Logging(self.shell, self.refresh)

    def on_kv_post(self, _: Any) -> None:
        self.ids.rows.fbind("width", self._remeasure)

    def enter(self, box_id: str = "", title: str = "", back_to: str = "", **_: Any) -> None:
        """Show the sizes in that box, or again in the one that showed last."""
        self._box_id, self.title = box_id or self._box_id, title or self.title
        self.back_to = back_to or self.back_to
        self.ids.rows.scroll_y = 1
        self.refresh()

    def refresh(self, _: Any = None) -> None:
        """Fetch what is shown anew."""
        if self.shell.page is self:
            self.ask("growth_view", self._box_id, then=self.show)

    def show(self, view: GrowthView) -> None:
        """Show a view."""
        self.view = view
        self._lay()

    def _lay(self, *_: Any) -> None:
        if self.view is None:
            return
        width, view = rows_width(self.ids.rows), self.view
        self.data = [
            *chart_rows(width, view.chart, CHART_HIGH),
            *(self._advice(width, advice) for advice in view.advice),
            *(_number(width, what, said) for what, said in view.numbers),
            *self._instars(width),
            *([head(width, say("earlier_cohorts"))] if view.earlier else []),
            *(paragraph(width, earlier.sentence, icon="cohort") for earlier in view.earlier),
            row(width, self.enter_lengths, None, icon="by_hand", title=say("by_hand"), trail="right"),
            *(paragraph(width, note, icon="info") for note in view.notes),
        ]  # fmt: skip

    def _advice(self, width: float, advice: Advice) -> RowData:
        """Return what to do and why: a target where it can be done from here."""
        icon = ADVICE_ICONS.get(advice.key, "info")
        if advice.key != TO_BE_GRADED:
            return paragraph(width, advice.why, advice.what, icon)
        return row(
            width, self.grade, advice, icon=icon, title=advice.what, detail=advice.why, soft=say("grade_now"),
            trail="right",
        )  # fmt: skip

    def _instars(self, width: float) -> list[RowData]:
        view = self.view
        if not view.instars and not view.instar_note:
            return []
        guesses = [share(width, _guess(one), one.share) for one in view.instars]
        note = [paragraph(width, view.instar_note)] if view.instar_note else []
        return [head(width, say("instars")), *guesses, *note]

    # ---- what can be done ----

    def grade(self, _: Any) -> None:
        """Move the animals apart by size, as from the box."""
        self.logging.act(Act(say("transfer"), "transfer", kind="transfer"), self._box_id, "", None, self.title)

    def measure(self) -> None:
        """Measure a photo of the box."""
        self.shell.go("photo", box_id=self._box_id, title=self.title, back_to="growth")

    def enter_lengths(self, _: Any) -> None:
        """Enter lengths that were measured otherwise."""
        ByHand(self.shell, self._box_id, self.refresh).begin()


def _number(width: float, what: str, said: str) -> RowData:
    """Return a number beside what it is, or under it where it is a sentence."""
    return part_row(width, what, said) if len(said) <= MOST_BESIDE else paragraph(width, said, what)


def _guess(one: InstarGuess) -> str:
    return say("instar_is", instar=one.instar, n=one.n, share=f"{100 * one.share:.0f} %", mm=f"{one.typical_mm:.1f}")


load_kv(__file__)

__all__ = ["GrowthScreen"]
