"""Walks the live widget tree of every scene and writes what breaks the bars for wet thumbs as JSON.

python tests/ui/audit.py OUT.json WIDTHxHEIGHT(dp) DENSITY FONTSCALE,FONTSCALE... K/N [LOOK]

Checked: size of targets (126 dp for main ones, 64 dp else), gaps of 16 dp, text that is cut or set below
16 sp, texts over each other, actions out of reach; of N shares of the scenes the K-th, counted from 0. With
LOOK `colours`, at the first font scale: contrast in all three themes (7:1, red 4.5:1), and that no pixel of
the red theme has green or blue. Colours do not hang on the size of the window, so that one size suffices.
"""

from __future__ import annotations

import gc
import json
import os
import sys
from collections.abc import Iterator
from itertools import combinations
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
MAIN_DP, OTHER_DP, GAP_DP, TEXT_SP = 126.0, 64.0, 16.0, 16.0
SLACK = 1.0
Finding = dict[str, Any]
Rect = tuple[float, float, float, float]


def rect_of(widget: Any) -> Rect:
    """Return left, bottom, right, top in the window."""
    x, y = widget.to_window(*widget.pos)
    return (x, y, x + widget.width, y + widget.height)


def cut(one: Rect, other: Rect) -> Rect:
    """Return what two rectangles share; empty ones have right <= left or top <= bottom."""
    return (max(one[0], other[0]), max(one[1], other[1]), min(one[2], other[2]), min(one[3], other[3]))


def is_empty(rect: Rect) -> bool:
    """Whether less than a pixel is left of a rectangle."""
    return rect[2] - rect[0] < SLACK or rect[3] - rect[1] < SLACK


def parents(widget: Any) -> Iterator[Any]:
    """Yield the ancestors of a widget below the window."""
    while widget.parent is not None and widget.parent is not widget:
        widget = widget.parent
        yield widget


def is_shown(widget: Any) -> bool:
    """Whether neither it nor an ancestor is invisible."""
    return all(w.opacity > 0 for w in (widget, *(p for p in parents(widget) if hasattr(p, "opacity"))))


def scroll_of(widget: Any) -> Any:
    """Return the scroll view that a widget lies in, or None."""
    from kivy.uix.scrollview import ScrollView

    return next((p for p in parents(widget) if isinstance(p, ScrollView)), None)


def seen(widget: Any) -> Rect:
    """Return the part of a widget that its scroll view lets through."""
    scroll = scroll_of(widget)
    return cut(rect_of(widget), rect_of(scroll)) if scroll is not None else rect_of(widget)


