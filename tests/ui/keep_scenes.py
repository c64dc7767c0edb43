"""Every state of Export, Keep and Notebook, and of what archives ask on the first start, by name."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

Scene = Callable[[Any], None]
LONG = "/storage/emulated/0/Android/data/org.boxside/files/opened-colony-2026-11-25.zip"


def _frames() -> None:
    from boxside.app.pictures import frames

    frames(4)


def _end(app: Any, at: float = 0.0) -> None:
    _frames()
    app.shell.page.ids.rows.scroll_y = at


def _keep(how: str, act: Callable[[Any], None] | None = None, file: str = "", end: bool = False) -> Scene:
    """Show the screen as things stand, then do something with it."""

    def show(app: Any) -> None:
        app.services.settings["keep"] = how
        app.services.device.files.path = file
        app.shell.go("keep")
        if act is not None:
            act(app.shell.page)
        if end:
            _end(app)

    return show


def _then(*ways: Callable[[Any], None]) -> Callable[[Any], None]:
    """Do one thing after another."""

    def do(page: Any) -> None:
        for way in ways:
            way(page)

    return do


def _go_on(page: Any) -> None:
    page.shell.sheet.go_on()


def _sheet_end(page: Any) -> None:
    _frames()
    page.shell.sheet.ids.rows.scroll_y = 0


def _answer(*values: Any) -> Callable[[Any], None]:
    def do(page: Any) -> None:
        for value in values:
            sheet = page.shell.sheet
            sheet.close()
            sheet.then(value)

    return do


def _refused(page: Any) -> None:
    page.shell.services.fail_next = (
        f"{LONG}: photos/0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef.jpg: is not what was "
        "written: its sha256 differs. Nothing was changed."
    )
    page.archives.merge()


def _working(part: str, done: int, total: int, **values: Any) -> Scene:
    def show(app: Any) -> None:
        from boxside.actions.watching import Watch
        from boxside.ui.widgets.working import WorkingSheet

        sheet = WorkingSheet(title="Making an archive", watch=Watch(part, done, total), **values)
        app.shell.open_sheet(sheet)
        sheet.show()

    return show


def _export(act: Callable[[Any], None] | None = None, end: bool = False, **chosen: Any) -> Scene:
    def show(app: Any) -> None:
        from boxside.core.values.carry import SeasonChoice

        app.shell.go("export", from_day=date(2026, 1, 1), to_day=date(2026, 12, 31))
        app.shell.page.choice = SeasonChoice(**{"from_day": date(2026, 1, 1), "to_day": date(2026, 12, 31), **chosen})
        if act is not None:
            act(app.shell.page)
        if end:
            _end(app)

    return show


def _all_of_it(page: Any) -> None:
    for name in ("photos", "report", "darwin_core"):
        page.switch(name)
    page.write()


def _other_days(*answers: Any) -> Callable[[Any], None]:
    return lambda page: _then(lambda page: page._ask_first(), _answer(*answers))(page)


def _notebook(
    act: Callable[[Any], None] | None = None, name: str = "old notebook.csv", at: float | None = None
) -> Scene:
    def show(app: Any) -> None:
        app.shell.go("notebook", path=f"/home/keeper/{name}")
        if act is not None:
            act(app.shell.page)
        if at is not None:
            _end(app, at)

    return show


def _told(page: Any) -> None:
    page._kind_chosen("wet", "misted")
    page._kind_chosen("holiday", "-")


def _ready(page: Any) -> None:
    _told(page)
    page.switch_boxes(None)


def _restore(app: Any) -> None:
    app.services.device.files.path = LONG
    app.shell.page.restore()


def _restored(app: Any) -> None:
    _restore(app)
    app.shell.sheet.go_on()


def _more_old(how: str) -> Scene:
    def show(app: Any) -> None:
        app.services.settings["keep"] = how
        app.shell.go("more")

    return show


def _desktop(page: Any) -> None:
    page.shell.services.device.files.choose_folder = lambda then: then("/media/stick")
    page.choose_folder(None)


KEEP_SCENES: dict[str, Scene] = {
    "keep": _keep("fresh"),
    "keep_end": _keep("fresh", end=True),
    "keep_old": _keep("old"),
    "keep_never": _keep("never"),
    "keep_folder": _keep("fresh", lambda page: page.choose_folder(None)),
    "keep_folder_desktop": _keep("fresh", _desktop),
    "keep_made": _keep("fresh", lambda page: page.archives.make()),
    "keep_made_without": _keep("old", lambda page: page.archives.make()),
    "keep_working": _working("entries written", 412_300, 1_000_000),
    "keep_counting": _working("entries read", 412_300, 0),
    "keep_waiting": _working("", 0, 0, can_stop=False),
    "keep_stopping": _working("photos written", 4, 310, is_stopping=True),
    "keep_merge": _keep("fresh", lambda page: page.archives.merge(), "/home/keeper/second.zip"),
    "keep_merge_end": _keep("fresh", _then(lambda page: page.archives.merge(), _sheet_end), "/home/keeper/second.zip"),
    "keep_merge_known": _keep("fresh", lambda page: page.archives.merge(), "/home/keeper/known.zip"),
    "keep_merge_clash": _keep("fresh", lambda page: page.archives.merge(), "/home/keeper/clash.zip"),
    "keep_merged": _keep("fresh", _then(lambda page: page.archives.merge(), _go_on), "/home/keeper/second.zip"),
    "keep_taken_back": _keep("old", lambda page: page.archives.undo()),
    "keep_refused": _keep("fresh", _refused, LONG),
    "keep_restore": _keep("fresh", lambda page: page.archives.restore(), "/home/keeper/second.zip"),
    "keep_check": _keep("fresh", lambda page: page.looking.check()),
    "keep_check_bad": _keep("old", lambda page: page.looking.check()),
    "keep_check_end": _keep("old", _then(lambda page: page.looking.check(), _sheet_end)),
    "keep_repaired": _keep("old", _then(lambda page: page.looking.check(), _go_on)),
    "keep_copies": _keep("fresh", lambda page: page.tell_copies(None)),
    "keep_copies_none": _keep("never", lambda page: page.tell_copies(None)),
    "keep_events": _keep("fresh", lambda page: page.incoming.begin(), "/home/keeper/events.csv"),
    "keep_events_wrong": _keep("fresh", lambda page: page.incoming.begin(), "/home/keeper/events-wrong.csv"),
    "keep_events_done": _keep("fresh", _then(lambda page: page.incoming.begin(), _go_on), "/home/keeper/events.csv"),
    "more_old": _more_old("old"),
    "more_never": _more_old("never"),
    "export": _export(),
    "export_end": _export(end=True, report=True),
    "export_spreadsheet": _export(flavour="spreadsheet", boxes=("id1", "id2", "id3", "id4", "id5", "id6")),
    "export_days": _export(lambda page: page.choose_days(None)),
    "export_year": _export(lambda page: page._ask_first()),
    "export_month": _export(_other_days(2026)),
    "export_day": _export(_other_days(2026, 9)),
    "export_whose": _export(lambda page: page.choose_whose(None)),
    "export_boxes": _export(lambda page: page._ask_boxes(), boxes=("id2", "id3")),
    "export_cohorts": _export(lambda page: page._ask_cohorts()),
    "export_flavour": _export(lambda page: page.choose_flavour(None)),
    "export_decimal": _export(lambda page: page.choose_decimal(None), flavour="spreadsheet"),
    "export_written": _export(lambda page: page.write()),
    "export_all_of_it": _export(_all_of_it),
    "notebook": _notebook(),
    "notebook_middle": _notebook(at=0.4),
    "notebook_end": _notebook(at=0.0),
    "notebook_bare": _notebook(name="bare.csv", at=0.3),
    "notebook_known": _notebook(name="known.csv"),
    "notebook_role": _notebook(lambda page: page.choose_role(4)),
    "notebook_word": _notebook(lambda page: page.choose_kind("wet")),
    "notebook_order": _notebook(lambda page: page.choose_order(None)),
    "notebook_decimal": _notebook(lambda page: page.choose_decimal(None)),
    "notebook_wrong": _notebook(_told),
    "notebook_ready": _notebook(_ready),
    "notebook_ready_end": _notebook(_ready, at=0.0),
    "notebook_done": _notebook(_then(_ready, lambda page: page.take_in())),
    "start_restore": _restore,
    "start_restored": _restored,
}
NEW_LOG = ("start_restore", "start_restored")

__all__ = ["KEEP_SCENES", "NEW_LOG"]
