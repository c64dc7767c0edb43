"""Photographs, small: tinted by the theme, so that red stays red."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from kivy.core.image import Image as CoreImage
from kivy.graphics.texture import Texture
from kivy.loader import Loader
from kivy.metrics import dp
from kivy.properties import ListProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.gridlayout import GridLayout

from boxside.ui.kv import load_kv

COLUMNS = 3


class Thumb(BoxLayout):
    """One photograph."""

    source = StringProperty("")


class Photos(GridLayout):
    """Photographs side by side, three in a row."""

    sources = ListProperty([])

    def on_sources(self, *_: Any) -> None:
        self.clear_widgets()
        for source in self.sources:
            self.add_widget(Thumb(source=source))

    @staticmethod
    def data(sources: Sequence[str], width: float) -> dict[str, Any]:
        """Return the row of a list that shows these photographs."""
        side = (width - (COLUMNS - 1) * dp(16)) / COLUMNS
        rows = -(-len(sources) // COLUMNS)
        return {
            "viewclass": "Photos", "sources": list(sources), "row_size": (None, rows * side + (rows - 1) * dp(16)),
        }  # fmt: skip


def _blank_while_loading() -> None:
    """Show nothing while a photograph is read: Kivy's own picture is neither ours nor red."""
    Loader.loading_image = Loader.error_image = CoreImage(Texture.create(size=(1, 1)))


_blank_while_loading()
load_kv(__file__)

__all__ = ["COLUMNS", "Photos", "Thumb"]
