"""Going away: from when to when, what to do before, what is late without a helper, what a helper does and when."""

from __future__ import annotations

from datetime import date, timedelta
from functools import partial
from typing import Any

from kivy.properties import NumericProperty, ObjectProperty, StringProperty

from boxside.actions.ahead_words import grouped_jobs, grouped_late, in_words, n_days, weekday_text
from boxside.core.values.ahead import Expected, Job, JobDay, LateTask
from boxside.ui.foretold import expected_row, tell_reasons
from boxside.ui.kv import load_kv
from boxside.ui.outside import hand_over
from boxside.ui.rows_page import RowsPage
from boxside.ui.widgets.figures import part_row
from boxside.ui.widgets.pages import RowsView, Turner  # noqa: F401  used by the kv file
from boxside.ui.widgets.reading import read
from boxside.ui.widgets.rows import RowData, head, paragraph, row, rows_width
from boxside.ui.words import say, say_n

LONGEST_DAYS = 399
MOST_NAMES = 8


class AwayScreen(RowsPage):
    """Shows one `AwayView`; the trip that was asked for last stays until the app is left."""

    day = ObjectProperty(None, allownone=True)
    leave_in = NumericProperty(1)
    away_for = NumericProperty(7)
    helper = StringProperty("")

    def refresh(self, *_: Any) -> None:
        """Fetch what is shown anew."""
        self.ask("today", then=self._ask)

    def _ask(self, day: date) -> None:
        self.day = day
        self.ask("away_view", *self._trip(), then=self.show)

    def _trip(self) -> tuple[date, date, str]:
        leave_on = self.day + timedelta(days=int(self.leave_in))
        return leave_on, leave_on + timedelta(days=int(self.away_for)), self.helper

    def rows(self) -> list[RowData]:
        """Return the rows of the view."""
        width, view = rows_width(self.ids.rows), self.view
        return [
            *self._asked(width),
            *self._safe(width),
            *self._day(width, say("on_last_day", on=self._said(view.leave_on)), view.last_day, say("nothing_before")),
            head(width, say("late_alone")),
            *(self._late(width, label, late) for label, late in grouped_late(view.unattended)),
            *([] if view.unattended else [paragraph(width, say("nothing_late"), icon="check")]),
            *(data for on in view.helper for data in self._day(width, say("helper_on", on=self._said(on.on)), on)),
            *([head(width, say("meanwhile"))] if view.expected else []),
            *(expected_row(width, one, self.day, self.why) for one in view.expected),
            row(width, self.save, None, icon="save", title=say("save_sheet"), detail=say("save_sheet_hint"),
                trail="right"),
        ]  # fmt: skip

    def _said(self, on: date) -> str:
        return weekday_text(on, self.day)

    def _asked(self, width: float) -> list[RowData]:
        view, helper = self.view, self.helper or say("nobody_yet")
        return [
            row(width, self.ask_leave, None, icon="out", title=say("last_day", on=self._said(view.leave_on)),
                detail=say_n("in_days", int(self.leave_in)), trail="right"),
            row(width, self.ask_days, None, icon="round", title=say("back_on", on=self._said(view.back_on)),
                detail=say("after_days", days=n_days(int(self.away_for))), trail="right"),
            row(width, self.ask_helper, None, icon="cohort", title=say("helper_is", who=helper), trail="right"),
        ]  # fmt: skip

    def _safe(self, width: float) -> list[RowData]:
        view = self.view
        if view.safe_until is None:
            return [paragraph(width, say("nothing_ever"), icon="check")]
        is_late = view.safe_until < view.back_on
        limits = say("limited_by", boxes=_names(view.limiting)) if view.limiting else ""
        title = say("safe_until", on=self._said(view.safe_until))
        return [paragraph(width, limits, title, "late" if is_late else "check")]

    def _late(self, width: float, label: str, late: tuple[LateTask, ...]) -> RowData:
        title = f"{label}: {say_n('all_boxes', len({one.box_id for one in late}))}"
        worst = max(one.late_days for one in late)
        detail = say("late_from", on=self._said(late[0].late_from), days=n_days(worst))
        return row(
            width, partial(self.tell_late, label), late, title=title, detail=detail, is_late=True,
            soft=_names(tuple(sorted({one.label for one in late}))), trail="right",
        )  # fmt: skip

    def _day(self, width: float, title: str, day: JobDay, nothing: str = "") -> list[RowData]:
        rows = [head(width, title)]
        for task, how, jobs in grouped_jobs(day.jobs):
            rows.append(
                row(width, partial(self.tell_jobs, task), jobs, detail=how, trail="right",
                    title=f"{task}: {say_n('all_boxes', len(jobs))}", soft=_names(tuple(job.label for job in jobs)))
            )  # fmt: skip
        if not day.jobs and nothing:
            rows.append(paragraph(width, nothing, icon="check"))
        return [*rows, *(paragraph(width, text, icon="about") for text in day.events)]

    # ---- more about it ----

    def why(self, one: Expected) -> None:
        """Show why something is expected when it is."""
        tell_reasons(self.shell, one, self.day)

    def tell_late(self, label: str, late: tuple[LateTask, ...]) -> None:
        """Show from when each box is late, and by how much."""

        def make(width: float) -> list[RowData]:
            return [
                part_row(width, f"{one.label}, {say('from_day', on=self._said(one.late_from))}", n_days(one.late_days))
                for one in late
            ]

        read(self.shell, say("late_is", what=label), make)

    def tell_jobs(self, task: str, jobs: tuple[Job, ...]) -> None:
        """Show each job: where, for whom, and why."""

        def make(width: float) -> list[RowData]:
            how = [paragraph(width, jobs[0].how, icon="info")] if jobs[0].how else []
            where = [" · ".join(part for part in (job.label, job.place) if part) for job in jobs]
            told = [
                paragraph(width, in_words(f"{job.who}. {job.why}", self.day), title)
                for job, title in zip(jobs, where, strict=True)
            ]
            return [*how, *told]

        read(self.shell, task, make)

    # ---- the trip ----

    def ask_leave(self, _: Any) -> None:
        """Ask in how many days the last day at home is."""
        most = LONGEST_DAYS - int(self.away_for)
        self.shell.open_number(
            say("leave_in"), hint=say("leave_hint"), value=self.leave_in, maximum=most,
            then=partial(self._set, "leave_in"),
        )  # fmt: skip

    def ask_days(self, _: Any) -> None:
        """Ask after how many days the keeper is back."""
        most = LONGEST_DAYS - int(self.leave_in)
        self.shell.open_number(
            say("away_for"), hint=say("away_hint"), value=self.away_for, minimum=1, maximum=most,
            then=partial(self._set, "away_for"),
        )  # fmt: skip

    def ask_helper(self, _: Any) -> None:
        """Ask who comes meanwhile, for the page."""
        self.shell.open_text(say("helper_who"), self.helper, partial(self._set, "helper"))

    def _set(self, name: str, value: Any) -> None:
        setattr(self, name, value)
        self.refresh()

    def save(self, _: Any) -> None:
        """Write the helper's page as PDF and as text, say where, and offer to share or save both."""
        self.ask("save_sheet", *self._trip(), then=self._saved)

    def _saved(self, paths: Any) -> None:
        hand_over(self.shell, say("written"), paths, say("sheet_do"))


def _names(labels: tuple[str, ...]) -> str:
    shown = ", ".join(labels[:MOST_NAMES])
    more = len(labels) - MOST_NAMES
    return shown if more <= 0 else say("and_more", some=shown, n=more)


load_kv(__file__)

__all__ = ["AwayScreen"]
