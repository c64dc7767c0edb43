"""Every state of Dusk, by name."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from boxside.core.values.season import ClutchDraft
from boxside.ui.screens.dusk.asking_place import Half
from tests.ui.ticking import ticks

Scene = Callable[[Any], None]


def _dusk(which: str = "full") -> Scene:
    def show(app: Any) -> None:
        app.services.settings["evening"] = which
        app.shell.go("dusk")

    return show


def _end(app: Any) -> None:
    _dusk()(app)
    ticks(4)
    app.shell.page.ids.rows.scroll_y = 0


def _box(label: str, *steps: Any) -> Scene:
    """Show one box; then tap an act by its words, and answer sheets by their values."""

    def show(app: Any) -> None:
        _dusk()(app)
        page = app.shell.page
        page.open(next(row for row in page.view.rows if row.label == label))
        for step in steps[:1]:
            page.do_act(next(act for act in page.acts if act.label == step), None)
        for answer in steps[1:]:
            sheet = app.shell.sheet
            sheet.close()
            sheet.then(answer)

    return show


def _place(*answers: Any) -> Scene:
    def show(app: Any) -> None:
        _dusk("no_place")(app)
        app.shell.page.set_place()
        for answer in answers:
            sheet = app.shell.sheet
            sheet.close()
            sheet.then(answer)

    return show


def _toast(app: Any) -> None:
    _dusk()(app)
    page = app.shell.page
    page.glow(page.rows()[1], None)


def _failed(app: Any) -> None:
    _dusk()(app)
    app.services.fail_next = "The log could not be written: the disk is full. Free some room, then try again."
    app.shell.page.glow(app.shell.page.rows()[1], None)


def _change(app: Any) -> None:
    _box("B05", "Eggs laid", 60, "estimated")(app)
    app.shell.sheet.close()
    from boxside.ui.screens.dusk.laying import Laying
    from tests.ui.fake_dusk import clutch_view, possible_parents

    page = app.shell.page
    laying = Laying(page, page.row, None, clutch_view(app.services, "id5"), possible_parents(app.services, "id5"))
    laying._change(ClutchDraft("id5", 60))


DUSK_SCENES: dict[str, Scene] = {
    "dusk": _dusk(),
    "dusk_end": _end,
    "dusk_none": _dusk("none"),
    "dusk_no_place": _dusk("no_place"),
    "dusk_place": _place(),
    "dusk_degrees": _place(Half("North", 1)),
    "dusk_alone": _box("B01"),
    "dusk_paired": _box("B05"),
    "dusk_males": _box("B04"),
    "dusk_bring": _box("B01", "Bring males"),
    "dusk_bring_to": _box("B04", "Bring to females"),
    "dusk_part": _box("B05", "Part"),
    "dusk_part_to": _box("B05", "Part", ("male", None)),
    "dusk_several": _box("B05", "Several glow"),
    "dusk_eggs": _box("B05", "Eggs laid"),
    "dusk_whose": _box("B05", "Eggs laid", 60, "estimated"),
    "dusk_whose_change": _change,
    "dusk_toast": _toast,
    "dusk_failed": _failed,
}

__all__ = ["DUSK_SCENES"]
