"""Which touch counts as a press, and of which target: the rules for wet fingers.

A press is one contact that goes down on a target or within 2 mm of it (where it is the nearest), stays
30 ms or longer, and comes up on the same target. While one target is held, other contacts are ignored;
a contact that has rested on a target longer than `RESTING_S` (a drop, the side of a hand) gives way to
the next. A second press within 0.4 s and 6 mm of the first is a bounce, even if another target has come
up there meanwhile. The same target answers once in its
`debounce` (0.4 s, 0.3 s for the keys of a keypad).

References
----------
Duff, Irwin (2010) for 20 mm targets; Henze (2011) for where touches miss. The times are common practice,
no source.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any
from weakref import WeakSet

Rect = tuple[float, float, float, float]

GHOST_S = 0.030
DEBOUNCE_S = 0.400
RESTING_S = 1.5
BOUNCE_MARGINS = 3
MARGIN_MM = 2.0
MARGIN_DP = MARGIN_MM / 25.4 * 160


def distance(rect: Rect, x: float, y: float) -> float:
    """Return how far a point is from a rectangle (x, y, width, height); 0 inside."""
    left, bottom, width, height = rect
    dx = max(left - x, 0.0, x - (left + width))
    dy = max(bottom - y, 0.0, y - (bottom + height))
    return float((dx * dx + dy * dy) ** 0.5)


def window_rect(widget: Any) -> Rect:
    """Return where a widget is in the window: x, y, width, height."""
    x, y = widget.to_window(*widget.pos)
    return (x, y, widget.width, widget.height)


def layer_of(widget: Any) -> Any:
    """Return the sheet or page that a widget lies on; None where it lies on none."""
    while widget is not None and not getattr(widget, "is_layer", False):
        if widget.parent is widget:
            return None
        widget = widget.parent
    return widget


class Contacts:
    """Remembers which target is held by which contact; one for the whole window."""

    def __init__(self, now: Callable[[], float] = time.monotonic) -> None:
        self.now = now
        self.targets: WeakSet[Any] = WeakSet()
        self._held: tuple[Any, Any] | None = None
        self._last: tuple[Any, float, float, float] | None = None

    def seen(self, touch: Any) -> None:
        """Stamp a contact with the moment it went down; the outermost widget calls this."""
        touch.ud.setdefault("down_at", self.now())

    def claim(self, target: Any, touch: Any, margin: float) -> bool:
        """Hold `target` with `touch` if that is where it went down and nothing else is held."""
        if target.disabled or not self._is_finger(touch):
            return False
        x, y = target.to_window(*touch.pos)
        far = distance(window_rect(target), x, y)
        if far > margin or (far > 0 and self._another_is_nearer(target, x, y, far)):
            return False
        if self._is_busy(touch):
            return False
        self.seen(touch)
        self._held = (target, touch)
        return True

    def release(self, target: Any, touch: Any, margin: float) -> bool:
        """Let `target` go; True if this was a press."""
        if self._held is None or self._held[1] is not touch:
            return False
        self._held = None
        x, y = target.to_window(*touch.pos)
        if target.disabled or distance(window_rect(target), x, y) > margin:
            return False
        now = self.now()
        if now - touch.ud["down_at"] < GHOST_S or self._is_bounce(target, x, y, now, margin):
            return False
        if not self.settle(target, now):
            return False
        self._last = (target, x, y, now)
        return True

    def _is_bounce(self, target: Any, x: float, y: float, now: float, margin: float) -> bool:
        """Whether a press repeats one at the same place that has put another target there."""
        if self._last is None or self._last[0] is target:
            return False
        _, last_x, last_y, last_at = self._last
        return now - last_at < DEBOUNCE_S and distance((last_x, last_y, 0.0, 0.0), x, y) < BOUNCE_MARGINS * margin

    def settle(self, target: Any, now: float | None = None) -> bool:
        """Whether `target` may act now, and note that it does; False within the debounce time."""
        now = self.now() if now is None else now
        if now - target.acted_at < target.debounce:
            return False
        target.acted_at = now
        return True

    def forget(self) -> None:
        """Let go of whatever is held, as when a page is left."""
        if self._held is not None:
            self._held[0].pressed = False
        self._held = None

    @staticmethod
    def _is_finger(touch: Any) -> bool:
        return "button" not in touch.profile or touch.button == "left"

    def _is_busy(self, touch: Any) -> bool:
        if self._held is None or self._held[1] is touch:
            return False
        if self.now() - self._held[1].ud["down_at"] < RESTING_S:
            return True
        self.forget()
        return False

    def _another_is_nearer(self, target: Any, x: float, y: float, far: float) -> bool:
        layer = layer_of(target)
        return any(
            distance(window_rect(other), x, y) < far
            for other in self.targets
            if other is not target
            and not other.disabled
            and other.get_parent_window() is not None
            and layer_of(other) is layer
        )


contacts = Contacts()

__all__ = [
    "DEBOUNCE_S",
    "GHOST_S",
    "MARGIN_DP",
    "RESTING_S",
    "Contacts",
    "contacts",
    "distance",
    "layer_of",
    "window_rect",
]
