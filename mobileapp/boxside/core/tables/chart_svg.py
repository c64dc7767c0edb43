"""Charts as SVG text: the shapes of the layout, for the export and for print."""

from __future__ import annotations

from dataclasses import replace
from xml.sax.saxutils import escape, quoteattr

from boxside.core.charts import (
    Anchor,
    Drawing,
    Hatch,
    Marker,
    Palette,
    Point,
    Polyline,
    Rect,
    Shape,
    Strip,
    Text,
    layout,
    outline,
)
from boxside.core.values.chart import Chart

# Advance widths of the bundled font in thousandths of its size, for the signs of ASCII from the space on.
_WIDTHS = (
    282, 279, 404, 631, 638, 813, 640, 222, 363, 363, 500, 660, 280, 461, 276, 357, 625, 465, 606,
    637, 643, 608, 624, 572, 617, 624, 276, 280, 660, 660, 660, 508, 937, 677, 651, 728, 719, 599,
    587, 743, 741, 265, 543, 652, 563, 890, 753, 762, 635, 762, 640, 638, 643, 742, 677, 949, 643,
    665, 625, 363, 357, 363, 469, 452, 498, 564, 621, 559, 621, 583, 361, 610, 591, 238, 238, 545,
    238, 870, 586, 597, 610, 610, 373, 523, 364, 581, 557, 813, 540, 557, 542, 363, 327, 363, 660,
)  # fmt: skip
_WIDE = 640
_LINE, _ASCENT = 1.21, 0.97
_FAMILY = "Inter, 'Helvetica Neue', Arial, sans-serif"
_ANCHORS = {Anchor.START: "start", Anchor.MIDDLE: "middle", Anchor.END: "end"}


def chart_svg(chart: Chart, palette: Palette, width: float, height: float, *, scale: float = 1.0) -> str:
    """Return a chart as an SVG document with a title and a description for who cannot see it.

    Parameters
    ----------
    palette : colours by paint, such as one of `CHART_PALETTES`
    width, height : size in px, also its size in a text
    scale : 1 sets text at 16 px

    Notes
    -----
    Every text says how long it is, so that another font than the measured one still fits its place.
    """
    return svg_of(layout(chart, width, height, letter_measure, scale=scale), palette)


def inline_svg(chart: Chart, palette: Palette, width: float, height: float, *, key: str, title: str) -> str:
    """Return a chart as SVG to stand within a page of HTML.

    Parameters
    ----------
    key : its own among the pictures of that page
    title : for who cannot see it
    """
    drawing = replace(layout(chart, width, height, letter_measure), title=title)
    return svg_of(drawing, palette, f"chart-{key}").partition("?>\n")[2].rstrip("\n")


def letter_measure(text: str, size: float) -> tuple[float, float]:
    """Return width and height of a text from the widths of the bundled font's letters, without the font."""
    thousandths = sum(_WIDTHS[ord(sign) - 32] if 32 <= ord(sign) < 127 else _WIDE for sign in text)
    return thousandths * size / 1000, _LINE * size


def svg_of(drawing: Drawing, palette: Palette, name: str = "chart") -> str:
    """Return a drawing as an SVG document; `name` begins the ids in it."""
    width, height = _n(drawing.width), _n(drawing.height)
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" viewBox="0 0 {width} {height}" '
        f'role="img" aria-labelledby="{name}-title {name}-about" font-family="{_FAMILY}">'
    )
    told = (
        f'<title id="{name}-title">{_safe(drawing.title or "Chart")}</title>',
        f'<desc id="{name}-about">{_safe(drawing.about)}</desc>',
    )
    shapes = (_element(shape, palette) for shape in drawing.shapes)
    return "\n".join(('<?xml version="1.0" encoding="UTF-8"?>', head, *told, *shapes, "</svg>")) + "\n"


def _element(shape: Shape, palette: Palette) -> str:
    colour = palette[shape.paint]
    if isinstance(shape, Text):
        return _text(shape, colour)
    if isinstance(shape, Polyline):
        dash = f' stroke-dasharray="{" ".join(map(_n, shape.dash))}"' if shape.dash else ""
        return f'<path d="{_path(shape.points)}" fill="none" {_stroke(colour, shape.width)}{dash}/>'
    if isinstance(shape, Hatch):
        return f'<path d="{"".join(map(_path, shape.segments))}" fill="none" {_stroke(colour, shape.width)}/>'
    if isinstance(shape, Rect):
        box = " ".join(
            f'{name}="{_n(value)}"'
            for name, value in (("x", shape.x), ("y", shape.y), ("width", shape.width), ("height", shape.height))
        )
        return f'<rect {box} fill="{colour}"{_opacity(shape.opacity)}/>'
    opacity = _opacity(shape.opacity) if isinstance(shape, Strip) else ""
    return f'<path d="{_path(_corners(shape))}Z" fill="{colour}"{opacity}/>'


def _corners(shape: Strip | Marker) -> tuple[Point, ...]:
    return outline(shape) if isinstance(shape, Marker) else (*shape.upper, *reversed(shape.lower))


def _text(text: Text, colour: str) -> str:
    strong = ' font-weight="600"' if text.strong else ""
    length = f' textLength="{_n(text.width)}" lengthAdjust="spacingAndGlyphs"' if text.width > 0 else ""
    return (
        f'<text x="{_n(text.x)}" y="{_n(text.y + _ASCENT * text.size)}" font-size="{_n(text.size)}" '
        f"text-anchor={quoteattr(_ANCHORS[text.anchor])}{strong}{length} "
        f'fill="{colour}">{_safe(text.text)}</text>'
    )


def _stroke(colour: str, width: float) -> str:
    return f'stroke="{colour}" stroke-width="{_n(width)}"'


def _opacity(opacity: float) -> str:
    return f' fill-opacity="{_n(opacity)}"' if opacity < 1 else ""


def _path(points: tuple[Point, ...]) -> str:
    return "M" + "L".join(f"{_n(x)},{_n(y)}" for x, y in points)


def _n(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _safe(text: str) -> str:
    """XML 1.0 has no place for control signs, whether escaped or not."""
    kept = (
        sign if sign >= " " and sign not in "\ufffe\uffff" and not "\ud800" <= sign <= "\udfff" else " "
        for sign in text
    )
    return escape("".join(kept))


__all__ = ["chart_svg", "inline_svg", "letter_measure", "svg_of"]
