"""A chart on the screen: the shapes of the layout in the colours of the theme; a tap tells the numbers."""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import lru_cache
from typing import Any

from kivy.clock import Clock
from kivy.core.text import Label as CoreLabel
from kivy.graphics import Color, InstructionGroup, Line, Mesh, PopMatrix, PushMatrix, Rectangle, Translate
from kivy.graphics.texture import Texture
from kivy.metrics import dp, sp
from kivy.properties import ListProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.label import Label

from boxside.core.charts import (
    CHART_PALETTES,
    Drawing,
    Hatch,
    Hit,
    Marker,
    Palette,
    Point,
    Polyline,
    Rect,
    Shape,
    Strip,
    Text,
    dashes,
    layout,
    outline,
)
from boxside.ui.contrast import rgb_of
from boxside.ui.kv import load_kv
from boxside.ui.widgets.press import Press

FONT, STRONG_FONT = "BoxsideText", "BoxsideStrong"
REACH_DP = 32.0
_MOST_SEGMENTS = 8000


class ChartTip(Label):
    """What a tap on the chart tells."""


class ChartView(Press):
    """Draws `chart` as wide as it is and `high` times as high; Enter and Space walk through the points.

    `left_out` holds the texts that had no room, for the screen to show below.
    """

    chart = ObjectProperty(None, allownone=True)
    high = NumericProperty(0.9)
    theme_name = StringProperty("day")
    left_out = ListProperty([])

    def __init__(self, **kwargs: Any) -> None:
        self.drawing: Drawing | None = None
        self.shown: Hit | None = None
        self._tapped: Point | None = None
        self._laid_out: tuple[Any, float, float, float] | None = None
        self._shapes, self._ring = InstructionGroup(), InstructionGroup()
        self._move = Translate(0, 0)
        self._redraw = Clock.create_trigger(self.redraw, -1)
        super().__init__(**kwargs)
        for part in (PushMatrix(), self._move, self._shapes, self._ring, PopMatrix()):
            self.canvas.add(part)
        self.tip = ChartTip()
        self.add_widget(self.tip)
        for name in ("size", "chart", "theme_name"):
            self.fbind(name, self._redraw)
        self.fbind("pos", self._follow)
        self._redraw()

    def _follow(self, *_: Any) -> None:
        # Moving along with a list costs no new drawing.
        self._move.xy = self.pos
        self._place_tip()

    def redraw(self, *_: Any) -> None:
        """Lay the chart out anew and draw it."""
        self._shapes.clear()
        self._move.xy = self.pos
        self.tell(None)
        if self.chart is None or min(self.size) < 1:
            self.drawing, self.left_out = None, []
            return
        laid_out = (self.chart, self.width, self.height, sp(1))
        if self.drawing is None or self._laid_out != laid_out:
            self.drawing, self._laid_out = layout(*laid_out[:3], measure, scale=laid_out[3]), laid_out
        self.left_out = list(self.drawing.left_out)
        palette = CHART_PALETTES.get(self.theme_name, CHART_PALETTES["day"])
        for shape in self.drawing.shapes:
            for part in instructions(shape, palette, self.height):
                self._shapes.add(part)

    def on_touch_up(self, touch: Any) -> bool:
        """Remember where the finger left, for what is told."""
        self._tapped = touch.pos
        return super().on_touch_up(touch)

    def on_act(self) -> None:
        """Tell the numbers nearest to the tap, or the next ones where a key was pressed; else nothing."""
        if self._tapped is None:
            self.tell(self._next_hit())
        else:
            self.tell(self.nearest(self._tapped[0] - self.x, self.top - self._tapped[1]))
        self._tapped = None

    def _next_hit(self) -> Hit | None:
        hits = self.drawing.hits if self.drawing is not None else ()
        if not hits:
            return None
        return hits[(hits.index(self.shown) + 1) % len(hits)] if self.shown in hits else hits[0]

    def nearest(self, x: float, y: float) -> Hit | None:
        """Return what can be told within 32 dp of a place, in px from the top left."""
        hits = self.drawing.hits if self.drawing is not None else ()
        hit = min(hits, key=lambda hit: math.hypot(hit.x - x, hit.y - y), default=None)
        return hit if hit is not None and math.hypot(hit.x - x, hit.y - y) <= dp(REACH_DP) else None

    def tell(self, hit: Hit | None) -> None:
        """Show the numbers of a hit in a box inside the chart, or take the box away."""
        self.shown = hit
        self._ring.clear()
        self.tip.text = hit.label if hit is not None else ""
        if hit is None:
            self.tip.size = (0, 0)
            return
        palette = CHART_PALETTES.get(self.theme_name, CHART_PALETTES["day"])
        self._ring.add(Color(*rgb_of(palette["text"])))
        self._ring.add(Line(circle=(hit.x, self.height - hit.y, dp(9)), width=dp(1.2)))
        self._place_tip()

    def _place_tip(self) -> None:
        if self.shown is None:
            return
        tip, edge = self.tip, dp(4)
        tip.text_size = (None, None)
        tip.texture_update()
        if tip.texture_size[0] > self.width - 2 * edge:
            tip.text_size = (self.width - 2 * edge, None)
            tip.texture_update()
        tip.size = tip.texture_size
        x, y = self.shown.x - tip.width / 2, self.height - self.shown.y + dp(14)
        if y + tip.height > self.height - edge:
            y = self.height - self.shown.y - dp(14) - tip.height
        x = max(edge, min(x, self.width - tip.width - edge))
        y = max(edge, min(y, self.height - tip.height - edge))
        tip.pos = (self.x + x, self.y + y)


