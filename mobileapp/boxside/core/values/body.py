"""What a photo gives: a scale, a count, and bodies with lengths and their errors.

Card coordinates are millimetres, origin at the card's top-left corner, x to the right, y down. Without a
card (two taps on a known length) the origin is the photo's top-left corner. A standard error (`_se_`) is
one sigma; the 95 % interval is value +- 1.96 times it.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

Point = tuple[float, float]


class BodyStatus(StrEnum):
    """How far a body's numbers can be used."""

    MEASURED = "measured"
    DOUBTFUL = "doubtful"
    REFUSED = "refused"


class Flag(StrEnum):
    """Why a body's numbers are wider or missing."""

    TOUCHING = "touching"
    CURLED = "curled"
    CLOSED = "closed"
    PALE = "pale"
    AT_EDGE = "at_edge"
    GLARE = "glare"
    BELOW_FERET = "below_feret"
    CLUMP = "clump"
    CROSSING = "crossing"
    SHAPE = "shape"
    SMALL = "small"
    BY_HAND = "by_hand"


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a photo is not measured: a key, what is wrong, what to do."""

    reason: str
    what: str
    do: str


@dataclass(frozen=True, slots=True)
class Calibration:
    """Where a photo's pixels lie on the plane of the card.

    `homography` (nine numbers, row by row) takes plane millimetres to pixels of a photo without lens
    distortion; such a pixel u is seen at centre + (u - centre) (1 + radial |u - centre|^2 / radius_px^2).
    `camera_mm` is the lens in plane coordinates (z towards the camera), None where unknown.
    `edge_px` is how far half-level edges lie outside true ones, in photo pixels; `scale_se_frac` is the
    relative standard error of any length from the calibration alone.
    """

    how: str
    card: str
    region_mm: tuple[float, float, float, float]
    homography: tuple[float, ...]
    centre_px: Point
    radius_px: float
    radial: float
    photo_px: tuple[int, int]
    mm_per_px: float
    scale_se_frac: float
    tilt_deg: float | None
    camera_mm: tuple[float, float, float] | None
    residual_mm: float
    blur_px: float | None
    edge_px: float = 0.0
    corners_px: tuple[Point, ...] = ()


@dataclass(frozen=True, slots=True)
class Body:
    """One animal, or a clump of animals that cannot be told apart.

    `n_low` to `n_high` is how many animals this outline may be; lengths are None where they cannot be
    stated, and `flags` then say why.
    """

    status: BodyStatus
    flags: tuple[Flag, ...]
    length_mm: float | None
    length_se_mm: float | None
    width_mm: float | None
    width_se_mm: float | None
    head_width_mm: float | None
    head_width_se_mm: float | None
    midline_mm: tuple[Point, ...]
    outline_mm: tuple[Point, ...]
    n_low: int = 1
    n_best: int = 1
    n_high: int = 1


@dataclass(frozen=True, slots=True)
class Scale:
    """Millimetres per pixel at the middle of the card, its standard error, the camera's tilt in degrees."""

    mm_per_px: float
    mm_per_px_se: float
    tilt_deg: float | None


@dataclass(frozen=True, slots=True)
class Count:
    """How many animals: the best guess, and the range that the photo leaves open."""

    best: int
    low: int
    high: int


@dataclass(frozen=True, slots=True)
class Result:
    """What one photo gave; `refused` is None where it was measured."""

    refused: Refusal | None
    scale: Scale | None
    count: Count
    bodies: tuple[Body, ...]
    calibration: Calibration | None = None
