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
    at = _map(cal, (rows, cols), px_per_mm, (left, top))
    shrink = 1 / (cal.mm_per_px * px_per_mm)
    picture = rgb
    if shrink > 1.6:
        # Fine photo, coarser plane: average first, so that single photo pixels do not decide.
        picture = cv().resize(rgb, None, fx=0.5, fy=0.5, interpolation=cv().INTER_AREA)
        at = at * np.float32(0.5) - np.float32(0.25)
    flat = cv().remap(picture, at, None, cv().INTER_LINEAR, borderMode=cv().BORDER_REPLICATE)
    per = cal.mm_per_px * px_per_mm
    return Plane(flat, px_per_mm, (left, top), cal.edge_px * per, (cal.blur_px or 1.0) * per)


def _map(cal: Calibration, shape: tuple[int, int], px_per_mm: float, corner_mm: tuple[float, float]) -> Singles:
    """Return photo (x, y) for every pixel of the plane; exact on a grid, linear between."""
    rows, cols = shape
    step = 8
    gy, gx = np.mgrid[0 : rows + 2 * step : step, 0 : cols + 2 * step : step].astype(np.float64)
    left, top = corner_mm
    mm = np.stack([(gx + 0.5) / px_per_mm + left, (gy + 0.5) / px_per_mm + top], axis=-1).reshape(-1, 2)
    px = to_px(cal, mm).reshape(*gx.shape, 2).astype(np.float32)
    # Between grid points 8 px apart the map is straight to far below a hundredth of a pixel.
    ix, iy = np.meshgrid(np.arange(cols, dtype=np.float32) / step, np.arange(rows, dtype=np.float32) / step)
    return np.asarray(cv().remap(px, ix, iy, cv().INTER_LINEAR), np.float32)
