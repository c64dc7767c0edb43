"""What drawing a series needs and gives: where, how, its place among the others; shapes and hits."""

from __future__ import annotations

from dataclasses import dataclass

from boxside.core.charts.marks import Hit, Shape
from boxside.core.charts.pen import Pen
from boxside.core.charts.plane import Plane
from boxside.core.charts.style import Texture
from boxside.core.charts.ticks import place_label


@dataclass(frozen=True, slots=True)
class Place:
    """Where a series is drawn: plane, pen, its number among all, its slot among its kind; whether it is alone."""

    plane: Plane
    pen: Pen
    index: int
    texture: Texture
    slot: int = 0
    n_slots: int = 1
    gap_px: float = 0.0
    is_lone: bool = True

    @property
    def slot_px(self) -> float:
        """Room of one slot along the x axis, px."""
        return self.gap_px / self.n_slots

    @property
    def shift_px(self) -> float:
        """How far the slot's middle is from its x, px."""
        return (self.slot - (self.n_slots - 1) / 2) * self.slot_px

    def told(self, name: str, x: float, *values: float) -> str:
        """Return what a tap tells: the series and its x on the first line, then the value and its limits."""
        axis = self.plane.y
        at = f"{self.plane.x.label} {place_label(self.plane.x, x)}".strip()
        head = f"{name} · {at}" if not self.is_lone and name else at
        value = place_label(axis, values[0])
        limits = f" ({place_label(axis, values[1])} – {place_label(axis, values[2])})" if len(values) > 1 else ""
        return f"{head}\n{axis.label} {value}{limits}".strip()


@dataclass(frozen=True, slots=True)
class Layer:
    """Shapes below the axes' lines, shapes above, and hits of one series."""

    below: tuple[Shape, ...] = ()
    above: tuple[Shape, ...] = ()
    hits: tuple[Hit, ...] = ()
