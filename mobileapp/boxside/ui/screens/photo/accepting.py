"""What of a measured photo is booked: the lengths, a count with them, or only the photo; then what came of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from boxside.core.values.photo_view import MeasureDone, MeasureView
from boxside.core.values.season import StageView
from boxside.core.values.views import Notice
from boxside.ui.keeping import Keeping
from boxside.ui.widgets.sheet import ResultSheet
from boxside.ui.words import say, say_n

ONLY_PHOTO, LENGTHS, BOTH = "photo", "lengths", "both"
MEASURED = "larva"


@dataclass(frozen=True)
class Booking:
    """A photo that is to be booked: without what was left out, in which visit, and by which button."""

    view: MeasureView
    visit: str
    button: Any
    cohort: str = ""


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
        """Ask whose sizes they are where the box leaves that open, then what is to be booked."""
        booking = Booking(view, visit, button)
        if view.can_accept:
            self.shell.ask("stage_view", view.box_id, then=partial(self._whose, booking))
        elif self.keep is not None:
            self.shell.open_choices(say("book_what"), [self._only_photo()], lambda _: self._keep_photo(), view.summary)
        else:
            self.shell.show(Notice(view.summary))

    def _whose(self, booking: Booking, box: StageView) -> None:
        cohorts = {group.cohort: group.cohort_name for group in box.groups if group.stage == MEASURED}
        if len(cohorts) < 2:
            self._what(booking)
            return
        items = [*((cohort, name, "cohort") for cohort, name in cohorts.items()), ("", say("whose_mixed"), "blend")]
        take = lambda cohort: self._what(replace(booking, cohort=cohort))  # noqa: E731
        self.shell.open_choices(say("whose_sizes"), items, take, say("whose_sizes_hint"))

    def _what(self, booking: Booking) -> None:
        view = booking.view
        n = sum(1 for row in view.bodies if row.body.length_mm is not None)
        items = [
            (LENGTHS, say_n("book_lengths", n), "ruler"), (BOTH, say("book_both", count=view.count_text), "count"),
            *([self._only_photo()] if self.keep is not None else []),
        ]  # fmt: skip

        def chosen(what: str) -> None:
            if what == BOTH:
                self._complete(booking)
            elif what == LENGTHS:
                self._save(booking, False, False)
            else:
                self._keep_photo()

        self.shell.open_choices(say("book_what"), items, chosen, view.summary)

    def _only_photo(self) -> tuple[str, str, str]:
        return ONLY_PHOTO, say("keep_only"), "photo"

    def _keep_photo(self) -> None:
        if self.keep is not None:
            self.keep()

    def _complete(self, booking: Booking) -> None:
        items = [(True, say("complete_yes"), "check"), (False, say("complete_no"), "unknown")]
        take = lambda complete: self._save(booking, True, complete)  # noqa: E731
        self.shell.open_choices(say("complete"), items, take, say("complete_hint"))

    def _save(self, booking: Booking, also_count: bool, complete: bool) -> None:
        args = (booking.view, also_count, complete, booking.cohort, MEASURED if booking.cohort else "", booking.visit)
        Keeping(self.shell).keep("accept", args, self._booked, booking.button)

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
