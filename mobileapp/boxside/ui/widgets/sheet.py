"""Sheets: a question over the whole window, its answer in large buttons, one way out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from kivy.clock import Clock
from kivy.metrics import sp
from kivy.properties import BooleanProperty, ListProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.gridlayout import GridLayout

from boxside.ui.kv import load_kv
from boxside.ui.widgets.actgrid import Fold, PagedText  # noqa: F401  used by the kv file
from boxside.ui.widgets.button import BigButton, LineButton, SmallButton
from boxside.ui.widgets.fitting import text_size, widest_word
from boxside.ui.widgets.keypad import Keypad
from boxside.ui.widgets.stepper import Stepper  # noqa: F401  used by the kv file
from boxside.ui.widgets.text import LEAST_SP
from boxside.ui.words import say

Choice = tuple[Any, str, str]
LINE = 1.17


class Sheet(BoxLayout):
    """Title, hint, content, and a foot with the way out; `on_leave` runs when it is left unanswered."""

    is_layer = True
    title = StringProperty("")
    hint = StringProperty("")
    out = StringProperty("")
    needs_room = BooleanProperty(False)
    shell = ObjectProperty(None, allownone=True)

    def __init__(self, on_leave: Callable[[], None] | None = None, **kwargs: Any) -> None:
        self._left = on_leave
        super().__init__(**kwargs)

    def leave(self) -> None:
        """Close without an answer."""
        self.close()
        if self._left is not None:
            self._left()

    def close(self) -> None:
        """Take the sheet away."""
        if self.shell is not None:
            self.shell.close_sheet(self)

    def on_touch_down(self, touch: Any) -> bool:
        super().on_touch_down(touch)
        return True

    def on_touch_move(self, touch: Any) -> bool:
        super().on_touch_move(touch)
        return True

    def on_touch_up(self, touch: Any) -> bool:
        super().on_touch_up(touch)
        return True


class ChoiceGrid(GridLayout):
    """Choices as buttons, as many as fit without scrolling; the rest on further pages.

    `items` are (value, label, icon); two columns where every label fits into half the width, else one.
    """

    items = ListProperty([])
    chosen = ObjectProperty(None, allownone=True)
    page = NumericProperty(0)
    n_pages = NumericProperty(1)
    __events__ = ("on_choice",)

    def __init__(self, **kwargs: Any) -> None:
        self._lay = Clock.create_trigger(self._build, -1)
        super().__init__(**kwargs)
        for name in ("items", "size", "page", "chosen"):
            self.fbind(name, self._lay)

    def _columns(self) -> int:
        font = self.theme_font()
        half = (self.width - self.spacing[0]) / 2 - 2 * self.spacing[0]
        widest = max((widest_word(label, font, sp(LEAST_SP)) for _, label, _ in self.items), default=0)
        lines = max((text_size(label, font, sp(LEAST_SP), half)[1] for _, label, _ in self.items), default=0)
        return 2 if widest <= half and lines <= sp(LEAST_SP) * 2.8 else 1

    def theme_font(self) -> str:
        """Return the font the labels are set in."""
        return "BoxsideStrong"

    def _line_height(self, label: str) -> float:
        """How high a `LineButton` with that label will be."""
        width = float(int(self.width - 2 * self.spacing[0] - self.icon - self.spacing[0]))
        high = text_size(label, self.theme_font(), self.most_line, width)[1] * LINE
        return max(self.target, high + self.spacing[0])

    def _pages(self, columns: int) -> list[list[Choice]]:
        """Deal the items out to pages: as many as fit on each."""
        gap = self.spacing[1]
        if columns == 2:
            least = max(self.target * 1.25, self.icon + sp(LEAST_SP) * 2.8 + self.spacing[0])
            per_page = 2 * max(1, int((self.height + gap) // (least + gap)))
            return [list(self.items[at : at + per_page]) for at in range(0, len(self.items), per_page)]
        pages: list[list[Choice]] = [[]]
        used = 0.0
        for item in self.items:
            high = self._line_height(item[1]) + gap
            if pages[-1] and used + high > self.height + gap:
                pages.append([])
                used = 0.0
            pages[-1].append(item)
            used += high
        return pages

    def _build(self, *_: Any) -> None:
        self.clear_widgets()
        if self.width < 2 or not self.items:
            return
        self.cols = self._columns()
        pages = self._pages(self.cols)
        self.n_pages = len(pages)
        self.page = min(self.page, self.n_pages - 1)
        shown = pages[self.page]
        high = self._fill_two(shown, len(pages[0])) if self.cols == 2 else self._fill_one(shown)
        # What room is left stays above, so that the choices lie where the thumb is.
        self.padding = [0, max(0.0, self.height - high), 0, 0]

    def _fill_two(self, shown: Sequence[Choice], per_page: int) -> float:
        """Lay buttons two by two; few of them grow, up to the size of a main button."""
        gap = self.spacing[1]
        rows = -(-(per_page if self.n_pages > 1 else len(shown)) // 2)
        height = min(self.target_main, (self.height + gap) / rows - gap)
        self.row_default_height, self.row_force_default = height, True
        for item in shown:
            button = BigButton() if height >= self.target * 1.6 else SmallButton()
            button.size_hint_y = 1
            self._add(button, item, self.lead)
        if len(shown) % 2:
            self.add_widget(BoxLayout())
        return rows * (height + gap) - gap

    def _fill_one(self, shown: Sequence[Choice]) -> float:
        """Lay buttons over the full width, each as high as its label."""
        self.row_default_height, self.row_force_default = 0, False
        for item in shown:
            self._add(LineButton(), item, self.most_line)
        return sum(self._line_height(label) for _, label, _ in shown) + self.spacing[1] * (len(shown) - 1)

    def _add(self, button: Any, item: Choice, most: float) -> None:
        value, button.text, button.icon = item
        button.chosen, button.most = self.chosen is not None and value == self.chosen, most
        button.fbind("on_act", self._choose, value)
        self.add_widget(button)

    def _choose(self, value: Any, button: Any) -> None:
        self.dispatch("on_choice", value, button)

    def on_choice(self, value: Any, button: Any) -> None:
        """Default handler: nothing."""

    def turn(self) -> None:
        """Show the next page, after the last the first."""
        self.page = (self.page + 1) % self.n_pages


class ChoiceSheet(Sheet):
    """One question with its answers as buttons."""

    items = ListProperty([])
    chosen = ObjectProperty(None, allownone=True)
    then = ObjectProperty(None, allownone=True)

    def choose(self, value: Any) -> None:
        """Close, then hand the answer on."""
        self.close()
        if self.then is not None:
            self.then(value)


class NumberSheet(Sheet):
    """One number, by stepper, from which one can switch to the keypad, or by keypad, where blank means to skip.

    `blank` are the words for that, where they are not simply to skip: that all are meant, for example.
    """

    value = NumericProperty(1)
    minimum = NumericProperty(0)
    maximum = NumericProperty(99999)
    step = NumericProperty(1)
    unit = StringProperty("")
    by_keypad = BooleanProperty(False)
    whole = BooleanProperty(True)
    is_signed = BooleanProperty(False)
    can_skip = BooleanProperty(False)
    blank = StringProperty("")
    typed = StringProperty("")
    ok = StringProperty("")
    problem = StringProperty("")
    then = ObjectProperty(None, allownone=True)

    def on_kv_post(self, _: Any) -> None:
        self._show_way()

    def switch(self) -> None:
        """Take the keypad instead."""
        self.by_keypad = True
        self._show_way()

    def _show_way(self) -> None:
        """Build the one way that is used: the other would cost as much again, unseen."""
        self._pad = self._steps = None
        if self.by_keypad:
            page = "signed" if self.is_signed else "digits" if self.whole else "decimal"
            self._pad = Keypad(page=page, value=self.typed)
            self._pad.fbind("value", self._tell)
        else:
            self._steps = Steps(sheet=self)
        self.ids.ways.clear_widgets()
        self.ids.ways.add_widget(self._pad or self._steps)
        self._tell()

    def _tell(self, *_: Any) -> None:
        is_blank = self._pad is not None and self.can_skip and not self._pad.value.strip("-.")
        self.ok = (self.blank or say("skip")) if is_blank else say("ok")

    def answer(self) -> float | None:
        """Return the number as it stands, None where there is none."""
        if self._steps is not None:
            return float(self._steps.ids.stepper.value)
        text = self._pad.value if self._pad is not None else ""
        return float(text) if text.strip("-.") else None

    def save(self) -> None:
        """Hand the number on if it is within its limits, else say what they are."""
        number = self.answer()
        if number is None and self.can_skip:
            self.skip()
            return
        if number is None or not self.minimum <= number <= self.maximum:
            self.problem = say("between", low=f"{self.minimum:g}", high=f"{self.maximum:g}")
            return
        self.close()
        if self.then is not None:
            self.then(int(number) if self.whole else number)

    def skip(self) -> None:
        """Hand on that no number is known."""
        self.close()
        if self.then is not None:
            self.then(None)


class Steps(BoxLayout):
    """The stepper of a `NumberSheet`, and the ways past it."""

    sheet = ObjectProperty(None, rebind=True)


class CodeSheet(Sheet):
    """The code on a lid, by keypad."""

    value = StringProperty("")
    action = StringProperty("")
    page = StringProperty("code")
    then = ObjectProperty(None, allownone=True)

    def save(self) -> None:
        """Hand on what was typed."""
        typed = self.ids.pad.value
        self.close()
        if self.then is not None:
            self.then(typed)


class TextSheet(Sheet):
    """A few words by the phone's own keyboard; never on the way of a routine entry."""

    value = StringProperty("")
    then = ObjectProperty(None, allownone=True)

    def save(self) -> None:
        """Hand on what was written."""
        written = self.ids.entry.text.strip()
        self.ids.entry.focus = False
        self.close()
        if self.then is not None:
            self.then(written)


