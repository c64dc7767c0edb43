"""Eggs that were laid: how many, how sure, a new clutch or more of an earlier one, and who may have laid them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from boxside.core.values.season import ClutchDraft, ClutchView
from boxside.ui.flows.groups import pick_several
from boxside.ui.flows.stop import Stop
from boxside.ui.words import say

SURE = ("counted", "estimated", "assumed")
SURE_ICONS = {"counted": "count", "estimated": "about", "assumed": "unknown"}
MOST = 100000

Take = Callable[[ClutchDraft], None]


def lay(stop: Stop) -> None:
    """Ask for a clutch's eggs and parents, as far as they are not plain."""
    stop.ask("clutch_view", stop.box_id, then=lambda view: Clutch(stop, view).begin())


class Clutch:
    """One run through the questions of a clutch."""

    def __init__(self, stop: Stop, view: ClutchView) -> None:
        self.stop = stop
        self.view = view

    def begin(self) -> None:
        """Ask for the number of eggs."""
        draft = ClutchDraft(self.stop.box_id, 0, visit=self.stop.visit or self.view.visit)
        self.stop.shell.open_number(
            self.stop.title, hint=say("eggs_hint"), by_keypad=True, minimum=1, maximum=MOST,
            then=lambda n: self._ask_sure(replace(draft, n=n)),
        )  # fmt: skip

    def _ask_sure(self, draft: ClutchDraft) -> None:
        items = [(key, say(f"sure_{key}"), SURE_ICONS[key]) for key in SURE]
        self.stop.shell.open_choices(
            say("sure"), items, lambda key: self._ask_clutch(replace(draft, quality=key)), self.stop.title
        )

    def _ask_clutch(self, draft: ClutchDraft) -> None:
        ask_which(self.stop.shell, self.view, self.stop.title, draft, self._ask_dams, self._save)

    def _ask_dams(self, draft: ClutchDraft) -> None:
        dams = {dam.cohort: dam for dam in self.view.dams}
        if len(dams) < 2:
            self._save(draft)
            return

        def picked(keys: tuple[str, ...]) -> None:
            self._save(replace(draft, dams=tuple(dams[key] for key in keys)))

        items = [(key, f"{dam.name} ({dam.n})") for key, dam in dams.items()]
        pick_several(self.stop, say("laid_by"), items, 1, picked)

    def _save(self, draft: ClutchDraft) -> None:
        self.stop.keep("lay_clutch", (draft, self.stop.passed), self.stop.kept)


def ask_which(
    shell: Any, view: ClutchView, title: str, draft: ClutchDraft, fresh: Take, more: Take
) -> None:  # fmt: skip
    """Ask whether eggs are a new clutch, which goes to `fresh`, or more of one in the box, which goes to `more`."""
    if not view.clutches:
        fresh(draft)
        return
    items: list[Any] = [("", say("clutch_new", name=view.next_name), "add")]
    items += [(key, say("clutch_more", name=name), "egg") for key, name in view.clutches]

    def chosen(clutch: str) -> None:
        if clutch:
            more(replace(draft, clutch_id=clutch))
        else:
            fresh(draft)

    shell.open_choices(say("clutch"), items, chosen, title)


__all__ = ["MOST", "SURE", "SURE_ICONS", "ask_which", "lay"]
