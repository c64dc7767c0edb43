"""From one shape in the plane to one body in millimetres, with its errors and flags."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boxside.core.measure.arrays import Floats
from boxside.core.measure.likeness import faults
from boxside.core.measure.midline import resample
from boxside.core.measure.notches import outline_points
from boxside.core.measure.rectify import Plane
from boxside.core.measure.segment import Blob
from boxside.core.measure.shape import Outline, Shape
from boxside.core.measure.uncertainty import HEIGHT_FRAC, Sources, length_se_mm, width_se_mm
from boxside.core.values.body import Body, BodyStatus, Calibration, Flag, Point

CURLED_RAD = 1.6
TIP_LOSS = 0.45
"""Blur takes off narrow tips: length lost in sigmas of the photo's blur, both ends (on rendered scenes)."""
WIDTH_GAIN = 0.5
"""Blur and roots of legs widen: width won by thin bodies in sigmas of the photo's blur (on rendered scenes)."""
THIN_SIGMAS = 14.0
SMALL_PX = 22.0
"""Length in photo pixels below which a body's numbers are doubtful."""


@dataclass(frozen=True, slots=True, eq=False)
class Place:
    """Where a shape was found: its crop's first pixel, the plane and the photo's calibration."""

    plane: Plane
    cal: Calibration
    x: int
    y: int

    def to_mm(self, px: Floats) -> Floats:
        """Return plane millimetres of crop positions."""
        return self.plane.to_mm(np.asarray(px) + np.array([self.x, self.y]))


def _lowered(points_mm: Floats, width_mm: float, cal: Calibration) -> Floats:
    """Return where points of an outline above the card stand on the card."""
    if cal.camera_mm is None:
        return points_mm
    eye = np.array(cal.camera_mm[:2])
    return np.asarray(points_mm - (points_mm - eye) * (HEIGHT_FRAC * width_mm / cal.camera_mm[2]))


def _points(points_mm: Floats) -> tuple[Point, ...]:
    return tuple((x, y) for x, y in np.round(points_mm, 3).tolist())


def _head(shape: Shape, px_per_mm: float, shrink: float) -> float | None:
    """Return the width of a head set off by a neck at either end, None where none is seen."""
    across = shape.left + shape.right
    found = []
    for side in (across, across[::-1]):
        first = side[: len(side) // 4]
        peak = next(
            (k for k in range(1, len(first) - 1) if first[k] >= first[k - 1] and first[k] > first[k + 1]),
            None,
        )
        if peak is None:
            continue
        neck = float(first[peak:].min())
        if neck < 0.93 * first[peak] and first[peak] < 0.85 * shape.width:
            found.append(float(first[peak]))
    return min(found) * shrink / px_per_mm if found else None


def body_of(shape: Shape, outline: Outline, place: Place, blob: Blob | None, cut_px: float = 0.0) -> Body:
    """Return a body from its shape, with corrections for height above the card and for edge offset."""
    plane, cal = place.plane, place.cal
    per = plane.px_per_mm
    edge = plane.edge_px * (0.4 if blob is not None and blob.pale else 1.0)
    length_px = max(shape.length - 2 * edge + TIP_LOSS * plane.blur_px, 1.0)
    across = shape.width
    gain = WIDTH_GAIN * min(1.0, THIN_SIGMAS * plane.blur_px / max(across, 1.0))
    width_px = max(across - 2 * edge - gain * plane.blur_px, 0.5 * across)
    raw_width = width_px / per
    line = _lowered(place.to_mm(shape.line), raw_width, cal)
    flat = float(np.hypot(*np.diff(line, axis=0).T).sum())
    seen = float(np.hypot(*np.diff(place.to_mm(shape.line), axis=0).T).sum())
    shrink = flat / max(seen, 1e-9)
    length, width = length_px / per * shrink, raw_width * shrink
    sources = Sources(
        length, width, cal.mm_per_px, cal.scale_se_frac, cal.camera_mm[2] if cal.camera_mm else None,
        shape.turn_rad, shape.overlap, cut_px / per,
    )  # fmt: skip
    flags = _flags(shape, blob, cut_px, length / cal.mm_per_px)
    doubtful = bool(set(flags) & {Flag.SHAPE, Flag.AT_EDGE, Flag.GLARE, Flag.SMALL, Flag.BELOW_FERET})
    head = _head(shape, per, shrink)
    border = _lowered(place.to_mm(outline_points(outline.solid, max(1.0, per / 5))), raw_width, cal)
    return Body(
        status=BodyStatus.DOUBTFUL if doubtful else BodyStatus.MEASURED,
        flags=flags,
        length_mm=length,
        length_se_mm=length_se_mm(sources),
        width_mm=width,
        width_se_mm=width_se_mm(sources),
        head_width_mm=head,
        head_width_se_mm=None if head is None else float(np.hypot(0.5 * cal.mm_per_px, 0.08 * head)),
        midline_mm=_points(resample(line, 33)),
        outline_mm=_points(border),
    )


def _flags(shape: Shape, blob: Blob | None, cut_px: float, length_photo_px: float) -> tuple[Flag, ...]:
    """Return what a reader of the numbers should know."""
    wrong = faults(shape)
    marks = (
        (Flag.TOUCHING, cut_px > 0),
        (Flag.CURLED, shape.turn_rad > CURLED_RAD),
        (Flag.PALE, blob is not None and blob.pale),
        (Flag.AT_EDGE, blob is not None and blob.at_edge),
        (Flag.GLARE, blob is not None and glare_hides(blob)),
        (Flag.BELOW_FERET, shape.below_feret),
        (Flag.SMALL, length_photo_px < SMALL_PX),
        (Flag.SHAPE, bool(set(wrong) - {"feret"})),
    )
    return tuple(flag for flag, on in marks if on)


def glare_hides(blob: Blob) -> bool:
    """Return whether a burnt-out spot on a thing is large enough to hide a part of it."""
    return blob.glare_px > 0.12 * blob.width_px**2


def unmeasured(outline: Outline, place: Place, flags: tuple[Flag, ...], count: tuple[int, int, int]) -> Body:
    """Return a body without lengths: a closed ring, or a clump of (least, likeliest, most) animals."""
    border = place.to_mm(outline_points(outline.solid, max(1.0, place.plane.px_per_mm / 5)))
    return Body(BodyStatus.REFUSED, flags, None, None, None, None, None, None, (), _points(border), *count)
