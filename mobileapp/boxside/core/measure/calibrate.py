"""From a photo to its scale: the card found and fitted, or the reason why not."""

from __future__ import annotations

import numpy as np

from boxside.core.measure.arrays import Bytes, Floats, as_rgb, median_of
from boxside.core.measure.card import CODES, VARIANTS, Card, card_geometry
from boxside.core.measure.fit import Fit, fit_card, scale_error
from boxside.core.measure.markers import Found, find_markers
from boxside.core.measure.opencv import cv, is_available
from boxside.core.measure.plane import px_per_mm_at
from boxside.core.measure.pose import camera_pose
from boxside.core.measure.refusals import refuse
from boxside.core.values.body import Calibration, Point, Refusal

MOST_TILT_DEG = 42.5
LEAST_PX_PER_MM = 5.0
LEAST_SHARE = 0.33
"""Longer side of the card over the photo's longer side."""
MOST_BLUR_MM = 0.19
MOST_BLUR_SHARE = 0.0013
"""Blur sigma over the photo's longer side."""
MOST_BEND = 0.06
"""Radial displacement at the card's farthest corner over its distance from the middle."""
MOST_RADIAL = 0.12
MOST_RESIDUAL_MM = 0.12
LEAST_EDGE_SHARE = 0.6
PRINT_SE_FRAC = 0.001
"""Relative error left after the check line was measured (or a true-scale print trusted); common practice."""


def _families() -> list[Card]:
    return [card_geometry(name) for name in VARIANTS]


def _whole(ids: set[int]) -> bool:
    """Return whether all four markers of one card are among the ids."""
    return any(all(m.id in ids for m in card.markers) for card in _families())


def _card_of(found: dict[int, Found], card: Card | None) -> Card | None:
    """Return the card with most markers in view, None where fewer than two are."""
    cards = [card] if card is not None else _families()
    seen = [(sum(m.id in found for m in c.markers), k) for k, c in enumerate(cards)]
    most, k = max(seen)
    return cards[k] if most >= 2 else None


def calibrate(rgb: object, card: Card | None = None, print_scale: float = 1.0) -> Calibration | Refusal:
    """Return where the photo's pixels lie on the card's plane, or why the photo is not measured.

    Parameters
    ----------
    rgb : (rows, cols, 3) uint8; grey, RGBA and 16-bit pictures are taken too
    card : the variant in use; None finds out by its markers
    print_scale : length of the printed check line as the keeper measured it, over 50 mm

    Notes
    -----
    Plane, matt card and a lens with one radial term are assumed. A card thicker than paper, lying above the
    animals, makes lengths too short by its height over the camera's.
    """
    if not is_available():
        return refuse("no_opencv")
    picture = as_rgb(rgb)
    if isinstance(picture, Refusal):
        return picture
    if not (np.isfinite(print_scale) and 0.8 <= print_scale <= 1.25):
        return refuse("print_scale")
    grey = cv().cvtColor(picture, cv().COLOR_RGB2GRAY)
    found = find_markers(grey, CODES, enough=_whole)
    used = _card_of(found, card)
    if used is None:
        return refuse("no_card")
    marks = [found[m.id] for m in used.markers if m.id in found]
    if len(marks) < 4:
        return refuse("hidden_marker")
    return _fitted(grey, used, marks, print_scale)


def _fitted(grey: Bytes, card: Card, marks: list[Found], print_scale: float) -> Calibration | Refusal:
    """Return the calibration from all four markers, or what speaks against it."""
    rows, cols = grey.shape
    centre = np.array([(cols - 1) / 2, (rows - 1) / 2])
    radius = float(np.hypot(rows, cols) / 2)
    corners_mm = np.array([m.corners_mm for m in card.markers]).reshape(-1, 2) * print_scale
    seen = np.concatenate([m.corners_px for m in marks])
    fit = fit_card(corners_mm, seen, centre, radius)
    middle = np.array(card.size_mm) * print_scale / 2
    scale = float(np.sqrt(np.prod(px_per_mm_at(fit.matrix, middle))))
    far = float(np.hypot(*(seen - centre).T).max()) / radius
    bending = fit.radial * far**2
    share = scale * card.size_mm[0] * print_scale / max(rows, cols)
    noise = max(fit.residual_px, 0.1) / (scale * card.size_mm[1])
    tilt, _, eye = camera_pose(fit.matrix, centre, max(rows, cols), max(noise * 3, 0.002))
    blur = max(median_of(np.array([m.blur_px[k] for m in marks])) for k in (0, 1))
    poor = _objection(fit, marks, (scale, tilt, blur, bending, share), max(rows, cols))
    if poor is not None:
        return refuse(poor)
    window = tuple(float(v * print_scale) for v in card.window_mm)
    error = float(np.hypot(scale_error(fit, corners_mm, centre, radius), PRINT_SE_FRAC))
    return Calibration(
        how="card",
        card=card.name,
        region_mm=(window[0], window[1], window[2], window[3]),
        homography=tuple(float(v) for v in fit.matrix.ravel()),
        centre_px=(float(centre[0]), float(centre[1])),
        radius_px=radius,
        radial=fit.radial,
        photo_px=(rows, cols),
        mm_per_px=1 / scale,
        scale_se_frac=error,
        tilt_deg=tilt,
        camera_mm=eye,
        residual_mm=fit.residual_px / scale,
        blur_px=blur,
        edge_px=fit.edge_px,
        corners_px=_points(seen),
    )


def _points(seen: Floats) -> tuple[Point, ...]:
    return tuple((float(x), float(y)) for x, y in seen)


def _objection(
    fit: Fit, marks: list[Found], facts: tuple[float, float, float, float, float], longer_px: int
) -> str | None:
    """Return the reason to refuse a fitted card, None where it is good."""
    scale, tilt, blur, bending, share = facts
    checks = (
        ("small", scale < LEAST_PX_PER_MM or share < LEAST_SHARE),
        ("blur", blur / scale > MOST_BLUR_MM or (blur > 1.5 and blur / longer_px > MOST_BLUR_SHARE)),
        ("hidden_marker", min(m.edge_share for m in marks) < LEAST_EDGE_SHARE),
        ("tilt", tilt > MOST_TILT_DEG),
        ("distortion", abs(bending) > MOST_BEND or abs(fit.radial) > MOST_RADIAL),
        ("bent", fit.residual_px / scale > MOST_RESIDUAL_MM or float(fit.errors_px.max()) / scale > 0.4),
    )
    return next((reason for reason, bad in checks if bad), None)
