"""How everything looks: colours of the three themes, sizes in dp, the type scale in sp.

Red keeps green and blue light off: every colour of it has G = B = 0, photos are tinted with `photo`, and
with the darker `plate` where something is drawn over them: a line of `trace` in a wider one of `trace_edge`, of which
one stands out wherever it runs.
"""

from __future__ import annotations

import gc

from kivy.core.window import Window
from kivy.event import EventDispatcher
from kivy.metrics import dp, sp
from kivy.properties import BooleanProperty, ColorProperty, NumericProperty, StringProperty

from boxside.ui.contrast import Rgb, rgb_of

DAY = {
    "ground": "#f3f0e6",
    "surface": "#fffdf7",
    "raised": "#e4e0d0",
    "pressed": "#c9c4ae",
    "line": "#8b8672",
    "ink": "#16201a",
    "soft": "#39423b",
    "strong": "#1c4735",
    "strong_pressed": "#0d2a1e",
    "strong_ink": "#fffdf7",
    "late": "#7a1a10",
    "focus": "#0b4fa8",
    "photo": "#ffffff",
    "plate": "#ffffff",
    "trace": "#ffe14d",
    "trace_edge": "#16201a",
}
DIM = {
    "ground": "#0d100e",
    "surface": "#171c18",
    "raised": "#262d27",
    "pressed": "#39433b",
    "line": "#6f7a70",
    "ink": "#ecf0e6",
    "soft": "#c3cbbe",
    "strong": "#b7d36b",
    "strong_pressed": "#8fae3e",
    "strong_ink": "#10160a",
    "late": "#ffb59c",
    "focus": "#8fc7ff",
    "photo": "#b8b8b8",
    "plate": "#b8b8b8",
    "trace": "#ffe14d",
    "trace_edge": "#0d100e",
}
RED = {
    "ground": "#000000",
    "surface": "#140000",
    "raised": "#260000",
    "pressed": "#340000",
    "line": "#9a0000",
    "ink": "#ff0000",
    "soft": "#ff0000",
    "strong": "#ff0000",
    "strong_pressed": "#f00000",
    "strong_ink": "#000000",
    "late": "#ff0000",
    "focus": "#ff0000",
    "photo": "#ff0000",
    "plate": "#8c0000",
    "trace": "#ff0000",
    "trace_edge": "#000000",
}
PALETTES: dict[str, dict[str, str]] = {"day": DAY, "dim": DIM, "red": RED}
ROOMY_SP = 560
LEAST_CONTRAST = {"day": 7.0, "dim": 7.0, "red": 4.5}
TEXT_ON: tuple[tuple[str, str], ...] = (
    ("ink", "ground"), ("ink", "surface"), ("ink", "raised"), ("ink", "pressed"),
    ("soft", "ground"), ("soft", "surface"), ("soft", "raised"),
    ("late", "ground"), ("late", "surface"), ("trace", "trace_edge"),
    ("strong_ink", "strong"), ("strong_ink", "strong_pressed"),
)  # fmt: skip


def palette(name: str) -> dict[str, Rgb]:
    """Return the colours of a theme by role; day for a name not known."""
    return {role: rgb_of(code) for role, code in PALETTES.get(name, DAY).items()}


class Theme(EventDispatcher):
    """What kv reads as `app.theme`: colours change live with `use`, sizes are fixed at start."""

    name = StringProperty("day")
    ground = ColorProperty()
    surface = ColorProperty()
    raised = ColorProperty()
    pressed = ColorProperty()
    line = ColorProperty()
    ink = ColorProperty()
    soft = ColorProperty()
    strong = ColorProperty()
    strong_pressed = ColorProperty()
    strong_ink = ColorProperty()
    late = ColorProperty()
    focus = ColorProperty()
    photo = ColorProperty()
    plate = ColorProperty()
    trace = ColorProperty()
    trace_edge = ColorProperty()

    target_main = NumericProperty()
    target = NumericProperty()
    gap = NumericProperty()
    half = NumericProperty()
    pad = NumericProperty()
    radius = NumericProperty()
    stroke = NumericProperty()
    icon = NumericProperty()
    icon_main = NumericProperty()
    bar = NumericProperty()

    text = NumericProperty()
    lead = NumericProperty()
    label = NumericProperty()
    title = NumericProperty()
    code = NumericProperty()

    is_roomy = BooleanProperty(True)

    font = StringProperty("BoxsideText")
    font_strong = StringProperty("BoxsideStrong")
    font_icons = StringProperty("BoxsideIcons")

    def __init__(self, name: str = "day") -> None:
        super().__init__()
        self.target_main = dp(126)
        self.target = dp(64)
        self.gap = dp(16)
        self.half = dp(8)
        self.pad = dp(16)
        self.radius = dp(14)
        self.stroke = dp(2)
        self.icon = dp(24)
        self.icon_main = dp(44)
        self.text = sp(17)
        self.lead = sp(20)
        self.label = sp(24)
        self.title = sp(24)
        self.code = sp(38)
        self.bar = max(self.target, self.icon + sp(16) * 1.35 + self.half, sp(16) * 2.5)
        self._measure()
        Window.fbind("height", self._measure)
        self.use(name)

    def _measure(self, *_: object) -> None:
        # Hints beside a keypad give way where large type leaves no room for both.
        self.is_roomy = Window.height / sp(1) >= ROOMY_SP

    def use(self, name: str) -> None:
        """Take the colours of that theme; day for a name not known."""
        was_enabled = gc.isenabled()
        # A widget that is collected while Kivy tells everything of a colour would still be told, and fail.
        gc.disable()
        try:
            for role, colour in palette(name).items():
                setattr(self, role, (*colour, 1.0))
        finally:
            if was_enabled:
                gc.enable()
        self.name = name if name in PALETTES else "day"


__all__ = ["DAY", "DIM", "LEAST_CONTRAST", "PALETTES", "RED", "TEXT_ON", "Theme", "palette"]
