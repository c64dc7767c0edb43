"""Keep: when the last archive was made and where the next goes, what comes in, whether all is what was written."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

from boxside.core.values.errors import BoxsideError
from boxside.core.values.keeping import KeepingView
from boxside.core.values.views import Notice, SettingsView
from boxside.ui.acts import can_choose_folder, choose_folder
from boxside.ui.archives import Archives
from boxside.ui.incoming import Incoming
from boxside.ui.kv import load_kv
from boxside.ui.rows_page import RowsPage
from boxside.ui.screens.keep.looking_through import LookingThrough, size_words
from boxside.ui.widgets.pages import RowsView, Turner  # noqa: F401  used by the kv file
from boxside.ui.widgets.reading import read
from boxside.ui.widgets.rows import RowData, head, paragraph, row, rows_width
from boxside.ui.words import say, say_n

EVERY = "archive_every"


class KeepScreen(RowsPage):
    """Shows one `KeepingView`; what takes long is done behind a sheet that can be stopped."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.ids.rows.fbind("width", self._remeasure)
        self.archives = Archives(self.shell, self.refresh)
        self.incoming = Incoming(self.archives)
        self.looking = LookingThrough(self.shell, self.refresh)

    def refresh(self, *_: Any) -> None:
        """Fetch how things stand."""
        if self.shell.page is self:
            self.ask("keeping_view", then=self.show)

    def rows(self) -> list[RowData]:
        """Return the rows of the view."""
        width = rows_width(self.ids.rows)
        return [*self._last(width), *self._itself(width), *self._in(width), *self._well(width)]

    # ---- rows ----

    def _last(self, width: float) -> list[RowData]:
        view = self.view
        when = view.last if view.age_days is None else f"{view.last}, {say_n('days_ago', view.age_days)}"
        rows = [paragraph(width, when[:1].upper() + when[1:], say("last_archive"), "late" if view.is_old else "keep")]
        if view.notice is not None:
            rows.append(paragraph(width, f"{view.notice.safe} {view.notice.do}"))
        if view.undo:
            rows.append(
                row(width, lambda _: self.archives.undo(), None, icon="undo", title=say("undo_merge"), detail=view.undo,
                    trail="right")
            )  # fmt: skip
        return rows

    def _itself(self, width: float) -> list[RowData]:
        return [
            head(width, say("by_itself")),
            row(width, self.choose_folder, None, icon="shelf", title=say("archive_folder"),
                detail=self.view.folder or say("archive_folder_none"), trail="right"),
            row(width, self.choose_every, None, icon="later", title=say("archive_every"), detail=self.view.every,
                trail="right"),
        ]  # fmt: skip

    def _in(self, width: float) -> list[RowData]:
        ways = (
            (say("merge_row"), say("merge_hint"), "blend", self.archives.merge),
            (say("restore_row"), say("restore_hint"), "history", self.archives.restore),
            (say("notebook_row"), say("notebook_hint"), "note", self.incoming.begin),
        )
        return [
            head(width, say("from_elsewhere")),
            *(
                row(width, partial(_call, act), None, icon=icon, title=title, detail=hint, trail="right")
                for title, hint, icon, act in ways
            ),
        ]  # fmt: skip

    def _well(self, width: float) -> list[RowData]:
        copies = self.view.snapshots
        newest = say("copies_newest", when=copies[0].when) if copies else say("copies_how")
        return [
            head(width, say("is_all_well")),
            row(width, lambda _: self.looking.check(), None, icon="search", title=say("check_row"),
                detail=say("check_hint"), trail="right"),
            row(width, self.tell_copies, None, icon="same", title=say_n("copies", len(copies)), detail=newest,
                trail="right"),
        ]  # fmt: skip

    # ---- archives by themselves ----

    def choose_folder(self, _: Any) -> None:
        """Ask where archives are to be made by themselves."""
        can_choose = can_choose_folder(self.shell.services)
        ways: dict[str, tuple[str, str, Callable[[], None]]] = {
            "any": (say("folder_any"), "shelf", self._ask_folder),
            "own": (say("folder_own"), "save", partial(self.ask, "use_own_folder", then=self._changed)),
            "none": (say("folder_none"), "close", partial(self.ask, "use_folder", "", then=self._changed)),
        }
        shown = [way for way in ways if way != ("any" if not can_choose else "")]
        items = [(way, ways[way][0], ways[way][1]) for way in shown]
        self.shell.open_choices(say("archive_folder"), items, lambda way: ways[way][2](), say("archive_folder_hint"))

    def _ask_folder(self) -> None:
        take = lambda folder: self.ask("use_folder", folder, then=self._changed)  # noqa: E731
        try:
            choose_folder(self.shell.services, take)
        except BoxsideError as error:
            self.shell.show(Notice(what=str(error), bad=True))

    def _changed(self, view: KeepingView) -> None:
        self.shell.services.device.haptics.confirm()
        self.show(view)

    def choose_every(self, _: Any) -> None:
        """Ask how often an archive is to be made."""

        def ask(view: SettingsView) -> None:
            setting = next(one for one in view.rows if one.key == EVERY)
            items = [(key, name, "") for key, name in setting.choices]
            self.shell.open_choices(setting.label, items, self._set_every, setting.hint, setting.value)

        self.ask("settings_view", then=ask)

    def _set_every(self, value: str) -> None:
        self.ask("change_setting", EVERY, value, then=lambda _: self.refresh())

    # ---- copies ----

    def tell_copies(self, _: Any) -> None:
        """Show the copies that were set aside."""
        copies = self.view.snapshots

        def rows(width: float) -> list[RowData]:
            told = [paragraph(width, f"{one.why}, {size_words(one.n_bytes)}", one.when, "same") for one in copies]
            return [paragraph(width, say("copies_why"), icon="info"), *told]

        read(self.shell, say_n("copies", len(copies)), rows)


def _call(act: Any, _: Any) -> None:
    act()


load_kv(__file__)

__all__ = ["KeepScreen"]
