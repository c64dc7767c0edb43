"""Export: which days, whose records, for what; then where the files are, and how they get elsewhere."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from functools import partial
from pathlib import Path
from typing import Any

from kivy.clock import Clock
from kivy.properties import ListProperty, ObjectProperty, StringProperty

from boxside.core.values.carry import ExportForm, Flavour, SeasonChoice
from boxside.ui.kv import load_kv
from boxside.ui.moments import ask_date
from boxside.ui.outside import hand_over
from boxside.ui.shell import Page
from boxside.ui.widgets.pages import RowsView, Turner  # noqa: F401  used by the kv file
from boxside.ui.widgets.rows import RowData, head, paragraph, row, rows_width
from boxside.ui.widgets.several import ask_several
from boxside.ui.words import say, say_n
from boxside.ui.working import work

FOLDER = "exports"
MOST_NAMES = 4


class ExportScreen(Page):
    """Holds one `SeasonChoice`, a row for each part of it, and writes it out."""

    form = ObjectProperty(None, allownone=True)
    choice = ObjectProperty(SeasonChoice())
    data = ListProperty([])
    back_to = StringProperty("season")

    def __init__(self, **kwargs: Any) -> None:
        self._remeasure = Clock.create_trigger(self._lay)
        super().__init__(**kwargs)
        self.ids.rows.fbind("width", self._remeasure)
        self.fbind("choice", self._remeasure)

    def enter(self, from_day: date | None = None, to_day: date | None = None, cohort: str = "", **_: Any) -> None:
        """Begin with what the season showed; how it is written stays as it was chosen last."""
        cohorts = (cohort,) if cohort else ()
        self.choice = replace(self.choice, from_day=from_day, to_day=to_day, boxes=(), cohorts=cohorts)
        self.ids.rows.scroll_y = 1
        self.ask("export_form", then=self.show)

    def show(self, form: ExportForm) -> None:
        """Show what can be chosen."""
        if self.form is None:
            self.choice = replace(self.choice, decimal=form.decimal)
        self.form = form
        self._lay()

    def _lay(self, *_: Any) -> None:
        if self.form is None:
            return
        width = rows_width(self.ids.rows)
        self.data = [*self._what(width), *self._how(width), *self._with(width), *self._cautions(width)]

    # ---- rows ----

    def _what(self, width: float) -> list[RowData]:
        return [
            row(width, self.choose_days, None, icon="season", title=say("which_days"), detail=self._days(),
                trail="right"),
            row(width, self.choose_whose, None, icon="box", title=say("whose_records"), detail=self._whose(),
                trail="right"),
        ]  # fmt: skip

    def _how(self, width: float) -> list[RowData]:
        flavour = dict(self.form.flavours)[str(self.choice.flavour)]
        rows = [
            row(width, self.choose_flavour, None, icon="list", title=say("for_what"), detail=flavour, trail="right")
        ]
        if self.choice.flavour is Flavour.SPREADSHEET:
            example = dict(self.form.decimals)[self.choice.decimal]
            rows.append(
                row(width, self.choose_decimal, None, icon="count", title=say("decimal_sign"), detail=example,
                    trail="right")
            )  # fmt: skip
        return rows

    def _with(self, width: float) -> list[RowData]:
        photos = say_n("export_photos", self.form.n_photos)
        hints = {"photos": photos, "report": say("export_report"), "darwin_core": say("export_darwin_core")}
        return [head(width, say("with_it")), *(self._switch(width, name, hint) for name, hint in hints.items())]

    def _switch(self, width: float, name: str, hint: str) -> RowData:
        is_on = bool(getattr(self.choice, name))
        title = f"{say(f'with_{name}')}: {say('yes' if is_on else 'no')}"
        return row(width, self.switch, name, icon="check" if is_on else "add", title=title, detail=hint)

    def _cautions(self, width: float) -> list[RowData]:
        return [paragraph(width, text, icon="caution") for text in self.form.cautions]

    def _days(self) -> str:
        first, last = self.choice.from_day, self.choice.to_day
        named = next((name for name, *days in self.form.seasons if days == [first, last]), "")
        if first is None and last is None:
            return say("all_days")
        days = say("days_from_to", first=first or say("the_beginning"), last=last or say("today"))
        return f"{named}: {days}" if named else days

    def _whose(self) -> str:
        ids, names = self.choice.boxes or self.choice.cohorts, dict((*self.form.boxes, *self.form.cohorts))
        if not ids:
            return say("all_of_them")
        shown = ", ".join(names.get(one, "?") for one in ids[:MOST_NAMES])
        more = len(ids) - MOST_NAMES
        return say("and_more", some=shown, n=more) if more > 0 else shown

    # ---- choosing ----

    def choose_days(self, _: Any) -> None:
        """Ask for a season, everything, or a first and a last day."""
        items = [
            (partial(self._set_days, None, None), say("all_days"), "history"),
            *((partial(self._set_days, *days), name, "season") for name, *days in self.form.seasons),
            (self._ask_first, say("other_days"), "today"),
        ]
        self.shell.open_choices(say("which_days"), items, lambda way: way())

    def _set_days(self, first: date | None, last: date | None) -> None:
        self.choice = replace(self.choice, from_day=first, to_day=last)

    def _ask_first(self) -> None:
        start = self.choice.from_day or self.form.first_on or date(2000, 1, 1)
        ask_date(self.shell, say("day_first"), start, self._ask_last)

    def _ask_last(self, first: date) -> None:
        known = self.choice.to_day or self.form.last_on or first

        def chosen(last: date) -> None:
            self._set_days(min(first, last), max(first, last))

        ask_date(self.shell, say("day_last"), max(first, known), chosen)

    def choose_whose(self, _: Any) -> None:
        """Ask whether all, some boxes or some cohorts are meant, then which."""
        ways: dict[str, tuple[str, str, Callable[[], None]]] = {
            "all": (say("all_of_them"), "shelf", partial(self._take, (), ())),
            "boxes": (say("some_boxes"), "box", self._ask_boxes),
            "cohorts": (say("some_cohorts"), "cohort", self._ask_cohorts),
        }
        items = [(way, words, icon) for way, (words, icon, _) in ways.items()]
        self.shell.open_choices(say("whose_records"), items, lambda way: ways[way][2]())

    def _ask_boxes(self) -> None:
        ask_several(
            self.shell, say("some_boxes"), self.form.boxes, self.choice.boxes, say("all_of_them"),
            lambda boxes: self._take(boxes, ()),
        )  # fmt: skip

    def _ask_cohorts(self) -> None:
        ask_several(
            self.shell, say("some_cohorts"), self.form.cohorts, self.choice.cohorts, say("all_of_them"),
            lambda cohorts: self._take((), cohorts),
        )  # fmt: skip

    def _take(self, boxes: tuple[str, ...], cohorts: tuple[str, ...]) -> None:
        self.choice = replace(self.choice, boxes=boxes, cohorts=cohorts)

    def choose_flavour(self, _: Any) -> None:
        """Ask what the tables are for."""
        items = [(key, words, "list") for key, words in self.form.flavours]
        take = lambda key: setattr(self, "choice", replace(self.choice, flavour=Flavour(key)))  # noqa: E731
        self.shell.open_choices(say("for_what"), items, take, "", str(self.choice.flavour))

    def choose_decimal(self, _: Any) -> None:
        """Ask for the decimal sign of the spreadsheet."""
        items = [(sign, words, "count") for sign, words in self.form.decimals]
        take = lambda sign: setattr(self, "choice", replace(self.choice, decimal=sign))  # noqa: E731
        self.shell.open_choices(say("decimal_sign"), items, take, "", self.choice.decimal)

    def switch(self, name: str) -> None:
        """Take photos, page or Darwin Core tables with it, or leave them out."""
        self.choice = replace(self.choice, **{name: not getattr(self.choice, name)})

    # ---- writing ----

    def write(self) -> None:
        """Write the files, say where they are, and offer to share or save them."""
        out = Path(self.shell.services.device.data_dir) / FOLDER / self._name()
        work(self.shell, "export_chosen", out, self.choice, title=say("exporting"), then=self._written, can_stop=False)

    def _name(self) -> str:
        first, last = self.choice.from_day, self.choice.to_day
        days = "everything" if first is None and last is None else f"{first or 'begin'}_{last or 'today'}"
        return f"{days}-spreadsheet" if self.choice.flavour is Flavour.SPREADSHEET else days

    def _written(self, exported: Any) -> None:
        n_rows = sum(n for _, n in exported.rows)
        parts = [say("exported", tables=len(exported.rows), rows=f"{n_rows:,}")]
        parts += [say_n("exported_photos", exported.photos)] if exported.photos else []
        parts += [say("exported_report")] if exported.report else []
        parts += [say("exported_darwin_core")] if exported.darwin_core else []
        hand_over(self.shell, " ".join(parts), [exported.path.parent], say("exported_do"))


load_kv(__file__)

__all__ = ["FOLDER", "ExportScreen"]
