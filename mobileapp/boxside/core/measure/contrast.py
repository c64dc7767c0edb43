"""How much each point of a plane stands out from the ground around it, whatever the light and the ground.

Darkness compares the brightest of the three channels with that of the ground: brown stains, yellow paper and
warm light change the other channels more. Tint is how differently the channels change or how much brighter
they get: it shows pale animals, and stains too, but no shadow.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from boxside.core.measure.arrays import Bools, Bytes, Singles
from boxside.core.measure.ground import Ground, Light, blurred, brightest_of, grounds, least_of
from boxside.core.measure.opencv import cv
from boxside.core.measure.patches import Box, Patches
from boxside.core.measure.rectify import Plane

COARSE_PX_PER_MM = 4.0
COARSE_PX = 420
"""Longer side of the coarse picture, about, on large planes."""
GRAIN_SIGMAS = 3.0
"""A spot is burnt out where it is brighter than the ground by this many of its grain's sigmas."""
BURNT, MANY_BURNT = 236, 0.03
"""Least channel of a burnt-out pixel; of more such pixels than this share, the ground is looked up for all at once."""
_ONE = 160.0
TINT_SMOOTHER = 1.5
STANDS_DEPTH, STANDS_TINT, STANDS_SIGMAS = 0.14, 0.06, 3.0
"""Where a place may belong to a thing, in the coarse picture: half of what it takes in the fine one."""
STANDS_MM2 = 0.15
ROOM_MM, ROOM_SHARE = 0.8, 0.42
"""What is seen around each thing, in mm and in roots of its area."""
MOST_BOXES = 50
"""With more things than this, the whole plane is looked at."""
BOX_PX = 6000
"""As many pixels take as long as one box more."""
_BANDS, _BAND_PX = 6, 8
EVEN = (0.012, 0.018, 1.0, 0.013)
"""Noise of darkness, tint and hue below which no limit depends on it (hue's usual value has no say)."""


@dataclass(frozen=True, slots=True, eq=False)
class Contrast:
    """Pictures of one plane: darkness, tint, depth (0 is ground, 1 is black), glare, and noise.

    depth : mean of darkness and of the greatest darkening of any channel; a shadow darkens all alike,
        a brown animal some more, so the two stand further apart in it
    hue : how differently the channels change: a shadow darkens all by the same share and has none
    arena : the one even ground that fills most of the picture, things on it included
    boxes : (left, top, right, bottom) of the parts with things; they may overlap
    """

    dark: Patches
    tint: Patches
    depth: Patches
    hue: Patches
    glare: Bools
    noise: float
    tint_noise: float
    hue_usual: float
    hue_noise: float
    arena: Bools
    boxes: tuple[Box, ...]


def sigma_of(px_per_mm: float) -> float:
    """Return by how many px darkness and depth are smoothed against the grain of the picture."""
    return max(0.6, 0.04 * px_per_mm)


def tint_sigma(px_per_mm: float) -> float:
    """Return by how many px tint is smoothed: photos keep colour at half their resolution."""
    return TINT_SMOOTHER * sigma_of(px_per_mm)


def contrast(plane: Plane) -> Contrast:
    """Return how a plane's points stand out from their ground."""
    rgb = plane.rgb
    rows, cols = rgb.shape[:2]
    factor = min(1.0, COARSE_PX_PER_MM / plane.px_per_mm, COARSE_PX / max(rows, cols))
    coarse = cv().resize(rgb, None, fx=factor, fy=factor, interpolation=cv().INTER_AREA)
    per_mm = plane.px_per_mm * factor
    # OpenCV lets go of Python while it works: what does not depend on each other is done side by side.
    with ThreadPoolExecutor(2) as pool:
        small, ground = grounds(coarse, per_mm, (cols, rows), pool)
        sigma = sigma_of(plane.px_per_mm)
        glare = pool.submit(_glare, rgb, ground)
        grain = _grain(rgb, ground, sigma)
        boxes = _boxes(_standing(coarse, small, grain), per_mm, (rows, cols))
        seen = list(pool.map(lambda box: _seen_in(rgb, ground, box, sigma), boxes))
    pictures = (Patches((rows, cols), boxes, tuple(parts[k] for parts in seen)) for k in range(4))
    dark, tint, depth, hue = pictures
    arena = cv().resize(_arena(small.top), (cols, rows), interpolation=cv().INTER_NEAREST) > 0
    return Contrast(dark, tint, depth, hue, glare.result(), *grain, arena, boxes)


