"""Photographs, small and as large as the window: tinted by the theme, so that red stays red."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from kivy.core.image import Image as CoreImage
from kivy.graphics.texture import Texture
from kivy.loader import Loader
from kivy.metrics import dp
from kivy.properties import ListProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.gridlayout import GridLayout

from boxside.ui.kv import load_kv
from boxside.ui.widgets.press import Press
from boxside.ui.widgets.sheet import Sheet

COLUMNS = 3
_DIGEST = re.compile(r"[0-9a-f]{64}")


class Thumb(Press, BoxLayout):
    """One photograph, to be tapped."""

    source = StringProperty("")


class Photos(GridLayout):
    """Photographs side by side, three in a row; `pick` gets the one that is tapped."""

    sources = ListProperty([])
    pick = ObjectProperty(None, allownone=True)

    def on_sources(self, *_: Any) -> None:
        self.clear_widgets()
        for source in self.sources:
            thumb = Thumb(source=source)
            thumb.bind(on_act=self._tapped)
            self.add_widget(thumb)

    def _tapped(self, thumb: Thumb) -> None:
        if self.pick is not None:
            self.pick(thumb.source)

    @staticmethod
    def data(sources: Sequence[str], width: float, pick: Callable[[str], None]) -> dict[str, Any]:
        """Return the row of a list that shows these photographs."""
        side = (width - (COLUMNS - 1) * dp(16)) / COLUMNS
        rows = -(-len(sources) // COLUMNS)
        return {
            "viewclass": "Photos", "sources": list(sources), "pick": pick,
            "row_size": (None, rows * side + (rows - 1) * dp(16)),
        }  # fmt: skip


class PhotoSheet(Sheet):
    """One photograph as large as the window, and the ones before and after it."""

    sources = ListProperty([])
    at = NumericProperty(0)
    then = ObjectProperty(None, allownone=True)

    def measure(self) -> None:
        """Close, then hand on what the one that shows is known by."""
        source = digest_of(self.sources[int(self.at)])
        self.close()
        if self.then is not None:
            self.then(source)

    def turn(self, by: int) -> None:
        """Show another one."""
        self.at = min(len(self.sources) - 1, max(0, self.at + by))


def digest_of(path: str) -> str:
    """Return the sha256 by which a kept photo is known, or the path itself where its name is none."""
    stem = Path(path).stem
    return stem if _DIGEST.fullmatch(stem) else path


def _blank_while_loading() -> None:
    """Show nothing while a photograph is read: Kivy's own picture is neither ours nor red."""
    Loader.loading_image = Loader.error_image = CoreImage(Texture.create(size=(1, 1)))


_blank_while_loading()
load_kv(__file__)

__all__ = ["COLUMNS", "PhotoSheet", "Photos", "Thumb", "digest_of"]
