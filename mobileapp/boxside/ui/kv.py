"""Loads a kv file once, and registers the bundled fonts."""

from __future__ import annotations

from pathlib import Path

from kivy.core.text import LabelBase
from kivy.lang import Builder

_loaded: set[Path] = set()

FONTS = {
    "BoxsideText": "Inter-Regular.otf",
    "BoxsideStrong": "Inter-SemiBold.otf",
    "BoxsideIcons": "icons.ttf",
}


def load_kv(module_file: str) -> None:
    """Load the kv file that stands beside a module under the same stem; a second call does nothing.

    Loading the same rules twice would double the children of every widget built from them.
    """
    path = Path(module_file).with_suffix(".kv")
    if path not in _loaded:
        _loaded.add(path)
        Builder.load_file(str(path), encoding="utf8")


def register_fonts(assets: Path) -> None:
    """Make the fonts in `assets/fonts` known to Kivy under the names the theme uses."""
    for name, file in FONTS.items():
        LabelBase.register(name=name, fn_regular=str(assets / "fonts" / file))


__all__ = ["FONTS", "load_kv", "register_fonts"]
