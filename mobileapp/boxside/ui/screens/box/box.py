"""Box: who lives there, what is due, everything that can be logged, and what was."""

from __future__ import annotations

from functools import partial
from typing import Any

from kivy.clock import Clock
from kivy.properties import BooleanProperty, ListProperty, ObjectProperty, StringProperty

from boxside.core.values.event import Json
from boxside.core.values.season import StageView, TransferView
from boxside.core.values.views import Act, BoxView, HistoryRow, Saved
from boxside.ui.asking import Answers, Asking, can_ask, said_value
from boxside.ui.flows import flow_acts
from boxside.ui.kv import load_kv
from boxside.ui.logging_acts import Logging
from boxside.ui.moments import Moment, ask_moment
from boxside.ui.shell import Page
from boxside.ui.widgets.pages import RowsView, Scroll, Turner  # noqa: F401  used by the kv file
from boxside.ui.widgets.photo import Photos, PhotoSheet
from boxside.ui.widgets.rows import RowData, head, paragraph, row, rows_width
from boxside.ui.widgets.sheet import ChoiceGrid  # noqa: F401  used by the kv file
from boxside.ui.words import say

PAGE = 30
PARTS = ("now", "log", "past")
TRANSFER, CHECK = "transfer", "check_old_box"


class BoxScreen(Page):
    """Shows one `BoxView` in three parts: now, log, past."""

    view = ObjectProperty(None, allownone=True)
    part = StringProperty("now")
    title = StringProperty("")
    who = StringProperty("")
    acts = ListProperty([])
    data = ListProperty([])
    checks = ListProperty([])
    back_to = StringProperty("shelf")
    is_list = BooleanProperty(True)
    can_transfer = BooleanProperty(False)

    def __init__(self, **kwargs: Any) -> None:
        self._box_id = ""
        self._limit = PAGE
        self._offered: list[Act] = []
        self._remeasure = Clock.create_trigger(self._lay)
        super().__init__(**kwargs)
        self.logging = Logging(self.shell, self.take)

    def on_kv_post(self, _: Any) -> None:
        # The rows are measured for a width that they get only once they show.
        self.ids.rows.fbind("width", self._remeasure)
        # Held here, since `ids` holds weakly and only one of the two is in the tree.
        self._parts = {True: self.ids.listed.__self__, False: self.ids.grid_part.__self__}
        self._show_part()

    def enter(self, box_id: str = "", back_to: str = "", part: str = "now", **_: Any) -> None:
        """Show that box, or again the one that showed last."""
        is_other = bool(box_id) and box_id != self._box_id
        self.back_to = back_to or ("shelf" if is_other else self.back_to)
        self._box_id, self._limit, self.part = box_id or self._box_id, PAGE, part
        self.refresh()

    def refresh(self) -> None:
        """Fetch what is shown anew: the box, who can be told apart in it, and where to look if it is to be checked."""
        self.ask("box_view", self._box_id, self._limit, then=self.show)
        self.ask("stage_view", self._box_id, then=self._offer)

    def show(self, view: BoxView) -> None:
        """Show a view."""
        self.view, self.title, self.who, self.checks = view, view.label, view.who, []
        self._offered = []
        self._show_acts()
        self._lay()
        if any(line.task == CHECK for line in view.due):
            self.ask("transfer_view", view.box_id, then=self._show_checks)

    def _offer(self, view: StageView) -> None:
        if self.view is not None and view.box_id == self.view.box_id:
            self._offered = list(flow_acts(view.groups))
            self._show_acts()

    def _show_acts(self) -> None:
        """Show what can be logged: what a flow alone can log comes last; to transfer has a button of its own."""
        own = {act.kind for act in self._offered}
        known = [act for act in self.view.acts if not act.kind or act.kind not in own]
        acts = [*known, *(act for act in self._offered if act.kind != TRANSFER)]
        self.acts = [(act, act.label, act.icon) for act in acts]
        self.can_transfer = TRANSFER in own

    def _show_checks(self, view: TransferView) -> None:
        self.checks = list(view.checks)
        self._lay()

    def take(self, _: Saved) -> None:
        """Show the box as it is after something was logged, corrected or taken back."""
        if self.shell.page is self:
            self.refresh()

    # ---- parts ----

    def choose_part(self, part: str) -> None:
        """Show another part."""
        self.part = part
        self._lay()
        self.ids.rows.scroll_y = 1

    def on_part(self, *_: Any) -> None:
        self.is_list = self.part != "log"
        self._show_part()

    def _show_part(self) -> None:
        self.ids.parts.clear_widgets()
        self.ids.parts.add_widget(self._parts[self.is_list])

    def _lay(self, *_: Any) -> None:
        if self.view is not None and self.is_list:
            self.data = self._now() if self.part == "now" else self._past()

    def _now(self) -> list[RowData]:
        width, view = rows_width(self.ids.rows), self.view
        due = [
            paragraph(width, f"{line.when}. {line.why}", line.label, "late" if line.late else "due")
            for line in view.due
        ]
        photos: list[RowData] = []
        if view.photos:
            photos = [head(width, say("photos")), Photos.data(view.photos, width, self.enlarge)]
        return [
            paragraph(width, view.who),
            *([head(width, say("when_due"))] if due else []), *due,
            *([paragraph(width, check, icon="search") for check in self.checks]),
            row(width, self.measure, None, icon="photo", title=say("photo"), detail=say("measure_row"), trail="right"),
            row(width, self.see_growth, None, icon="growth", title=say("growth"), detail=say("growth_row"),
                trail="right"),
            *(paragraph(width, text, name) for name, text in view.facts),
            *photos,
            *(paragraph(width, text, icon="caution") for text in view.cautions),
        ]  # fmt: skip

    def _past(self) -> list[RowData]:
        width, view = rows_width(self.ids.rows), self.view
        rows = [self._entry(width, entry) for entry in view.history]
        if not rows:
            return [paragraph(width, say("history_none"))]
        more = [row(width, self._load_more, None, title=say("load_more"), icon="down")] if view.more_history else []
        return [*rows, *more]

    def _entry(self, width: float, entry: HistoryRow) -> RowData:
        said = f"{entry.label} · {entry.detail}" if entry.detail else entry.label
        soft = "\n".join(text for text in (entry.note, entry.struck) if text)
        can = entry.can_correct and not entry.struck
        return row(
            width, self.open_entry, entry, title=said, detail=entry.when, soft=soft,
            is_struck=bool(entry.struck), trail="right" if can else "",
        )  # fmt: skip

    def _load_more(self, _: Any) -> None:
        self._limit += PAGE
        self.refresh()

    # ---- logging ----

    def do_act(self, act: Act, button: Any) -> None:
        """Do what a button stands for."""
        if act.command == "look":
            signs = [(sign, sign.label, sign.icon) for sign in self.view.signs]
            self.shell.open_choices(act.label, signs, lambda sign: self.do_act(sign, button), say("look_hint"))
        elif act.command == "photo":
            self.measure(None)
        elif act.command == "later" and not act.asks:
            self.logging.put_off(self._box_id, tuple(line.task for line in self.view.due), "", button)
        else:
            self.logging.act(act, self._box_id, "", button, self.title)

    def transfer(self, button: Any) -> None:
        """Move the animals of this box."""
        self.do_act(Act(say("transfer"), "transfer", kind=TRANSFER), button)

    def measure(self, source: str | None) -> None:
        """Go to Photo, with a photograph that is kept or with none."""
        self.shell.go("photo", box_id=self._box_id, title=self.title, source=source or "", back_to="box")

    def see_growth(self, _: Any) -> None:
        """Go to Growth."""
        self.shell.go("growth", box_id=self._box_id, title=self.title, back_to="box")

    def enlarge(self, source: str) -> None:
        """Show one photograph as large as the window."""
        sources = list(self.view.photos)
        self.shell.open_sheet(PhotoSheet(sources=sources, at=sources.index(source), then=self.measure))

    # ---- history ----

    def open_entry(self, entry: HistoryRow) -> None:
        """Offer to correct an entry or to take it back."""
        if entry.struck or entry.kind == "void":
            return
        items = [("take_back", say("take_back"), "undo")]
        if entry.can_correct:
            items.insert(0, ("correct", say("correct"), "correct"))
        title = f"{entry.label}, {entry.when}"
        self.shell.open_choices(title, items, lambda what: getattr(self, what)(entry), entry.detail)

    def correct(self, entry: HistoryRow) -> None:
        """Show the entry's fields and its note; each can be asked for again before the correction is saved."""
        self._correct(entry, dict(entry.values), entry.note, None)

    def _correct(self, entry: HistoryRow, values: dict[str, Json], note: str, moment: Moment | None) -> None:
        fields = [field for field in entry.fields if can_ask(field)]
        items: list[Any] = [(f, f"{f.label}: {said_value(values.get(f.name))}", "correct") for f in fields]
        items += [
            ("when", f"{say('when')}: {moment.words if moment else entry.when}", "later"),
            ("note", f"{say('note')}: {note or '–'}", "note"), ("save", say("save"), "save"),
        ]  # fmt: skip

        def save() -> None:
            kept = (entry.event_id, values, moment.at_ms if moment else None, note)
            self.ask("correct_event", *kept, then=lambda saved: self.shell.saved(saved, self.take))

        def chosen(part: Any) -> None:
            if part == "save":
                save()
            elif part == "note":
                self.shell.open_text(say("note"), note, lambda text: self._correct(entry, values, text, moment))
            elif part == "when":
                was_ms = moment.at_ms if moment else entry.at_ms
                ask_moment(self.shell, lambda found: self._correct(entry, values, note, found), was_ms)
            else:
                again = partial(self._again, entry, values, note, moment)
                Asking(self.shell, entry.label, (part,), again, values).begin()

        self.shell.open_choices(say("correct"), items, chosen, f"{entry.label}, {entry.when}")

    def _again(
        self, entry: HistoryRow, values: dict[str, Json], note: str, moment: Moment | None, answers: Answers
    ) -> None:
        self._correct(entry, {**values, **answers}, note, moment)

    def take_back(self, entry: HistoryRow) -> None:
        """Take an entry back; it stays visible, struck out."""
        self.shell.take_back(entry.event_id, self.take)


load_kv(__file__)

__all__ = ["PAGE", "PARTS", "BoxScreen"]