def _standing(coarse: Bytes, ground: Light, grain: tuple[float, float, float, float]) -> Bools:
    """Return where in the coarse picture there may be a thing."""
    _, tint, depth, _ = _raw(coarse, ground)
    noise, tint_noise, _, _ = grain
    stands = (depth > max(STANDS_DEPTH, STANDS_SIGMAS * noise)) | (tint > max(STANDS_TINT, STANDS_SIGMAS * tint_noise))
    return np.asarray(stands)


def _boxes(stands: Bools, per_mm: float, shape: tuple[int, int]) -> tuple[Box, ...]:
    """Return boxes of the plane that hold every thing with what is around it; one box where that is nearly all."""
    rows, cols = shape
    _, _, stats, _ = cv().connectedComponentsWithStats(stands.astype(np.uint8), connectivity=8, ltype=cv().CV_16U)
    large = stats[1:][stats[1:, 4] >= STANDS_MM2 * per_mm**2].tolist()
    if len(large) > MOST_BOXES:
        return ((0, 0, cols, rows),)
    by_x, by_y = cols / stands.shape[1], rows / stands.shape[0]
    out: list[Box] = []
    for x, y, w, h, area in large:
        room = max(ROOM_MM * per_mm, ROOM_SHARE * area**0.5)
        low = max(int((x - room) * by_x), 0), max(int((y - room) * by_y), 0)
        out.append((*low, min(int((x + w + room) * by_x), cols), min(int((y + h + room) * by_y), rows)))
    out = _joined(out)
    return tuple(out) if sum(map(_area, out)) < 0.8 * rows * cols else ((0, 0, cols, rows),)


def _area(box: Box) -> int:
    return (box[2] - box[0]) * (box[3] - box[1])


def _joined(boxes: list[Box]) -> list[Box]:
    """Return boxes of which those are joined that together are hardly larger than one by one."""
    out: list[Box] = []
    for box in sorted(boxes, key=_area, reverse=True):
        for k, other in enumerate(out):
            both = (min(box[0], other[0]), min(box[1], other[1]), max(box[2], other[2]), max(box[3], other[3]))
            if _area(both) <= _area(box) + _area(other) + BOX_PX:
                out[k] = both
                break
        else:
            out.append(box)
    return out


def _seen_in(rgb: Bytes, ground: Ground, box: Box, sigma: float) -> list[Singles]:
    """Return darkness, tint, depth and hue in a box, blurred by so little that only grain is lost."""
    rows, cols = rgb.shape[:2]
    left, top, right, bottom = box
    # What is blurred into the box comes from as far as this.
    room = int(np.ceil(6 * sigma)) + 1
    x, y = max(left - room, 0), max(top - room, 0)
    part = np.s_[y : min(bottom + room, rows), x : min(right + room, cols)]
    inner = np.s_[top - y : bottom - y, left - x : right - x]
    sigmas = (sigma, TINT_SMOOTHER * sigma, sigma, sigma)
    pictures = _raw(rgb[part], ground.at(part))
    return [blurred(picture, s)[inner] for picture, s in zip(pictures, sigmas, strict=True)]


def _raw(rgb: Bytes, ground: Light) -> tuple[Singles, Singles, Singles, Singles]:
    """Return darkness, tint, depth and hue of every pixel."""
    low, high = _extremes(cv().divide(rgb, ground.colour, scale=_ONE))
    dark = np.float32(1) - cv().divide(brightest_of(rgb), ground.top, dtype=cv().CV_32F)
    # The mean of darkness and of how far the channel that fell most has fallen.
    depth = cv().addWeighted(dark, 0.5, low, -0.5 / _ONE, 0.5, dtype=cv().CV_32F)
    hue = cv().subtract(high, low).astype(np.float32) / np.float32(_ONE)
    return dark, _tint(rgb, ground.plain), depth, hue


def _tint(rgb: Bytes, ground: Bytes) -> Singles:
    """Return how differently the channels change, or how much brighter they get: no shadow has either."""
    low, high = _extremes(cv().divide(rgb, ground, scale=_ONE))
    bright = cv().subtract(low, _ONE)
    return np.asarray(cv().max(cv().subtract(high, low), bright).astype(np.float32) / np.float32(_ONE))


