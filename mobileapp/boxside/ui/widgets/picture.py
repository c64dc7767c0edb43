"""A measured photo to touch: whole or closer, with bodies drawn over it; says which place of it was meant.

A touch counts where the finger lifts, on the part of the photo that shows then. While it rests, a loupe shows what
lies under it. A drag moves a photo that is shown closer, or the end that it began on; both can be done by taps and
buttons too.
"""

from __future__ import annotations

import io
import math
from typing import Any

from kivy.clock import Clock
from kivy.core.image import Image as CoreImage
from kivy.graphics import Color, InstructionGroup, Rectangle
from kivy.graphics.texture import Texture
from kivy.metrics import dp
from kivy.properties import (
    BooleanProperty,
    ColorProperty,
    ListProperty,
    NumericProperty,
    ObjectProperty,
    StringProperty,
)
from kivy.uix.stencilview import StencilView

from boxside.core.values.photo_view import BodyRow, Frame
from boxside.ui.kv import load_kv
from boxside.ui.sight import PAN_SHARE, Point, Sight, nearest_end, whole
from boxside.ui.widgets.press import Press
from boxside.ui.widgets.tracing import Ink, body_marks, label_marks, placed_labels, ring, stroke, target

End = tuple[str, int]

REACH_DP = 22.0
DRAG_DP = 14.0
LOUPE_DP, LOUPE_ZOOM = 112.0, 3.0


