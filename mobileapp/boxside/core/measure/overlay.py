"""A rectified plane with what was measured drawn on it, for the keeper to judge."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from boxside.core.measure.arrays import Bytes
from boxside.core.measure.opencv import cv
from boxside.core.measure.rectify import Plane
from boxside.core.values.body import Body, BodyStatus

_COLOURS = {
    BodyStatus.MEASURED: (0, 200, 0),
    BodyStatus.DOUBTFUL: (255, 150, 0),
    BodyStatus.REFUSED: (230, 0, 200),
}


def overlay(plane: Plane, bodies: Sequence[Body]) -> Bytes:
    """Return the plane's picture with outlines (green measured, orange doubtful, magenta not) and midlines.

    Bodies are numbered from 1 in their order; length in mm stands beside the number.
    """
    out = plane.rgb.copy()
    thick = max(1, round(plane.px_per_mm / 10))
    for number, body in enumerate(bodies, 1):
        colour = _COLOURS[body.status]
        border = plane.to_px(np.array(body.outline_mm).reshape(-1, 2))
        if len(border):
            cv().polylines(out, [_fixed(border)], True, colour, thick, cv().LINE_AA, 4)
        if len(body.midline_mm) > 1:
            line = plane.to_px(np.array(body.midline_mm))
            cv().polylines(out, [_fixed(line)], False, (255, 40, 40), thick, cv().LINE_AA, 4)
        if len(border):
            _label(out, number, body, border)
    return out


def _fixed(points: np.ndarray) -> np.ndarray:
    """Return points as OpenCV draws them, in sixteenths of a pixel."""
    return np.round(points * 16).astype(np.int32)


def _label(out: Bytes, number: int, body: Body, border: np.ndarray) -> None:
    """Write number and length beside a body, inside the picture."""
    text = f"{number}: {body.length_mm:.1f}" if body.length_mm is not None else f"{number}: {body.n_low}-{body.n_high}"
    x = int(np.clip(border[:, 0].max() + 4, 2, max(out.shape[1] - 90, 2)))
    y = int(np.clip(border[:, 1].mean(), 14, out.shape[0] - 4))
    cv().putText(out, text, (x, y), cv().FONT_HERSHEY_SIMPLEX, 0.5, (255, 255, 255), 3, cv().LINE_AA)
    cv().putText(out, text, (x, y), cv().FONT_HERSHEY_SIMPLEX, 0.5, (20, 20, 20), 1, cv().LINE_AA)
