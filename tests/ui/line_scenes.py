"""Every state of Line, Pairings and Founders, by name."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from boxside.core.values.line_view import Founding
from tests.ui.ticking import ticks

Scene = Callable[[Any], None]


def _line(then: Scene | None = None, which: str = "full") -> Scene:
    def show(app: Any) -> None:
        app.services.settings["line"] = which
        app.shell.go("line")
        ticks(4)
        if then is not None:
            then(app)

    return show


def _corner(app: Any) -> None:
    pane = app.shell.page.ids.pane
    pane.scroll_x, pane.scroll_y = 1, 0


def _tell(label: str) -> Scene:
    return lambda app: app.shell.page.tell(next(node for node in app.shell.page.view.nodes if node.label == label))


def _end(app: Any) -> None:
    ticks(4)
    app.shell.sheet.ids.rows.scroll_y = 0


def _numbers_end(app: Any) -> None:
    app.shell.page.tell_numbers()
    _end(app)


def _pairings(then: Scene | None = None) -> Scene:
    def show(app: Any) -> None:
        app.shell.go("pairings")
        ticks(3)
        if then is not None:
            then(app)

    return show


def _bottom(app: Any) -> None:
    app.shell.page.ids.rows.scroll_y = 0


def _founders(then: Scene | None = None) -> Scene:
    def show(app: Any) -> None:
        app.shell.go("founders")
        app.shell.page.take(
            Founding("2026 founders", 12, "", "adult", sex="female", permit="Permit 12/2026, district office", place="")
        )
        if then is not None:
            then(app)

    return show


def _ask(part: str) -> Scene:
    return lambda app: app.shell.page.change(part)


LINE_SCENES: dict[str, Scene] = {
    "line": _line(),
    "line_corner": _line(_corner),
    "line_none": _line(which="none"),
    "line_cohort": _line(_tell("2024 A")),
    "line_unknown": _line(_tell("?")),
    "line_numbers": _line(lambda app: app.shell.page.tell_numbers()),
    "line_numbers_end": _line(_numbers_end),
    "line_cohorts": _line(lambda app: app.shell.page.choose_cohort()),
    "line_ways": _line(lambda app: app.shell.page.choose_way()),
    "pairings": _pairings(),
    "pairings_end": _pairings(_bottom),
    "pairings_pair": _pairings(lambda app: app.shell.page.tell(app.shell.page.view.pairs[0])),
    "pairings_when": _pairings(lambda app: app.shell.page.choose_day()),
    "founders": _founders(),
    "founders_day": _founders(_ask("on")),
    "founders_stage": _founders(_ask("stage")),
    "founders_box": _founders(_ask("box")),
    "founders_origin": _founders(_ask("origin")),
    "founders_permit": _founders(_ask("permit")),
}

__all__ = ["LINE_SCENES"]
