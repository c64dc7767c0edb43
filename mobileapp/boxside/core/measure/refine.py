"""A shape drawn anew between the steepest lines along its sides, so that legs, shadows and spots do not bend it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from boxside.core.measure.arrays import Bools, Floats, Singles, clipped
from boxside.core.measure.edges import sample
from boxside.core.measure.flanks import SOFT, SOFT_SHARE, flank_signal, flanks, out_of_shade
from boxside.core.measure.midline import left_of, length_of, normals, resample, smooth, tangents, turning
from boxside.core.measure.segment import Blob
from boxside.core.measure.shape import (
    STATIONS,
    Outline,
    Shape,
    Start,
    assembled,
    degree_of,
    draw_strip,
    end_along,
    end_of,
    full_width,
    rays,
    smooth_width,
    strip_of,
    way_out,
)

LEAST_REFINED = 1.6
"""Length over width below which a thing is no single animal, however it is looked at."""
MOST_TURN_RAD = 1.2
"""Turning of a midline up to which one side can be told to be a shadow's: curled animals throw it inwards."""
ROUNDS = 5
STILL = 0.03
"""Greatest shift of a station, in widths, at which the midline is taken to stand."""
OFF_WIDE, OFF_LEAST = 0.6, 0.25
"""How much of both ends sees the tip instead of sides: in widths there, and the least in greatest widths."""
THIN_SHARE = 0.3
"""Half width, over the greatest width, of an end that only the outline with its legs shows."""

TIP_SIDE = 0.06
"""How far beside the midline, in widths, the fall at a tip is seen too."""
BLACK = 0.1
"""Share of the ground's light below which a place is no darker to any purpose."""
STEER_STEP, STEER_CLEAR, STEER_SIGMAS = 0.08, 0.12, 1.5
"""Step of a way led along the middle of a tail, in widths, and how much longer, in widths and in sigmas
of blur, it must be to be taken."""
TIP_PRIOR, TIP_CLEAR = 1.2, 0.2
"""Cost of a tip a width off the outline's, and how much better another must be, in shares of the steepest fall."""


def _stations(whole: Floats, off: tuple[float, float]) -> Floats:
    """Return stations along a midline less so much of both ends, on a smooth line."""
    long = length_of(whole)
    degree = degree_of(resample(whole, STATIONS))
    first, last = (min(px, 0.22 * long) / long for px in off)
    fine = resample(whole, 8 * STATIONS)
    part = fine[round(first * len(fine)) : len(fine) - round(last * len(fine))]
    return resample(smooth(resample(part, STATIONS), degree), STATIONS)


def _about(outline: Outline, line: Floats, width: float) -> Floats:
    """Return about half the width at each station: the outline's, or what is left of it at a thin end."""
    normal = normals(line)

    def across(picture: Singles) -> Floats:
        return rays(picture, line, normal, 1.3 * width)[0] + rays(picture, line, -normal, 1.3 * width)[0]

    half = across(outline.soft) / 2
    if half.min() < THIN_SHARE * width / 2:
        half = np.maximum(half, np.minimum(across(outline.whole), THIN_SHARE * width) / 2)
    return clipped(smooth_width(half), 0.12 * width, 0.75 * width)


def _steered(soft: Singles, line: Floats, width: float) -> Floats:
    """Return points 0.25 px apart from the last station outwards, kept in the middle as far as there are sides."""
    straight = way_out(line, width)
    way = straight[1] - straight[0]
    way = way / max(float(np.hypot(*way)), 1e-9)
    step, usual = STEER_STEP * width, np.inf
    points = [line[-1]]
    while len(points) < 1.6 / STEER_STEP:
        here = points[-1] + step * way
        across = np.array([[way[1], -way[0]], [-way[1], way[0]]])
        far, _ = rays(soft, here[None], across, 0.8 * width)
        if not far.any():
            # It is outside already.
            break
        if float(far.sum()) < 1.15 * usual:
            # Where it gets wider again, a leg or another animal begins: straight on there.
            usual = min(usual, float(far.sum()))
            here = here + across[0] * min(max(float(far[0] - far[1]) / 4, -0.4 * step), 0.4 * step)
        turned = 0.7 * way + 0.3 * (here - points[-1]) / step
        way = turned / max(float(np.hypot(*turned)), 1e-9)
        points.append(here)
    left = max(1.6 * width - step * (len(points) - 1), step)
    points.append(points[-1] + left * way)
    path = np.array(points)
    return resample(path, max(8, round(4 * length_of(path))))[1:]


def _outline_tip(outline: Outline, line: Floats, width: float, blur_px: float) -> tuple[Floats, Floats, float]:
    """Return the way outwards, its part inside the outline, and how long that is.

    The way is the straight on one, unless that leaves a bent tail by its side.
    """
    found = []
    for path in (way_out(line, width), _steered(outline.soft, line, width)):
        ended = end_along(outline.whole, path)
        found.append((path, ended, length_of(np.concatenate([line[-1:], ended]))))
    straight, steered = found
    clearly = STEER_CLEAR * width + STEER_SIGMAS * max(blur_px, 1.0)
    return steered if steered[2] > straight[2] + clearly else straight