def _grain(rgb: Bytes, ground: Ground, sigma: float) -> tuple[float, float, float, float]:
    """Return the noise of darkness and tint, the usual hue of plain ground (noise has some) and its noise.

    A few bands across the plane tell whether it is even; where it is not, as on cloth, limits are led by the noise,
    and all of the plane tells it.
    """
    rows, cols = rgb.shape[:2]
    tops = [round((k + 0.5) / _BANDS * max(rows - _BAND_PX, 0)) for k in range(_BANDS)]
    found = _noises([_seen_in(rgb, ground, (0, top, cols, top + _BAND_PX), sigma) for top in tops], (2, 3))
    if all(noise < most for noise, most in zip(found, EVEN, strict=True)):
        return found
    return _noises([_seen_in(rgb, ground, (0, 0, cols, rows), sigma)], (7, 7))


def _noises(parts: list[list[Singles]], step: tuple[int, int]) -> tuple[float, float, float, float]:
    """Return the noise of darkness and tint, the usual hue and its noise, in every so many rows and columns."""
    dark, tint, _, hue = (np.concatenate([part[k][:: step[0], :: step[1]].ravel() for part in parts]) for k in range(4))
    return _noise(dark), _noise(tint), float(np.median(hue)), _noise(hue)


def _arena(ground: Singles) -> Bytes:
    """Return 1 where the ground is about as bright as most of the picture, in one piece, without its rim."""
    rows, cols = ground.shape
    middle = ground[rows // 5 : -(rows // 5) or None, cols // 5 : -(cols // 5) or None]
    usual = float(np.median(middle))
    even = ((ground > 0.72 * usual) & (ground < 1.3 * usual)).astype(np.uint8)
    side = max(3, round(0.03 * min(rows, cols))) | 1
    even = cv().erode(cv().copyMakeBorder(even, 1, 1, 1, 1, cv().BORDER_CONSTANT, value=0), np.ones((side, side)))
    _, labels, stats, _ = cv().connectedComponentsWithStats(even, connectivity=8, ltype=cv().CV_16U)
    if len(stats) < 2:
        return np.ones(ground.shape, np.uint8)
    one = (labels == 1 + int(np.argmax(stats[1:, 4]))).astype(np.uint8)
    filled = 1 - _outside(one)
    return np.ascontiguousarray(filled[1:-1, 1:-1])


def _outside(one: Bytes) -> Bytes:
    """Return 1 where the ground outside a region reaches the corner of the picture."""
    _, labels = cv().connectedComponents(1 - one)
    return np.asarray(labels == labels[0, 0], np.uint8)


def _extremes(rgb: Bytes) -> tuple[Bytes, Bytes]:
    """Return the least and the greatest of the three channels."""
    first, second, third = cv().split(rgb)
    low, high = cv().min(first, second), cv().max(first, second)
    return np.asarray(cv().min(low, third), np.uint8), np.asarray(cv().max(high, third), np.uint8)


def _glare(rgb: Bytes, ground: Ground) -> Bools:
    """Return where all three channels are burnt out and brighter than the ground and its grain."""
    out = np.zeros(rgb.shape[:2], bool)
    least = least_of(rgb)
    burnt = cv().threshold(least, BURNT - 1, 1, cv().THRESH_BINARY)[1].view(np.bool_)
    n = int(np.count_nonzero(burnt))
    if n == 0:
        return out
    some = least_of(ground.colour_at(np.s_[::7, ::7]))
    level = max(7.0, GRAIN_SIGMAS * _noise(cv().subtract(least[::7, ::7], some, dtype=cv().CV_16S)))
    if n > MANY_BURNT * burnt.size:
        above = cv().subtract(least, least_of(ground.colour_at(np.s_[:, :])))
        return np.asarray(burnt & (above > level))
    y, x = np.divmod(np.flatnonzero(burnt), burnt.shape[1])
    usual = ground.colours_of(y, x).min(axis=1).astype(np.int16)
    out[y, x] = least[y, x] - usual > level
    return out


def _noise(picture: NDArray[np.generic]) -> float:
    """Return the robust spread of a picture that is mostly ground."""
    some = np.ascontiguousarray(picture)
    return float(1.4826 * np.median(np.abs(some - np.median(some))))
