"""The card's window seen from straight above, at a fixed number of pixels per millimetre."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boxside.core.measure.arrays import Bytes, Floats, Singles
from boxside.core.measure.opencv import cv
from boxside.core.measure.plane import matrix_of, px_per_mm_at, to_px
from boxside.core.values.body import Calibration

LEAST_PX_PER_MM = 13.0
"""Coarser photos are enlarged to this: legs are then told from small bodies by morphology."""
INSET_MM = 0.3
STEP_PX, STRIP = 8, 16
"""Pixels of the plane from place to place at which the map is worked out, and such steps in a strip."""
MOST_PX = 1_800_000
"""Most pixels of a rectified window: 16 px/mm on the A6 card."""


@dataclass(frozen=True, slots=True, eq=False)
class Plane:
    """A rectified picture (rows, cols, 3) uint8; pixel (i, j) lies at origin + ((j, i) + 0.5) / px_per_mm."""

    rgb: Bytes
    px_per_mm: float
    origin_mm: tuple[float, float]
    edge_px: float = 0.0
    blur_px: float = 1.0

    def to_mm(self, px: Floats) -> Floats:
        """Return plane millimetres of (n, 2) positions (x, y) in this picture."""
        return np.asarray((np.asarray(px) + 0.5) / self.px_per_mm + np.array(self.origin_mm))

    def to_px(self, mm: Floats) -> Floats:
        """Return positions (x, y) in this picture of (n, 2) plane millimetres."""
        return np.asarray((np.asarray(mm) - np.array(self.origin_mm)) * self.px_per_mm - 0.5)


def rectify(rgb: Bytes, cal: Calibration, px_per_mm: float | None = None) -> Plane:
    """Return the window as seen from straight above.

    Parameters
    ----------
    rgb : (rows, cols, 3) uint8, the photo that was calibrated
    px_per_mm : None takes the photo's own finest scale there, limited to `MOST_PX` pixels in all
    """
    left, top, right, bottom = cal.region_mm
    if cal.how == "card":
        # The cutting line and the window's cut edge are no part of the ground.
        left, top, right, bottom = left + INSET_MM, top + INSET_MM, right - INSET_MM, bottom - INSET_MM
    if px_per_mm is None:
        middle = np.array([(left + right) / 2, (top + bottom) / 2])
        own = px_per_mm_at(matrix_of(cal), middle)[0]
        most = np.sqrt(MOST_PX / ((right - left) * (bottom - top)))
        px_per_mm = float(min(max(own * 1.1, LEAST_PX_PER_MM), most))
    rows, cols = round((bottom - top) * px_per_mm), round((right - left) * px_per_mm)
    shrink = 1 / (cal.mm_per_px * px_per_mm)
    picture, factor = rgb, 1.0
    if shrink > 1.6:
        # Fine photo, coarser plane: average first, so that single photo pixels do not decide.
        picture, factor = cv().resize(rgb, None, fx=0.5, fy=0.5, interpolation=cv().INTER_AREA), 0.5
    flat = _flat(picture, _grid(cal, (rows, cols), px_per_mm, (left, top), factor), (rows, cols))
    per = cal.mm_per_px * px_per_mm
    return Plane(flat, px_per_mm, (left, top), cal.edge_px * per, (cal.blur_px or 1.0) * per)


def _grid(
    cal: Calibration, shape: tuple[int, int], px_per_mm: float, corner_mm: tuple[float, float], factor: float
) -> Singles:
    """Return (x, y) in the photo, shrunk by a factor, for a grid of every 8th pixel of the plane.

    It begins a square before the plane, and has its points in the middles of squares, as enlarging takes them.
    """
    gy, gx = (np.arange(-1, -(-n // STEP_PX) + 1) * STEP_PX + (STEP_PX - 1) / 2 for n in shape)
    left, top = corner_mm
    mm = np.stack(np.meshgrid((gx + 0.5) / px_per_mm + left, (gy + 0.5) / px_per_mm + top), axis=-1)
    px = (to_px(cal, mm.reshape(-1, 2)) + 0.5) * factor - 0.5
    return np.asarray(px.reshape(mm.shape), np.float32)


def _flat(picture: Bytes, grid: Singles, shape: tuple[int, int]) -> Bytes:
    """Return the picture at a grid's places and, linearly, between them: the map is straight enough there.

    Strip by strip, so that what is made in between stays in the processor's own memory.
    """
    rows, cols = shape
    out = np.empty((rows, cols, 3), np.uint8)
    for top in range(0, rows, STRIP * STEP_PX):
        some = grid[top // STEP_PX : top // STEP_PX + STRIP + 2]
        # The map may lead out of the picture.
        size = np.array([picture.shape[1], picture.shape[0]])
        low = np.clip(np.floor(some.min(axis=(0, 1))).astype(int) - 1, 0, size - 2)
        high = np.clip(np.ceil(some.max(axis=(0, 1))).astype(int) + 2, low + 2, size)
        # With a fourth channel: of three, each pixel takes twice the time.
        part = cv().cvtColor(picture[low[1] : high[1], low[0] : high[0]], cv().COLOR_RGB2RGBA)
        wide = cv().resize(some - low.astype(np.float32), None, fx=STEP_PX, fy=STEP_PX, interpolation=cv().INTER_LINEAR)
        n = min(STRIP * STEP_PX, rows - top)
        at = wide[STEP_PX : STEP_PX + n, STEP_PX : STEP_PX + cols]
        seen = cv().remap(part, at, None, cv().INTER_LINEAR, borderMode=cv().BORDER_REPLICATE)
        cv().cvtColor(seen, cv().COLOR_RGBA2RGB, dst=out[top : top + n])
    return out
