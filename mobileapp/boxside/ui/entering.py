"""Asks what lives in a box that is being entered: stage, number, instar, last fed; a few taps each."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from boxside.core.values.views import NewBox, NewBoxView
from boxside.ui.words import say, say_n

Take = Callable[[NewBox], None]
FEEDS = "larva"
STEPS = ("stage", "n", "instar", "fed")


def next_code(label: str) -> str:
    """Return the code after this one: its last number and one, with as many digits; unchanged without one."""
    digits = len(label) - len(label.rstrip("0123456789"))
    if not digits:
        return label
    return f"{label[:-digits]}{int(label[-digits:]) + 1:0{digits}d}"


def named(pairs: Any, key: str) -> str:
    """Return the words of a key among (key, words) pairs; empty where it is not there."""
    return dict(pairs).get(key, "")


def said_fed(new: NewBox) -> str:
    """Return when it was last fed, in words."""
    if new.fed == "about" and new.fed_days is not None:
        return say_n("fed_days", new.fed_days)
    return say("fed_today" if new.fed == "today" else "fed_unknown")


def summary(new: NewBox, view: NewBoxView) -> str:
    """Return in one line what lives in a box."""
    if not new.stage:
        return say("nothing_stage")
    parts = [f"{say('n_unknown') if new.n is None else new.n} · {named(view.stages, new.stage)}"]
    if new.instar is not None:
        parts.append(say("instar_short", n=new.instar))
    if new.stage == FEEDS:
        parts.append(said_fed(new))
    return " · ".join(parts)


class Entering:
    """Asks for the parts of a new box; each answer is a `NewBox` with that part changed."""

    def __init__(self, shell: Any, view: NewBoxView) -> None:
        self.shell = shell
        self.view = view

    def ask_all(self, new: NewBox, take: Take) -> None:
        """Ask the parts that its stage has, one after another."""
        self._from(0, new, take)

    def _from(self, at: int, new: NewBox, take: Take) -> None:
        if at >= len(STEPS) or (at > 0 and not new.stage):
            take(new)
            return
        step = STEPS[at]
        if step in ("instar", "fed") and new.stage != FEEDS:
            self._from(at + 1, new, take)
            return
        getattr(self, f"ask_{step}")(new, lambda changed: self._from(at + 1, changed, take))

    def ask_stage(self, new: NewBox, take: Take) -> None:
        """Ask what lives in it."""
        items = [(key, name, key) for key, name in self.view.stages]
        items.append(("", say("nothing_stage"), "empty"))

        def chosen(stage: str) -> None:
            kept = new if stage == FEEDS else replace(new, instar=None, fed="unknown", fed_days=None)
            take(replace(kept, stage=stage))

        self.shell.open_choices(say("stage"), items, chosen, new.label, new.stage or None)

    def ask_n(self, new: NewBox, take: Take) -> None:
        """Ask about how many there are."""
        self.shell.open_number(
            say("how_many"), hint=say("how_many_hint"), by_keypad=True, minimum=1, maximum=9999,
            value=new.n or 1, typed="" if new.n is None else str(new.n), then=lambda n: take(replace(new, n=n)),
        )  # fmt: skip

    def ask_instar(self, new: NewBox, take: Take) -> None:
        """Ask for the instar of larvae."""
        items: list[Any] = [(n, str(n), "moult") for n in range(1, self.view.instars + 1)]
        items.append((None, say("fed_unknown"), "unknown"))
        take_instar = lambda n: take(replace(new, instar=n))  # noqa: E731
        self.shell.open_choices(say("instar"), items, take_instar, say("instar_hint"), new.instar)

    def ask_fed(self, new: NewBox, take: Take) -> None:
        """Ask when it was last fed."""
        items = [
            ("today", say("fed_today"), "today"),
            ("about", say("fed_about"), "about"),
            ("unknown", say("fed_unknown"), "unknown"),
        ]

        def chosen(fed: str) -> None:
            if fed == "about":
                self._ask_days(new, take)
            else:
                take(replace(new, fed=fed, fed_days=None))

        self.shell.open_choices(say("fed"), items, chosen, "", new.fed)

    def _ask_days(self, new: NewBox, take: Take) -> None:
        self.shell.open_number(
            say("fed_about"), hint=say("fed_about_hint"), value=new.fed_days or 3, minimum=1, maximum=365,
            unit=say("days"), then=lambda days: take(replace(new, fed="about", fed_days=days)),
        )  # fmt: skip

    def ask_label(self, new: NewBox, take: Take) -> None:
        """Ask for the code on the lid."""
        self.shell.open_code(
            say("code"), say("ok"), lambda code: take(replace(new, label=code or new.label)),
            hint=say("code_hint"), value=new.label,
        )  # fmt: skip

    def ask_cohort(self, new: NewBox, take: Take) -> None:
        """Ask for the cohort it belongs to."""
        items = [("", say("cohort_new"), "add"), *((key, name, "cohort") for key, name in self.view.cohorts)]
        take_cohort = lambda key: take(replace(new, cohort_id=key))  # noqa: E731
        self.shell.open_choices(say("cohort"), items, take_cohort, "", new.cohort_id)

    def ask_area(self, new: NewBox, take: Take) -> None:
        """Ask for the area it stands in."""
        items = [("", say("none"), "unknown"), *((key, name, "area") for key, name in self.view.areas)]
        take_area = lambda key: take(replace(new, area_id=key))  # noqa: E731
        self.shell.open_choices(say("area"), items, take_area, "", new.area_id)


__all__ = ["FEEDS", "Entering", "next_code", "said_fed", "summary"]
