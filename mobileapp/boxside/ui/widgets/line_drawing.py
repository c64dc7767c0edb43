"""The generations as a drawing: founders on top, each cohort a target with a disc as large as its headcount.

Mothers are joined by whole lines, fathers by dashed ones; thin lines lead from parents that are only possible.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any

from kivy.clock import Clock
from kivy.graphics import Color, InstructionGroup, Line
from kivy.metrics import dp, sp
from kivy.properties import (
    BooleanProperty,
    ListProperty,
    NumericProperty,
    ObjectProperty,
    StringProperty,
)
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.floatlayout import FloatLayout
from kivy.uix.scrollview import ScrollView

from boxside.core.values.line_view import LineEdge, LineNode
from boxside.ui.kv import load_kv
from boxside.ui.widgets.fitting import text_size, widest_word
from boxside.ui.widgets.pages import QuickTaps
from boxside.ui.widgets.press import Press

Points = list[tuple[float, float]]
LEAST_DISC_DP, MOST_DISC_DP = 16.0, 56.0
LEAST_CELL_DP, ONE_LINE_DP = 72.0, 96.0
BETWEEN_DP, DOWN_DP = 16.0, 44.0
TEXT_SP = 16.0
LINES = 2
STEPS = 24
DASH_DP = 7.0
FONT = "BoxsideStrong"


class NodeView(Press, BoxLayout):
    """One cohort: a disc, full while some of it live, and its name under it; a question mark for the unknown."""

    node = ObjectProperty(None, allownone=True)
    text = StringProperty("")
    disc = NumericProperty(0)
    lives = BooleanProperty(False)
    pick = ObjectProperty(None, allownone=True)

    def on_act(self) -> None:
        """Hand its cohort to whoever picks."""
        if self.pick is not None:
            self.pick(self.node)


class Pane(QuickTaps, ScrollView):
    """The window on a drawing that may be larger than it, to be dragged or moved by buttons."""


class LineDrawing(FloatLayout):
    """Draws a `LineView` in its natural size, but no smaller than `room`."""

    view = ObjectProperty(None, allownone=True)
    room = ListProperty([0, 0])
    pick = ObjectProperty(None, allownone=True)
    ink = ListProperty([1, 1, 1, 1])

    def __init__(self, **kwargs: Any) -> None:
        self._edges = InstructionGroup()
        self._cells: dict[str, NodeView] = {}
        self._relay = Clock.create_trigger(self._lay, -1)
        self._redraw = Clock.create_trigger(self._draw, -1)
        super().__init__(**kwargs)
        self.canvas.before.add(self._edges)
        for name in ("view", "room"):
            self.fbind(name, self._relay)
        for name in ("pos", "size", "ink"):
            self.fbind(name, self._redraw)

    def _lay(self, *_: Any) -> None:
        """Take as much room as the names need, and put every cohort at its place."""
        self.clear_widgets()
        self._cells = {}
        nodes = self.view.nodes if self.view is not None else ()
        wide = cell_width([node.label for node in nodes])
        high = dp(MOST_DISC_DP) + label_height([node.label for node in nodes], wide) + dp(4)
        self.size = drawing_size(nodes, wide, high, self.room)
        for node in nodes:
            cell = NodeView(
                node=node, text=node.label, disc=disc_of(node), lives=node.n > 0, pick=self.pick,
                size=(wide, high), size_hint=(None, None),
            )  # fmt: skip
            self._cells[node.name] = cell
            self.add_widget(cell)
        self._redraw()

    def _draw(self, *_: Any) -> None:
        """Draw the lines of descent beneath the cohorts, and keep these in place."""
        for cell in self._cells.values():
            node = cell.node
            cell.center_x = self.x + node.x * self.width
            cell.center_y = self.top - cell.height / 2 - node.y * (self.height - cell.height)
        self._edges.clear()
        self._edges.add(Color(*self.ink))
        for edge in self.view.edges if self.view is not None else ():
            if edge.parent in self._cells and edge.child in self._cells:
                for line in self._lines(edge):
                    self._edges.add(line)

    def _lines(self, edge: LineEdge) -> Iterator[Line]:
        parent, child = self._cells[edge.parent], self._cells[edge.child]
        aside = {"female": -1, "male": 1}.get(edge.sex, 0) * dp(5)
        start = (parent.center_x + aside, parent.y)
        end = (child.center_x + aside, child.top - (dp(MOST_DISC_DP) - child.disc) / 2)
        if child.center_y >= parent.center_y:
            # Mixed or taken from a cohort of the same row: the line runs beneath both.
            end = (child.center_x + aside, child.y)
        points = curve(start, end)
        width = dp(1.0) if edge.sure else dp(0.6)
        for piece in dashed(points, dp(DASH_DP)) if edge.sex == "male" else [points]:
            yield Line(points=[value for point in piece for value in point], width=max(1.0, width))


class Panner(BoxLayout):
    """Four buttons that move the window on a drawing; they take no room while all of it shows."""

    pane = ObjectProperty(None, allownone=True)
    is_needed = BooleanProperty(False)
    can_left = BooleanProperty(False)
    can_right = BooleanProperty(False)
    can_up = BooleanProperty(False)
    can_down = BooleanProperty(False)

    def __init__(self, **kwargs: Any) -> None:
        self._check = Clock.create_trigger(self._look)
        super().__init__(**kwargs)

    def on_pane(self, _: Any, pane: Any) -> None:
        for name in ("scroll_x", "scroll_y", "size", "viewport_size"):
            pane.fbind(name, self._check)
        self._check()

    def _hidden(self) -> tuple[float, float]:
        wide, high = self.pane.viewport_size
        return max(0.0, wide - self.pane.width), max(0.0, high - self.pane.height)

    def _look(self, *_: Any) -> None:
        across, down = self._hidden()
        self.is_needed = max(across, down) > 1
        self.can_left, self.can_right = (
            across > 1 and self.pane.scroll_x > 0.001,
            across > 1 and self.pane.scroll_x < 0.999,
        )
        self.can_up, self.can_down = down > 1 and self.pane.scroll_y < 0.999, down > 1 and self.pane.scroll_y > 0.001

    def pan(self, across: int, down: int) -> None:
        """Move by three quarters of what is seen."""
        hidden = self._hidden()
        if across and hidden[0] > 0:
            share = across * 0.75 * self.pane.width / hidden[0]
            self.pane.scroll_x = min(1.0, max(0.0, self.pane.scroll_x + share))
        if down and hidden[1] > 0:
            share = down * 0.75 * self.pane.height / hidden[1]
            self.pane.scroll_y = min(1.0, max(0.0, self.pane.scroll_y - share))


def cell_width(labels: Sequence[str]) -> float:
    """Return how wide each cohort's cell is, in px: its name on two lines, no word cut."""
    whole = max((text_size(label, FONT, sp(TEXT_SP))[0] for label in labels), default=0.0)
    word = max((widest_word(label, FONT, sp(TEXT_SP)) for label in labels), default=0.0)
    wanted = whole if whole <= dp(ONE_LINE_DP) else max(dp(ONE_LINE_DP), whole / LINES * 1.2)
    return max(dp(LEAST_CELL_DP), word + dp(4), wanted + dp(4))


