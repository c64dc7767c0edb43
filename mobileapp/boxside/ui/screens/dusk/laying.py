"""Eggs on an evening: how many, how sure, and whose they are thought to be, as a proposal that can be changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from boxside.core.values.dusk import Candidate, DuskRow
from boxside.core.values.season import ClutchDraft, ClutchView, Flow
from boxside.core.values.season import Parent as Laid
from boxside.core.values.views import Notice
from boxside.ui.flows.clutch import MOST, SURE, SURE_ICONS, ask_which
from boxside.ui.widgets.sheet import ResultSheet
from boxside.ui.words import say, say_n


@dataclass(frozen=True)
class Whose:
    """Whose a clutch is thought to be: possible dams and sires, how many of each had a part in it."""

    dams: tuple[Candidate, ...]
    sires: tuple[Candidate, ...]
    n_dams: int = 1
    n_sires: int = 1

    @property
    def most_dams(self) -> int:
        """How many females come into question."""
        return sum(dam.n for dam in self.dams)

    @property
    def most_sires(self) -> int:
        """How many males come into question."""
        return sum(sire.n for sire in self.sires)

    @property
    def laid_by(self) -> str:
        """What the log calls it."""
        return "female" if self.n_dams == 1 else "group" if self.n_dams >= self.most_dams else "some"


def lay(screen: Any, row: DuskRow, button: Any) -> None:
    """Ask for eggs in a box and save them as a clutch."""

    def whose(view: ClutchView) -> None:
        screen.ask("possible_parents", row.box_id, then=lambda found: Laying(screen, row, button, view, found).begin())

    screen.ask("clutch_view", row.box_id, then=whose)


class Laying:
    """One run through the questions."""

    def __init__(
        self, screen: Any, row: DuskRow, button: Any, view: ClutchView, found: Sequence[Candidate]
    ) -> None:  # fmt: skip
        self.screen, self.shell, self.row, self.button, self.view = screen, screen.shell, row, button, view
        self.title = f"{row.label}: {say('eggs_laid')}"
        dams = tuple(one for one in found if one.sex == "female")
        sires = tuple(one for one in found if one.sex == "male")
        self.whose = Whose(dams, sires)

    def begin(self) -> None:
        """Ask for the number of eggs."""
        draft = ClutchDraft(self.row.box_id, 0, visit=self.view.visit)
        self.shell.open_number(
            self.title, hint=say("eggs_hint"), by_keypad=True, minimum=1, maximum=MOST,
            then=lambda n: self._ask_sure(replace(draft, n=n)),
        )  # fmt: skip

    def _ask_sure(self, draft: ClutchDraft) -> None:
        items = [(key, say(f"sure_{key}"), SURE_ICONS[key]) for key in SURE]
        self.shell.open_choices(
            say("sure"), items, lambda key: self._ask_clutch(replace(draft, quality=key)), self.title
        )

    def _ask_clutch(self, draft: ClutchDraft) -> None:
        ask_which(self.shell, self.view, self.title, draft, self._propose, self._save)

    # ---- whose ----

    def _propose(self, draft: ClutchDraft) -> None:
        """Show who is thought to be the parents, to be saved or changed."""
        sure = say(f"sure_{draft.quality}").lower()
        self.shell.open_sheet(
            ResultSheet(
                title=self.title, out=say("cancel"),
                sentence=say("clutch_is", n=draft.n, sure=sure, name=self.view.next_name),
                figures=f"{say('mothers')}: {self._dams()}\n{say('fathers')}: {self._sires()}",
                checks=[say("whose_hint")], no=say("change"), no_icon="correct", then_no=lambda: self._change(draft),
                yes=say("save"), yes_icon="save", then_yes=lambda: self._save(draft),
            )
        )  # fmt: skip

    def _dams(self) -> str:
        return _said(self.whose.n_dams, self.whose.dams, say("mothers_unknown"))

    def _sires(self) -> str:
        return _said(self.whose.n_sires, self.whose.sires, say("fathers_unknown"))

    def _change(self, draft: ClutchDraft) -> None:
        """Ask what to change: who can be a parent, and how many were."""
        whose = self.whose
        items: list[Any] = []
        if whose.most_dams > 1:
            items.append(("n_dams", f"{say('mothers')}: {self._dams()}", "female"))
        if whose.most_sires > 1:
            items.append(("n_sires", f"{say('fathers')}: {self._sires()}", "male"))
        if len(whose.dams) > 1:
            items += [(dam, say("not_parent", who=_one(dam)), "close") for dam in whose.dams]
        if len(whose.sires) > 1:
            items += [(sire, say("not_parent", who=_one(sire)), "close") for sire in whose.sires]
        if not items:
            self.shell.show(Notice(say("nothing_to_choose"), self._dams(), self._sires()), out=say("ok"))
            self.shell.sheet._left = lambda: self._propose(draft)
            return
        self.shell.open_choices(say("whose"), items, lambda what: self._changed(draft, what), self.title)

    def _changed(self, draft: ClutchDraft, what: Any) -> None:
        if isinstance(what, Candidate):
            dams = tuple(dam for dam in self.whose.dams if dam != what)
            sires = tuple(sire for sire in self.whose.sires if sire != what)
            self.whose = Whose(dams, sires)
            self._propose(draft)
            return
        most = self.whose.most_dams if what == "n_dams" else self.whose.most_sires

        def take(n: int) -> None:
            self.whose = replace(self.whose, n_dams=n) if what == "n_dams" else replace(self.whose, n_sires=n)
            self._propose(draft)

        self.shell.open_number(
            say("how_many_dams" if what == "n_dams" else "how_many_sires"), value=getattr(self.whose, what), minimum=1,
            maximum=most, then=take,
        )  # fmt: skip

    # ---- saving ----

    def _save(self, draft: ClutchDraft) -> None:
        self.screen.keeping.keep("lay_clutch", (self._with_parents(draft),), self._confirm, self.button)

    def _with_parents(self, draft: ClutchDraft) -> ClutchDraft:
        """Return a new clutch with who comes into question, and how many of them were its parents."""
        whose = self.whose
        if draft.clutch_id:
            return draft
        full = replace(draft, dams=_laid(whose.dams), sires=_laid(whose.sires))
        if max(whose.most_dams, whose.most_sires) < 2:
            return full
        return replace(
            full, laid_by=whose.laid_by, n_dams=whose.n_dams if whose.laid_by == "some" else None,
            n_sires=whose.most_sires or None, males_per_clutch=whose.n_sires,
        )  # fmt: skip

    def _confirm(self, flow: Flow) -> None:
        self.shell.flow_saved(flow, self.screen.take)


def _laid(candidates: Sequence[Candidate]) -> tuple[Laid, ...]:
    return tuple(Laid(one.cohort_id, one.n, one.cohort) for one in candidates)


def _one(candidate: Candidate) -> str:
    n, who = candidate.n, candidate.cohort
    return say_n("females_of", n, who=who) if candidate.sex == "female" else say_n("males_of", n, who=who)


def _said(n: int, candidates: Sequence[Candidate], unknown: str) -> str:
    """Return `1 of 3: 2 of 2026 A, 1 of 2026 B`."""
    if not candidates:
        return unknown
    most = sum(one.n for one in candidates)
    if len(candidates) == 1 and most > 1:
        return say("n_of_the", n=min(n, most), most=most, who=candidates[0].cohort)
    who = ", ".join(say("n_of", n=one.n, who=one.cohort) for one in candidates)
    return who if most == 1 else say("n_among", n=min(n, most), most=most, who=who)


__all__ = ["Laying", "Whose", "lay"]
