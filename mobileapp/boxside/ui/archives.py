"""Archives from the screens: made and handed on, looked at before they come in, merged, restored, taken back."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from boxside.core.values.errors import BoxsideError
from boxside.core.values.keeping import ArchiveView, Merged, MergePreview, RestorePreview
from boxside.core.values.views import Notice
from boxside.ui.acts import choose_file
from boxside.ui.outside import hand_over
from boxside.ui.widgets.reading import read
from boxside.ui.widgets.rows import RowData, head, paragraph
from boxside.ui.words import say, say_n
from boxside.ui.working import work

LONG_ID = re.compile(r"\b([0-9a-f]{6})[0-9a-f-]{22,}([0-9a-f]{4})\b")


class Archives:
    """The ways of archives for one screen; `after` is called once something came in or went back."""

    def __init__(self, shell: Any, after: Callable[[], None]) -> None:
        self.shell = shell
        self.after = after

    # ---- out ----

    def make(self) -> None:
        """Make one now, then say where it is and offer to share it."""
        work(self.shell, "archive_now", title=say("archiving"), then=self._made)

    def _made(self, view: ArchiveView) -> None:
        self.after()
        hand_on = partial(hand_over, self.shell, say("archived", what=view.text), [view.path], say("archived_do"))
        if view.notice is None:
            hand_on()
            return
        missing = Notice(view.notice.what, view.notice.safe, say("check_names_them"), bad=True)
        self.shell.show(missing, other=say("hand_it_on"), then_other=hand_on, other_icon="out")

    # ---- in ----

    def choose(self, then: Callable[[str], None]) -> None:
        """Have a file chosen."""
        try:
            choose_file(self.shell.services, then)
        except BoxsideError as error:
            self.shell.show(Notice(what=str(error), bad=True))

    def merge(self) -> None:
        """Have an archive chosen, show what it would bring, then take that in."""
        self.choose(self.look_to_merge)

    def look_to_merge(self, path: str) -> None:
        """Show what an archive would bring."""
        work(
            self.shell, "preview_merge", Path(path), title=say("looking_through"), then=self.show_merge,
            failed=self._refused,
        )  # fmt: skip

    def show_merge(self, preview: MergePreview) -> None:
        """Show what a merge would bring and meet; it can be gone on with unless something stops it."""
        is_new = preview.n_new_events + preview.n_new_photos > 0
        goes = is_new and preview.stops is None
        read(
            self.shell, say("merge_title"), lambda width: merge_rows(width, preview),
            yes=say("merge_yes") if goes else "", yes_icon="blend",
            then=lambda: self._merge(preview.path),
        )  # fmt: skip

    def _merge(self, path: str) -> None:
        work(
            self.shell, "merge_archive", Path(path), title=say("merging"), then=self._merged, failed=self._refused,
        )  # fmt: skip

    def _merged(self, merged: Merged) -> None:
        self.shell.services.device.haptics.confirm()
        self.after()
        self.tell_done(merged.notice, merged.undo)

    def tell_done(self, notice: Notice, undo: str) -> None:
        """Tell what came in, with its way back where there is one."""
        self.shell.show(notice, other=say("take_back_all") if undo else "", then_other=self.undo, other_icon="undo")

    def undo(self) -> None:
        """Take the last merge back as one step."""

        def undone(notice: Notice) -> None:
            self.shell.services.device.haptics.confirm()
            self.after()
            self.shell.show(notice)

        self.shell.ask("undo_merge", then=undone)

    def restore(self) -> None:
        """Have an archive chosen, show what it holds, then fill the empty log from it."""
        self.choose(self.look_to_restore)

    def look_to_restore(self, path: str) -> None:
        """Show what an archive holds."""
        work(
            self.shell, "preview_restore", Path(path), title=say("looking_through"), then=self.show_restore,
            failed=self._refused,
        )  # fmt: skip

    def show_restore(self, preview: RestorePreview) -> None:
        """Show what an archive holds; it can be restored into an empty log, else merged into the one there is."""
        is_free = preview.stops is None
        ways = {True: self._restore, False: self.look_to_merge}
        read(
            self.shell, say("restore_title"), lambda width: restore_rows(width, preview),
            yes=say("restore_yes" if is_free else "merge_instead"), yes_icon="check" if is_free else "blend",
            then=lambda: ways[is_free](preview.path),
        )  # fmt: skip

    def _restore(self, path: str) -> None:
        work(
            self.shell, "restore_archive", Path(path), title=say("restoring"), then=self._restored,
            failed=self._refused,
        )  # fmt: skip

    def _restored(self, merged: Merged) -> None:
        self.shell.services.device.haptics.confirm()

        def show(view: Any) -> None:
            self.shell.take_up(view)
            self.shell.show(merged.notice)

        self.shell.ask("start_view", then=show)

    def _refused(self, notice: Notice) -> None:
        """Say first that nothing came in; what is wrong with an archive may be long."""
        self.shell.show(Notice(say("not_taken"), shortened(notice.what), notice.do or notice.safe, bad=True))


def merge_rows(width: float, preview: MergePreview) -> list[RowData]:
    """Return what a merge would bring and meet."""
    stops = preview.stops
    rows = [paragraph(width, f"{stops.safe} {stops.do}", shortened(stops.what), "late")] if stops else []
    rows.append(paragraph(width, say_n("new_photos", preview.n_new_photos), say_n("new_entries", preview.n_new_events),
                          "add"))  # fmt: skip
    rows.append(paragraph(width, preview.text, say("in_archive"), "keep"))
    rows.append(paragraph(width, say_n("known_entries", preview.n_known_events), icon="check"))
    if preview.n_conflicts:
        rows.append(head(width, say_n("to_know", preview.n_conflicts)))
    rows += [
        paragraph(width, conflict.do, _sentence(shortened(conflict.what)), "caution") for conflict in preview.conflicts
    ]
    more = preview.n_conflicts - len(preview.conflicts)
    rows += [paragraph(width, say("more_to_know", n=more))] if more > 0 else []
    if stops is None and preview.n_new_events:
        rows.append(paragraph(width, say("merge_back"), icon="undo"))
    return rows


def restore_rows(width: float, preview: RestorePreview) -> list[RowData]:
    """Return what an archive holds, and why it cannot be restored here."""
    stops, holds = preview.stops, preview.contents
    rows = [paragraph(width, preview.text, say("in_archive"), "keep")]
    rows.append(paragraph(width, say_n("all_boxes", holds.n_boxes), icon="box"))
    if holds.n_missing:
        rows.append(paragraph(width, say_n("missing_photos", holds.n_missing), icon="late"))
    if stops is not None:
        rows.append(paragraph(width, f"{stops.safe} {stops.do}", stops.what, "late"))
    else:
        rows.append(paragraph(width, say("restore_proved"), icon="check"))
    return rows


def shortened(text: str) -> str:
    """Return a text with long ids and digests cut to their ends: a person compares these, and lines hold no more."""
    return LONG_ID.sub(r"\1…\2", text)


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}."


__all__ = ["Archives", "merge_rows", "restore_rows", "shortened"]
