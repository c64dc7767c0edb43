"""The plane of the data: a place in px for every pair of values, upright or with the axes changed over."""

from __future__ import annotations

import math
from dataclasses import dataclass

from boxside.core.charts.marks import Box, Point
from boxside.core.values.chart import Axis


@dataclass(frozen=True, slots=True)
class Plane:
    """A box with an axis along each side; `is_turned` lets x run downwards and y to the right."""

    box: Box
    x: Axis
    y: Axis
    is_turned: bool = False

    def at(self, x: float, y: float) -> Point:
        """Return the place of a pair of values; what lies beyond an axis is put at its end."""
        along, up = _share(self.x, x), _share(self.y, y)
        left, top, right, bottom = self.box
        if self.is_turned:
            return left + (right - left) * up, top + (bottom - top) * along
        return left + (right - left) * along, bottom - (bottom - top) * up

    @property
    def length(self) -> float:
        """Length of the x axis, px."""
        left, top, right, bottom = self.box
        return bottom - top if self.is_turned else right - left

    @property
    def height(self) -> float:
        """Length of the y axis, px."""
        left, top, right, bottom = self.box
        return right - left if self.is_turned else bottom - top

    def offset(self, point: Point, along: float) -> Point:
        """Return a place moved along the x axis by some px, no further than the ends of the axis."""
        left, top, right, bottom = self.box
        if self.is_turned:
            return point[0], min(bottom, max(top, point[1] + along))
        return min(right, max(left, point[0] + along)), point[1]


def _share(axis: Axis, value: float) -> float:
    share = (value - axis.minimum) / (axis.maximum - axis.minimum)
    return min(1.0, max(0.0, share))


def is_known(*values: float) -> bool:
    """Whether all values are finite."""
    return all(math.isfinite(value) for value in values)
