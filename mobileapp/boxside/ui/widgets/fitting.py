"""How large a text may be set so that no word is cut: measured, not guessed."""

from __future__ import annotations

from functools import lru_cache

from kivy.core.text import Label as CoreLabel


@lru_cache(maxsize=8192)
def text_size(text: str, font: str, size: float, width: float | None = None) -> tuple[float, float]:
    """Return width and height in px of a text set in a font, wrapped at `width` where one is given."""
    label = CoreLabel(text=text, font_name=font, font_size=size, text_size=(width, None))
    label.resolve_font_name()
    wide, high = label.render()
    return float(wide), float(high)


def widest_word(text: str, font: str, size: float) -> float:
    """Return the width in px of the longest word."""
    return max((text_size(word, font, size)[0] for word in text.split()), default=0.0)


@lru_cache(maxsize=4096)
def fitting_size(text: str, font: str, box: tuple[float, float], largest: float, smallest: float) -> float:
    """Return the largest font size, from `largest` down to `smallest` px, that fits into `box`.

    Whole words only: where not even `smallest` fits, `smallest` is returned and the caller has to give
    more room.
    """
    width, height = box
    step = max(1.0, (largest - smallest) / 10)
    size = largest
    while size > smallest:
        if widest_word(text, font, size) <= width and text_size(text, font, size, width)[1] <= height:
            return size
        size -= step
    return smallest


def fits(text: str, font: str, box: tuple[float, float], size: float) -> bool:
    """Whether a text set at `size` px fits into `box` without cutting a word."""
    width, height = box
    return widest_word(text, font, size) <= width and text_size(text, font, size, width)[1] <= height


__all__ = ["fits", "fitting_size", "text_size", "widest_word"]
