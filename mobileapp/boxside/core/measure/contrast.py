"""How much each point of a plane stands out from the ground around it, whatever the light and the ground.

Darkness compares the brightest of the three channels with that of the ground: brown stains, yellow paper and
warm light change the other channels more. Tint is how differently the channels change or how much brighter
they get: it shows pale animals, and stains too, but no shadow.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boxside.core.measure.arrays import Bools, Bytes, Singles
from boxside.core.measure.opencv import cv
from boxside.core.measure.rectify import Plane

COARSE_PX_PER_MM = 4.0
GROUND_REACH_MM = 10.0
"""Dark things narrower than this are things on the ground, wider ones are ground."""
GRAIN_SIGMAS = 3.0
"""A spot is burnt out where it is brighter than the ground by this many of its grain's sigmas."""
_ONE = 160.0
TINTED_MIX = 0.07
"""Least change of a channel's share of the brightest that makes a place no ground, in the search for pale things."""


@dataclass(frozen=True, slots=True, eq=False)
class Contrast:
    """Pictures of one plane: darkness, tint, depth (float32, 0 is ground, 1 is black), glare, and noise.

    depth : mean of darkness and of the greatest darkening of any channel; a shadow darkens all alike,
        a brown animal some more, so the two stand further apart in it
    hue : how differently the channels change: a shadow darkens all by the same share and has none
    arena : the one even ground that fills most of the picture, things on it included
    """

    dark: Singles
    tint: Singles
    depth: Singles
    hue: Singles
    glare: Bools
    noise: float
    tint_noise: float
    hue_usual: float
    hue_noise: float
    arena: Bools


