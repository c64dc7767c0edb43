"""Notes what an area is like: a new area, a reading of its thermometer, its light, a box that stands there."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

from boxside.core.values.ahead import AreaClimate
from boxside.ui.words import say

Keep = Callable[..., None]
COLDEST_C, WARMEST_C = -40, 60
USUAL_HOURS, NOON_H = 12, 12
DARK, DAYLIGHT, LAMP, BOTH = "dark", "daylight", "lamp", "both"


class Noting:
    """Asks what is to be noted of an area; `keep` gets the action that saves it and its arguments."""

    def __init__(self, shell: Any, keep: Keep) -> None:
        self.shell = shell
        self.keep = keep

    # ---- a new area ----

    def area(self) -> None:
        """Ask for its name, how warm it usually is, and whether animals rest there."""
        self.shell.open_text(say("area_name"), "", lambda name: self._usual(name) if name else None)

    def _usual(self, name: str) -> None:
        self._degrees(say("usual_c"), partial(self._cool, name), can_skip=True)

    def _cool(self, name: str, usual_c: float | None) -> None:
        items = [(False, say("cool_no"), "temperature"), (True, say("cool_yes"), "rest")]
        self.shell.open_choices(name, items, lambda cool: self.keep("add_area", name, usual_c, cool), say("cool_hint"))

    # ---- temperatures ----

    def temperature(self, area: AreaClimate) -> None:
        """Ask what the thermometer shows."""
        items = [
            ("now", say("t_now"), "temperature"), ("range", say("t_range"), "ruler"), ("all", say("t_all"), "list"),
        ]  # fmt: skip

        def chosen(what: str) -> None:
            if what == "range":
                self._lowest(area, None)
            else:
                after = self._now if what == "now" else self._lowest
                self._degrees(say("t_now"), partial(after, area))

        self.shell.open_choices(say("log_temperature"), items, chosen, area.name)

    def _now(self, area: AreaClimate, now_c: float) -> None:
        self.keep("enter_temperature", area.area_id, now_c, None, None)

    def _lowest(self, area: AreaClimate, now_c: float | None) -> None:
        self._degrees(say("t_min"), lambda low: self._highest(area, now_c, low))

    def _highest(self, area: AreaClimate, now_c: float | None, low: float) -> None:
        title = say("t_max")
        self._degrees(title, lambda high: self.keep("enter_temperature", area.area_id, now_c, low, high), minimum=low)

    def _degrees(
        self, title: str, then: Callable[[Any], None], can_skip: bool = False, minimum: float = COLDEST_C
    ) -> None:
        self.shell.open_number(
            say("in_c", what=title), by_keypad=True, whole=False, minimum=minimum, maximum=WARMEST_C,
            unit="°C", can_skip=can_skip,
            is_signed=True, then=then,
        )  # fmt: skip

    # ---- boxes ----

    def box(self, area: AreaClimate) -> None:
        """Ask which box stands there from now on."""
        self.shell.open_boxes(say("put_box"), lambda box: self.keep("place_boxes", (box,), area.area_id))

    # ---- light ----

    def light(self, area: AreaClimate) -> None:
        """Ask what light reaches the boxes."""
        items = [
            (DAYLIGHT, say("light_daylight"), "sun"), (BOTH, say("light_both"), "light"),
            (LAMP, say("light_lamp"), "glow"), (DARK, say("light_dark"), "moon"),
        ]  # fmt: skip

        def chosen(what: str) -> None:
            if what in (DARK, DAYLIGHT):
                self.keep("enter_light", area.area_id, 0.0, None, what == DAYLIGHT)
            else:
                self._lamp(area, what == BOTH)

        self.shell.open_choices(say("light_here"), items, chosen, area.name)

    def _lamp(self, area: AreaClimate, daylight: bool) -> None:
        self.shell.open_number(
            say("lamp_hours"), value=USUAL_HOURS, minimum=1, maximum=24, unit="h",
            then=lambda hours: self._lamp_from(area, hours, daylight),
        )  # fmt: skip

    def _lamp_from(self, area: AreaClimate, hours: int, daylight: bool) -> None:
        begins = max(0, NOON_H - hours // 2)
        self.shell.open_number(
            say("lamp_from"), hint=say("lamp_hint"), value=begins, maximum=23, unit="h",
            then=lambda hour: self.keep("enter_light", area.area_id, float(hours), hour * 60, daylight),
        )  # fmt: skip


__all__ = ["Noting"]
