"""Prey: what is in stock, what eight weeks need, when it runs out, what fits whom; every figure tells its sum."""

from __future__ import annotations

from datetime import date, timedelta
from functools import partial
from typing import Any

from boxside.actions.ahead_words import weekday_text
from boxside.actions.wording import day_text
from boxside.core.values.ahead import BatchView, InstarPrey, PreyNeed, StockRow, Sum
from boxside.core.values.views import Saved
from boxside.ui.foretold import number_words, sum_rows, tell_sum, whole_words
from boxside.ui.keeping import Keeping
from boxside.ui.kv import load_kv
from boxside.ui.rows_page import RowsPage
from boxside.ui.screens.prey.batch import tell_batch
from boxside.ui.screens.prey.stocking import Stocking
from boxside.ui.widgets.figures import chart_rows
from boxside.ui.widgets.pages import RowsView, Turner  # noqa: F401  used by the kv file
from boxside.ui.widgets.reading import read
from boxside.ui.widgets.rows import RowData, head, paragraph, row, rows_width
from boxside.ui.words import say, say_n

SOON_DAYS = 14


class PreyScreen(RowsPage):
    """Shows one `PreyView`."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.keeping = Keeping(self.shell)

    def refresh(self, *_: Any) -> None:
        """Fetch what is shown anew."""
        self.ask("prey_view", then=self.show)

    def rows(self) -> list[RowData]:
        """Return the rows of the view."""
        width, view = rows_width(self.ids.rows), self.view
        return [
            row(width, self.log_stock, None, icon="add", title=say("log_stock"), detail=say("log_stock_hint"),
                trail="right"),
            *(paragraph(width, text, icon="caution") for text in view.cautions),
            *(data for need in view.needs for data in self._need(width, need)),
            *chart_rows(width, view.chart),
            head(width, say("in_stock")),
            *(self._stock(width, held) for held in view.stock),
            *([] if view.stock else [paragraph(width, say("no_stock"))]),
            *([head(width, say("fits_whom"))] if view.fits else []),
            *(self._fit(width, fit) for fit in view.fits),
            *(paragraph(width, text, icon="info") for text in view.notes),
        ]  # fmt: skip

    # ---- demand ----

    def _need(self, width: float, need: PreyNeed) -> list[RowData]:
        rows = [head(width, _capital(need.prey)), self._runs_out(width, need)]
        weeks = " · ".join(whole_words(week.value) for week in need.by_week)
        rows.append(
            row(width, self.tell_weeks, need, icon="prey",
                title=say("needed", n=whole_words(need.total.value), weeks=len(need.by_week)),
                detail=say("by_week", counts=weeks), trail="right")
        )  # fmt: skip
        if need.breeders is not None:
            rows.append(self._breeders(width, need, need.breeders))
        if need.bridge is not None:
            ready = say("ready_on", on=day_text(need.ready_on, self.view.from_on)) if need.ready_on else ""
            rows.append(
                row(width, partial(self._tell, say("bridge"), need.bridge), None, icon="pending",
                    title=say("bridge_n", n=whole_words(need.bridge.value)), detail=ready, trail="right")
            )  # fmt: skip
        return [*rows, *(paragraph(width, text, icon="caution") for text in need.cautions)]

    def _runs_out(self, width: float, need: PreyNeed) -> RowData:
        day = self.view.from_on
        tell_left = partial(self._tell, say("left"), need.left)
        if not need.counted:
            return row(width, tell_left, None, icon="unknown", title=say("not_counted"),
                       detail=say("not_counted_hint"), trail="right")  # fmt: skip
        if need.runs_out_on is None:
            left = say("left_after", n=whole_words(need.left.value), weeks=len(need.by_week))
            return row(width, tell_left, None, icon="check", title=say("lasts", n=whole_words(need.stock)),
                       detail=left, trail="right")  # fmt: skip
        first = say("goes_without", box=need.first_unfed) if need.first_unfed else ""
        return row(
            width, tell_left, None, icon="about", title=say("runs_out", on=weekday_text(need.runs_out_on, day)),
            detail=first, soft=say("stock_of", n=whole_words(need.stock)),
            is_late=need.runs_out_on - day <= timedelta(days=SOON_DAYS), trail="right",
        )  # fmt: skip

    def _breeders(self, width: float, need: PreyNeed, breeders: Sum) -> RowData:
        return row(
            width, partial(self.tell_breeders, breeders), need, icon="cohort", detail=say("set_aside_hint"),
            title=say("set_aside", n=whole_words(breeders.value)), trail="right",
        )  # fmt: skip

    def _tell(self, title: str, figure: Sum, _: Any) -> None:
        tell_sum(self.shell, title, figure, self.view.from_on)

    def tell_weeks(self, need: PreyNeed) -> None:
        """Show the weeks, each of which tells its sum."""

        def make(width: float) -> list[RowData]:
            whole = row(width, lambda _: self._tell(say("whole"), need.total, None), None, trail="right",
                        title=say("whole"), detail=number_words(need.total.value))  # fmt: skip
            weeks = [
                row(width, partial(self._tell, self._week(n), week), None, title=self._week(n),
                    detail=number_words(week.value), trail="right")
                for n, week in enumerate(need.by_week)
            ]  # fmt: skip
            return [*weeks, whole]

        read(self.shell, _capital(need.prey), make)

    def _week(self, n: int) -> str:
        first: date = self.view.from_on + timedelta(days=7 * n)
        return say("week_from", first=day_text(first, self.view.from_on))

    def tell_breeders(self, breeders: Sum, need: PreyNeed) -> None:
        """Show how many to set aside and why, and offer to note that it was done."""

        def make(width: float) -> list[RowData]:
            return [
                *sum_rows(width, breeders, self.view.from_on),
                paragraph(width, need.breeding_source, icon="info"),
            ]

        def ask() -> None:
            self.shell.open_number(
                say("breeders_now"), by_keypad=True, maximum=9999,
                then=lambda n: self._keep("enter_breeders", need.prey, n),
            )  # fmt: skip

        read(self.shell, say("to_set_aside"), make, yes=say("note_them"), yes_icon="note", then=ask)

    # ---- stock ----

    def _stock(self, width: float, held: StockRow) -> RowData:
        size = say("of_size", mm=number_words(held.size_mm)) if held.size_mm is not None else ""
        counted = say("counted_on", n=whole_words(held.counted), on=day_text(held.counted_on, self.view.from_on))
        quarantine = (
            say("quarantine_until", on=day_text(held.quarantine_until, self.view.from_on))
            if held.in_quarantine and held.quarantine_until
            else ""
        )
        unsaid = say_n("unsaid", held.unsaid) if held.unsaid else ""
        soft = "\n".join(part for part in (" · ".join(p for p in (size, held.origin) if p), quarantine, unsaid) if part)
        return row(
            width, self.open_stock, held, icon="quarantine" if held.in_quarantine else "prey",
            title=_capital(f"{held.prey} {held.batch}".strip()), soft=soft,
            detail=f"{say('n_left', n=whole_words(held.left))}, {counted}", trail="right",
        )  # fmt: skip

    def open_stock(self, held: StockRow) -> None:
        """Offer what can be done with a batch."""
        items = [("count", say("count_again"), "count"), ("came", say("some_came"), "add")]
        if held.batch:
            items.append(("ate", say("who_ate"), "feed"))

        def chosen(what: str) -> None:
            if what == "ate":
                self.ask("batch_view", held.batch, then=self._show_batch)
            else:
                Stocking(self.shell, self.view, self._enter).again(held, what)

        self.shell.open_choices(_capital(f"{held.prey} {held.batch}".strip()), items, chosen)

    def _show_batch(self, view: BatchView) -> None:
        tell_batch(self.shell, view, self.view.from_on)

    def log_stock(self, _: Any) -> None:
        """Ask what there is, then log it."""
        Stocking(self.shell, self.view, self._enter).begin()

    def _enter(self, *args: Any) -> None:
        self._keep("enter_stock", *args)

    def _keep(self, name: str, *args: Any) -> None:
        self.keeping.keep(name, args, self._kept)

    def _kept(self, saved: Saved) -> None:
        self.shell.saved(saved, self.refresh)

    # ---- what fits ----

    def _fit(self, width: float, fit: InstarPrey) -> RowData:
        said = [
            say("too_small", which=", ".join(fit.too_small)) if fit.too_small else "",
            say("too_large", which=", ".join(fit.too_large)) if fit.too_large else "",
        ]
        fits = say("fitting", which=", ".join(fit.fits)) if fit.fits else say("nothing_fits")
        return row(
            width, self.tell_fit, fit, icon="ruler", title=say("instar_of", instar=fit.instar, n=fit.n_larvae),
            detail=fits, soft="\n".join(text for text in said if text), is_late=not fit.fits, trail="right",
        )  # fmt: skip

    def tell_fit(self, fit: InstarPrey) -> None:
        """Show which rule says so."""
        title = say("instar_of", instar=fit.instar, n=fit.n_larvae)
        read(self.shell, title, lambda width: [paragraph(width, fit.reason, icon="ruler")])


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


load_kv(__file__)

__all__ = ["PreyScreen"]
