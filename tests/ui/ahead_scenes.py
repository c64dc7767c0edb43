"""Every state of Ahead, Prey, Away and Surroundings, by name."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from boxside.core.values.ahead import NewStock

Scene = Callable[[Any], None]


def _screen(name: str, which: str = "full", end: bool = False, **values: Any) -> Scene:
    def show(app: Any) -> None:
        app.services.settings["ahead"] = which
        app.shell.go(name, **values)
        if end:
            from boxside.app.pictures import frames

            frames(4)
            app.shell.page.ids.rows.scroll_y = 0

    return show


def _do(name: str, act: str, *answers: Any, which: str = "full", **values: Any) -> Scene:
    """Do what a row does, then answer the sheets that come."""

    def show(app: Any) -> None:
        _screen(name, which, **values)(app)
        getattr(app.shell.page, act)(None)
        _answer(app, answers)

    return show


def _answer(app: Any, answers: tuple[Any, ...]) -> None:
    for answer in answers:
        sheet = app.shell.sheet
        sheet.close()
        sheet.then(answer)


def _of(name: str, act: str, pick: Callable[[Any], Any], *answers: Any) -> Scene:
    """Do what a row does with one thing of the view."""

    def show(app: Any) -> None:
        _screen(name)(app)
        getattr(app.shell.page, act)(pick(app.shell.page.view))
        _answer(app, answers)

    return show


def _on(name: str, act: Callable[[Any], None]) -> Scene:
    """Do something with a screen."""

    def show(app: Any) -> None:
        _screen(name)(app)
        act(app.shell.page)

    return show


def _prey_refused(app: Any) -> None:
    _screen("prey")(app)
    app.services.fail_next = "The log could not be written: the disk is full. Free some room, then try again."
    app.shell.page._enter(NewStock("garden snail", n=30), 0)


def _noting(what: str, *answers: Any) -> Scene:
    def show(app: Any) -> None:
        from boxside.ui.screens.surroundings.noting import Noting

        _screen("surroundings", area="a1")(app)
        page = app.shell.page
        getattr(Noting(app.shell, page._keep), what)(page.area)
        _answer(app, answers)

    return show


def _file(name: str) -> Scene:
    def show(app: Any) -> None:
        app.services.device.files.path = f"/home/keeper/Downloads/{name}"
        _screen("surroundings", area="a1")(app)
        app.shell.page.import_file(app.shell.page.area)

    return show


def _no_files(app: Any) -> None:
    app.services.device.files = None
    _screen("surroundings", area="a1")(app)
    app.shell.page.import_file(app.shell.page.area)


def _toast(app: Any) -> None:
    _noting("temperature", "now", -3.5)(app)


AHEAD_SCENES: dict[str, Scene] = {
    "ahead": _screen("ahead"),
    "ahead_end": _screen("ahead", end=True),
    "ahead_quiet": _screen("ahead", "quiet"),
    "ahead_week": _of("ahead", "tell_week", lambda view: view.weeks[0]),
    "ahead_week_counted": _of("ahead", "tell_week", lambda view: view.weeks[2]),
    "ahead_why": _of("ahead", "why", lambda view: view.expected[2]),
    "ahead_how_far": _do("ahead", "choose_weeks"),
    "ahead_spread": _do("ahead", "spread"),
    "ahead_even": _do("ahead", "spread", which="quiet"),
    "ahead_meet": _do("ahead", "meet"),
    "ahead_meet_none": _do("ahead", "meet", which="quiet"),
    "ahead_written": _do("ahead", "export"),
    "prey": _screen("prey"),
    "prey_end": _screen("prey", end=True),
    "prey_quiet": _screen("prey", "quiet"),
    "prey_weeks": _of("prey", "tell_weeks", lambda view: view.needs[0]),
    "prey_breeders": _on("prey", lambda page: page.tell_breeders(page.view.needs[0].breeders, page.view.needs[0])),
    "prey_left": _on("prey", lambda page: page._tell("Left", page.view.needs[0].left, None)),
    "prey_fit": _of("prey", "tell_fit", lambda view: view.fits[1]),
    "prey_open": _of("prey", "open_stock", lambda view: view.stock[1]),
    "prey_ate": _of("prey", "open_stock", lambda view: view.stock[1], "ate"),
    "prey_ate_none": _of("prey", "open_stock", lambda view: view.stock[0], "ate"),
    "prey_kind": _do("prey", "log_stock"),
    "prey_other": _do("prey", "log_stock", ""),
    "prey_how": _do("prey", "log_stock", "garden snail"),
    "prey_n": _do("prey", "log_stock", "garden snail", "count"),
    "prey_batch": _do("prey", "log_stock", "garden snail", "count", 30),
    "prey_batch_new": _do("prey", "log_stock", "garden snail", "count", 30, None),
    "prey_size": _do("prey", "log_stock", "garden snail", "count", 30, "Q7"),
    "prey_quarantine": _do("prey", "log_stock", "garden snail", "count", 30, "Q7", 6.0),
    "prey_quarantine_days": _do("prey", "log_stock", "garden snail", "count", 30, "Q7", 6.0, -1),
    "prey_refused": _prey_refused,
    "away": _screen("away"),
    "away_end": _screen("away", end=True),
    "away_quiet": _screen("away", "quiet"),
    "away_leave": _do("away", "ask_leave"),
    "away_days": _do("away", "ask_days"),
    "away_helper": _do("away", "ask_helper"),
    "away_late": _on("away", lambda page: page.tell_late("Moisture", page.view.unattended)),
    "away_jobs": _on("away", lambda page: page.tell_jobs("Feed", page.view.last_day.jobs)),
    "away_written": _do("away", "save"),
    "surroundings": _screen("surroundings"),
    "surroundings_end": _screen("surroundings", end=True),
    "surroundings_none": _screen("surroundings", "quiet"),
    "area": _screen("surroundings", area="a1"),
    "area_end": _screen("surroundings", end=True, area="a1"),
    "area_empty": _screen("surroundings", area="a2"),
    "area_add": _do("surroundings", "add_area"),
    "area_usual": _do("surroundings", "add_area", "Attic"),
    "area_cool": _do("surroundings", "add_area", "Attic", 12.5),
    "area_temperature": _noting("temperature"),
    "area_now": _noting("temperature", "now"),
    "area_highest": _noting("temperature", "range", 11.5),
    "area_noted": _toast,
    "area_box": _noting("box"),
    "area_light": _noting("light"),
    "area_lamp": _noting("light", "lamp"),
    "area_lamp_from": _noting("light", "both", 12),
    "logger": _file("week.csv"),
    "logger_way": _file("open.csv"),
    "logger_wrong": _file("wrong.csv"),
    "logger_known": _file("known.csv"),
    "logger_nowhere": _no_files,
}  # fmt: skip

__all__ = ["AHEAD_SCENES"]
