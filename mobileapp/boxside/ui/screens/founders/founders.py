"""Founders: animals that begin a line, or came from another keeper, with day, number and permit."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from kivy.properties import ListProperty, ObjectProperty, StringProperty

from boxside.core.values.line_view import Founding
from boxside.core.values.moments import from_ms
from boxside.core.values.views import NewBoxView, Notice, Saved
from boxside.ui.keeping import not_saved
from boxside.ui.kv import load_kv
from boxside.ui.shell import Page
from boxside.ui.widgets.sheet import ChoiceGrid  # noqa: F401  used by the kv file
from boxside.ui.words import say, say_choice

MOST, MOST_DAYS = 9999, 3650
SEXED = ("pupa", "adult")


class FoundersScreen(Page):
    """Shows one `Founding` as it is being entered; only the number is asked for at once."""

    new = ObjectProperty(None, allownone=True)
    view = ObjectProperty(None, allownone=True)
    parts = ListProperty([])
    back_to = StringProperty("line")

    def __init__(self, **kwargs: Any) -> None:
        self._today = date.min
        self._box = ""
        super().__init__(**kwargs)

    def enter(self, **_: Any) -> None:
        """Begin with a free name, a fresh box and today."""
        self.new, self.parts, self._box = None, [], ""
        self.ask("zone_of", then=self._begin)

    def _begin(self, zone: Any) -> None:
        self._today = from_ms(self.shell.services.clock.now_ms(), zone).date()
        self.ask("new_box_view", then=self.show)

    def show(self, view: NewBoxView) -> None:
        """Show the form."""
        self.view = view
        self.take(Founding(self._free_name(), 0, ""))

    def _free_name(self) -> str:
        used = {name for _, name in self.view.cohorts}
        first = say("founders_name", year=self._today.year)
        return next(name for n in range(1, 9999) if (name := f"{first} {n}" if n > 1 else first) not in used)

    def take(self, new: Founding) -> None:
        """Show the founders as they are so far."""
        self.new = new
        day = new.on or self._today
        said = [
            ("n", say("number"), str(new.n) if new.n else say("how_many"), "count"),
            ("name", say("founders_called"), new.name, "cohort"),
            ("on", say("founders_day"), f"{day.day} {day:%B %Y}", "today"),
            ("stage", say("stage_short"), self._stage(), "stage"),
            ("box", say("box"), self._box or say("fresh_box", code=self.view.next_label), "box"),
            ("origin", say("origin"), say("received" if new.origin == "received" else "founders"), "founders"),
            ("permit", say("permit"), new.permit or "–", "note"),
            ("place", say("origin_place"), new.place or "–", "place"),
        ]
        self.parts = [(part, f"{name}: {value}", icon) for part, name, value, icon in said]

    def _stage(self) -> str:
        name = dict(self.view.stages).get(self.new.stage, self.new.stage)
        return f"{name}, {say_choice(self.new.sex).lower()}" if self.new.sex else name

    # ---- asking ----

    def change(self, part: str) -> None:
        """Ask for one part."""
        getattr(self, f"_ask_{part}")()

    def _ask_n(self) -> None:
        self.shell.open_number(
            say("how_many"), by_keypad=True, minimum=1, maximum=MOST, typed=str(self.new.n or ""),
            then=lambda n: self.take(replace(self.new, n=n)),
        )  # fmt: skip

    def _ask_name(self) -> None:
        self.shell.open_text(
            say("founders_called"), self.new.name, lambda name: self.take(replace(self.new, name=name or self.new.name))
        )

    def _ask_on(self) -> None:
        def ago(days: int) -> None:
            self.take(replace(self.new, on=self._today - timedelta(days=days) if days else None))

        def chosen(days: int) -> None:
            if days >= 0:
                ago(days)
            else:
                self.shell.open_number(
                    say("founders_day"), hint=say("days_ago_hint"), by_keypad=True, minimum=0, maximum=MOST_DAYS,
                    unit=say("days"), then=ago,
                )  # fmt: skip

        items = [(0, say("fed_today"), "today"), (1, say("yesterday"), "today"), (-1, say("day_earlier"), "left")]
        self.shell.open_choices(say("founders_day"), items, chosen)

    def _ask_stage(self) -> None:
        def chosen(stage: str) -> None:
            self.take(replace(self.new, stage=stage, sex=""))
            if stage in SEXED:
                self._ask_sex()

        items = [(key, name, key) for key, name in self.view.stages]
        self.shell.open_choices(say("stage"), items, chosen, "", self.new.stage)

    def _ask_sex(self) -> None:
        items = [
            ("female", say("females"), "female"),
            ("male", say("males"), "male"),
            ("", say("not_sexed"), "unknown"),
        ]
        self.shell.open_choices(say("sex"), items, lambda sex: self.take(replace(self.new, sex=sex)), say("sex_hint"))

    def _ask_box(self) -> None:
        def named(box_id: str) -> None:
            self.ask("box_view", box_id, 1, then=lambda view: self._take_box(box_id, view.label))

        def chosen(way: str) -> None:
            if way == "fresh":
                self._take_box("", "")
            else:
                self.shell.open_boxes(say("box"), named)

        items = [
            ("fresh", say("fresh_box", code=self.view.next_label), "empty"), ("used", say("used_box"), "box"),
        ]  # fmt: skip
        self.shell.open_choices(say("box"), items, chosen)

    def _take_box(self, box_id: str, label: str) -> None:
        self._box = label
        self.take(replace(self.new, box=box_id))

    def _ask_origin(self) -> None:
        items = [("founders", say("founders"), "founders"), ("received", say("received"), "box")]
        self.shell.open_choices(
            say("origin"), items, lambda origin: self.take(replace(self.new, origin=origin)), say("origin_hint"),
            self.new.origin,
        )  # fmt: skip

    def _ask_permit(self) -> None:
        self.shell.open_text(say("permit"), self.new.permit, lambda text: self.take(replace(self.new, permit=text)))

    def _ask_place(self) -> None:
        self.shell.open_text(say("origin_place"), self.new.place, lambda text: self.take(replace(self.new, place=text)))

    # ---- saving ----

    def save(self) -> None:
        """Save the founders, with the fresh box where one was asked for; what was entered stays if that fails."""
        if self.new is None:
            return
        if not self.new.n:
            self._ask_n()
            return
        fresh = {} if self.new.box else {"box": self.view.next_label, "fresh": True}
        self.ask("add_founders", replace(self.new, **fresh), then=self._saved, failed=self._failed)

    def _saved(self, saved: Saved) -> None:
        self.shell.go("line")
        self.shell.saved(saved, lambda _: self.shell.go("line"))

    def _failed(self, notice: Notice) -> None:
        self.shell.services.device.haptics.reject()
        self.shell.show(not_saved(notice), self.save, say("giving_up"))


load_kv(__file__)

__all__ = ["FoundersScreen"]