def _blurred(picture: Singles, sigma: float) -> Singles:
    """Return a picture blurred; by much, on a smaller copy of it, which shows no less."""
    shrink = int(sigma / 2.5)
    if shrink < 2:
        return np.asarray(cv().GaussianBlur(picture, (0, 0), sigma), np.float32)
    rows, cols = picture.shape[:2]
    few = (max(1, cols // shrink), max(1, rows // shrink))
    small = cv().GaussianBlur(cv().resize(picture, few, interpolation=cv().INTER_AREA), (0, 0), sigma / shrink)
    return np.asarray(cv().resize(small, (cols, rows), interpolation=cv().INTER_LINEAR), np.float32)


def _tinted(coarse: Bytes) -> Bools:
    """Return where the mix of colours is not the usual one of the picture."""
    mix = coarse.astype(np.float32) / np.maximum(_brightest(coarse), 16)[..., None]
    usual = [float(np.median(channel)) for channel in cv().split(mix)]
    away = cv().absdiff(mix, (*usual, 0.0))
    return np.asarray(_top(away) > TINTED_MIX)


def _things(coarse: Bytes, per_mm: float) -> Bools:
    """Return where something is much darker or brighter than the brightest ground nearby, at the coarse scale."""
    bright = _brightest(coarse)
    reach = max(3, round(GROUND_REACH_MM * per_mm)) | 1
    disc = cv().getStructuringElement(cv().MORPH_ELLIPSE, (reach, reach))
    padded = cv().copyMakeBorder(bright, reach, reach, reach, reach, cv().BORDER_REFLECT)
    closed = cv().morphologyEx(padded, cv().MORPH_CLOSE, disc)[reach:-reach, reach:-reach]
    first = _blurred(closed.astype(np.float32), 1.0 * per_mm) + 1
    share = bright / first
    return np.asarray((share < 0.8) | (share > 1.2))


def _ground(coarse: Bytes, per_mm: float, things: Bools) -> Singles:
    """Return the colour of the ground under all things, (rows, cols, 3), at the coarse scale."""
    around = max(1, round(0.5 * per_mm))
    covered = cv().dilate(things.astype(np.uint8), np.ones((2 * around + 1,) * 2, np.uint8))
    weight = (1 - covered).astype(np.float32)
    real = coarse.astype(np.float32)
    out = _blurred(real, 6 * per_mm)
    for sigma in (6.0, 3.0, 1.3):
        mass = _blurred(weight, sigma * per_mm)
        near = _blurred(real * weight[..., None], sigma * per_mm) / np.maximum(mass, 1e-3)[..., None]
        trust = np.clip((mass - 0.05) / 0.25, 0, 1)[..., None]
        out = out * (1 - trust) + near * trust
    return np.asarray(np.clip(out, 8, 255), np.float32)


def contrast(plane: Plane) -> Contrast:
    """Return how a plane's points stand out from their ground."""
    rgb = plane.rgb
    rows, cols = rgb.shape[:2]
    factor = min(1.0, COARSE_PX_PER_MM / plane.px_per_mm, 420 / max(rows, cols))
    coarse = cv().resize(rgb, None, fx=factor, fy=factor, interpolation=cv().INTER_AREA)
    per_mm = plane.px_per_mm * factor
    things = _things(coarse, per_mm)
    ground = _ground(coarse, per_mm, things)
    wide = cv().convertScaleAbs(cv().resize(ground, (cols, rows), interpolation=cv().INTER_LINEAR))
    even = cv().divide(rgb, wide, scale=_ONE)
    top_ground = cv().resize(_top(ground), (cols, rows), interpolation=cv().INTER_LINEAR)
    top = _brightest(rgb)
    dark = np.float32(1) - cv().divide(top, top_ground, dtype=cv().CV_32F)
    low, high = _least(even), _brightest(even)
    tint = _tint(rgb, _ground(coarse, per_mm, things | _tinted(coarse)))
    hue = cv().subtract(high, low).astype(np.float32) / np.float32(_ONE)
    sigma = max(0.6, 0.04 * plane.px_per_mm)
    # The mean of darkness and of how far the channel that fell most has fallen.
    depth = cv().addWeighted(dark, 0.5, low, -0.5 / _ONE, 0.5, dtype=cv().CV_32F)
    depth, hue = _blurred(depth, sigma), _blurred(hue, sigma)
    dark, tint = _blurred(dark, sigma), _blurred(tint, 1.5 * sigma)
    arena = cv().resize(_arena(_top(ground)), (cols, rows), interpolation=cv().INTER_NEAREST) > 0
    return Contrast(dark, tint, depth, hue, _glare(rgb, wide), *_grain(dark, tint, hue), arena)


def _tint(rgb: Bytes, ground: Singles) -> Singles:
    """Return how differently the channels change, or how much brighter they get: no shadow has either."""
    rows, cols = rgb.shape[:2]
    wide = cv().convertScaleAbs(cv().resize(ground, (cols, rows), interpolation=cv().INTER_LINEAR))
    even = cv().divide(rgb, wide, scale=_ONE)
    low, high = _least(even), _brightest(even)
    bright = cv().subtract(low, _ONE)
    return np.asarray(cv().max(cv().subtract(high, low), bright).astype(np.float32) / np.float32(_ONE))


def _grain(dark: Singles, tint: Singles, hue: Singles) -> tuple[float, float, float, float]:
    """Return the noise of darkness and tint, the usual hue of plain ground (noise has some) and its noise."""
    return _noise(dark), _noise(tint), float(np.median(hue[::7, ::7])), _noise(hue)


def _arena(ground: Singles) -> Bytes:
    """Return 1 where the ground is about as bright as most of the picture, in one piece, without its rim."""
    rows, cols = ground.shape
    middle = ground[rows // 5 : -(rows // 5) or None, cols // 5 : -(cols // 5) or None]
    usual = float(np.median(middle))
    even = ((ground > 0.72 * usual) & (ground < 1.3 * usual)).astype(np.uint8)
    side = max(3, round(0.03 * min(rows, cols))) | 1
    even = cv().erode(cv().copyMakeBorder(even, 1, 1, 1, 1, cv().BORDER_CONSTANT, value=0), np.ones((side, side)))
    _, labels, stats, _ = cv().connectedComponentsWithStats(even)
    if len(stats) < 2:
        return np.ones(ground.shape, np.uint8)
    one = (labels == 1 + int(np.argmax(stats[1:, 4]))).astype(np.uint8)
    filled = 1 - _outside(one)
    return np.ascontiguousarray(filled[1:-1, 1:-1])


def _outside(one: Bytes) -> Bytes:
    """Return 1 where the ground outside a region reaches the corner of the picture."""
    _, labels = cv().connectedComponents(1 - one)
    return np.asarray(labels == labels[0, 0], np.uint8)


def _top(picture: Singles) -> Singles:
    """Return the greatest of the three channels."""
    first, second, third = cv().split(picture)
    return np.asarray(cv().max(cv().max(first, second), third), np.float32)


def _brightest(rgb: Bytes) -> Bytes:
    first, second, third = cv().split(rgb)
    return np.asarray(cv().max(cv().max(first, second), third), np.uint8)


def _least(rgb: Bytes) -> Bytes:
    first, second, third = cv().split(rgb)
    return np.asarray(cv().min(cv().min(first, second), third), np.uint8)


def _glare(rgb: Bytes, ground: Bytes) -> Bools:
    """Return where all three channels are burnt out and brighter than the ground and its grain."""
    least = _least(rgb)
    burnt = least >= 236
    if not burnt.any():
        return np.asarray(burnt)
    above = cv().subtract(least, _least(ground), dtype=cv().CV_32F)
    return np.asarray(burnt & (above > max(7.0, GRAIN_SIGMAS * _noise(above))))


def _noise(picture: Singles) -> float:
    """Return the robust spread of a picture that is mostly ground."""
    some = np.ascontiguousarray(picture[::7, ::7])
    return float(1.4826 * np.median(np.abs(some - np.median(some))))
