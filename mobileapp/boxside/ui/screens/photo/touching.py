"""What touches on a photo do: leave a body out, add one by its two tips, move an end, mark a known length."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

from boxside.core.values.photo_view import BodyRow, MeasureView
from boxside.core.values.views import Act, Notice
from boxside.ui.screens.photo.edits import Edits
from boxside.ui.sight import Point, nearest
from boxside.ui.widgets.reading import ReadingSheet
from boxside.ui.widgets.rows import RowData, paragraph, row
from boxside.ui.words import say

RESULT, KNOWN = "result", "known"
DROP, ADD, ENDS = "drop", "add", "ends"


class Touching:
    """Works on the photo that a `PhotoScreen` shows; keeps what was changed, and shows it on the picture."""

    def __init__(self, screen: Any) -> None:
        self.screen = screen
        self.edits: Edits | None = None
        self._of: MeasureView | None = None
        self._is_waiting = False
        self._said = ""
        self._count = self._summary = ""

    @property
    def picture(self) -> Any:
        """The picture that is touched."""
        return self.screen.picture

    # ---- begin and end ----

    def begin(self, view: MeasureView) -> None:
        """Work on the bodies of a measured photo."""
        if self.edits is None or view is not self._of:
            self.edits, self._of, self.picture.told = Edits(view), view, ""
            self._summarise(view)
            self.picture.show_whole()
        self._show_picture(view)
        self.screen.mode = DROP
        self.choose(DROP)

    def begin_known(self, view: MeasureView) -> None:
        """Have two points tapped on a photo without a scale."""
        self.end(view)
        self.picture.has_loupe = True

    def end(self, view: MeasureView) -> None:
        """Show a photo that nothing is drawn on."""
        self.edits = self._of = None
        self.picture.show_whole()
        self._show_picture(view)
        self.picture.rows, self.picture.out, self.picture.points = [], frozenset(), []
        self.picture.has_ends = self.picture.has_loupe = False

    def _show_picture(self, view: MeasureView) -> None:
        self.picture.picture, self.picture.frame = view.picture, view.frame
        self._is_waiting = False

    # ---- what shows ----

    def refresh(self) -> None:
        """Show the present state: on the picture, in words, and what can be undone."""
        screen, picture = self.screen, self.picture
        if self.edits is not None:
            picture.rows, picture.out = list(self.edits.rows), self.edits.now.out
            screen.can_undo = self.edits.can_undo or bool(picture.points or picture.end)
            screen.told = self._said or self._count
            screen.hint = self._hint()
        elif screen.state == KNOWN:
            n = len(picture.points)
            screen.can_undo = n > 0
            screen.told = (say("known_hint"), say("known_next"), say("known_ready"))[n]
            screen.hint = ""
            screen.ways = [Act(say("known_ask"), "ruler", command="ask_length")] if n == 2 else []

    def _hint(self) -> str:
        mode = self.screen.mode
        if mode == ADD:
            return say("add_body_next") if self.picture.points else say("add_body_hint")
        if mode == ENDS:
            return say("ends_next") if self.picture.end else say("ends_hint")
        return " ".join((self._summary, say("drop_hint"), say("lengths_in")))

    def _summarise(self, view: MeasureView) -> None:
        self._count, self._summary = f"{view.count_text}.", view.summary

    def choose(self, mode: str) -> None:
        """Have touches do something else."""
        self.picture.points, self.picture.end, self._said = [], None, ""
        self.picture.has_ends, self.picture.has_loupe = mode == ENDS, mode != DROP
        self.refresh()

    # ---- touches ----

    def spot(self, at: Point, reach: float) -> None:
        """Do what a touch at a position means."""
        if self._is_waiting:
            return
        if self.screen.state == KNOWN:
            self._mark(at, reach)
        elif self.edits is not None:
            {DROP: self._drop, ADD: self._add, ENDS: self._end}[self.screen.mode](at, reach)

    def _drop(self, at: Point, reach: float) -> None:
        found = self.edits.body_at(at, reach) if self.edits is not None else ""
        if found:
            self.toggle(found)

    def toggle(self, body_id: str) -> None:
        """Leave a body out, or bring it back."""
        if self.edits is None:
            return
        what = _named(self.edits.row(body_id))
        is_out = self.edits.toggle(body_id)
        self._said = say("left_out", what=what) if is_out else say("put_back", what=what)
        self._changed()

    def _changed(self) -> None:
        """Show a change at once; its count and median follow from the worker."""
        self.refresh()
        if self.edits is not None:
            state = self.edits.now
            self.screen.ask("drop_bodies", state.view, state.out, then=partial(self._counted, state))

    def _counted(self, state: Any, view: MeasureView) -> None:
        if self.edits is not None and self.edits.now is state:
            self._summarise(view)
            self._said = f"{self._said} {self._count}".strip()
            self.refresh()

    def _add(self, at: Point, reach: float) -> None:
        if not self.picture.points:
            self.picture.points = [at]
            self.refresh()
            return
        if self.edits is None:
            return
        first = self.picture.points[0]
        replaced = self.edits.replaced_by(first, at, reach / 4)
        self.picture.points = [first, at]
        self._ask("add_body", (first, at), partial(self._take, replaced))

    def _end(self, at: Point, reach: float) -> None:
        chosen = self.picture.end
        if chosen is not None:
            self.move(chosen[0], chosen[1], at)
        elif self.edits is not None:
            self.picture.end = self.edits.end_at(at, reach)
            self.refresh()

    def move(self, body_id: str, end: int, at: Point) -> None:
        """Measure a body anew with one end somewhere else."""
        if self.edits is not None and not self._is_waiting:
            self._ask("move_end", (body_id, end, at), partial(self._take, "", body_id))

    def _ask(self, name: str, args: tuple[Any, ...], then: Callable[[MeasureView], None]) -> None:
        if self.edits is None:
            return
        self._is_waiting = True
        self.screen.ask(name, self.edits.now.view, *args, then=then, failed=self._not_done)

    def _not_done(self, notice: Notice) -> None:
        self._is_waiting = False
        self.picture.points, self.picture.end = [], None
        self.refresh()
        self.screen.shell.show(notice)

    def _take(self, replaced: str, *moved_and_view: Any) -> None:
        """Take a body that was added, measured anew or moved."""
        *moved, view = moved_and_view
        self._is_waiting = False
        self.picture.points, self.picture.end = [], None
        if self.edits is None:
            return
        self.edits.take(view, replaced)
        changed = self.edits.row(moved[0]) if moved else self.edits.rows[-1]
        self.picture.told = changed.id
        what = _named(changed)
        self._said = say("replaced", what=what) if moved or replaced else say("added_is", what=what)
        self._changed()

    # ---- a known length ----

    def _mark(self, at: Point, reach: float) -> None:
        """Mark an end; a third tap corrects the end that is nearer, and the second one shows both."""
        points = list(self.picture.points)
        if len(points) == 2:
            points[nearest([[point] for point in points], at, float("inf")) or 0] = at
        else:
            points.append(at)
        self.picture.points = points
        if len(points) == 2:
            self.picture.show_whole()
        self.refresh()

    # ---- back, lists, the end ----

    def undo(self) -> None:
        """Take back a tap that waits for another, else the last change."""
        if self._is_waiting:
            return
        if self.picture.points or self.picture.end is not None:
            self.picture.points, self.picture.end = self.picture.points[:-1], None
            self.refresh()
        elif self.edits is not None and self.edits.can_undo:
            self.edits.undo()
            self._said = ""
            self._changed()

    def list_sizes(self) -> None:
        """Show every body in words on a sheet."""
        self.screen.shell.open_sheet(SizesSheet(title=say("sizes"), hint=say("sizes_hint"), rows_of=self._sizes))

    def _sizes(self, width: float) -> list[RowData]:
        if self.edits is None:
            return []
        state = self.edits.now
        rows = [
            row(width, self._toggle_listed, body, mark=str(body.number), title=body.size, detail=body.detail,
                soft=body.why, is_struck=body.id in state.out)
            for body in self.edits.rows
        ]  # fmt: skip
        limits = [paragraph(width, text, icon="info") for text in state.view.limits]
        return [paragraph(width, state.view.scale_text, icon="ruler"), *rows, *limits]

    def _toggle_listed(self, body: BodyRow) -> None:
        self.toggle(body.id)
        if isinstance(self.screen.shell.sheet, ReadingSheet):
            self.screen.shell.sheet.refresh()

    def final(self, then: Callable[[MeasureView], None]) -> None:
        """Hand on the photo without the bodies that are left out."""
        if self.edits is not None:
            self.screen.ask("drop_bodies", self.edits.now.view, self.edits.now.out, then=then)


class SizesSheet(ReadingSheet):
    """All bodies in words."""


def _named(body: BodyRow) -> str:
    return f"{body.number}: {body.size}"


__all__ = ["ADD", "DROP", "ENDS", "KNOWN", "RESULT", "SizesSheet", "Touching"]
