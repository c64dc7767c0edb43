"""Pictures of a plane that are kept only where there may be something to see."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boxside.core.measure.arrays import Bools, Singles

Box = tuple[int, int, int, int]
"""Left, top, right, bottom."""
Part = tuple[slice, slice]


@dataclass(frozen=True, slots=True, eq=False)
class Patches:
    """A picture (rows, cols) float32 of which only boxes are kept; it is 0 away from all that may be a thing."""

    shape: tuple[int, int]
    boxes: tuple[Box, ...]
    parts: tuple[Singles, ...]

    @property
    def size(self) -> int:
        """How many pixels the whole picture has."""
        return self.shape[0] * self.shape[1]

    def __getitem__(self, part: Part) -> Singles:
        """Return a part of the picture; its slices have no step."""
        (top, bottom, _), (left, right, _) = (s.indices(n) for s, n in zip(part, self.shape, strict=True))
        out = np.zeros((bottom - top, right - left), np.float32)
        for (x, y, x_end, y_end), kept in zip(self.boxes, self.parts, strict=True):
            rows, cols = slice(max(top, y), min(bottom, y_end)), slice(max(left, x), min(right, x_end))
            if rows.start < rows.stop and cols.start < cols.stop:
                seen = kept[rows.start - y : rows.stop - y, cols.start - x : cols.stop - x]
                out[rows.start - top : rows.stop - top, cols.start - left : cols.stop - left] = seen
        return out

    def __gt__(self, level: float) -> Bools:
        """Return where the picture is above a level of 0 or more."""
        out = np.zeros(self.shape, bool)
        for (left, top, right, bottom), kept in zip(self.boxes, self.parts, strict=True):
            out[top:bottom, left:right] = kept > level
        return out
