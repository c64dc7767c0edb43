"""What of a measured photo is booked: the lengths, a count with them, or only the photo; then what came of it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from boxside.core.values.photo_view import MeasureDone, MeasureView
from boxside.ui.keeping import Keeping
from boxside.ui.widgets.sheet import ResultSheet
from boxside.ui.words import say, say_n

ONLY_PHOTO, LENGTHS, BOTH = "photo", "lengths", "both"


class Accepting:
    """Asks what is to be booked and books it; `done` is called before what came of it is told, `again` after an undo.

    `keep` keeps the photo alone, where that can be.
    """

    def __init__(
        self, shell: Any, title: str, done: Callable[[], None], again: Callable[[Any], None],
        keep: Callable[[], None] | None,
    ) -> None:  # fmt: skip
        self.shell = shell
        self.title = title
        self.done = done
        self.again = again
        self.keep = keep

    def begin(self, view: MeasureView, visit: str, button: Any) -> None:
        """Ask what is to be booked."""
        n = sum(1 for row in view.bodies if row.body.length_mm is not None)
        items = []
        if view.can_accept:
            items = [(LENGTHS, say_n("book_lengths", n), "ruler"),
                     (BOTH, say("book_both", count=view.count_text), "count")]  # fmt: skip
        if self.keep is not None:
            items.append((ONLY_PHOTO, say("keep_only"), "photo"))

        def chosen(what: str) -> None:
            if what == BOTH:
                self._complete(view, visit, button)
            elif what == LENGTHS:
                self._save((view, False, False, "", "", visit), button)
            elif self.keep is not None:
                self.keep()

        self.shell.open_choices(say("book_what"), items, chosen, view.summary)

    def _complete(self, view: MeasureView, visit: str, button: Any) -> None:
        items = [(True, say("complete_yes"), "check"), (False, say("complete_no"), "unknown")]

        def chosen(complete: bool) -> None:
            self._save((view, True, complete, "", "", visit), button)

        self.shell.open_choices(say("complete"), items, chosen, say("complete_hint"))

    def _save(self, args: tuple[Any, ...], button: Any) -> None:
        Keeping(self.shell).keep("accept", args, self._booked, button)

    def _booked(self, booked: MeasureDone) -> None:
        self.done()
        undo = self.shell.flow_saved(booked.flow, self.again)
        if booked.count is not None:
            self._tell(booked, undo)

    def _tell(self, booked: MeasureDone, undo: Callable[[], None]) -> None:
        """Show what the count said: what is missing, and where to look."""
        count = booked.count
        if count is None:
            return
        figures = [say("expected", n=count.expected), say("counted", n=count.counted)]
        if count.complete and count.unaccounted:
            many = abs(count.unaccounted)
            figures.append(say("unaccounted", n=many) if count.unaccounted > 0 else say("surplus", n=many))
        self.shell.open_sheet(
            ResultSheet(
                title=self.title, sentence=booked.sentence, figures="\n".join(figures), checks=list(count.checks),
                no=say("undo"), no_icon="undo", then_no=undo, yes=say("ok"),
            )
        )  # fmt: skip


__all__ = ["Accepting"]
