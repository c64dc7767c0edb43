"""Animals that go on to a stage: hatched, moulted, prepupa, pupated, emerged; all of them or some."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from boxside.core.values.season import Group, StageDraft, StageOffer, StageView
from boxside.ui.flows.stop import Stop
from boxside.ui.words import say

TO = {"hatched": "larva", "moulted": "larva", "prepupa": "prepupa", "pupated": "pupa", "emerged": "adult"}
FROM = {
    "hatched": ("egg",), "moulted": ("larva",), "prepupa": ("larva",), "pupated": ("larva", "prepupa"),
    "emerged": ("pupa",),
}  # fmt: skip
MOST = 100000
LAST_INSTAR = 9
BY_KEYPAD_FROM = 40


def change(stop: Stop) -> None:
    """Ask how many, and what can be told of them; several cohorts are told apart."""
    stop.ask("stage_view", stop.box_id, then=lambda view: Change(stop, view).begin())


class Change:
    """One run through the questions of a change of stage."""

    def __init__(self, stop: Stop, view: StageView) -> None:
        self.stop = stop
        self.view = view
        self.kind = stop.act.kind
        self.groups = [group for group in view.groups if group.stage in FROM[self.kind]]

    @property
    def offer(self) -> StageOffer:
        """What the box offers for this stage; nothing to speak of where no animal is expected to be able to."""
        to, is_moult = TO[self.kind], self.kind == "moulted"
        fitting = [o for o in self.view.offers if o.to == to and bool(o.instar) is is_moult]
        return fitting[0] if fitting else StageOffer(to, self.stop.act.label, 0, has_sex=to in ("pupa", "adult"))

    def begin(self) -> None:
        """Ask for the cohort where there are several."""
        draft = StageDraft(self.stop.box_id, TO[self.kind], visit=self.stop.visit or self.view.visit)
        cohorts = {group.cohort: group for group in self.groups}
        if len(cohorts) < 2:
            self._ask_n(draft, self.offer.most)
            return

        def chosen(cohort: str) -> None:
            self._ask_n(replace(draft, cohort=cohort), self._most(self.groups, cohort))

        items = [(cohort, self._said(cohort), "cohort") for cohort in cohorts]
        self.stop.shell.open_choices(f"{self.stop.title}: {say('which')}", items, chosen)

    def _said(self, cohort: str) -> str:
        named = next(group.cohort_name for group in self.groups if group.cohort == cohort)
        return f"{named} ({self._most(self.groups, cohort)})"

    @staticmethod
    def _most(groups: list[Group], cohort: str) -> int:
        return sum(group.n for group in groups if group.cohort == cohort)

    def _ask_n(self, draft: StageDraft, most: int) -> None:
        self.stop.shell.open_number(
            self.stop.title, minimum=1, maximum=MOST, value=1, can_skip=most > 1, blank=say("all_n", n=most),
            by_keypad=self.kind == "hatched" or most > BY_KEYPAD_FROM,
            then=lambda n: self._ask_more(replace(draft, n=n)),
        )  # fmt: skip

    def _ask_more(self, draft: StageDraft) -> None:
        offer = self.offer
        if self.kind == "moulted":
            self._ask_instar(draft, offer.instar)
        elif offer.has_sex:
            items: list[Any] = [(sex, say(sex), sex) for sex in ("female", "male")]
            items.append(("", say("sex_unknown"), "unknown"))
            self.stop.shell.open_choices(
                f"{self.stop.title}: {say('sex')}", items, lambda sex: self._save(replace(draft, sex=sex))
            )
        else:
            self._save(draft)

    def _ask_instar(self, draft: StageDraft, likely: int) -> None:
        items = [(n, say("instar_short", n=n).capitalize(), "moult") for n in range(2, LAST_INSTAR + 1)]
        self.stop.shell.open_choices(
            f"{self.stop.title}: {say('to_instar')}", items, lambda n: self._save(replace(draft, instar=n)),
            "", likely or None,
        )  # fmt: skip

    def _save(self, draft: StageDraft) -> None:
        corrected = replace(draft, as_correction=True)
        passed = self.stop.passed
        self.stop.keep("change_stage", (draft, passed), self.stop.kept, corrected=(corrected, passed))


__all__ = ["change"]
