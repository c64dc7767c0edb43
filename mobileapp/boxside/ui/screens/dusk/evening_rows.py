"""The evening as rows: a box, its two likeliest buttons under it; and what is known of one box."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from kivy.app import App
from kivy.metrics import sp
from kivy.properties import BooleanProperty, ListProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from boxside.core.values.dusk import Brood, DuskRow, DuskView
from boxside.core.values.views import Act
from boxside.ui.widgets.actgrid import MainGrid
from boxside.ui.widgets.button import BigButton  # noqa: F401  used by the kv file
from boxside.ui.widgets.fitting import text_size
from boxside.ui.widgets.press import Press
from boxside.ui.widgets.rows import RowData, head, paragraph, row
from boxside.ui.widgets.text import Strong, Words
from boxside.ui.words import say, say_n

ICONS = {
    "alone": "late", "glowing": "glow", "waiting": "female", "paired": "pair", "laying": "egg", "males": "male",
}  # fmt: skip
LINE = 1.15
GLOWS = ("glowing", "glow_ended")


class DuskActs(BoxLayout):
    """The two likeliest buttons of a box, under its row."""

    row = ObjectProperty(None, allownone=True)
    first = ObjectProperty(None, allownone=True)
    second = ObjectProperty(None, allownone=True)
    screen = ObjectProperty(None, allownone=True)

    def pick(self, act: Act, button: Any) -> None:
        """Have it done; the button tells of the next box as soon as the list changes, so it keeps no state."""
        del button
        self.screen.do_act(act, None, self.row)


class DuskBox(Press, BoxLayout):
    """A box of the evening as a target over the full width: its code, how it stands, who is there."""

    mark = StringProperty("")
    icon = StringProperty("")
    title = StringProperty("")
    detail = StringProperty("")
    is_glowing = BooleanProperty(False)
    item = ObjectProperty(None, allownone=True)
    pick = ObjectProperty(None, allownone=True)

    def on_act(self) -> None:
        """Hand its box to whoever picks."""
        if self.pick is not None:
            self.pick(self.item)


class DimGrid(MainGrid):
    """Main acts without one that stands out: a large bright field would be seen across the dark room."""

    def on_acts(self, *args: Any) -> None:
        super().on_acts(*args)
        for button in self.children:
            button.tone = "plain"


class FactList(BoxLayout):
    """What is known, each with its name above it."""

    facts = ListProperty([])

    def on_facts(self, *_: Any) -> None:
        self.clear_widgets()
        for name, words in self.facts:
            if name:
                self.add_widget(Strong(text=name))
            self.add_widget(Words(text=words))


def airy(text: str) -> str:
    """Return a text in which a span of times may be broken between them, for large type."""
    return text.replace("–", " – ")


def glow_act(row: DuskRow) -> Act:
    """Return the button that notes a glow, or its end."""
    return next(act for act in row.acts if act.kind in GLOWS)


def evening_rows(width: float, view: DuskView, rows: Sequence[DuskRow], screen: Any) -> list[RowData]:
    """Return the list of the evening: sun, females with their buttons, males, what could go together."""
    if view.empty:
        return [*_sun(width, view, screen), paragraph(width, view.empty)]
    females = [one for one in rows if one.n_females]
    males = [one for one in rows if not one.n_females]
    data = _sun(width, view, screen)
    for one in females:
        data += [_box(width, one, screen), _acts(one, screen)]
    if males:
        data.append(head(width, say("males")))
        data += [_box(width, one, screen) for one in males]
    if view.advice:
        data.append(head(width, say("together")))
        data += [paragraph(width, text, icon="pair") for text in view.advice]
    return data


def _sun(width: float, view: DuskView, screen: Any) -> list[RowData]:
    if view.sun.sunset:
        return [paragraph(width, view.sun.text, icon="sun")]
    return [row(width, screen.set_place, None, icon="place", title=view.sun.text, detail=say("set_place"))]


def _box(width: float, one: DuskRow, screen: Any) -> RowData:
    """A box in words: what is the matter, who is there, which males could come, who may die soon."""
    theme = App.get_running_app().theme
    could = [say("could_come", who=one.offers[0].text)] if one.offers else []
    detail = "\n".join([_who(one), *could, *(_dying(brood) for brood in one.broods if brood.soon or brood.past)])
    top, room = theme.label * 1.5, float(int(width - 2 * theme.gap))
    high = sum(
        text_size(text, font, theme.text, room)[1] * LINE + theme.half
        for text, font in ((airy(one.headline), theme.font_strong), (detail, theme.font))
    )
    return {
        "viewclass": "DuskBox", "mark": one.label, "icon": ICONS[one.state], "is_glowing": one.is_glowing,
        "title": airy(one.headline), "detail": detail, "item": one, "pick": screen.open,
        "row_size": (None, max(theme.target, top + high + theme.gap)),
    }  # fmt: skip


def _dying(brood: Brood) -> str:
    if brood.past:
        return say_n("past_dying", brood.n, sex=brood.sex)
    return say_n("may_die", brood.n, sex=brood.sex, day=f"{brood.dies_from.day} {brood.dies_from:%b}")


def _who(one: DuskRow) -> str:
    """Who lives there; the males with how they came, where that is known."""
    females = [say_n("females_of", n, who=cohort) for cohort, n in one.females]
    return "\n".join([*females, *(male.text for male in one.males)]) if one.females else one.who


def _acts(one: DuskRow, screen: Any) -> RowData:
    theme = App.get_running_app().theme
    others = [act for act in one.acts if act.kind not in GLOWS]
    high = max(theme.target * 1.25, sp(17) * 1.2 * 2 + theme.gap) + theme.gap
    return {
        "viewclass": "DuskActs", "row": one, "first": glow_act(one), "second": others[0] if others else None,
        "screen": screen, "row_size": (None, high),
    }  # fmt: skip


def facts_of(one: DuskRow) -> list[tuple[str, str]]:
    """Return all there is to tell of a box beside its headline, as (name, words)."""
    facts = [("", one.who)]
    if one.males and one.females:
        facts.append((say("males"), "\n".join(male.text for male in one.males)))
    if one.offers:
        facts.append((say("could_come_head"), "\n".join(offer.text for offer in one.offers)))
    if one.broods:
        facts.append((say("emerged"), "\n".join(brood.text for brood in one.broods)))
    if one.evenings:
        said = [f"{span.on.day} {span.on:%b}: {airy(span.text)}" for span in one.evenings]
        facts.append((say("evenings"), "\n".join(said)))
    return facts


__all__ = ["DimGrid", "DuskActs", "DuskBox", "FactList", "airy", "evening_rows", "facts_of", "glow_act"]
