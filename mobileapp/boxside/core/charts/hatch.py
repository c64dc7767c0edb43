"""Textures as lines: parallel lines cut to the outline of an area."""

from __future__ import annotations

import math

from boxside.core.charts.marks import Hatch, Ink, Point
from boxside.core.charts.style import Texture

_APART_PX, _LINE_PX, _SPOT_PX = 7.0, 1.5, 2.2
_DIRECTIONS: dict[Texture, tuple[float, ...]] = {
    Texture.PLAIN: (),
    Texture.RISING: (-45.0,),
    Texture.FALLING: (45.0,),
    Texture.LEVEL: (0.0,),
    Texture.CROSSED: (-45.0, 45.0),
    Texture.SPOTS: (0.0,),
}


def hatched(outline: tuple[Point, ...], texture: Texture, scale: float) -> tuple[Hatch, ...]:
    """Return the lines of a texture, in the colour of the ground, cut to a closed outline.

    Lines keep to one raster over the whole picture, so that neighbours of one texture join.

    Parameters
    ----------
    outline : corners in order, px; it may be hollow or touch itself (the even-odd rule decides)
    """
    if texture is Texture.PLAIN or len(outline) < 3:
        return ()
    spots = texture is Texture.SPOTS
    apart = (_APART_PX - 1.0 * spots) * scale
    lines = [line for turn in _DIRECTIONS[texture] for line in _cut_lines(outline, turn, apart)]
    if spots:
        lines = [spot for line in lines for spot in _spots(line, apart, _SPOT_PX * scale)]
    width = (_SPOT_PX if spots else _LINE_PX) * scale
    return (Hatch(tuple(lines), Ink.GROUND, width),) if lines else ()


def _cut_lines(outline: tuple[Point, ...], turn_deg: float, apart: float) -> list[tuple[Point, Point]]:
    cos, sin = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    turned = [(x * cos + y * sin, y * cos - x * sin) for x, y in outline]
    crossings: dict[int, list[float]] = {}
    for (x0, y0), (x1, y1) in zip(turned, (*turned[1:], turned[0]), strict=True):
        low, high = min(y0, y1), max(y0, y1)
        # Half open, so that a corner on a line is crossed once.
        for k in range(math.ceil(low / apart), math.ceil(high / apart)):
            crossings.setdefault(k, []).append(x0 + (x1 - x0) * (k * apart - y0) / (y1 - y0))
    lines = []
    for k, spots in sorted(crossings.items()):
        ends = sorted(spots)
        y = k * apart
        for start, end in zip(ends[::2], ends[1::2], strict=False):
            if end > start:
                lines.append(
                    ((start * cos - y * sin, start * sin + y * cos), (end * cos - y * sin, end * sin + y * cos))
                )
    return lines


def _spots(line: tuple[Point, Point], apart: float, size: float) -> list[tuple[Point, Point]]:
    (start, y), (end, _) = line
    shift = apart / 2 if round(y / apart) % 2 else 0.0
    first, last = math.ceil((start + size - shift) / apart), math.floor((end - size - shift) / apart)
    middles = (i * apart + shift for i in range(first, last + 1))
    return [((x - size / 2, y), (x + size / 2, y)) for x in middles]
