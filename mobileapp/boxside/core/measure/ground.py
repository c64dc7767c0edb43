"""The ground under all things: its colour wherever it is seen, carried on under what lies on it."""

from __future__ import annotations

from concurrent.futures import Executor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from boxside.core.measure.arrays import Bools, Bytes, Singles
from boxside.core.measure.discs import closed_grey
from boxside.core.measure.opencv import cv
from boxside.core.measure.patches import Part

GROUND_REACH_MM = 10.0
"""Dark things narrower than this are things on the ground, wider ones are ground."""
TINTED_MIX = 0.07
"""Least change of a channel's share of the brightest that makes a place no ground, in the search for pale things."""
Indices = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Light:
    """What a part of a picture would look like without things: its colour, brightest channel, colour without tint."""

    colour: Bytes
    top: Singles
    plain: Bytes


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """The ground at the coarse scale, enlarged to the plane's columns; `rows` is how many the plane has."""

    colour: Singles
    top: Singles
    plain: Singles
    rows: int

    def at(self, part: Part) -> Light:
        """Return the ground of a part of the plane."""
        colour = cv().convertScaleAbs(self._rows_of(self.colour, part))
        return Light(colour, self._rows_of(self.top, part), cv().convertScaleAbs(self._rows_of(self.plain, part)))

    def colour_at(self, part: Part) -> Bytes:
        """Return the ground's colour alone."""
        return np.asarray(cv().convertScaleAbs(self._rows_of(self.colour, part)), np.uint8)

    def colours_of(self, y: Indices, x: Indices) -> Bytes:
        """Return the ground's colour at single pixels, (n, 3)."""
        low, high, share = self._between(y, len(self.colour))
        before = self.colour[low, x]
        real = before + (self.colour[high, x] - before) * share[:, None]
        return np.asarray(cv().convertScaleAbs(real), np.uint8).reshape(-1, 3)

    def _between(self, y: Indices, n: int) -> tuple[Indices, Indices, Singles]:
        """Return between which two coarse rows those of the plane lie, and how near the second."""
        at = np.maximum((y + 0.5) * (n / self.rows) - 0.5, 0)
        low = np.minimum(at.astype(np.intp), n - 1)
        return low, np.minimum(low + 1, n - 1), (at - low).astype(np.float32)

    def _rows_of(self, picture: Singles, part: Part) -> Singles:
        """Return a part of the plane, linearly between the rows of the coarse picture."""
        low, _, share = self._between(np.arange(self.rows)[part[0]], len(picture))
        cut = picture[low[0] : low[-1] + 2, part[1]]
        rise = np.zeros(cut.shape, np.float32)
        np.subtract(cut[1:], cut[:-1], out=rise[:-1])
        out = rise[low - low[0]]
        out *= share.reshape(-1, *[1] * (picture.ndim - 1))
        out += cut[low - low[0]]
        return np.asarray(out, np.float32)


def blurred(picture: Singles, sigma: float) -> Singles:
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
    bright = np.maximum(brightest_of(coarse), 16).astype(np.float32)
    out = np.zeros(bright.shape, bool)
    for channel in cv().split(coarse):
        mix = channel / bright
        out |= cv().absdiff(mix, float(np.median(mix))) > TINTED_MIX
    return out


def _things(coarse: Bytes, per_mm: float) -> Bools:
    """Return where something is much darker or brighter than the brightest ground nearby, at the coarse scale."""
    bright = brightest_of(coarse)
    reach = (max(3, round(GROUND_REACH_MM * per_mm)) | 1) // 2
    room = 2 * reach + 1
    padded = cv().copyMakeBorder(bright, room, room, room, room, cv().BORDER_REFLECT)
    closed = closed_grey(padded, reach)[room:-room, room:-room].astype(np.float32)
    first = blurred(closed, per_mm) + 1
    share = bright / first
    return np.asarray((share < 0.8) | (share > 1.2))


def _ground(coarse: Bytes, per_mm: float, things: Bools, first: Singles) -> Singles:
    """Return the colour of the ground under all things, (rows, cols, 3), at the coarse scale.

    `first` is what is taken far from any ground: the picture blurred.
    """
    around = max(1, round(0.5 * per_mm))
    covered = cv().dilate(things.astype(np.uint8), np.ones((2 * around + 1,) * 2, np.uint8))
    weight = (1 - covered).astype(np.float32)
    known = coarse.astype(np.float32) * _thrice(weight)
    out = first
    for sigma in (6.0, 3.0, 1.3):
        mass = blurred(weight, sigma * per_mm)
        near = cv().divide(blurred(known, sigma * per_mm), _thrice(np.maximum(mass, np.float32(1e-3))))
        trust = np.minimum(np.maximum((mass - np.float32(0.05)) / np.float32(0.25), np.float32(0)), np.float32(1))
        near -= out
        near *= _thrice(trust)
        near += out
        out = near
    return np.asarray(np.minimum(np.maximum(out, np.float32(8)), np.float32(255)), np.float32)


def _thrice(picture: Singles) -> Singles:
    """Return a picture for each of three channels: arithmetic on equal shapes is several times as fast."""
    return np.asarray(cv().merge([picture] * 3), np.float32)


def grounds(coarse: Bytes, per_mm: float, size: tuple[int, int], pool: Executor) -> tuple[Light, Ground]:
    """Return the ground at the coarse scale, and as it is read for any part of the plane."""
    things = _things(coarse, per_mm)
    first = blurred(coarse.astype(np.float32), 6 * per_mm)
    plain = pool.submit(lambda: _ground(coarse, per_mm, things | _tinted(coarse), first))
    colour = _ground(coarse, per_mm, things, first)
    top = _top(colour)
    across = [_enlarged(picture, (size[0], len(coarse))) for picture in (colour, top, plain.result())]
    light = Light(cv().convertScaleAbs(colour), top, cv().convertScaleAbs(plain.result()))
    return light, Ground(across[0], across[1], across[2], size[1])


def _enlarged(picture: Singles, size: tuple[int, int]) -> Singles:
    return np.asarray(cv().resize(picture, size, interpolation=cv().INTER_LINEAR), np.float32)


def _top(picture: Singles) -> Singles:
    """Return the greatest of the three channels."""
    first, second, third = cv().split(picture)
    return np.asarray(cv().max(cv().max(first, second), third), np.float32)


def brightest_of(rgb: Bytes) -> Bytes:
    """Return the greatest of the three channels of bytes."""
    first, second, third = cv().split(rgb)
    return np.asarray(cv().max(cv().max(first, second), third), np.uint8)


def least_of(rgb: Bytes) -> Bytes:
    """Return the least of the three channels of bytes."""
    first, second, third = cv().split(rgb)
    return np.asarray(cv().min(cv().min(first, second), third), np.uint8)
