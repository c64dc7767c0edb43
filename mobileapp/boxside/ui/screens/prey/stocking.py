"""Logs prey: which kind, how many are there or came, which batch, how large, how long in quarantine."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from boxside.actions.meals import UNSAID
from boxside.core.values.ahead import NewStock, PreyView, StockRow
from boxside.ui.words import say, say_n

Enter = Callable[[NewStock, int], None]
MOST = 99999
QUARANTINE_DAYS = (7, 14, 28)
USUAL_DAYS = 14


class Stocking:
    """One run through the questions; `enter` gets the batch and its days of quarantine."""

    def __init__(self, shell: Any, view: PreyView, enter: Enter) -> None:
        self.shell = shell
        self.view = view
        self.enter = enter

    def begin(self) -> None:
        """Ask which kind it is."""
        kinds = dict.fromkeys([*(held.prey for held in self.view.stock), *(need.prey for need in self.view.needs)])
        items = [(kind, kind[:1].upper() + kind[1:], "prey") for kind in kinds if kind != UNSAID]
        if not items:
            self._other_kind()
            return

        def chosen(kind: str) -> None:
            if kind:
                self._how(NewStock(kind))
            else:
                self._other_kind()

        self.shell.open_choices(say("prey_kind"), [*items, ("", say("another_kind"), "add")], chosen)

    def again(self, held: StockRow, how: str) -> None:
        """Ask how many of a batch there are now, or came."""
        self._n(NewStock(held.prey, batch=held.batch), how, lambda new: self.enter(new, 0))

    def _other_kind(self) -> None:
        self.shell.open_text(say("prey_kind"), "", lambda text: self._how(NewStock(text)) if text else None)

    def _how(self, new: NewStock) -> None:
        items = [("count", say("there_are"), "count"), ("came", say("some_came"), "add")]
        self.shell.open_choices(new.prey, items, lambda how: self._n(new, how, self._batch))

    def _n(self, new: NewStock, how: str, then: Callable[[NewStock], None]) -> None:
        def take(n: int) -> None:
            then(replace(new, n=n) if how == "count" else replace(new, added=n))

        title = say("there_are" if how == "count" else "some_came")
        self.shell.open_number(title, by_keypad=True, minimum=0 if how == "count" else 1, maximum=MOST, then=take)

    def _batch(self, new: NewStock) -> None:
        known = dict.fromkeys(held.batch for held in self.view.stock if held.prey == new.prey and held.batch)
        items: list[Any] = [(batch, batch, "prey") for batch in known]
        items += [(None, say("batch_new"), "keypad"), ("", say("batch_none"), "right")]

        def chosen(batch: str | None) -> None:
            if batch is None:
                self.shell.open_code(
                    say("batch_new"), say("ok"), lambda code: self._size(replace(new, batch=code)),
                    hint=say("batch_hint"),
                )  # fmt: skip
            else:
                self._size(replace(new, batch=batch))

        self.shell.open_choices(say("which_batch"), items, chosen, say("batch_why"))

    def _size(self, new: NewStock) -> None:
        known = next((h.size_mm for h in self.view.stock if (h.prey, h.batch) == (new.prey, new.batch)), None)
        self.shell.open_number(
            say("size_mm"), by_keypad=True, whole=False, can_skip=True, minimum=0.1, maximum=500, unit="mm",
            typed="" if known is None else f"{known:g}",
            then=lambda size: self._quarantine(replace(new, size_mm=size)),
        )  # fmt: skip

    def _quarantine(self, new: NewStock) -> None:
        items: list[Any] = [(0, say("none"), "check")]
        items += [(days, say_n("weeks", days // 7), "quarantine") for days in QUARANTINE_DAYS]
        items.append((-1, say("days_other"), "keypad"))

        def chosen(days: int) -> None:
            if days < 0:
                self.shell.open_number(
                    say("quarantine_for"), value=USUAL_DAYS, minimum=1, maximum=365, unit=say("days"),
                    then=lambda n: self.enter(new, n),
                )  # fmt: skip
            else:
                self.enter(new, days)

        self.shell.open_choices(say("quarantine_for"), items, chosen, say("quarantine_why"))


__all__ = ["Stocking"]
