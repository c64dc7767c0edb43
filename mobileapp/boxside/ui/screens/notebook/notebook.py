"""Notebook: an old notebook's columns are told what they are, its lines are shown, then taken in: all or none."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

from kivy.clock import Clock
from kivy.properties import BooleanProperty, ListProperty, ObjectProperty, StringProperty

from boxside.core.values.carry import NotebookMapping, NotebookView
from boxside.core.values.season import Flow
from boxside.core.values.views import Notice, Saved
from boxside.ui.incoming import problem_rows
from boxside.ui.kv import load_kv
from boxside.ui.screens.notebook.reading_rows import preview_rows
from boxside.ui.shell import Page
from boxside.ui.widgets.actgrid import Fold  # noqa: F401  used by the kv file
from boxside.ui.widgets.pages import RowsView, Turner  # noqa: F401  used by the kv file
from boxside.ui.widgets.rows import RowData, head, paragraph, row, rows_width
from boxside.ui.words import say, say_n
from boxside.ui.working import work

KIND, PASS = "kind", "-"
ORDERS, DECIMALS = ("ymd", "dmy", "mdy"), (".", ",")
MOST_CELLS = 3


class NotebookScreen(Page):
    """Shows one `NotebookView`; every change of what a column is shows at once what comes of it."""

    view = ObjectProperty(None, allownone=True)
    flow = ObjectProperty(None, allownone=True)
    go_on = StringProperty("")
    can_import = BooleanProperty(False)
    data = ListProperty([])
    back_to = StringProperty("keep")

    def __init__(self, **kwargs: Any) -> None:
        self._remeasure = Clock.create_trigger(self._lay)
        super().__init__(**kwargs)
        self.ids.rows.fbind("width", self._remeasure)

    def enter(self, path: str = "", **_: Any) -> None:
        """Show how a notebook would be read; without one, what showed before."""
        if path:
            self.view, self.flow, self.data, self.can_import = None, None, [], False
            self.ids.rows.scroll_y = 1
            self._look(path, None)

    def _look(self, path: str, mapping: NotebookMapping | None) -> None:
        work(
            self.shell, "notebook_view", Path(path), mapping, title=say("looking_through"), then=self.show,
            failed=self._unreadable if mapping is None else None,
        )  # fmt: skip

    def _unreadable(self, notice: Notice) -> None:
        self.shell.go(self.back_to)
        self.shell.show(notice)

    def show(self, view: NotebookView) -> None:
        """Show how it would be read, and what comes of that."""
        self.view = view
        self.can_import = view.ready
        self.go_on = say_n("import_lines", view.n_new)
        self._lay()

    def _lay(self, *_: Any) -> None:
        if self.view is None:
            return
        width = rows_width(self.ids.rows)
        if self.flow is not None:
            self.data = self._done(width)
            return
        self.data = [
            *self._state(width), *self._columns(width), *self._words(width), *self._ways(width),
            *preview_rows(width, self.view),
        ]  # fmt: skip

    # ---- rows ----

    def _state(self, width: float) -> list[RowData]:
        """What is still asked, or what is wrong, or that all is well, before everything else."""
        view = self.view
        if view.question:
            return [paragraph(width, say("tap_to_say"), view.question, "unknown")]
        if view.problems:
            make = [] if view.mapping.make_boxes else [self._make_boxes(width)]
            return [*make, *problem_rows(width, view.problems, view.n_problems)]
        said = [say_n("lines_new", view.n_new)]
        said += [say_n("lines_known", view.n_known)] if view.n_known else []
        said += [say_n("lines_passed", view.n_passed)] if view.n_passed else []
        made = [paragraph(width, ", ".join(view.new_boxes), say_n("boxes_to_make", len(view.new_boxes)), "box")]
        return [paragraph(width, " ".join(said), icon="check"), *(made if view.new_boxes else [])]

    def _columns(self, width: float) -> list[RowData]:
        view = self.view
        roles, found = dict(view.roles), {column: role for role, column in view.mapping.columns}
        rows = [head(width, say("columns")), *([paragraph(width, say("remembered"))] if view.remembered else [])]
        for at, name in enumerate(view.columns):
            role = found.get(at)
            cells = [line[at] for line in view.cells if at < len(line) and line[at].strip()]
            rows.append(
                row(width, self.choose_role, at, icon="check" if role else "close", trail="right",
                    title=f"{name}: {roles.get(role, role) if role else say('not_used')}",
                    detail=" · ".join(dict.fromkeys(cells[:MOST_CELLS])))
            )  # fmt: skip
        return rows

    def _words(self, width: float) -> list[RowData]:
        """What stands in the column of what was done, or what was done on every line."""
        view, kinds = self.view, dict(self.view.kinds)
        if view.mapping.column(KIND) is None:
            done = kinds.get(view.mapping.kind, say("not_said"))
            return [
                row(width, self.choose_kind, "", icon="list", title=say("every_line"), detail=done,
                    is_late=not view.mapping.kind, trail="right")
            ]  # fmt: skip
        rows = [head(width, say("what_words_mean"))] if view.words else []
        told = dict(view.mapping.kinds)
        for word, kind in view.words:
            meaning = kinds.get(kind, say("passed_over") if word in told else say("not_said"))
            rows.append(
                row(width, self.choose_kind, word, icon="list", title=f"“{word}”", detail=meaning,
                    is_late=not kind and word not in told, trail="right")
            )  # fmt: skip
        return rows

    def _ways(self, width: float) -> list[RowData]:
        view, mapping = self.view, self.view.mapping
        return [
            head(width, say("read_as")),
            paragraph(width, view.path, icon="note"),
            row(width, self.choose_order, None, icon="today", title=say("date_order"),
                detail=say(f"order_{mapping.order}"), trail="right"),
            row(width, self.choose_decimal, None, icon="count", title=say("decimal_sign"),
                detail=say("decimal_is", sign=mapping.decimal), trail="right"),
            *([] if view.problems and not mapping.make_boxes else [self._make_boxes(width)]),
        ]  # fmt: skip

    def _make_boxes(self, width: float) -> RowData:
        """The way to have boxes made: first where lines fail that may only want for it, else last."""
        is_on = self.view.mapping.make_boxes
        title = f"{say('make_boxes')}: {say('yes' if is_on else 'no')}"
        return row(
            width, self.switch_boxes, None, icon="check" if is_on else "add", title=title, detail=say("make_boxes_hint")
        )

    def _done(self, width: float) -> list[RowData]:
        notice, made = self.flow.notice, self.flow.made
        rows = [paragraph(width, notice.safe if notice else "", notice.what if notice else say("saved_as"), "check")]
        rows += [paragraph(width, ", ".join(label for _, label in made), say_n("boxes_made", len(made)), "box")] * bool(
            made
        )
        return [
            *rows,
            row(width, self.take_back, None, icon="undo", title=say("take_back_all"), trail="right"),
            row(width, lambda _: self.shell.go("shelf"), None, icon="shelf", title=say("to_shelf"), trail="right"),
        ]

    # ---- how it is read ----

    def _read_as(self, **changed: Any) -> None:
        self._look(self.view.path, replace(self.view.mapping, **changed))

    def choose_role(self, at: int) -> None:
        """Ask what a column is."""
        view = self.view
        now = next((role for role, column in view.mapping.columns if column == at), PASS)
        items = [(PASS, say("not_used"), "close"), *((role, label, "") for role, label in view.roles)]
        cells = [line[at] for line in view.cells if at < len(line) and line[at].strip()]

        def chosen(role: str) -> None:
            kept = [(name, column) for name, column in view.mapping.columns if column != at and name != role]
            self._read_as(columns=tuple(kept if role == PASS else [*kept, (role, at)]))

        self.shell.open_choices(view.columns[at], items, chosen, " · ".join(cells[:MOST_CELLS]), now)

    def choose_kind(self, word: str) -> None:
        """Ask what was done where a word stands, or on every line."""
        mapping = self.view.mapping
        title = f"“{word}”" if word else say("every_line")
        skip = [(PASS, say("pass_over"), "close")] if word else []
        items = [*skip, *((name, label, "") for name, label in self.view.kinds)]
        take = partial(self._kind_chosen, word)
        self.shell.open_choices(title, items, take, "", dict(mapping.kinds).get(word) if word else mapping.kind)

    def _kind_chosen(self, word: str, kind: str) -> None:
        if not word:
            self._read_as(kind=kind)
            return
        kinds = {**dict(self.view.mapping.kinds), word: "" if kind == PASS else kind}
        self._read_as(kinds=tuple(kinds.items()))

    def choose_order(self, _: Any) -> None:
        """Ask in which order day, month and year stand."""
        items = [(order, say(f"order_{order}"), "today") for order in ORDERS]
        take = lambda order: self._read_as(order=order)  # noqa: E731
        self.shell.open_choices(say("date_order"), items, take, "", self.view.mapping.order)

    def choose_decimal(self, _: Any) -> None:
        """Ask for the decimal sign."""
        items = [(sign, say("decimal_is", sign=sign), "count") for sign in DECIMALS]
        take = lambda sign: self._read_as(decimal=sign)  # noqa: E731
        self.shell.open_choices(say("decimal_sign"), items, take, "", self.view.mapping.decimal)

    def switch_boxes(self, _: Any) -> None:
        """Have boxes made that are not there yet, or not."""
        self._read_as(make_boxes=not self.view.mapping.make_boxes)

    # ---- taking in ----

    def take_in(self) -> None:
        """Take in all lines, or none."""
        work(
            self.shell, "import_notebook", Path(self.view.path), self.view.mapping, title=say("importing"),
            then=self._taken_in,
        )  # fmt: skip

    def _taken_in(self, flow: Flow) -> None:
        self.shell.services.device.haptics.confirm()
        self.flow, self.can_import = flow, False
        self.ids.rows.scroll_y = 1
        self._lay()

    def take_back(self, _: Any) -> None:
        """Take back all that this notebook brought."""
        work(self.shell, "undo_flow", self.flow.events, (), title=say("taking_back"), then=self._taken_back)

    def _taken_back(self, saved: Saved) -> None:
        self.shell.services.device.haptics.confirm()
        path, self.flow = self.view.path, None
        self._look(path, self.view.mapping)
        self.shell.tell(saved.notice)


load_kv(__file__)

__all__ = ["NotebookScreen"]
