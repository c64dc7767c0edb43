"""Masks opened and closed by discs, many pixels at a time: a mask is one long whole number, a bit for each pixel.

Moving all of a mask is then a shift, and a disc is as many shifts as its rows and columns, not as its pixels: for the
discs that legs and spots need, a fifth of the time that OpenCV takes, with the same result bit by bit.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from boxside.core.measure.arrays import Bools, Bytes
from boxside.core.measure.opencv import cv


def reach_of(radius: float) -> int:
    """Return how many whole pixels a disc of about that radius reaches, at least one."""
    return max(1, round(radius))


@lru_cache(maxsize=64)
def _rows(reach: int) -> tuple[int, ...]:
    """Return how far to each side the rows of OpenCV's disc reach, from the middle row to the last."""
    side = 2 * reach + 1
    element = cv().getStructuringElement(cv().MORPH_ELLIPSE, (side, side))
    return tuple(int(row.sum()) // 2 for row in element[reach:])


def _dilated(bits: int, stride: int, reach: int) -> int:
    """Return a mask grown by a disc; rows of `stride` pixels end in twice as many empty ones as it reaches."""
    out, wide, so_far = 0, bits, 0
    rows = _rows(reach)
    for k in range(reach, -1, -1):
        while so_far < rows[k]:
            wide |= wide << 1 | wide >> 1
            so_far += 1
        out |= wide << k * stride | wide >> k * stride
    return out


def _eroded(bits: int, stride: int, reach: int) -> int:
    """Return a mask shrunk by a disc."""
    out, narrow, so_far = -1, bits, 0
    rows = _rows(reach)
    for k in range(reach, -1, -1):
        while so_far < rows[k]:
            narrow &= narrow << 1 & narrow >> 1
            so_far += 1
        out &= narrow << k * stride & narrow >> k * stride
    return out


def opened_closed(mask: Bools, open_px: int, close_px: int) -> Bools:
    """Return a mask opened by a disc of one reach, then closed by one of another; 0 leaves that out.

    Parameters
    ----------
    mask : (rows, cols) bool; there is nothing around it
    """
    rows, cols = mask.shape
    room = max(open_px, close_px) + 1
    # What grows out of a row to the right and out of the next one to the left must not meet.
    stride = cols + 2 * room
    wide = np.zeros((rows + 2 * room, stride), bool)
    wide[room:-room, :cols] = mask
    bits = int.from_bytes(np.packbits(wide, bitorder="little").tobytes(), "little")
    if open_px:
        bits = _dilated(_eroded(bits, stride, open_px), stride, open_px)
    if close_px:
        bits = _eroded(_dilated(bits, stride, close_px), stride, close_px)
    packed = np.frombuffer(bits.to_bytes(-(-wide.size // 8), "little"), np.uint8)
    out = np.unpackbits(packed, count=wide.size, bitorder="little").reshape(wide.shape)
    return np.asarray(out[room:-room, :cols] > 0)


def closed_grey(picture: Bytes, reach: int) -> Bytes:
    """Return a picture closed by a disc; within its reach of the border it is as if nothing but that were there."""
    return np.asarray(~_greatest(~_greatest(picture, reach), reach), np.uint8)


def _greatest(picture: Bytes, reach: int) -> Bytes:
    """Return the greatest value in the disc about each pixel: a row of the disc at a time, moved up and down."""
    wide, so_far, out = picture.copy(), 0, picture.copy()
    rows = _rows(reach)
    for k in range(reach, -1, -1):
        for step in range(so_far + 1, rows[k] + 1):
            np.maximum(wide[:, step:], picture[:, :-step], out=wide[:, step:])
            np.maximum(wide[:, :-step], picture[:, step:], out=wide[:, :-step])
        so_far = max(so_far, rows[k])
        if k:
            np.maximum(out[k:], wide[:-k], out=out[k:])
            np.maximum(out[:-k], wide[k:], out=out[:-k])
    return np.maximum(out, wide)