@lru_cache(maxsize=4096)
def measure(text: str, size: float) -> tuple[float, float]:
    """Return width and height in px of a text in the font of the charts."""
    wide, high = _texture(text, size, False).size
    return float(wide), float(high)


# White, so that one texture serves all colours.
@lru_cache(maxsize=512)
def _texture(text: str, size: float, is_strong: bool) -> Texture:
    label = CoreLabel(text=text or " ", font_name=STRONG_FONT if is_strong else FONT, font_size=size)
    label.refresh()
    return label.texture


def instructions(shape: Shape, palette: Palette, height: float) -> list[Any]:
    """Return what draws a shape in a widget of that height, its colour first."""
    opacity = shape.opacity if isinstance(shape, Rect | Strip) else 1.0
    colour = Color(*rgb_of(palette[shape.paint]), opacity)
    if isinstance(shape, Text):
        texture = _texture(shape.text, shape.size, shape.strong)
        left = shape.box[0] + (shape.box[2] - shape.box[0] - texture.width) / 2 * (not shape.strong)
        top = round(height - shape.y)
        return [colour, Rectangle(texture=texture, pos=(round(left), top - texture.height), size=texture.size)]
    if isinstance(shape, Rect):
        box = (shape.x, height - shape.y - shape.height)
        return [colour, Rectangle(pos=box, size=(shape.width, shape.height))]
    if isinstance(shape, Polyline):
        return [colour, *(_line(piece, shape.width, height) for piece in dashes(shape))]
    if isinstance(shape, Hatch):
        return [colour, *_hatch(shape, height)]
    return [
        colour,
        _mesh(outline(shape), height, "triangle_fan") if isinstance(shape, Marker) else _strip(shape, height),
    ]


def _line(points: Iterable[Point], width: float, height: float) -> Line:
    flat = [value for x, y in points for value in (x, height - y)]
    return Line(points=flat, width=max(1.0, width / 2), cap="none", joint="round")


def _mesh(points: Iterable[Point], height: float, mode: str) -> Mesh:
    vertices = [value for x, y in points for value in (x, height - y, 0.0, 0.0)]
    return Mesh(vertices=vertices, indices=list(range(len(vertices) // 4)), mode=mode)


def _strip(strip: Strip, height: float) -> Mesh:
    pairs = zip(strip.upper, strip.lower, strict=True)
    return _mesh((point for pair in pairs for point in pair), height, "triangle_strip")


def _hatch(hatch: Hatch, height: float) -> list[Mesh]:
    """Each segment as two triangles, all in as few meshes as the graphics system counts to."""
    points: list[Point] = []
    for (x0, y0), (x1, y1) in hatch.segments:
        length = math.hypot(x1 - x0, y1 - y0) or 1.0
        dx, dy = (y0 - y1) / length * hatch.width / 2, (x1 - x0) / length * hatch.width / 2
        a, b, c, d = (x0 + dx, y0 + dy), (x0 - dx, y0 - dy), (x1 - dx, y1 - dy), (x1 + dx, y1 + dy)
        points += [a, b, c, a, c, d]
    most = 6 * _MOST_SEGMENTS
    return [_mesh(points[i : i + most], height, "triangles") for i in range(0, len(points), most)]


load_kv(__file__)

__all__ = ["REACH_DP", "ChartTip", "ChartView", "instructions", "measure"]
