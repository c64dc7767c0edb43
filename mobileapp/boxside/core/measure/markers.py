"""Fiducial markers in a grey picture: found as dark squares, read by their bits, with sub-pixel corners.

A marker is a black square with a border of one cell and bits inside, as in the ArUco dictionaries; the code
table is given, so the same reader serves our card and any other open dictionary of that form.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from boxside.core.measure.arrays import Bools, Bytes, Floats, Ints
from boxside.core.measure.edges import refine_corners
from boxside.core.measure.opencv import cv

SEARCH_PX, QUICK_PX = 1600, 1200
"""Longer side at which markers are looked for, and about that at first; corners are refined in the full picture."""
_CELL_PX = 8


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """One marker as seen: id, corners clockwise from its own top left (4, 2), blur of its two edge pairs."""

    id: int
    corners_px: Floats
    wrong_bits: int
    blur_px: tuple[float, float]
    edge_share: float


def _quads(binary: Bytes, least_side: float) -> Iterator[Floats]:
    """Yield convex four-cornered outlines of a binary picture, clockwise as seen."""
    contours, _ = cv().findContours(binary, cv().RETR_LIST, cv().CHAIN_APPROX_SIMPLE)
    for contour in contours:
        if len(contour) < 4:
            continue
        area = cv().contourArea(contour)
        around = cv().arcLength(contour, True)
        if area < least_side**2 or area < 0.02 * around**2:
            continue
        for share in (0.03, 0.05, 0.08):
            corners = cv().approxPolyDP(contour, share * around, True)
            if len(corners) <= 4:
                break
        if len(corners) == 4 and cv().isContourConvex(corners):
            points = corners[:, 0].astype(np.float64)
            turn = np.cross(np.append(points[1] - points[0], 0), np.append(points[2] - points[1], 0))[2]
            yield points if turn > 0 else points[::-1].copy()


def _cells(grey: Bytes, corners: Floats, bits: int) -> Floats:
    """Return the mean grey of each cell of a marker, border included."""
    n = bits + 2
    side = n * _CELL_PX
    target = np.array([[0, 0], [side, 0], [side, side], [0, side]], np.float32) - 0.5
    onto = cv().getPerspectiveTransform(corners.astype(np.float32), target)
    patch = cv().warpPerspective(grey, onto, (side, side), flags=cv().INTER_LINEAR)
    cut = patch.reshape(n, _CELL_PX, n, _CELL_PX)[:, 2:-2, :, 2:-2]
    return np.asarray(cut.mean(axis=(1, 3)), np.float64)


def _codes_by_turn(codes: Mapping[int, int], bits: int) -> tuple[Ints, Bools]:
    """Return (n, 2) ids and quarter turns, and (n, bits, bits) grids, for all four ways a marker may lie."""
    names, grids = [], []
    for marker, code in codes.items():
        grid = np.array([code >> (bits * bits - 1 - k) & 1 for k in range(bits * bits)], bool).reshape(bits, bits)
        names += [(marker, turns) for turns in range(4)]
        grids += [np.rot90(grid, turns) for turns in range(4)]
    return np.array(names, np.int32), np.array(grids)


def _read(cells: Floats, table: tuple[Ints, Bools], wrong: int) -> tuple[int, int, int] | None:
    """Return (id, quarter turns, wrong bits) of a marker's cells, None where it is no known marker."""
    inner = cells[1:-1, 1:-1]
    border = np.concatenate([cells[0], cells[-1], cells[1:-1, 0], cells[1:-1, -1]])
    # The median, and about the 95th percentile.
    ranked, inside = np.sort(border), np.sort(inner, axis=None)
    dark = float(ranked[(len(ranked) - 1) // 2] + ranked[len(ranked) // 2]) / 2
    at = 0.95 * (len(inside) - 1)
    light = float(inside[int(at)]) + (at - int(at)) * float(inside[min(int(at) + 1, len(inside) - 1)] - inside[int(at)])
    if light - dark < 25:
        return None
    level = (dark + light) / 2
    if np.count_nonzero(border > level) > 2:
        return None
    names, grids = table
    errors = np.count_nonzero((inner > level) != grids, axis=(1, 2))
    best = int(np.argmin(errors))
    return (int(names[best, 0]), int(names[best, 1]), int(errors[best])) if errors[best] <= wrong else None


def _binaries(grey: Bytes) -> Iterator[Bytes]:
    """Yield the picture split into dark and light at several neighbourhoods, the likeliest first."""
    side = max(grey.shape)
    for share, less in ((0.05, 7.0), (0.016, 7.0), (0.15, 10.0), (0.03, 15.0)):
        block = max(3, int(side * share) | 1)
        mean = cv().blur(grey, (block, block))
        yield cv().compare(grey, cv().subtract(mean, less), cv().CMP_LT)


def _scales(longer_px: int) -> list[float]:
    """Return how far to shrink a picture for a quick look, and for a closer one where that finds too little."""
    # By whole numbers, averaging takes a tenth of the time.
    quick = 1 / max(1, round(longer_px / QUICK_PX))
    close = min(1.0, SEARCH_PX / longer_px)
    return [quick, close] if quick < close else [close]


def find_markers(
    grey: Bytes,
    codes: Mapping[int, int],
    bits: int = 4,
    wrong_bits: int = 1,
    enough: Callable[[set[int]], bool] = lambda ids: False,
) -> dict[int, Found]:
    """Return the markers in a grey picture by id; of several with one id the largest.

    Parameters
    ----------
    grey : (rows, cols) uint8
    codes : id -> bits, row by row from the top left, most significant first, 1 is white
    bits : bits along a side, without the border
    wrong_bits : misread bits allowed; at most half the dictionary's distance less one
    enough : told the ids found so far after each pass; True ends the search
    """
    table = _codes_by_turn(codes, bits)
    best: dict[int, tuple[float, Floats, int]] = {}
    for factor in _scales(max(grey.shape)):
        small = grey if factor == 1 else cv().resize(grey, None, fx=factor, fy=factor, interpolation=cv().INTER_AREA)
        for binary in _binaries(small):
            for quad in _quads(binary, 1.6 * (bits + 2)):
                read = _read(_cells(small, quad, bits), table, wrong_bits)
                if read is not None:
                    _keep(best, read, (quad + 0.5) / factor - 0.5)
            if enough(set(best)):
                return {k: _refined(grey, k, corners, wrong, bits) for k, (_, corners, wrong) in best.items()}
    return {k: _refined(grey, k, corners, wrong, bits) for k, (_, corners, wrong) in best.items()}


def _keep(best: dict[int, tuple[float, Floats, int]], read: tuple[int, int, int], quad: Floats) -> None:
    """Keep a marker unless one with its id was found before that is about as large."""
    marker, turns, wrong = read
    area = float(cv().contourArea(quad.astype(np.float32)))
    if marker not in best or area > best[marker][0] * 1.3:
        best[marker] = (area, np.roll(quad, turns, axis=0), wrong)


def _refined(grey: Bytes, marker: int, rough: Floats, wrong: int, bits: int) -> Found:
    """Return a marker with corners from lines along its four edges in the full picture."""
    fine, blur, share = refine_corners(grey, rough, bits + 2)
    return Found(marker, fine, wrong, blur, share)
