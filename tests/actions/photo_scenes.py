"""Rendered photos of the card with animals of known length, as the files that a keeper hands over."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
from PIL import Image

from boxside.actions import measure_photo
from boxside.core.values.photo_view import MeasureView
from tests.actions.keeping import Keeper
from tests.core.measure.render import Scene, render

LEVEL = 13
"""A scene seen from nearly straight above, so that a scale without the card can be compared with the card's."""


@cache
def scene(seed: int = LEVEL, kind: str = "isolated", bad: str = "") -> Scene:
    """Render a scene once for all tests."""
    return render(seed, kind, bad=bad)


def write_scene(path: Path, seed: int = LEVEL, kind: str = "isolated", bad: str = "") -> Path:
    """Write a scene as a photo; the ending of the name says which format."""
    Image.fromarray(scene(seed, kind, bad).rgb).save(path, quality=95)
    return path


def lengths(seed: int = LEVEL, kind: str = "isolated") -> list[float]:
    """Return the true lengths of a scene, shortest first."""
    return sorted(larva.length for larva in scene(seed, kind).larvae)


def measured(keeper: Keeper, path: Path, code: str = "B01") -> MeasureView:
    """Return a scene as measured for a box."""
    return measure_photo.measure(keeper.services, str(path), keeper.id(code))


def seen(view: MeasureView) -> list[float]:
    """Return the measured lengths, shortest first."""
    return sorted(row.body.length_mm for row in view.bodies if row.body.length_mm is not None)


def shown(view: MeasureView) -> np.ndarray:
    """Return the pixels of a view's picture with its bodies drawn on it."""
    import io

    with Image.open(io.BytesIO(measure_photo.drawn(view))) as image:
        return np.asarray(image.convert("RGB"))
