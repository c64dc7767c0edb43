"""The measuring card as data: size, window, markers, and a drawing of it in millimetres.

The card is our own layout. Its four fiducial markers are 4 x 4 bit squares with a black border, taken from
the dictionary 4X4_50 of the ArUco library (Garrido-Jurado S., Munoz-Salinas R., Madrid-Cuevas F.J.,
Marin-Jimenez M.J. 2014, Automatic generation and detection of highly reliable fiducial markers under
occlusion, Pattern Recognition 47:2280-2292), so that any reader of that open dictionary finds them too. The
eight ids in use differ by at least six bits in every rotation: two misread bits are still told apart.
"""

from __future__ import annotations

from dataclasses import dataclass

from boxside.core.values.body import Point

BITS = 4
"""Bits along the side of a marker, without its black border of one cell."""

CODES: dict[int, int] = {
    3: 0x9946, 18: 0x6C5E, 19: 0x76AF, 20: 0x868B,
    21: 0xB02B, 31: 0x57B2, 41: 0x2A28, 49: 0x5013,
}  # fmt: skip
"""Marker id -> its bits row by row from the top left, most significant first, 1 is white."""

CHECK_BAR_MM = 50.0
"""Length of the printed line that the keeper measures once."""


@dataclass(frozen=True, slots=True)
class Marker:
    """One printed marker: its id, its top-left corner and its side in mm."""

    id: int
    x_mm: float
    y_mm: float
    side_mm: float

    @property
    def corners_mm(self) -> tuple[Point, Point, Point, Point]:
        """Corners clockwise from the top left."""
        x, y, s = self.x_mm, self.y_mm, self.side_mm
        return (x, y), (x + s, y), (x + s, y + s), (x, y + s)


@dataclass(frozen=True, slots=True)
class Card:
    """A card as it is meant to be printed; all in mm, origin at the top-left corner, y down.

    `window_mm` (left, top, right, bottom) is where the animals lie; `bar_mm` is the check bar's left end.
    """

    name: str
    size_mm: tuple[float, float]
    window_mm: tuple[float, float, float, float]
    markers: tuple[Marker, Marker, Marker, Marker]
    bar_mm: Point


@dataclass(frozen=True, slots=True)
class Rect:
    """A filled rectangle of the drawing; `shade` 0 is black, 1 white."""

    x_mm: float
    y_mm: float
    w_mm: float
    h_mm: float
    shade: float = 0.0


@dataclass(frozen=True, slots=True)
class Text:
    """A line of text of the drawing; (x, y) is the left end of its baseline."""

    x_mm: float
    y_mm: float
    size_mm: float
    text: str


def _four(ids: tuple[int, int, int, int], size: tuple[float, float], edge: float, side: float) -> Card:
    """Return a card with markers `side` wide at its corners, without window and bar."""
    right, low = size[0] - edge - side, size[1] - edge - side
    at = ((edge, edge), (right, edge), (right, low), (edge, low))
    marks = tuple(Marker(i, x, y, side) for i, (x, y) in zip(ids, at, strict=True))
    return Card("", size, (0, 0, 0, 0), (marks[0], marks[1], marks[2], marks[3]), (0, 0))


def card_geometry(variant: str = "a6") -> Card:
    """Return the card of a variant: "a6" (148 x 105 mm) or "pocket" (85.6 x 54 mm, a bank card's size).

    Raises
    ------
    KeyError
        For another variant.
    """
    made = {
        "a6": Card(
            "a6",
            (148.0, 105.0),
            (29.0, 8.0, 119.0, 95.0),
            _four((3, 18, 19, 20), (148.0, 105.0), 5.0, 20.0).markers,
            (49.0, 100.0),
        ),
        "pocket": Card(
            "pocket",
            (85.6, 54.0),
            (18.3, 4.0, 67.3, 46.0),
            _four((21, 31, 41, 49), (85.6, 54.0), 3.0, 12.0).markers,
            (17.8, 50.0),
        ),
    }
    return made[variant]


VARIANTS = ("a6", "pocket")


def marker_cells(marker: Marker) -> list[Rect]:
    """Return a marker as a black square with its white cells on top."""
    cell = marker.side_mm / (BITS + 2)
    out = [Rect(marker.x_mm, marker.y_mm, marker.side_mm, marker.side_mm)]
    for k in range(BITS * BITS):
        if CODES[marker.id] >> (BITS * BITS - 1 - k) & 1:
            row, col = divmod(k, BITS)
            out.append(Rect(marker.x_mm + (col + 1) * cell, marker.y_mm + (row + 1) * cell, cell, cell, 1.0))
    return out


def _frame(left: float, top: float, right: float, bottom: float, line: float, shade: float) -> list[Rect]:
    """Return the four lines of a frame whose outer edge is given."""
    wide, high = right - left, bottom - top
    return [
        Rect(left, top, wide, line, shade),
        Rect(left, bottom - line, wide, line, shade),
        Rect(left, top, line, high, shade),
        Rect(right - line, top, line, high, shade),
    ]


def card_drawing(variant: str = "a6") -> tuple[tuple[Rect, ...], tuple[Text, ...]]:
    """Return the card as filled rectangles, painted in order, and lines of text, all in mm."""
    card = card_geometry(variant)
    width, height = card.size_mm
    rects = [Rect(0, 0, width, height, 1.0)]
    for marker in card.markers:
        rects += marker_cells(marker)
    left, top, right, bottom = card.window_mm
    # The cutting line lies outside the window, so that nothing of it remains inside after cutting.
    rects += _frame(left - 0.2, top - 0.2, right + 0.2, bottom + 0.2, 0.2, 0.75)
    x, y = card.bar_mm
    rects += [Rect(x, y - 0.15, CHECK_BAR_MM, 0.3), Rect(x, y - 1.2, 0.3, 2.4)]
    rects += [Rect(x + CHECK_BAR_MM - 0.3, y - 1.2, 0.3, 2.4)]
    small = 1.8 if variant == "pocket" else 2.2
    texts = [
        Text(x + 2, y + 1.0 + small, small, "This line: 50.0 mm from end to end. Measure it once, enter it."),
        Text(left, top - 1.4, small, "Animals flat in the window. Matt paper, no flash."),
    ]
    return tuple(rects), tuple(texts)
