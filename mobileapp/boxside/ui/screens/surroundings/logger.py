"""A temperature logger's file: chosen, looked at before anything is saved, taken in whole or not at all."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from boxside.core.values.ahead import AreaClimate, ImportView, LayoutWay
from boxside.core.values.errors import BoxsideError
from boxside.core.values.views import Notice
from boxside.ui.acts import choose_file
from boxside.ui.widgets.figures import part_row
from boxside.ui.widgets.reading import read
from boxside.ui.widgets.rows import RowData, head, paragraph, row
from boxside.ui.words import say

MOST_PROBLEMS = 50


class Logger:
    """One file on its way into an area; `keep` gets the action that saves it and its arguments."""

    def __init__(self, shell: Any, area: AreaClimate, keep: Callable[..., None]) -> None:
        self.shell = shell
        self.area = area
        self.keep = keep
        self.path = ""
        self.way: int | None = None

    def begin(self) -> None:
        """Have a file chosen."""
        try:
            choose_file(self.shell.services, self._chosen)
        except BoxsideError as error:
            self.shell.show(Notice(what=str(error), bad=True))

    def _chosen(self, path: str) -> None:
        self.path = path
        self._look(None)

    def _look(self, way: int | None) -> None:
        self.way = way
        self.shell.ask("preview_file", Path(self.path), self.area.area_id, way, then=self.show)

    def show(self, view: ImportView) -> None:
        """Ask how it is to be read where that is open, else show what would come of it."""
        if view.question and view.ways:
            self.choose_way(view)
            return
        is_ready = view.ready
        read(
            self.shell, Path(view.path).name, lambda width: self._rows(width, view),
            yes=say("import_days") if is_ready else "", yes_icon="save", then=self._take_in,
        )  # fmt: skip

    def choose_way(self, view: ImportView) -> None:
        """Ask which way it is to be read."""
        items = [(way.number, _differing(way, view.ways), "list") for way in view.ways]
        self.shell.open_choices(say("which_way"), items, self._look, view.question, view.chosen)

    def _take_in(self) -> None:
        self.keep("take_in_file", self.path, self.area.area_id, self.way)

    def _rows(self, width: float, view: ImportView) -> list[RowData]:
        rows = [*_problems(width, view), *_counts(width, view, self.area.name)]
        if view.sample:
            rows.append(head(width, say("first_days")))
            rows += [part_row(width, on.isoformat(), f"{low:.1f} – {high:.1f}") for on, low, high in view.sample]
        if view.ways:
            way = view.ways[view.chosen]
            can_choose = len(view.ways) > 1
            said = say("remembered") if view.remembered else ""
            rows.append(head(width, say("read_as")))
            rows.append(
                row(width, lambda _: self.choose_way(view), None, icon="correct", title=say("other_way"),
                    detail=_way_words(way), soft=said, trail="right")
                if can_choose
                else paragraph(width, _way_words(way))
            )  # fmt: skip
        return [*rows, *([paragraph(width, ", ".join(view.columns), say("columns"))] if view.columns else [])]


def _problems(width: float, view: ImportView) -> list[RowData]:
    if not view.problems:
        return []
    rows = [paragraph(width, say("cannot_import"), icon="late")]
    rows += [paragraph(width, reason, say("line_n", n=line), "dot") for line, reason in view.problems[:MOST_PROBLEMS]]
    more = len(view.problems) - MOST_PROBLEMS
    return [*rows, *([paragraph(width, say("more_problems", n=more))] if more > 0 else [])]


def _counts(width: float, view: ImportView, area: str) -> list[RowData]:
    if view.first_on is None or view.last_on is None:
        return []
    rows = [
        paragraph(width, say("file_span", first=view.first_on, last=view.last_on), say("into_area", area=area)),
        part_row(width, say("n_rows"), str(view.n_rows)),
        part_row(width, say("n_new"), str(view.n_new)),
        part_row(width, say("n_known"), str(view.n_known)),
        part_row(width, say("n_partial"), str(len(view.partial))),
    ]
    if not view.n_new and not view.problems:
        rows.append(paragraph(width, say("nothing_new"), icon="info"))
    return rows


def _differing(way: LayoutWay, ways: tuple[LayoutWay, ...]) -> str:
    """Return of a way what tells it apart from the others."""
    parts = {
        "value": way.value, "unit": way.unit, "when": way.when, "order": way.order,
        "decimal": say("decimal_is", sign=way.decimal),
    }  # fmt: skip
    told = [words for name, words in parts.items() if len({getattr(one, name) for one in ways}) > 1]
    return " · ".join(told) or _way_words(way)


def _way_words(way: LayoutWay) -> str:
    return say("way_is", value=way.value, unit=way.unit, when=way.when, order=way.order, decimal=way.decimal)


__all__ = ["Logger"]
