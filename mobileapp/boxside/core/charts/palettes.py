"""The colours of charts by paint, as `#rrggbb`, for the three themes; in red, green and blue stay off."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

Palette = Mapping[str, str]

DAY: Palette = MappingProxyType({
    "ground": "#fffdf7", "text": "#16201a", "soft": "#39423b", "axis": "#5c5f50", "grid": "#ddd8c8",
    "main": "#14513a", "other": "#cf5a0c", "past": "#5b74d6", "quiet": "#85806f",
    "good": "#2f9463", "warn": "#b26b00", "bad": "#7d1334",
    "egg": "#a98c1c", "larva": "#2b6b45", "prepupa": "#983f10", "pupa": "#7355a8", "adult": "#24304a",
})  # fmt: skip
DIM: Palette = MappingProxyType({
    "ground": "#171c18", "text": "#ecf0e6", "soft": "#c3cbbe", "axis": "#929c90", "grid": "#343c35",
    "main": "#cfe98a", "other": "#f5763a", "past": "#8aa4ff", "quiet": "#8d8f86",
    "good": "#a5ecc0", "warn": "#ffc857", "bad": "#f0596f",
    "egg": "#f3da74", "larva": "#2f8868", "prepupa": "#ee8f5e", "pupa": "#b79bea", "adult": "#e8f0ff",
})  # fmt: skip
RED: Palette = MappingProxyType({
    "ground": "#000000", "text": "#ff0000", "soft": "#f00000", "axis": "#d00000", "grid": "#480000",
    "main": "#ff0000", "other": "#e00000", "past": "#c80000", "quiet": "#c00000",
    "good": "#e00000", "warn": "#ff0000", "bad": "#ff0000",
    "egg": "#f00000", "larva": "#c00000", "prepupa": "#f00000", "pupa": "#c00000", "adult": "#ff0000",
})  # fmt: skip
CHART_PALETTES: Mapping[str, Palette] = MappingProxyType({"day": DAY, "dim": DIM, "red": RED})

__all__ = ["CHART_PALETTES", "DAY", "DIM", "RED", "Palette"]