class PictureView(Press, StencilView):
    """Shows `picture` (PNG bytes) whose pixels `frame` describes, and `rows` drawn over it.

    `out` are the ids left out, `told` the id that stands out, `points` taps on the picture, `end` the end that is
    chosen; `has_ends` shows the ends, which can then be dragged. Events: `on_spot` with a position on the picture,
    `on_moved` with body, end and position.
    """

    picture = ObjectProperty(b"")
    frame = ObjectProperty(None, allownone=True)
    rows = ListProperty([])
    out = ObjectProperty(frozenset())
    told = StringProperty("")
    points = ListProperty([])
    end = ObjectProperty(None, allownone=True)
    has_ends = BooleanProperty(False)
    has_loupe = BooleanProperty(False)
    sight = ObjectProperty(None, allownone=True)
    is_whole = BooleanProperty(True)
    can_come_closer = BooleanProperty(False)
    pan_ways = ListProperty([])
    tint = ColorProperty((1, 1, 1, 1))
    core = ColorProperty((1, 1, 1, 1))
    edge = ColorProperty((0, 0, 0, 1))
    debounce = NumericProperty(0.25)
    __events__ = ("on_act", "on_spot", "on_moved")  # type: ignore[assignment]

    def __init__(self, **kwargs: Any) -> None:
        self.texture: Texture | None = None
        self._photo, self._marks, self._glass = InstructionGroup(), InstructionGroup(), InstructionGroup()
        self._redraw = Clock.create_trigger(self.redraw, -1)
        self._reglass = Clock.create_trigger(self._draw_loupe, -1)
        self._went_down: Point | None = None
        self._last: Point | None = None
        self._held: End | None = None
        self._is_dragged = False
        self._spot: Point | None = None
        super().__init__(**kwargs)
        for part in (self._photo, self._marks, self._glass):
            self.canvas.add(part)
        self.fbind("picture", self._load)
        self.fbind("frame", self._restart)
        self.fbind("size", self._resize)
        for name in ("pos", "rows", "out", "told", "points", "end", "has_ends", "tint", "core", "edge", "sight"):
            self.fbind(name, self._redraw)

    # ---- what shows ----

    def _load(self, *_: Any) -> None:
        self.texture = CoreImage(io.BytesIO(self.picture), ext="png").texture if self.picture else None
        self._redraw()

    def _restart(self, *_: Any) -> None:
        """Show another picture whole."""
        self.sight = None
        self._resize()

    def _resize(self, *_: Any) -> None:
        frame: Frame | None = self.frame
        if frame is None or min(self.size) < 2:
            self.sight = None
            return
        room = (float(self.width), float(self.height))
        if self.sight is None:
            self.sight = whole(room, (frame.width_px, frame.height_px))
        elif self.sight.room != room:
            self.sight = Sight(room, self.sight.picture, self.sight.zoom, self.sight.centre).panned(0, 0)

    def on_sight(self, _: Any, sight: Sight | None) -> None:
        """Tell which buttons would do something."""
        self.is_whole = sight is None or sight.is_whole
        self.can_come_closer = sight is not None and sight.can_come_closer
        ways = ((-1, 0), (0, -1), (0, 1), (1, 0))
        self.pan_ways = [] if sight is None else [way for way in ways if sight.can_pan(*way)]

    def closer(self) -> None:
        """Come one step closer, to the place that was meant last."""
        if self.sight is not None:
            self.sight = self.sight.closer(self._spot)

    def show_whole(self) -> None:
        """Show all of it."""
        self._spot = None
        if self.sight is not None:
            self.sight = self.sight.whole()

    def pan(self, across: int, down: int) -> None:
        """Move what shows by most of its width or height."""
        self._spot = None
        if self.sight is not None:
            self.sight = self.sight.panned(across * PAN_SHARE, down * PAN_SHARE)

    def redraw(self, *_: Any) -> None:
        """Draw the photo, then what lies over it."""
        self._photo.clear()
        self._marks.clear()
        self._draw_loupe()
        if self.sight is None or self.texture is None:
            return
        left, bottom, right, top = self.sight.frame()
        self._photo.add(Color(*self.tint))
        self._photo.add(
            Rectangle(texture=self.texture, pos=(self.x + left, self.y + bottom), size=(right - left, top - bottom))
        )
        for part in self._drawn():
            self._marks.add(part)

    def _drawn(self) -> list[Any]:
        """Return what is drawn over the photo, in the window's px."""
        ink, sight = Ink(self.core, self.edge), self._in_window()
        parts: list[Any] = []
        for row in self.rows:
            parts += body_marks(row, sight, ink, row.id in self.out, row.id == self.told)
        if self.has_ends:
            for row in self._standing():
                for end in (0, 1):
                    at = sight.to_room(row.midline_px[-end])
                    parts += ring(at, ink, is_full=self.end == (row.id, end))
        taps = [sight.to_room(at) for at in self.points]
        if len(taps) == 2:
            parts += stroke(taps, ink)
        for at in taps:
            parts += target(at, ink)
        # Labels look for their places anew once a drag has ended: until then it has to keep up with the finger.
        for label in () if self._is_dragged else placed_labels(self.rows, self.sight, self.out, self.told):
            moved = (label.at[0] + self.x, label.at[1] + self.y, label.at[2] + self.x, label.at[3] + self.y)
            parts += label_marks(type(label)(label.text, moved), ink)
        return parts

    def _in_window(self) -> Any:
        return _Moved(self.sight, (self.x, self.y))

    def _standing(self) -> list[BodyRow]:
        return [row for row in self.rows if row.id not in self.out and len(row.midline_px) > 1]

    # ---- touches ----

    def on_touch_down(self, touch: Any) -> bool:
        taken = super().on_touch_down(touch)
        if taken and self.sight is not None:
            self._went_down = self._last = touch.pos
            self._is_dragged = False
            self._held = self._end_at(touch.pos) if self.has_ends else None
            self._reglass()
        return taken

    def on_touch_move(self, touch: Any) -> bool:
        if touch.grab_current is not self:
            return False
        if self._went_down is not None and math.dist(self._went_down, touch.pos) > dp(DRAG_DP):
            self._is_dragged = self._is_dragged or self._held is not None or not (self.is_whole or self.has_loupe)
        if self._is_dragged and self._held is None and self._last is not None and self.sight is not None:
            across, down = self._last[0] - touch.x, touch.y - self._last[1]
            self.sight = self.sight.panned(across / self.width, down / self.height)
        self._last = touch.pos
        self._reglass()
        return True

    def on_touch_up(self, touch: Any) -> bool:
        if touch.grab_current is not self:
            return super().on_touch_up(touch)
        self._last = touch.pos
        taken = super().on_touch_up(touch)
        self._went_down = self._last = self._held = None
        if self._is_dragged:
            self._redraw()
        self._is_dragged = False
        self._reglass()
        return taken

    def on_act(self) -> None:
        """Say which place was meant; a key means none, and shows the next body instead."""
        if self._last is None or self.sight is None:
            self._tell_next()
            return
        at = self._meant(self._last)
        if self._is_dragged:
            if self._held is not None:
                self.dispatch("on_moved", *self._held, at)
            return
        self._spot = at
        self.dispatch("on_spot", at)

    def _tell_next(self) -> None:
        ids = [row.id for row in self._standing()]
        if ids:
            self.told = ids[(ids.index(self.told) + 1) % len(ids)] if self.told in ids else ids[0]

    def _meant(self, at: Point) -> Point:
        return self.sight.to_picture((at[0] - self.x, at[1] - self.y))

    def reach_px(self) -> float:
        """Return how far beside a thing a touch still means it, in pixels of the picture as it shows now."""
        return dp(REACH_DP) / self.sight.scale if self.sight is not None else 0.0

    def _end_at(self, at: Point) -> End | None:
        standing = self._standing()
        found = nearest_end([row.midline_px for row in standing], self._meant(at), self.reach_px())
        return (standing[found[0]].id, found[1]) if found is not None else None

    def on_spot(self, at: Point) -> None:
        """Default handler: nothing."""

    def on_moved(self, body_id: str, end: int, at: Point) -> None:
        """Default handler: nothing."""

    # ---- the loupe ----

    def _draw_loupe(self, *_: Any) -> None:
        """Show what lies under a resting finger, in the upper corner that is farther from it."""
        self._glass.clear()
        wanted = self.has_loupe or self._held is not None
        if self._last is None or not wanted or self.sight is None or self.texture is None:
            return
        side = min(dp(LOUPE_DP), self.width / 2, self.height / 2)
        ink, at = Ink(self.core, self.edge), self._meant(self._last)
        for part in self._drawn_end(ink):
            self._glass.add(part)
        left = self.x if self._last[0] > self.center_x else self.right - side
        bottom = self.top - side
        scale = self.sight.scale * LOUPE_ZOOM
        half = side / scale / 2
        wide, high = self.sight.picture
        x, y = at[0] + 0.5, at[1] + 0.5
        u0, u1, v0, v1 = (x - half) / wide, (x + half) / wide, (y + half) / high, (y - half) / high
        self._glass.add(Color(*ink.edge))
        self._glass.add(Rectangle(pos=(left, bottom), size=(side, side)))
        self._glass.add(Color(*self.tint))
        self._glass.add(
            Rectangle(
                texture=self.texture, pos=(left, bottom), size=(side, side),
                tex_coords=(u0, v0, u1, v0, u1, v1, u0, v1),
            )
        )  # fmt: skip
        middle = (left + side / 2, bottom + side / 2)
        box = [(left, bottom), (left + side, bottom), (left + side, bottom + side), (left, bottom + side)]
        for part in (*target(middle, ink), *stroke(box, ink, is_closed=True)):
            self._glass.add(part)

    def _drawn_end(self, ink: Ink) -> list[Any]:
        """Return what shows where an end is being dragged: a line from the body's other end to the finger."""
        if self._held is None or not self._is_dragged:
            return []
        body_id, end = self._held
        other = next(row.midline_px[end - 1] for row in self.rows if row.id == body_id)
        start = self._in_window().to_room(other)
        return [*stroke([start, self._last or start], ink), *ring(self._last or start, ink)]


class _Moved:
    """A sight whose room is counted from the window's corner."""

    def __init__(self, sight: Sight, by: Point) -> None:
        self.sight, self.by = sight, by

    def to_room(self, at: Point) -> Point:
        """Return where a position on the picture lies in the window."""
        x, y = self.sight.to_room(at)
        return x + self.by[0], y + self.by[1]


load_kv(__file__)

__all__ = ["REACH_DP", "PictureView"]