class Audit:
    """Looks at what shows now; `found` holds what is wrong."""

    def __init__(self, app: Any, scene: str) -> None:
        self.app = app
        self.scene = scene
        self.found: list[Finding] = []
        self.n_targets = 0
        self.n_texts = 0
        self.top = app.shell.sheet or app.shell

    def note(self, what: str, widget: Any, **more: Any) -> None:
        """Put down one finding."""
        name = getattr(widget, "text", "") or getattr(widget, "title", "") or getattr(widget, "mark", "")
        self.found.append(
            {"scene": self.scene, "what": what, "widget": type(widget).__name__, "name": str(name)[:60], **more}
        )

    def targets(self) -> list[Any]:
        """Return the enabled targets that show."""
        from boxside.ui.widgets.press import Press

        return [w for w in self.top.walk() if isinstance(w, Press) and not w.disabled and is_shown(w) and w.height > 1]

    def labels(self) -> list[Any]:
        """Return the labels that show some text."""
        from kivy.uix.label import Label

        found = [w for w in self.top.walk() if isinstance(w, Label) and w.text.strip() and is_shown(w)]
        return [w for w in found if not is_empty(seen(w))]

    def geometry(self) -> None:
        """Check sizes, gaps, reach and texts."""
        targets, labels = self.targets(), self.labels()
        self.n_targets, self.n_texts = len(targets), len(labels)
        for target in targets:
            self._size(target)
            self._reach(target)
        for one, other in combinations(targets, 2):
            self._gap(one, other)
        for label in labels:
            self._text(label)
        for one, other in combinations(labels, 2):
            self._overlap(one, other)

    def _size(self, target: Any) -> None:
        from kivy.metrics import dp

        from boxside.ui.widgets.actgrid import MainGrid
        from boxside.ui.widgets.button import BigButton

        least = MAIN_DP if isinstance(target, BigButton) and isinstance(target.parent, MainGrid) else OTHER_DP
        if min(target.width, target.height) < dp(least) - SLACK:
            self.note("small target", target, width_dp=target.width / dp(1), height_dp=target.height / dp(1))

    def _reach(self, target: Any) -> None:
        from kivy.core.window import Window

        window = (0.0, 0.0, float(Window.width), float(Window.height))
        rect = rect_of(target)
        scroll = scroll_of(target)
        if scroll is not None:
            if not self._can_turn(scroll):
                shared = cut(rect, rect_of(scroll))
                if shared != rect and not self._nearly(shared, rect):
                    self.note("out of reach in a scroll view", target)
            return
        if not self._nearly(cut(rect, window), rect):
            self.note("off screen", target, rect=rect)

    @staticmethod
    def _nearly(one: Rect, other: Rect) -> bool:
        return all(abs(a - b) <= SLACK for a, b in zip(one, other, strict=True))

    def _can_turn(self, scroll: Any) -> bool:
        from boxside.ui.widgets.actgrid import PagedText
        from boxside.ui.widgets.line_drawing import Panner
        from boxside.ui.widgets.pages import Turner

        panners = [w for w in self.top.walk() if isinstance(w, Panner) and w.is_needed]
        if any(w.pane.__self__ is scroll for w in panners):
            return True
        turners = [w for w in self.top.walk() if isinstance(w, Turner) and w.is_needed]
        return isinstance(scroll.parent, PagedText) or any(w.scroll.__self__ is scroll for w in turners)

    def _gap(self, one: Any, other: Any) -> None:
        from kivy.metrics import dp

        a, b = seen(one), seen(other)
        if is_empty(a) or is_empty(b):
            return
        across, along = max(a[0], b[0]) - min(a[2], b[2]), max(a[1], b[1]) - min(a[3], b[3])
        gap = max(across, along)
        if gap < dp(GAP_DP) - SLACK:
            self.note("gap too small", one, other=str(getattr(other, "text", ""))[:40], gap_dp=gap / dp(1))

    def _text(self, label: Any) -> None:
        from kivy.metrics import sp

        from boxside.ui.widgets.text import Icon

        if label.font_size < sp(TEXT_SP) - 0.5 and not isinstance(label, Icon):
            self.note("text below 16 sp", label, sp=label.font_size / sp(1))
        wide, high = self._needed(label)
        if wide > label.width + SLACK or high > label.height + SLACK:
            self.note("text cut", label, needs=(wide, high), has=(label.width, label.height))
        self._inside(label)

    def _needed(self, label: Any) -> tuple[float, float]:
        from boxside.ui.widgets.fitting import text_size, widest_word
        from boxside.ui.widgets.text import Icon

        if isinstance(label, Icon):
            return float(label.texture_size[0]) if label.text_size[0] is None else 0.0, 0.0
        width = float(int(label.width))
        high = text_size(label.text, label.font_name, label.font_size, width)[1]
        lines = label.line_height if label.line_height > 1 else 1.0
        # A path has no words: it may be broken anywhere.
        words = " ".join(word for word in label.text.split() if "/" not in word)
        return widest_word(words, label.font_name, label.font_size), min(
            high * lines, max(high, float(label.texture_size[1]))
        )

    def _inside(self, label: Any) -> None:
        from boxside.ui.widgets.press import Press

        holder = next((p for p in parents(label) if isinstance(p, Press) or getattr(p, "is_layer", False)), None)
        if holder is None or (scroll_of(label) is not None and not isinstance(holder, Press)):
            return
        if not self._nearly(cut(rect_of(label), rect_of(holder)), rect_of(label)):
            self.note("text outside its holder", label, holder=type(holder).__name__)

    def _overlap(self, one: Any, other: Any) -> None:
        shared = cut(seen(one), seen(other))
        if shared[2] - shared[0] > 2 * SLACK and shared[3] - shared[1] > 2 * SLACK:
            self.note("texts over each other", one, other=other.text[:40])

    def contrast(self) -> None:
        """Check every text and icon against what lies under it, in each theme."""
        from boxside.ui.contrast import contrast
        from boxside.ui.theme import LEAST_CONTRAST

        before = self.app.theme.name
        for theme, least in LEAST_CONTRAST.items():
            self.app.use_theme(theme)
            for label in self.labels():
                colour = label.disabled_color if label.disabled else label.color
                ratio = contrast(tuple(colour[:3]), self._ground(label))
                if ratio < least:
                    self.note("low contrast", label, theme=theme, ratio=round(ratio, 2))
        self.app.use_theme(before)

    def _ground(self, label: Any) -> tuple[float, float, float]:
        from boxside.ui.widgets.bar import Toast
        from boxside.ui.widgets.button import Pressable
        from boxside.ui.widgets.rows import Row

        for parent in parents(label):
            if isinstance(parent, Pressable) and parent.fill[3] > 0:
                return tuple(parent.fill[:3])
            if isinstance(parent, Row | Toast):
                return tuple(self.app.theme.surface[:3])
        return tuple(self.app.theme.ground[:3])


