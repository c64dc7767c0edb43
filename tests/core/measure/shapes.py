"""Masks whose length and width are known in closed form."""

from __future__ import annotations

import numpy as np


def sector(radius, phi, width, turn=0.0, shift=0.0, size=700):
    """An annular sector with round ends: radius * phi + width long."""
    yy, xx = np.mgrid[0:size, 0:size].astype(float)
    x, y = xx - size / 2 - shift, yy - size / 2 - shift
    angle = np.angle(np.exp(1j * (np.arctan2(y, x) - turn)))
    mask = (np.abs(np.hypot(x, y) - radius) <= width / 2) & (np.abs(angle) <= phi / 2)
    for end in (-phi / 2, phi / 2):
        mask |= np.hypot(x - radius * np.cos(end + turn), y - radius * np.sin(end + turn)) <= width / 2
    return mask


def tube(line, half, size):
    """The union of discs along a polyline (x, y), with half widths; its tips are round."""
    mask = np.zeros((size, size), bool)
    for (x, y), r in zip(line, half, strict=True):
        left, top = max(int(x - r), 0), max(int(y - r), 0)
        part = mask[top : int(y + r) + 2, left : int(x + r) + 2]
        yy, xx = np.mgrid[top : top + part.shape[0], left : left + part.shape[1]].astype(float)
        part |= np.hypot(xx - x, yy - y) <= r
    return mask


def ellipse(long, wide, turn, shift, size=500):
    """An ellipse with the given axes."""
    yy, xx = np.mgrid[0:size, 0:size].astype(float)
    x, y = xx - size / 2 - shift, yy - size / 2 - shift
    u, v = np.cos(turn) * x + np.sin(turn) * y, -np.sin(turn) * x + np.cos(turn) * y
    return (u / (long / 2)) ** 2 + (v / (wide / 2)) ** 2 <= 1


def spiral(length, turn_rad, n=400):
    """An Euler spiral of that length: curvature grows evenly from 0 to a total turn."""
    s = np.linspace(0, 1, n)
    angle = turn_rad * s**2
    mid = (angle[1:] + angle[:-1]) / 2
    step = length / (n - 1)
    points = np.zeros((n, 2))
    points[1:] = step * np.cumsum(np.stack([np.cos(mid), np.sin(mid)], axis=1), axis=0)
    return points
