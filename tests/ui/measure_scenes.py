"""Every state of Photo, Growth and the measuring card, by name."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from boxside.core.values.season import Group
from tests.ui.fake_colony import LARVAE as LARVAE_GROUP
from tests.ui.fake_measure import FRAME, LARVAE
from tests.ui.ticking import ticks

Scene = Callable[[Any], None]


def photo(which: str = "full", has_camera: bool = False) -> Scene:
    """Show what measuring finds."""

    def show(app: Any) -> None:
        _fresh(app, has_camera)
        app.services.settings["photo"] = which
        app.shell.page.measure("/home/keeper/tray.jpg")
        ticks(3)

    return show


def _fresh(app: Any, has_camera: bool = False) -> None:
    """Go to Photo with nothing on it."""
    if has_camera:
        app.services.device.photos.has_camera = True
        app.services.device.photos.take = lambda then: then("/tmp/taken.jpg")
    if "photo" in app.shell.built:
        app.shell.built["photo"].state = ""
    app.shell.go("photo", box_id="id1", title="B01", back_to="box")


def _start(has_camera: bool) -> Scene:
    return lambda app: _fresh(app, has_camera)


def _busy(app: Any) -> None:
    from boxside.ui.screens.photo.parts import PhotoBusy

    _fresh(app)
    page = app.shell.page
    page.run.progress("Straightening the window", 0.4)
    page._look()
    page._face("busy", PhotoBusy, [])


def tip(number: int, end: int) -> tuple[float, float]:
    """Return where an end of a larva lies on the picture."""
    return FRAME.to_px(LARVAE[number][end])


def _worked(mode: str, *spots: tuple[float, float], closer: int = 0) -> Scene:
    """Work on the bodies with touches at places of the picture."""

    def show(app: Any) -> None:
        photo()(app)
        page = app.shell.page
        page.use(mode)
        for at in spots:
            page.touching.spot(at, 12.0)
        for _ in range(closer):
            page.picture._spot = spots[-1] if spots else None
            page.picture.closer()

    return show


def _known(*spots: tuple[float, float], asks: bool = False) -> Scene:
    def show(app: Any) -> None:
        photo("no_card")(app)
        page = app.shell.page
        page.known(None)
        for at in spots:
            page.touching.spot(at, 12.0)
        if asks:
            page.ask_length(None)

    return show


def _accept(*answers: Any, which: str = "full") -> Scene:
    def show(app: Any) -> None:
        photo(which)(app)
        app.shell.page.accept(None)
        answer(app, *answers)

    return show


def answer(app: Any, *answers: Any) -> None:
    """Answer one sheet after another."""
    for one in answers:
        sheet = app.shell.sheet
        sheet.close()
        sheet.then(one)


def _whose(app: Any) -> None:
    app.services.groups = (LARVAE_GROUP, Group("12 larvae of Birch 2025", 12, "c2", "Birch 2025", "larva", 5))
    _accept()(app)


def _sizes(app: Any) -> None:
    photo()(app)
    app.shell.page.touching.toggle("3")
    app.shell.page.list_sizes(None)


def _by_hand(*lengths: float) -> Scene:
    def show(app: Any) -> None:
        _fresh(app)
        app.shell.page.by_hand(None)
        answer(app, *lengths)

    return show


def _growth(which: str = "full", end: bool = False) -> Scene:
    def show(app: Any) -> None:
        app.services.settings["growth"] = which
        app.shell.go("growth", box_id="id1", title="B01", back_to="box")
        if end:
            ticks(4)
            app.shell.page.ids.rows.scroll_y = 0

    return show


def _card(act: str = "", *values: Any, shares: bool = False) -> Scene:
    def show(app: Any) -> None:
        if shares:
            app.services.device.files.has_share = True
        app.shell.go("card")
        if act:
            getattr(app.shell.page, act)(*values)

    return show


def _kept_photo(app: Any) -> None:
    from boxside.device.folders import bundled

    app.services.photos = [str(bundled("assets") / "icon.png")]
    app.shell.go("box", box_id="id1")
    app.shell.page.enlarge(app.services.photos[0])


FREE = ((300.0, 300.0), (340.0, 380.0))
MEASURE_SCENES: dict[str, Scene] = {
    "photo_start": _start(False),
    "photo_start_camera": _start(True),
    "photo_busy": _busy,
    "photo_result": photo(),
    "photo_crowded": photo("crowded"),
    "photo_none": photo("nothing"),
    "photo_dropped": _worked("drop", tip(0, 0), tip(6, 1)),
    "photo_adding": _worked("add", FREE[0]),
    "photo_added": _worked("add", *FREE),
    "photo_ends": _worked("ends", tip(1, 0)),
    "photo_closer": _worked("ends", tip(4, 0), closer=1),
    "photo_sizes": _sizes,
    "photo_accept": _accept(),
    "photo_whose": _whose,
    "photo_booked": _accept("lengths"),
    "photo_counted": _accept("both", True),
    "photo_refused": photo("blur"),
    "photo_no_card": photo("no_card"),
    "photo_larger_build": photo("no_opencv"),
    "photo_known": _known(),
    "photo_known_two": _known((40.0, 485.0), (240.0, 485.0)),
    "photo_known_mm": _known((40.0, 485.0), (240.0, 485.0), asks=True),
    "photo_another": lambda app: (photo(has_camera=True)(app), app.shell.page.another(None))[0],
    "photo_kept": _kept_photo,
    "by_hand_more": _by_hand(12.5, 13.0),
    "growth": _growth(),
    "growth_end": _growth(end=True),
    "growth_none": _growth("nothing"),
    "card": _card(),
    "card_made_shared": _card("make", "card", shares=True),
    "card_bar": _card("ask_bar", None),
}

__all__ = ["MEASURE_SCENES", "answer", "photo", "tip"]
