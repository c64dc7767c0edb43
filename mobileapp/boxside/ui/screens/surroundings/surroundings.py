"""Surroundings: the areas where boxes stand, how warm it is there, and what light reaches them."""

from __future__ import annotations

from functools import partial
from typing import Any

from kivy.clock import Clock
from kivy.properties import ListProperty, ObjectProperty, StringProperty

from boxside.core.values.ahead import AreaClimate, ClimateView, LightView
from boxside.core.values.season import Flow
from boxside.core.values.views import Saved
from boxside.ui.keeping import Keeping
from boxside.ui.kv import load_kv
from boxside.ui.screens.surroundings.light import light_rows
from boxside.ui.screens.surroundings.logger import Logger
from boxside.ui.screens.surroundings.noting import Noting
from boxside.ui.shell import Page
from boxside.ui.widgets.figures import chart_rows
from boxside.ui.widgets.pages import RowsView, Turner  # noqa: F401  used by the kv file
from boxside.ui.widgets.rows import RowData, head, paragraph, row, rows_width
from boxside.ui.words import say, say_n

LIST, AREA = "", "surroundings"


class SurroundingsScreen(Page):
    """Shows all areas, or one of them with its temperatures and its light."""

    view = ObjectProperty(None, allownone=True)
    light = ObjectProperty(None, allownone=True)
    area_id = StringProperty(LIST)
    title = StringProperty("")
    data = ListProperty([])
    back_to = StringProperty("more")

    def __init__(self, **kwargs: Any) -> None:
        self._remeasure = Clock.create_trigger(self._lay)
        super().__init__(**kwargs)
        self.keeping = Keeping(self.shell)

    def enter(self, area: str = LIST, **_: Any) -> None:
        """Show one area, or all of them; from one the way back leads to all."""
        self.area_id, self.light, self.data = area, None, []
        self.back_to = AREA if area else "more"
        self.title = say("surroundings")
        self.ids.rows.scroll_y = 1
        self.refresh()

    def refresh(self, *_: Any) -> None:
        """Fetch what is shown anew."""
        self.ask("climate_view", then=self.show)
        self.ask("light_view", self.area_id, then=self.show_light)

    def show(self, view: ClimateView) -> None:
        """Show the areas."""
        self.view = view
        area = self.area
        if self.area_id and area is None:
            # It was taken back while it showed.
            self.enter()
            return
        self.title = area.name if area is not None else say("surroundings")
        self._lay()

    def show_light(self, light: LightView) -> None:
        """Show the light."""
        self.light = light
        self._lay()

    @property
    def area(self) -> AreaClimate | None:
        """The area that shows; None where all of them do."""
        areas = self.view.areas if self.view is not None else ()
        return next((area for area in areas if area.area_id == self.area_id), None)

    def on_size(self, *_: Any) -> None:
        self._remeasure()

    def _lay(self, *_: Any) -> None:
        if self.view is None:
            return
        width = rows_width(self.ids.rows)
        area = self.area
        shown = self._areas(width) if area is None else self._one(width, area)
        self.data = [*shown, *light_rows(width, self.light, self.set_place)]

    def set_place(self, _: Any) -> None:
        """Go where latitude and longitude are set."""
        self.shell.go("settings")

    # ---- all areas ----

    def _areas(self, width: float) -> list[RowData]:
        homeless = self.view.n_homeless
        return [
            row(width, self.add_area, None, icon="add", title=say("add_area"), detail=say("add_area_hint"),
                trail="right"),
            *(self._area(width, area) for area in self.view.areas),
            *([] if self.view.areas else [paragraph(width, say("no_areas"))]),
            *([paragraph(width, say_n("homeless", homeless), icon="info")] if homeless else []),
        ]  # fmt: skip

    def _area(self, width: float, area: AreaClimate) -> RowData:
        soft = "\n".join(part for part in (self._usual(area), area.light[:1].upper() + area.light[1:]) if part)
        return row(
            width, self.open, area.area_id, icon="rest" if area.cool else "temperature",
            title=f"{area.name}: {say_n('all_boxes', area.n_boxes)}",
            detail=area.last_text or say("not_measured"), soft=soft, trail="right",
        )  # fmt: skip

    @staticmethod
    def _usual(area: AreaClimate) -> str:
        usual = say("usual", c=f"{area.usual_c:g}") if area.usual_c is not None else ""
        return " · ".join(part for part in (usual, say("cool_area") if area.cool else "") if part)

    def open(self, area_id: str) -> None:
        """Show one area."""
        self.enter(area=area_id)

    def add_area(self, _: Any) -> None:
        """Ask for a name and what it is like, then make it."""
        Noting(self.shell, self._keep).area()

    # ---- one area ----

    def _one(self, width: float, area: AreaClimate) -> list[RowData]:
        noting = Noting(self.shell, self._keep)
        days = say("days_known", measured=area.n_measured, filled=area.n_filled)
        return [
            row(width, lambda _: noting.temperature(area), None, icon="temperature", title=say("log_temperature"),
                detail=area.last_text or say("not_measured"), trail="right"),
            row(width, self.import_file, area, icon="list", title=say("import_logger"),
                detail=say("import_hint"), trail="right"),
            row(width, lambda _: noting.box(area), None, icon="box", title=say("put_box"),
                detail=say_n("boxes_here", area.n_boxes), trail="right"),
            row(width, lambda _: noting.light(area), None, icon="light", title=say("light_here"),
                detail=area.light[:1].upper() + area.light[1:], trail="right"),
            *(chart_rows(width, area.chart) or [head(width, say("temperature"))]),
            *([paragraph(width, text, icon="info") for text in (self._usual(area), days, area.basis) if text]),
        ]  # fmt: skip

    def import_file(self, area: AreaClimate) -> None:
        """Have a logger's file chosen, show how it would be read, then take it in."""
        Logger(self.shell, area, self._keep).begin()

    # ---- saving ----

    def _keep(self, name: str, *args: Any) -> None:
        self.keeping.keep(name, args, partial(self._kept))

    def _kept(self, kept: Saved | Flow) -> None:
        if isinstance(kept, Flow):
            self.shell.flow_saved(kept, self._after)
        else:
            self.shell.saved(kept, self._after)

    def _after(self, _: Saved) -> None:
        if self.shell.page is self:
            self.refresh()


load_kv(__file__)

__all__ = ["SurroundingsScreen"]
