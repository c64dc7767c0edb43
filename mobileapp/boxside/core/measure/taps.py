"""A body by hand: two taps on its tips in a plane that is already measured."""

from __future__ import annotations

import numpy as np

from boxside.core.measure.arrays import Bools, Floats
from boxside.core.measure.body import Place, body_of
from boxside.core.measure.contrast import contrast
from boxside.core.measure.midline import length_of, resample, walk
from boxside.core.measure.opencv import cv
from boxside.core.measure.rectify import Plane
from boxside.core.measure.refine import refined_in
from boxside.core.measure.segment import dark_blobs
from boxside.core.measure.shape import Shape, start_of
from boxside.core.values.body import Body, BodyStatus, Calibration, Flag, Point

TAP_MM = 0.35
"""How far a tap on a tip lies off at a usual zoom; common practice, no source."""


def body_by_taps(plane: Plane, cal: Calibration, tip1_mm: Point, tip2_mm: Point) -> Body:
    """Return a body between two tips that a person tapped, its midline found where the picture shows it.

    Parameters
    ----------
    plane, cal : the rectified plane and its calibration
    tip1_mm, tip2_mm : the tips in plane millimetres

    Notes
    -----
    Where one dark thing lies under both taps, its own midline is taken if it ends near them; else the way
    from tap to tap inside it. Where there is none, a straight line. Never narrower than the taps' own error.
    """
    tips = np.array([tip1_mm, tip2_mm], np.float64)
    px = plane.to_px(tips)
    for blob in dark_blobs(plane, contrast(plane)):
        place = Place(plane, cal, blob.x, blob.y)
        here = px - np.array([blob.x, blob.y])
        if not _touches(blob.outline.solid, here, 1.5 * plane.px_per_mm):
            continue
        shape = refined_in(blob, start_of(blob.outline, 3), blob.outline, plane.blur_px)
        if shape is not None and _ends_at(shape, here, 1.5 * plane.px_per_mm):
            return _by_hand(body_of(shape, blob.outline, place, blob), TAP_MM * 0.5)
        line = _way(blob.outline.solid, here)
        if line is not None:
            return _plain(place.to_mm(line), cal)
    return _plain(tips, cal)


def _touches(solid: Bools, tips: Floats, room: float) -> bool:
    """Return whether both tips lie within so many px of a mask."""
    away = cv().distanceTransform((~np.pad(solid, 1, constant_values=False)).astype(np.uint8), cv().DIST_L2, 3)
    rows, cols = solid.shape
    for x, y in tips:
        if not (-room <= x < cols + room and -room <= y < rows + room):
            return False
        if away[int(np.clip(round(y), 0, rows - 1)) + 1, int(np.clip(round(x), 0, cols - 1)) + 1] > room:
            return False
    return True


def _ends_at(shape: Shape, tips: Floats, room: float) -> bool:
    """Return whether a shape's ends are the two tips."""
    ends = shape.line[[0, -1]]
    same = np.hypot(*(ends - tips).T).max()
    turned = np.hypot(*(ends[::-1] - tips).T).max()
    return bool(min(same, turned) < room)


def _way(solid: Bools, tips: Floats) -> Floats | None:
    """Return the shortest way inside a mask from tip to tip, both included; None if there is none."""
    rows, cols = np.nonzero(solid)
    near = [int(np.argmin(np.hypot(cols - x, rows - y))) for x, y in tips]
    seed = np.zeros(solid.shape, np.uint8)
    seed[rows[near[0]], cols[near[0]]] = 1
    steps = walk(solid.astype(np.uint8), seed)
    at = np.array([rows[near[1]], cols[near[1]]])
    if steps[at[0], at[1]] < 0:
        return None
    path = [at]
    while steps[at[0], at[1]] > 0:
        at = _downhill(steps, at)
        path.append(at)
    inner = np.array(path[::-1], np.float64)[:, ::-1]
    full = np.concatenate([tips[:1], resample(inner, max(4, len(inner) // 6))[1:-1], tips[1:]])
    return np.asarray(full)


def _downhill(steps: Floats, at: np.ndarray) -> np.ndarray:
    """Return the neighbour with the fewest steps."""
    top, left = max(at[0] - 1, 0), max(at[1] - 1, 0)
    part = steps[top : at[0] + 2, left : at[1] + 2]
    cost = np.where(part < 0, np.inf, part)
    row, col = np.unravel_index(int(np.argmin(cost)), cost.shape)
    return np.array([top + int(row), left + int(col)])


def _by_hand(body: Body, tap_mm: float) -> Body:
    """Return a body marked as pointed out by hand, no more certain than the taps."""
    error = float(np.hypot(body.length_se_mm or 0.0, tap_mm))
    flags = tuple(f for f in body.flags if f is not Flag.BY_HAND)
    return Body(
        BodyStatus.MEASURED, (*flags, Flag.BY_HAND), body.length_mm, error, body.width_mm, body.width_se_mm,
        body.head_width_mm, body.head_width_se_mm, body.midline_mm, body.outline_mm,
    )  # fmt: skip


def _plain(line_mm: Floats, cal: Calibration) -> Body:
    """Return a body of which only the way from tip to tip is known."""
    length = length_of(line_mm)
    error = float(np.hypot(TAP_MM * np.sqrt(2), (cal.scale_se_frac + 0.01) * length))
    points = tuple((round(float(x), 3), round(float(y), 3)) for x, y in resample(line_mm, 33))
    return Body(BodyStatus.MEASURED, (Flag.BY_HAND,), length, error, None, None, None, None, points, points)