class NoticeSheet(Sheet):
    """What happened, what is safe, what to do; with a second way where there is one."""

    what = StringProperty("")
    safe = StringProperty("")
    do = StringProperty("")
    bad = BooleanProperty(False)
    again = StringProperty("")
    then = ObjectProperty(None, allownone=True)
    other = StringProperty("")
    other_icon = StringProperty("correct")
    then_other = ObjectProperty(None, allownone=True)

    def go_on(self, then: Callable[[], None] | None) -> None:
        """Close, then do what is to be done."""
        self.close()
        if then is not None:
            then()


class Checks(BoxLayout):
    """Where to look, one place a line."""

    places = ListProperty([])

    def on_places(self, *_: Any) -> None:
        self.clear_widgets()
        for place in self.places:
            self.add_widget(CheckLine(text=place))


class CheckLine(BoxLayout):
    """One place to look."""

    text = StringProperty("")


class ResultSheet(Sheet):
    """What came of an entry, in one sentence, in figures, and in what to check; two ways on, or three."""

    sentence = StringProperty("")
    figures = StringProperty("")
    checks = ListProperty([])
    no = StringProperty("")
    no_icon = StringProperty("undo")
    then_no = ObjectProperty(None, allownone=True)
    yes = StringProperty("")
    yes_icon = StringProperty("check")
    then_yes = ObjectProperty(None, allownone=True)

    def go_on(self, then: Callable[[], None] | None) -> None:
        """Close, then do what is to be done."""
        self.close()
        if then is not None:
            then()


load_kv(__file__)

__all__ = [
    "Choice",
    "ChoiceGrid",
    "ChoiceSheet",
    "CodeSheet",
    "NoticeSheet",
    "NumberSheet",
    "ResultSheet",
    "Sheet",
    "TextSheet",
]
