"""Every state of every screen that a person can meet, by name: drawn by `render_all.py`, walked by `audit.py`."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any
from unittest import mock

from kivy.app import App
from kivy.clock import Clock
from kivy.core.window import Window
from kivy.loader import Loader
from kivy.uix.recycleview import views as row_views

from boxside.app.desk import InlineDesk
from boxside.app.frame import BoxsideApp
from boxside.app.pictures import begin
from boxside.core.values.season import Group
from boxside.core.values.views import Act, NewBox, Notice
from boxside.device.folders import bundled
from boxside.ui.acts import Acts
from boxside.ui.words import say
from tests.ui.ahead_scenes import AHEAD_SCENES
from tests.ui.dusk_scenes import DUSK_SCENES
from tests.ui.fake_ahead import AHEAD_ACTIONS
from tests.ui.fake_colony import ACTIONS, LARVAE, Services, colony
from tests.ui.fake_dusk import DUSK_ACTIONS
from tests.ui.fake_flows import FLOW_ACTIONS
from tests.ui.fake_line import LINE_ACTIONS
from tests.ui.fake_measure import MEASURE_ACTIONS
from tests.ui.fake_outside import OUTSIDE_ACTIONS
from tests.ui.fake_places import PLACE_ACTIONS
from tests.ui.line_scenes import LINE_SCENES
from tests.ui.measure_scenes import MEASURE_SCENES
from tests.ui.ticking import ticks

FAKED = {
    **ACTIONS,
    **FLOW_ACTIONS,
    **DUSK_ACTIONS,
    **LINE_ACTIONS,
    **AHEAD_ACTIONS,
    **PLACE_ACTIONS,
    **OUTSIDE_ACTIONS,
    **MEASURE_ACTIONS,
}
Scene = Callable[[Any], None]


@contextmanager
def running(services: Services, theme: str = "day", desk: Any = None, **changed: Any) -> Iterator[Any]:
    """Run the real app on a colony and take it away afterwards."""
    services.theme = theme
    acts = Acts({**FAKED, **changed})
    app = BoxsideApp(services, bundled("assets"), desk or InlineDesk(services), acts)
    with shown(app):
        yield app


@contextmanager
def shown(app: Any) -> Iterator[Any]:
    """Run an app up to its first screen and take it away afterwards."""
    # What the app does by itself after a while is called where a test is about it, and nowhere else.
    with mock.patch("boxside.app.frame.LOOK_AFTER_S", 1e6):
        begin(app)
        ticks(5)
    try:
        yield app
    finally:
        app.stop()
        for widget in list(Window.children):
            Window.remove_widget(widget)
        # The loader of photographs lives longer than an app.
        for event in Clock.get_events():
            if event.get_callback() not in (Loader.run, Loader._update):
                event.cancel()
        # Rows that wait to be used again still read the theme of the app that made them.
        row_views._cached_views.clear()
        # Kivy counts them apart, and would trim what is no longer there.
        row_views._cache_count = 0
        App._running_app = None


def act_named(view: Any, label: str) -> Any:
    """Return the act with that label."""
    return next(act for act in (*view.main, *view.more, *view.signs) if act.label == label)


def _round(app: Any) -> Any:
    return app.shell.built["round"]


def _do(app: Any, label: str) -> None:
    _round(app).do_act(act_named(_round(app).view, label), None)


def _empty_round(app: Any) -> None:
    for box in app.services.boxes:
        box.is_due = False
    app.shell.go("round")


def _passed_round(app: Any) -> None:
    for _ in range(3):
        _round(app).go_on()


def _failed(app: Any) -> None:
    app.services.fail_next = "The log could not be written: the disk is full. Free some room, then try again."
    _do(app, "Misted")


def _notice(app: Any) -> None:
    app.shell.show(Notice("The log was damaged and has been restored.", "All 412 entries are back.", "Nothing."))


def _box(part: str) -> Scene:
    def show(app: Any) -> None:
        app.services.photos += (
            [str(bundled("assets") / "icon.png")] * 2 if (bundled("assets") / "icon.png").exists() else []
        )
        app.shell.go("box", box_id="id1", back_to="shelf", part=part)

    return show


def _entry(app: Any) -> None:
    _box("past")(app)
    app.shell.page.open_entry(app.services.history[0])


def _add_form(app: Any) -> None:
    app.shell.go("add_box")
    app.shell.back()
    app.shell.page.take(NewBox("B25", "larva", 30, 3, "about", 4, "c1"))


def _occupied(n: int) -> Scene:
    def show(app: Any) -> None:
        app.shell.go("occupied")
        for _ in range(n):
            app.shell.page.take(NewBox(app.shell.page.code, "larva", 30, 3, "about", 4))

    return show


def _setting(how: str) -> Scene:
    def show(app: Any) -> None:
        app.shell.go("settings")
        ticks(3)
        app.shell.page.change(next(row for row in app.shell.page.view.rows if row.how == how))

    return show


def _settings_end(app: Any) -> None:
    app.shell.go("settings")
    ticks(4)
    app.shell.page.ids.rows.scroll_y = 0


def _settings_paper(app: Any) -> None:
    app.shell.go("settings")
    ticks(4)
    app.shell.page.ids.rows.scroll_y = 0.55


def _search(code: str) -> Scene:
    return lambda app: app.shell.go("shelf", search=code)


def _find(page: str) -> Scene:
    def show(app: Any) -> None:
        app.shell.go("shelf")
        app.shell.page.find()
        app.shell.sheet.ids.pad.page = page

    return show


GROUPS = (
    LARVAE,
    Group("3 adults, female, of Birch 2025", 3, "c2", "Birch 2025", "adult", sex="female"),
    Group("12 eggs of a clutch with a rather long name", 12, "c3", "Clutch of the second female 2026", "egg"),
    Group("2 pupae of Birch 2025", 2, "c2", "Birch 2025", "pupa"),
)


def _answer(app: Any, value: Any) -> None:
    """Give the sheet that shows an answer."""
    sheet = app.shell.sheet
    if sheet is None:
        raise LookupError("no sheet to answer")
    if hasattr(sheet, "choose"):
        sheet.choose(value)
    else:
        sheet.close()
        sheet.then(value)


def _flow(kind: str, *answers: Any, many: bool = False) -> Scene:
    """Show what a flow asks after some answers."""

    def show(app: Any) -> None:
        if many:
            app.services.groups = GROUPS
        act = Act(kind.replace("_", " ").capitalize(), "stage", kind=kind)
        _round(app).do_act(act, None)
        for answer in answers:
            _answer(app, answer)

    return show


def _refused(app: Any) -> None:
    app.services.fail_next = (
        "B01 holds 2 animals that this could mean (2 prepupae), 3 fewer than were entered. Nothing was saved. "
        "Count the box first, enter the number that fits, or save it as a correction."
    )
    _flow("pupated", 5, "female")(app)


def _photo(app: Any) -> None:
    _box("now")(app)
    app.shell.page.enlarge(app.services.photos[0])


def _when(*answers: Any) -> Scene:
    def show(app: Any) -> None:
        _entry(app)
        for answer in ("correct", "when", *answers):
            _answer(app, answer)

    return show


def _season(at: int) -> Scene:
    def show(app: Any) -> None:
        app.shell.go("season")
        app.shell.page.show_section(at % app.shell.page.n_sections)

    return show


def _season_end(app: Any) -> None:
    _season(0)(app)
    ticks(4)
    app.shell.page.ids.scroll.scroll_y = 0


def _season_asks(name: str) -> Scene:
    def show(app: Any) -> None:
        app.shell.go("season")
        getattr(app.shell.page, name)()

    return show


def _settings_labels(*answers: Any) -> Scene:
    def show(app: Any) -> None:
        app.shell.go("settings")
        app.shell.page.choose_labels(None)
        for answer in answers:
            _answer(app, answer)

    return show


def _scan(app: Any) -> None:
    app.services.device.photos.has_camera = True
    app.shell.go("shelf")
    app.shell.page.scan()


def _photo_left(app: Any) -> None:
    app.shell.open_boxes(say("photo_left"), lambda _: None)


def _not_scanned(app: Any) -> None:
    app.shell.go("shelf")
    app.services.fail_next = "No label is seen in the photo. Nothing was changed. Go closer, and hold still."
    app.shell.page._scanned("/photo.jpg")


SCENES: dict[str, Scene] = {
    "round": lambda app: None,
    "round_empty": _empty_round,
    "round_passed": _passed_round,
    "round_toast": lambda app: _do(app, "Misted"),
    "round_look": lambda app: _do(app, "Look"),
    "round_more": lambda app: _round(app).show_more(),
    "round_later": lambda app: _do(app, "Later"),
    "round_dead": lambda app: _do(app, "Dead"),
    "round_count": lambda app: _do(app, "Count"),
    "round_failed": _failed,
    "notice": _notice,
    "start": lambda app: None,
    "shelf": lambda app: app.shell.go("shelf"),
    "shelf_found": _search("07"),
    "shelf_nothing": _search("99"),
    "shelf_find": _find("code"),
    "shelf_letters": _find("n-z"),
    "box_now": _box("now"),
    "box_log": _box("log"),
    "box_past": _box("past"),
    "box_entry": _entry,
    "add_box": lambda app: app.shell.go("add_box"),
    "add_form": _add_form,
    "occupied": _occupied(0),
    "occupied_some": _occupied(12),
    "settings": lambda app: app.shell.go("settings"),
    "settings_end": _settings_end,
    "settings_paper": _settings_paper,
    "settings_minute": _setting("minute"),
    "settings_text": _setting("text"),
    "settings_labels": _settings_labels(),
    "settings_labels_done": _settings_labels("all"),
    "shelf_scan": _scan,
    "photo_left": _photo_left,
    "shelf_not_scanned": _not_scanned,
    "more": lambda app: app.shell.go("more"),
    "move": _flow("transfer"),
    "move_n": _flow("transfer", "fresh"),
    "move_used": _flow("transfer", "used"),
    "move_which": _flow("transfer", "fresh", many=True),
    "move_split": _flow("transfer", "split", "fresh"),
    "move_split_again": _flow("transfer", "split", "fresh", 12),
    "move_grade": _flow("transfer", "grade", "small", "fresh", 12),
    "move_done": _flow("transfer", "fresh", "all"),
    "move_left": _flow("transfer", "fresh", "number", 32),
    "count_lost": _flow("count", 29, True),
    "count_partly": _flow("count", 29, False),
    "empty": _flow("confirmed_empty"),
    "stage_n": _flow("prepupa"),
    "stage_hatched": _flow("hatched", many=True),
    "stage_instar": _flow("moulted", None),
    "stage_sex": _flow("pupated", 1),
    "stage_cohort": _flow("pupated", many=True),
    "refused": _refused,
    "clutch_sure": _flow("laid", 60, many=True),
    "clutch_which": _flow("laid", 60, "counted", many=True),
    "mark_which": _flow("marked", many=True),
    "mark": _flow("marked"),
    "blend": _flow("blended", many=True),
    "photo": _photo,
    "when": _when(),
    "when_day": _when(0),
    "when_hour": _when(0, 1),
    "season": _season(0),
    "season_end": _season_end,
    "season_last": _season(-1),
    "season_choose": _season_asks("choose"),
    "season_which": _season_asks("_choose_season"),
    "season_cohort": _season_asks("_choose_cohort"),
    "season_section": _season_asks("choose_section"),
    "season_exported": _season_asks("export"),
    **DUSK_SCENES,
    **LINE_SCENES,
    **AHEAD_SCENES,
    **MEASURE_SCENES,
}
NEW = ("start",)


class Stage:
    """One running app that is set to one scene after another, each on a fresh colony."""

    def __init__(self, app: Any) -> None:
        self.app = app

    def show(self, name: str, theme: str) -> Any:
        """Return the app, showing that scene in that theme."""
        app = self.app
        app.services = app.shell.services = app.desk.services = colony(24, is_new=name in NEW)
        app.services.theme = theme
        if app.shell.sheet is not None:
            app.shell.close_sheet(app.shell.sheet)
        app.shell.bar.hush()
        if app.shell.here == "dusk":
            # What a screen has changed for as long as it shows is to go back before the theme is set.
            app.shell.go("round")
        if "round" in app.shell.built:
            app.shell.built["round"].passed = []
        app.on_start()
        SCENES[name](app)
        ticks(5)
        return app


@contextmanager
def stage() -> Iterator[Stage]:
    """Run the app for scenes."""
    with running(colony()) as app:
        yield Stage(app)


__all__ = ["SCENES", "Stage", "running", "shown", "stage"]
