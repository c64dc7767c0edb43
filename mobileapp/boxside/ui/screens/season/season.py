"""Season: what happened, one question at a time: a picture that tells its numbers, the numbers in words, export."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from kivy.properties import ListProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from boxside.core.values.season import SeasonView
from boxside.ui.kv import load_kv
from boxside.ui.outside import hand_over
from boxside.ui.shell import Page
from boxside.ui.widgets.chart import ChartView  # noqa: F401  used by the kv file
from boxside.ui.widgets.pages import Scroll, Turner  # noqa: F401  used by the kv file
from boxside.ui.widgets.text import Strong, Words
from boxside.ui.words import say

EXPORTS = "exports"
FIRST_YEAR, LAST_YEAR = 1970, 2999


class Pairs(BoxLayout):
    """What was found, each with its name above it."""

    pairs = ListProperty([])

    def on_pairs(self, *_: Any) -> None:
        self.clear_widgets()
        for name, words in self.pairs:
            self.add_widget(Strong(text=name))
            self.add_widget(Words(text=words))


class SeasonScreen(Page):
    """Shows one `SeasonView`, section by section."""

    view = ObjectProperty(None, allownone=True)
    title = StringProperty("")
    heading = StringProperty("")
    chart = ObjectProperty(None, allownone=True)
    numbers = ListProperty([])
    notes = StringProperty("")
    at = NumericProperty(0)
    n_sections = NumericProperty(0)
    place = StringProperty("")

    def __init__(self, **kwargs: Any) -> None:
        self._asked: tuple[Any, ...] = ("", None, None, "")
        super().__init__(**kwargs)

    def enter(self, **_: Any) -> None:
        """Show the season that was shown before, else this year."""
        self.title = self.title or say("working")
        self._ask(*self._asked)

    def _ask(self, season: str, from_day: date | None, to_day: date | None, cohort: str) -> None:
        asked = (season, from_day, to_day, cohort)

        def show(view: SeasonView) -> None:
            self._asked = asked
            self.show(view)

        self.ask("season_view", *asked, then=show)

    def show(self, view: SeasonView) -> None:
        """Show a view, at the section that was shown before."""
        self.view, self.title, self.n_sections = view, view.title, len(view.sections)
        self.show_section(min(int(self.at), self.n_sections - 1))

    def show_section(self, at: int) -> None:
        """Show one section."""
        section = self.view.sections[at]
        self.at = at
        # The page says title and notes itself, so that the picture has the room.
        chart = section.chart
        self.heading, self.chart = section.title, replace(chart, title="", notes=()) if chart else None
        self.numbers = list(section.numbers)
        self.notes = "\n".join(dict.fromkeys((*section.notes, *(chart.notes if chart else ()))))
        self.place = say("place_of", place=at + 1, total=self.n_sections)
        self.ids.scroll.scroll_y = 1

    def choose_section(self) -> None:
        """Ask which section to show."""
        items = [(at, section.title, "") for at, section in enumerate(self.view.sections)]
        self.shell.open_choices(say("season"), items, self.show_section, self.title, int(self.at))

    # ---- which season, whose ----

    def choose(self) -> None:
        """Ask what to change about what is shown, or to export it."""
        items = [
            ("season", say("season_other"), "season"), ("cohort", say("cohort_other"), "cohort"),
            ("export", say("export"), "save"),
        ]  # fmt: skip
        ways = {"season": self._choose_season, "cohort": self._choose_cohort, "export": self.export}
        self.shell.open_choices(say("season"), items, lambda way: ways[way](), self.title)

    def _choose_season(self) -> None:
        items = [(name, f"{name}: {first} – {last}", "season") for name, first, last in self.view.seasons]
        items.append(("", say("year_other"), "today"))

        def chosen(name: str) -> None:
            if name:
                self._ask(name, None, None, self.view.cohort)
            else:
                self._ask_year()

        self.shell.open_choices(say("season_other"), items, chosen)

    def _ask_year(self) -> None:
        def chosen(year: int) -> None:
            self._ask("", date(year, 1, 1), date(year, 12, 31), self.view.cohort)

        self.shell.open_number(
            say("year_other"), value=self.view.from_day.year - 1, minimum=FIRST_YEAR, maximum=LAST_YEAR, then=chosen
        )

    def _choose_cohort(self) -> None:
        season, first, last, _ = self._asked
        items = [("", say("cohorts_all"), "cohort"), *((key, name, "") for key, name in self.view.cohorts)]
        take = lambda cohort: self._ask(season, first, last, cohort)  # noqa: E731
        self.shell.open_choices(say("cohort_other"), items, take, "", self.view.cohort)

    # ---- export ----

    def export(self) -> None:
        """Write the season's tables into the data folder, say where, and offer to share or save them."""
        view = self.view
        out = Path(self.shell.services.device.data_dir) / EXPORTS / f"{view.from_day}_{view.to_day}"

        def written(exported: Any) -> None:
            n = sum(n for _, n in exported.rows)
            what = say("exported", tables=len(exported.rows), rows=n)
            hand_over(self.shell, what, [exported.path.parent], say("exported_do"))

        self.ask("export_season", out, view.from_day, view.to_day, then=written)


load_kv(__file__)

__all__ = ["EXPORTS", "Pairs", "SeasonScreen"]