def label_height(labels: Sequence[str], wide: float) -> float:
    """Return how high the names are in cells of that width, in px."""
    return max((text_size(label, FONT, sp(TEXT_SP), float(int(wide)))[1] for label in labels), default=0.0) * 1.15


def drawing_size(nodes: Sequence[LineNode], wide: float, high: float, room: Sequence[float]) -> tuple[float, float]:
    """Return the size of a drawing with cells of that size, in px: no cells touch, and lines have room between rows."""
    rows: dict[int, int] = {}
    for node in nodes:
        rows[node.generation] = rows.get(node.generation, 0) + 1
    last = max(rows, default=0)
    across = max(rows.values(), default=1) * (wide + dp(BETWEEN_DP))
    down = (last + 1) * high + last * dp(DOWN_DP)
    return max(across, room[0]), max(down, min(room[1], down * 1.6))


def disc_of(node: LineNode) -> float:
    """Return the diameter of a cohort's disc, in px: its area grows with the headcount."""
    return dp(max(LEAST_DISC_DP, MOST_DISC_DP * node.size))


def curve(start: tuple[float, float], end: tuple[float, float]) -> Points:
    """Return a line that leaves downwards and arrives from above, or from below where it goes along a row."""
    (x0, y0), (x3, y3) = start, end
    bend = max(abs(y0 - y3) / 2, dp(24))
    y1, y2 = y0 - bend, y3 + bend if y3 < y0 else y3 - bend
    points = []
    for step in range(STEPS + 1):
        t = step / STEPS
        a, b, c, d = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
        points.append((a * x0 + b * x0 + c * x3 + d * x3, a * y0 + b * y1 + c * y2 + d * y3))
    return points


def dashed(points: Points, dash: float) -> list[Points]:
    """Return a line in pieces: as long as `dash`, and as far apart."""
    pieces: list[Points] = []
    piece: Points = [points[0]]
    left, is_on = dash, True
    for (x0, y0), (x1, y1) in pairwise(points):
        length = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
        done = 0.0
        while length - done > left:
            done += left
            at = (x0 + (x1 - x0) * done / length, y0 + (y1 - y0) * done / length)
            if is_on:
                pieces.append([*piece, at])
            piece, left, is_on = [at], dash, not is_on
        left -= length - done
        piece.append((x1, y1))
    return [*pieces, piece] if is_on and len(piece) > 1 else pieces


load_kv(__file__)

__all__ = ["LineDrawing", "NodeView", "Pane", "Panner", "cell_width", "curve", "dashed", "disc_of", "drawing_size"]
