"""Contrast of two colours, as WCAG 2.2 defines it.

References
----------
W3C (2023), Web Content Accessibility Guidelines 2.2, "relative luminance" and "contrast ratio".
"""

from __future__ import annotations

Rgb = tuple[float, float, float]


def rgb_of(code: str) -> Rgb:
    """Return red, green and blue, 0 to 1, of a colour written as `#rrggbb`."""
    return (int(code[1:3], 16) / 255, int(code[3:5], 16) / 255, int(code[5:7], 16) / 255)


def _linear(share: float) -> float:
    return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4


def luminance(colour: Rgb) -> float:
    """Return the relative luminance of an sRGB colour given as shares from 0 to 1."""
    red, green, blue = (_linear(share) for share in colour)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: Rgb, other: Rgb) -> float:
    """Return the contrast ratio of two colours, from 1 (equal) to 21 (black on white)."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


__all__ = ["Rgb", "contrast", "luminance", "rgb_of"]
