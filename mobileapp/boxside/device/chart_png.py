"""Charts drawn with Pillow: the shapes of the layout as the bytes of a PNG."""

from __future__ import annotations

import io
from functools import lru_cache
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

from boxside.core.charts import (
    Anchor,
    Drawing,
    Hatch,
    Marker,
    Measure,
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
from boxside.core.values.chart import Chart
from boxside.core.values.errors import DataError

REGULAR, STRONG = "Inter-Regular.otf", "Inter-SemiBold.otf"
_FINE, _COARSE, _MANY_PX = 4, 2, 900_000
_ANCHORS = {Anchor.START: "la", Anchor.MIDDLE: "ma", Anchor.END: "ra"}


def draw_png(chart: Chart, width: int, height: int, palette: Palette, fonts_dir: Path, *, scale: float = 1.0) -> bytes:
    """Return a chart as PNG bytes; equal arguments give equal bytes.

    Parameters
    ----------
    width, height : size in px
    palette : colours by paint, such as one of `CHART_PALETTES`
    fonts_dir : folder with the two text fonts
    scale : 1 sets text at 16 px

    Raises
    ------
    DataError : if a font is missing
    """
    drawing = layout(chart, width, height, measure_with(fonts_dir), scale=scale)
    return png_of(drawing, palette, fonts_dir)


def measure_with(fonts_dir: Path) -> Measure:
    """Return the text measure of the fonts that are drawn with."""

    def measure(text: str, size: float) -> tuple[float, float]:
        font = _font(fonts_dir / REGULAR, size)
        ascent, descent = font.getmetrics()
        return font.getlength(text), float(ascent + descent)

    return measure


def png_of(drawing: Drawing, palette: Palette, fonts_dir: Path) -> bytes:
    """Return a drawing as PNG bytes."""
    width, height = round(drawing.width), round(drawing.height)
    times = _FINE if width * height <= _MANY_PX else _COARSE
    large = Image.new("RGB", (width * times, height * times), palette["ground"])
    for shape in drawing.shapes:
        _draw(large, shape, palette, times)
    image = large.reduce(times)
    pen = ImageDraw.Draw(image)
    for text in drawing.texts:
        font = _font(fonts_dir / (STRONG if text.strong else REGULAR), text.size)
        pen.text((text.x, text.y), text.text, palette[text.paint], font, _ANCHORS[text.anchor])
    kept = io.BytesIO()
    image.save(kept, "PNG", optimize=True)
    return kept.getvalue()


# The basic layout engine is in every build of Pillow, so that all machines set the same text alike.
@lru_cache(maxsize=64)
def _font(path: Path, size: float) -> ImageFont.FreeTypeFont:
    try:
        return ImageFont.truetype(str(path), size, layout_engine=ImageFont.Layout.BASIC)
    except OSError as error:
        raise DataError(str(path), "font", f"cannot be read ({error})") from error


def _draw(image: Image.Image, shape: Shape, palette: Palette, times: int) -> None:
    if isinstance(shape, Text):
        return
    colour = palette[shape.paint]
    if isinstance(shape, Polyline):
        for piece in dashes(shape):
            _line(image, piece, colour, shape.width, times)
    elif isinstance(shape, Hatch):
        for segment in shape.segments:
            _line(image, segment, colour, shape.width, times)
    else:
        _area(image, _large(_outline(shape), times), colour, 1.0 if isinstance(shape, Marker) else shape.opacity)


def _outline(shape: Rect | Strip | Marker) -> tuple[Point, ...]:
    if isinstance(shape, Marker):
        return outline(shape)
    if isinstance(shape, Strip):
        return (*shape.upper, *reversed(shape.lower))
    right, bottom = shape.x + shape.width, shape.y + shape.height
    return (shape.x, shape.y), (right, shape.y), (right, bottom), (shape.x, bottom)


def _large(points: tuple[Point, ...], times: int) -> list[Point]:
    # Pillow fills the pixel a corner falls in; half a pixel less puts edges where they belong.
    return [(x * times - 0.5, y * times - 0.5) for x, y in points]


def _line(image: Image.Image, points: tuple[Point, ...], colour: str, width: float, times: int) -> None:
    ImageDraw.Draw(image).line(_large(points, times), colour, max(1, round(width * times)), joint="curve")


def _area(image: Image.Image, corners: list[Point], colour: str, opacity: float) -> None:
    if opacity >= 1:
        ImageDraw.Draw(image).polygon(corners, colour)
        return
    left, top = (max(0, int(min(p[k] for p in corners)) - 1) for k in (0, 1))
    right, bottom = (int(max(p[k] for p in corners)) + 2 for k in (0, 1))
    mask = Image.new("L", (right - left, bottom - top), 0)
    ImageDraw.Draw(mask).polygon([(x - left, y - top) for x, y in corners], round(255 * opacity))
    image.paste(colour, (left, top, right, bottom), mask)


__all__ = ["REGULAR", "STRONG", "draw_png", "measure_with", "png_of"]