def green_or_blue(scene: str) -> list[Finding]:
    """Return a finding if the window shows any green or blue, or nothing but a few shades."""
    import numpy as np
    from kivy.core.window import Window
    from kivy.graphics.opengl import GL_RGB, GL_UNSIGNED_BYTE, glReadPixels

    from boxside.app.pictures import frames

    frames(1)
    data = glReadPixels(0, 0, Window.width, Window.height, GL_RGB, GL_UNSIGNED_BYTE)
    shown = np.frombuffer(data, np.uint8).reshape(-1, 3)
    shades = len(np.unique(shown[:, 0]))
    if int(shown[:, 1:].max()) == 0 and shades > 8:
        return []
    return [{"scene": scene, "what": "not red alone", "most": shown.max(axis=0).tolist(), "shades": shades}]


def audit_scenes(share: slice, has_colours: bool) -> dict[str, Any]:
    """Look at a share of the scenes, at their colours too if asked; returns the findings and how much was looked at."""
    from tests.ui.scenes import SCENES, stage

    names = list(SCENES)[share]
    found: list[Finding] = []
    n_targets = n_texts = 0
    with stage() as on_stage:
        for name in names:
            audit = Audit(on_stage.show(name, "red" if has_colours else "day"), name)
            if has_colours:
                audit.found += green_or_blue(name)
            audit.geometry()
            if has_colours:
                # What scenes before left behind would be coloured anew with each change of theme.
                gc.collect()
                audit.contrast()
            found += audit.found
            n_targets += audit.n_targets
            n_texts += audit.n_texts
    return {"found": found, "n_targets": n_targets, "n_texts": n_texts, "n_scenes": len(names)}


def main() -> None:
    """Look, and write what was found, a list with one entry for each font scale."""
    out, size, density, scales, share, *look = sys.argv[1:]
    nth, n_shares = (int(n) for n in share.split("/"))
    sys.path[:0] = [str(ROOT / "mobileapp"), str(ROOT)]
    first, *_ = scales.split(",")
    os.environ["KIVY_METRICS_DENSITY"] = density
    os.environ["KIVY_METRICS_FONTSCALE"] = first
    # A short life: what collecting would give back does not pay for going through all widgets again and again.
    gc.disable()
    from boxside.app.phone import prepare_kivy

    width, height = (round(int(n) * float(density)) for n in size.split("x"))
    prepare_kivy(True, (width, height))
    from kivy.metrics import Metrics

    gc.freeze()
    seen = []
    for scale in scales.split(","):
        Metrics.fontscale = float(scale)
        seen.append({"scale": scale, **audit_scenes(slice(nth, None, n_shares), "colours" in look and scale == first)})
        gc.collect()
    Path(out).write_text(json.dumps(seen, indent=1), encoding="utf-8")


if __name__ == "__main__":
    main()
