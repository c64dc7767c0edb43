"""A transfer: to a fresh box, the same code renewed, a box in use; all or some; split, or graded by size."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from boxside.core.values.season import Group, TransferDone, TransferDraft, TransferPart, TransferView
from boxside.ui.entering import next_code
from boxside.ui.flows.stop import Stop
from boxside.ui.words import say

MOST = 100000
FEW = 12


def move(stop: Stop) -> None:
    """Ask where the animals of a box go to and how many they are."""
    stop.ask("transfer_view", stop.box_id, then=lambda view: Move(stop, view).begin())


class Move:
    """One run through the questions of a transfer; `parts` are those that are settled."""

    def __init__(self, stop: Stop, view: TransferView) -> None:
        self.stop = stop
        self.view = view
        self.parts: list[TransferPart] = []
        self.size = ""
        self.is_split = self.is_graded = False

    @property
    def left(self) -> int:
        """How many are left to be moved, as far as is known."""
        return self.view.expected - sum(part.n or 0 for part in self.parts)

    def begin(self) -> None:
        """Ask for the way: one other box, or several."""
        view = self.view
        items: list[Any] = [
            ("fresh", say("fresh_box", code=view.next_label), "add"),
            ("renew", say("fresh_same", code=view.label), "renew"),
            ("used", say("box_in_use"), "box"),
            ("code", say("fresh_other"), "keypad"),
        ]
        if view.expected > 1:
            items += [("split", say("split"), "separate"), ("grade", say("grade"), "ruler")]
        self.stop.shell.open_choices(self.stop.title, items, self._chose_way, view.steps[0] if view.steps else "")

    def _chose_way(self, way: str) -> None:
        self.is_split, self.is_graded = way in ("split", "grade"), way == "grade"
        if self.is_split:
            self._next_part()
        else:
            self._chose_box(way)

    # ---- several boxes ----

    def _next_part(self) -> None:
        """Ask for the next part of a split, by size first where they are graded."""
        if self.parts and self.left <= 0:
            self._finish(empties=True)
            return
        rest = [("rest", say("rest_stays", box=self.view.label), "left")] if self.parts else []
        if self.is_graded:
            done = {part.size for part in self.parts}
            sizes = [(key, words, "ruler") for key, words in self.view.sizes if key not in done]
            if not sizes:
                self._finish(empties=self.left <= 0)
                return
            self.stop.shell.open_choices(self._left_words(), [*sizes, *rest], self._chose_size, self._so_far())
            return
        items = [
            ("fresh", say("fresh_box", code=self._free_code()), "add"), ("used", say("box_in_use"), "box"),
            ("code", say("fresh_other"), "keypad"), *rest,
        ]  # fmt: skip
        self.stop.shell.open_choices(self._left_words(), items, self._chose_box, self._so_far())

    def _chose_size(self, size: str) -> None:
        if size == "rest":
            self._finish(empties=False)
            return
        self.size = size
        items = [
            ("fresh", say("fresh_box", code=self._free_code()), "add"), ("used", say("box_in_use"), "box"),
            ("code", say("fresh_other"), "keypad"),
        ]  # fmt: skip
        title = say("size_where", size=dict(self.view.sizes)[size])
        self.stop.shell.open_choices(title, items, self._chose_box, self._so_far())

    def _left_words(self) -> str:
        return say("to_move", n=max(0, self.left), box=self.view.label)

    def _so_far(self) -> str:
        return ", ".join(f"{part.n} → {self._home(part)}" for part in self.parts)

    def _home(self, part: TransferPart) -> str:
        return part.to_label or next((t.label for t in self.view.targets if t.box_id == part.to_box), "")

    def _free_code(self) -> str:
        code = self.view.next_label
        while code in {part.to_label for part in self.parts}:
            code = next_code(code)
        return code

    # ---- one box ----

    def _chose_box(self, way: str) -> None:
        if way == "rest":
            self._finish(empties=False)
        elif way == "used":
            self._ask_used()
        elif way == "code":
            shell = self.stop.shell
            take = lambda code: self._ask_group(TransferPart(to_label=code, size=self.size))  # noqa: E731
            shell.open_code(say("code"), say("ok"), take, hint=say("code_hint"), value=self._free_code())
        else:
            label = self.view.label if way == "renew" else self._free_code()
            self._ask_group(TransferPart(to_label=label, size=self.size))

    def _ask_used(self, search: str = "") -> None:
        """Offer the boxes in use, empty ones first; where there are many, by the code on the lid."""
        targets = [target for target in self.view.targets if search.upper() in target.label.upper()]
        if len(targets) > FEW and not search:
            self.stop.shell.open_code(say("box_in_use"), say("find"), self._ask_used, hint=say("find_hint"))
            return
        items = [(t.box_id, f"{t.label}  {t.who}", "empty" if t.is_empty else "box") for t in targets]
        self.stop.shell.open_choices(
            say("box_in_use"), items, lambda box: self._ask_group(TransferPart(to_box=box, size=self.size)),
            "" if items else say("no_boxes_found"),
        )  # fmt: skip

    def _ask_group(self, part: TransferPart) -> None:
        """Ask which animals where the box holds several groups."""
        groups = self.view.groups
        if len(groups) < 2:
            self._ask_n(part, None)
            return

        def chosen(at: int) -> None:
            if at < 0:
                self._ask_n(part, None)
                return
            group = groups[at]
            sex = "" if group.sex == "unknown" else group.sex
            only = replace(part, cohort=group.cohort, stage=group.stage, instar=group.instar, sex=sex)
            self._ask_n(only, group)

        items: list[Any] = [(-1, say("all_groups"), "cohort")]
        items += [(at, group.label, group.stage) for at, group in enumerate(groups)]
        self.stop.shell.open_choices(f"{self.stop.title}: {say('which')}", items, chosen)

    def _ask_n(self, part: TransferPart, group: Group | None) -> None:
        """Ask how many: as a rule all of them, counted as they go over."""
        n = group.n if group else self.left
        if n < 1:
            self._ask_number(part, empties=True)
            return
        title = f"{self.stop.title} → {self._home(part)}"
        if self.is_split:
            self.stop.shell.open_number(
                title, by_keypad=True, minimum=1, maximum=MOST, can_skip=True, blank=say("the_rest", n=n),
                then=lambda typed: self._take_part(part, n if typed is None else typed),
            )  # fmt: skip
            return
        items = [
            ("all", say("all_counted", n=n), "check"), ("number", say("all_number"), "keypad"),
            ("some", say("some_stay"), "separate"), ("about", say("all_uncounted"), "about"),
        ]  # fmt: skip

        def chosen(how: str) -> None:
            if how in ("number", "some"):
                self._ask_number(part, empties=how == "number")
                return
            self.parts = [replace(part, n=n if how == "all" else None)]
            self._finish(empties=True, counted=how == "all")

        hint = self.view.steps[1] if len(self.view.steps) > 1 else ""
        self.stop.shell.open_choices(title, items, chosen, hint)

    def _ask_number(self, part: TransferPart, empties: bool) -> None:
        def take(n: int) -> None:
            self.parts = [replace(part, n=n)]
            self._finish(empties)

        title = f"{self.stop.title} → {self._home(part)}"
        self.stop.shell.open_number(title, by_keypad=empties, minimum=1, maximum=MOST, then=take)

    def _take_part(self, part: TransferPart, n: int) -> None:
        self.parts.append(replace(part, n=n))
        self._next_part()

    def _finish(self, empties: bool, counted: bool = True) -> None:
        draft = TransferDraft(
            self.stop.box_id, tuple(self.parts), empties=empties, counted=counted,
            visit=self.stop.visit or self.view.visit,
        )  # fmt: skip
        self.stop.keep("transfer", (draft, self.stop.passed), self._done)

    def _done(self, done: TransferDone) -> None:
        self.stop.kept(done.flow, done.sentence, done.checks)


__all__ = ["move"]