def _tip(outline: Outline, depth: Singles, line: Floats, width: float, blur_px: float) -> Floats:
    """Return points from the last station out to the tip: the outline's, unless the fall is far steeper elsewhere.

    A shadow before the tip leads the outline too far out, a pale spot on it ends it too early. Falls are compared
    by how many times lighter it gets, since that is more from body to shadow than from shadow to ground.
    """
    path, ended, at = _outline_tip(outline, line, width, blur_px)
    t = tangents(path)
    side = left_of(t)
    beside = TIP_SIDE * width * np.array([-1.0, 0.0, 1.0])
    x, y = (path[None, :, k] + beside[:, None] * side[None, :, k] for k in (0, 1))
    value = clipped(np.sort(sample(depth, x, y), axis=0)[1], 0.0, 1 - BLACK)
    s = np.asarray(0.25 * np.arange(1, len(path) + 1), np.float64)
    apart = 0.7 * max(blur_px, 1.0)
    fall = _sharp_fall(-np.log(1 - value), s, apart)
    reward = fall / max(float(fall.max()), 1e-6) - TIP_PRIOR * ((s - at) / width) ** 2
    best = int(np.argmax(reward))
    near = np.abs(s - at) < 2 * apart
    here = float(reward[near].max()) if near.any() else -1.0
    if reward[best] < here + TIP_CLEAR or near[best]:
        return ended
    # Where it gets lighter by most is inside the edge; the edge itself is where most light is won.
    around = np.abs(s - s[best]) < 2 * apart
    edge = int(np.argmax(np.where(around, _sharp_fall(value, s, apart), -1.0)))
    return np.concatenate([path[:edge:8], path[edge : edge + 1]])


def _sharp_fall(value: Floats, s: Floats, apart: float) -> Floats:
    """Return how much a profile falls within a short way beyond what a soft edge would."""
    outer, inner, wide_in, wide_out = (np.interp(s + k * apart, s, value) for k in (1, -1, -SOFT, SOFT))
    return np.maximum(inner - outer - SOFT_SHARE / SOFT * (wide_in - wide_out), 0.0)


def refined(
    start: Start, outline: Outline, core: Bools, pictures: tuple[Singles, Singles], blur_px: float, free: bool
) -> Shape:
    """Return a shape with its midline in the middle between its flanks, its width between them.

    Parameters
    ----------
    start, outline : the first look at the mask, and that
    core : the mask without any root of a leg
    pictures : of the same crop: what the sides are found in, and how dark it is
    blur_px : sigma of the picture's blur
    free : whether there is ground beyond both tips; a cut shows no edge, but the next animal's far side does
    """
    signal, depth = pictures
    whole, width = start.line, start.width
    off = (0.55 * width, 0.55 * width)
    for k in range(ROUNDS):
        line = _stations(whole, off)
        left, right = flanks(signal, line, _about(outline, line, width), blur_px)
        shift = clipped((left - right) / 2, -0.35 * width, 0.35 * width)
        line = resample(smooth(line + shift[:, None] * normals(line), degree_of(line)), STATIONS)
        last = k == ROUNDS - 1 or (k > 0 and float(np.abs(shift).max()) < STILL * width)
        if last:
            break
        tips = end_of(outline.whole, line[::-1], width), end_of(outline.whole, line, width)
        whole = np.concatenate([tips[0][::-1], line, tips[1]])
        ends = smooth_width(left + right)[[0, -1]]
        first, last_off = clipped(OFF_WIDE * ends, OFF_LEAST * width, 0.55 * width)
        off = (float(first), float(last_off))
    straight = free and turning(line) < MOST_TURN_RAD
    lit, shaded = out_of_shade(depth, line, (left, right), blur_px) if straight else (None, False)
    if lit is not None:
        left, right = lit
        line = resample(smooth(line + (left - right)[:, None] / 2 * normals(line), degree_of(line)), STATIONS)
        width = full_width(smooth_width(left + right))
    ways = line[::-1], line
    if free:
        tips = _tip(outline, depth, ways[0], width, blur_px), _tip(outline, depth, ways[1], width, blur_px)
    else:
        tips = (_outline_tip(outline, ways[0], width, blur_px)[1], _outline_tip(outline, ways[1], width, blur_px)[1])
    half = (left + right) / 2
    if lit is not None:
        drawn = draw_strip(strip_of(line, half, half, tips), core.shape)
        outline, core = Outline(outline.soft, outline.whole, outline.solid & drawn), core & drawn
    return replace(assembled(outline, line, (half, half), tips, core), shaded=shaded)


def refined_in(blob: Blob, start: Start | None, outline: Outline, blur_px: float, cut: bool = False) -> Shape | None:
    """Return the shape of an animal in the picture of the blob that it is, or (`cut`) was cut from.

    None where there is too little of it; too short a thing keeps the shape that its mask has.
    """
    if start is None:
        return None
    if start.width <= 2 or length_of(start.line) < LEAST_REFINED * start.width:
        return assembled(outline, start.stations, start.sides, start.tips, blob.core & outline.solid)
    signal = flank_signal(blob.depths, blob.hues, start.width, blur_px)
    free = not (cut or blob.left_over)
    return refined(start, outline, blob.core & outline.solid, (signal, blob.depths), blur_px, free)
