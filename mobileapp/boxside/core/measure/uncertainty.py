"""Standard errors of lengths and widths: where the tips are, the scale, the height above the card, bending.

The constants were set on rendered scenes (seeds that no bar is judged by); on living larvae nothing is known
of them, and posture alone changes a larva's length by more.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

HEIGHT_FRAC = 0.25
"""Height of the widest outline above the card over the body's width: larvae lie flat on the ground."""
HEIGHT_FRAC_SE = 0.09
TIP_PX = 0.46
TIP_WIDTH_FRAC = 0.018
BEND_FRAC = 0.0033
SHAPE_FRAC = 0.12
CUT_FRAC = 0.11
WIDTH_PX = 0.42
WIDTH_FRAC = 0.014


@dataclass(frozen=True, slots=True)
class Sources:
    """What an error is made of, in mm and shares; `cut_mm` is the length of the cuts that freed the body."""

    length_mm: float
    width_mm: float
    px_mm: float
    scale_se_frac: float
    camera_mm: float | None
    turn_rad: float
    overlap: float
    cut_mm: float


def length_se_mm(s: Sources) -> float:
    """Return one sigma of a length in mm."""
    height = HEIGHT_FRAC_SE * s.width_mm / s.camera_mm if s.camera_mm else 0.01
    parts = (
        TIP_PX * s.px_mm,
        TIP_WIDTH_FRAC * s.width_mm,
        s.scale_se_frac * s.length_mm,
        height * s.length_mm,
        BEND_FRAC * max(s.turn_rad - 0.5, 0.0) * s.length_mm,
        SHAPE_FRAC * max(0.95 - s.overlap, 0.0) * s.length_mm,
        CUT_FRAC * _cut_mm(s),
    )
    return math.sqrt(sum(p * p for p in parts))


def _cut_mm(s: Sources) -> float:
    """Return the length of a cut that counts: even a short one may lie at a tip."""
    return min(max(s.cut_mm, 0.6 * s.width_mm), 2 * s.width_mm) if s.cut_mm > 0 else 0.0


def width_se_mm(s: Sources) -> float:
    """Return one sigma of a width in mm."""
    height = HEIGHT_FRAC_SE * s.width_mm / s.camera_mm if s.camera_mm else 0.01
    parts = (
        WIDTH_PX * s.px_mm,
        WIDTH_FRAC * s.width_mm,
        s.scale_se_frac * s.width_mm,
        height * s.width_mm,
        SHAPE_FRAC * max(0.95 - s.overlap, 0.0) * s.width_mm,
        0.04 * min(s.cut_mm, 2 * s.width_mm),
    )
    return math.sqrt(sum(p * p for p in parts))
