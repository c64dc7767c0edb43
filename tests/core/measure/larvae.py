"""Animals of known length and width, and ways for them to lie: apart, curled, touching, across each other."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np


@dataclass
class Larva:
    """An animal: midline (n, 2) mm, half widths (n,) mm, its true length and greatest width."""

    line: np.ndarray
    half: np.ndarray
    length: float
    width: float
    kind: str = "isolated"
    pale: bool = False
    height_frac: float = 0.25
    group: int = -1


def profile(rng, n=81):
    """Half width along the body as a share of the greatest half width, head end first; tips are round."""
    s = np.linspace(0, 1, n)
    head = rng.uniform(0.10, 0.30)
    tail = rng.uniform(0.15, 0.5)
    base = rng.uniform(0.45, 0.8)
    front = base + (1 - base) * np.clip(s / head, 0, 1) ** rng.uniform(0.5, 1.2)
    back_end = rng.uniform(0.25, 0.6)
    back = back_end + (1 - back_end) * np.clip((1 - s) / tail, 0, 1) ** rng.uniform(0.6, 1.2)
    w = np.minimum(front, back)
    w *= 1 - rng.uniform(0, 0.07) * (np.cos(2 * np.pi * s * rng.integers(10, 14)) > 0.6)
    cap = rng.uniform(0.02, 0.06)
    w *= np.sqrt(np.clip(1 - (1 - np.clip(s / cap, 0, 1)) ** 2, 0, 1))
    w *= np.sqrt(np.clip(1 - (1 - np.clip((1 - s) / cap, 0, 1)) ** 2, 0, 1))
    return w / w.max()


def midline(rng, length, bend, wiggle, n=81):
    """A midline of the given arc length: total turn `bend` (rad) plus an S of amplitude `wiggle` (rad)."""
    s = np.linspace(0, 1, n)
    skew = rng.uniform(-0.6, 0.6)
    curv = 1 + skew * (2 * s - 1)
    angle = bend * np.cumsum(curv) / curv.sum() + wiggle * np.sin(2 * np.pi * (s + rng.uniform()))
    step = length / (n - 1)
    mid = (angle[1:] + angle[:-1]) / 2
    p = np.zeros((n, 2))
    p[1:, 0] = np.cumsum(np.cos(mid)) * step
    p[1:, 1] = np.cumsum(np.sin(mid)) * step
    return p - p.mean(axis=0)


def larva(rng, length=None, kind="isolated", bend=None):
    length = rng.uniform(3.2, 26) if length is None else length
    aspect = rng.uniform(3.6, 6.5) if kind != "curled" else rng.uniform(5.0, 7.5)
    half = profile(rng) * length / aspect / 2
    if bend is None:
        bend = rng.normal(0, 0.5) if kind != "curled" else rng.uniform(1.8, 4.2) * rng.choice([-1, 1])
    wiggle = abs(rng.normal(0, 0.15)) if kind != "curled" else 0.0
    line = midline(rng, length, bend, wiggle)
    turn = rng.uniform(0, 2 * np.pi)
    c, s = np.cos(turn), np.sin(turn)
    return Larva(line @ np.array([[c, s], [-s, c]]), half, length, 2 * half.max(), kind)


def normals(line):
    t = np.gradient(line, axis=0)
    t /= np.maximum(np.hypot(*t.T), 1e-9)[:, None]
    return np.stack([-t[:, 1], t[:, 0]], axis=1)


def outline(a, grow=0.0):
    n = normals(a.line)
    h = (a.half + grow)[:, None]
    return np.concatenate([a.line + n * h, (a.line - n * h)[::-1]])


def mask_of(a, scale, shape, origin, grow=0.0):
    m = np.zeros(shape, np.uint8)
    p = ((outline(a, grow) - origin) * scale * 16).round().astype(np.int32)
    # Self-overlapping outlines (strong curl) must fill, so draw as a strip of quads.
    n = len(a.line)
    q = p.reshape(2, n, 2)
    left, right = q[0], q[1][::-1]
    for i in range(n - 1):
        quad = np.array([left[i], left[i + 1], right[i + 1], right[i]])
        cv2.fillConvexPoly(m, cv2.convexHull(quad), 255, cv2.LINE_8, 4)
    return m


def place(rng, made, window, bodies, gap, coarse=4.0, tries=200):
    """Shift an animal into the window, at least `gap` mm from others; None if there is no room."""
    left, top, right, bottom = window
    shape = (int((bottom - top) * coarse), int((right - left) * coarse))
    taken = np.zeros(shape, np.uint8)
    for b in bodies:
        taken |= mask_of(b, coarse, shape, np.array([left, top]), gap)
    lo, hi = outline(made).min(axis=0), outline(made).max(axis=0)
    room = np.array([right - left, bottom - top]) - (hi - lo) - 3
    if (room < 0).any():
        return None
    for _ in range(tries):
        shift = np.array([left, top]) + 1.5 - lo + rng.uniform(size=2) * room
        moved = replace(made, line=made.line + shift)
        own = mask_of(moved, coarse, shape, np.array([left, top]))
        if not (own & taken).any():
            return moved
    return None


def touch(rng, a, b, window):
    """Move b until it just touches a from a random side, overlapping at most a hair; None if it leaves."""
    coarse = 10.0
    left, top, right, bottom = window
    shape = (int((bottom - top) * coarse), int((right - left) * coarse))
    origin = np.array([left, top])
    own = mask_of(a, coarse, shape, origin)
    angle = rng.uniform(0, 2 * np.pi)
    way = np.array([np.cos(angle), np.sin(angle)])
    aim = a.line[rng.integers(8, 73)] - b.line[rng.integers(8, 73)]
    lo, hi = 0.0, 40.0
    for _ in range(14):
        mid = (lo + hi) / 2
        moved = replace(b, line=b.line + aim + way * mid)
        if (mask_of(moved, coarse, shape, origin) & own).any():
            lo = mid
        else:
            hi = mid
    moved = replace(b, line=b.line + aim + way * (hi - rng.uniform(0.0, 0.12)))
    o = outline(moved)
    if o[:, 0].min() < left + 1 or o[:, 0].max() > right - 1:
        return None
    if o[:, 1].min() < top + 1 or o[:, 1].max() > bottom - 1:
        return None
    return moved


def _add(rng, made, window, bodies):
    """Place an animal apart from the others, if there is room."""
    b = place(rng, made, window, bodies, 1.3)
    if b is not None:
        bodies.append(b)


def _apart(rng, window, bodies, kind):
    for _ in range(rng.integers(3, 10)):
        _add(rng, larva(rng, rng.uniform(3.0, 6.0) if kind == "small" else None), window, bodies)


def _curled(rng, window, bodies, kind):
    del kind
    for _ in range(rng.integers(3, 7)):
        form = "curled" if rng.uniform() < 0.75 else "isolated"
        _add(rng, larva(rng, rng.uniform(8, 24), form), window, bodies)


def _mate(rng, mates, bodies, window, group):
    """Return one more animal that touches the first of a group and no other, None after 30 tries."""
    shape = (int((window[3] - window[1]) * 4), int((window[2] - window[0]) * 4))
    origin = np.array(window[:2])
    for _ in range(30):
        b = touch(rng, mates[0], larva(rng, mates[0].length * rng.uniform(0.6, 1.5)), window)
        if b is None:
            continue
        b.kind, b.group = "touching", group
        own = mask_of(b, 4, shape, origin)
        if not any((mask_of(x, 4, shape, origin, 1.2) & own).any() for x in bodies + mates[1:]):
            return b
    return None


def _touching(rng, window, bodies, kind):
    del kind
    for group in range(rng.integers(1, 4)):
        a = place(rng, larva(rng, rng.uniform(6, 22)), window, bodies, 7)
        if a is None:
            continue
        a.kind, a.group = "touching", group
        mates = [a]
        for _ in range(1 if rng.uniform() < 0.8 else 2):
            b = _mate(rng, mates, bodies, window, group)
            if b is not None:
                mates.append(b)
        if len(mates) == 1:
            a.kind, a.group = "isolated", -1
        bodies += mates
    for _ in range(rng.integers(0, 4)):
        _add(rng, larva(rng), window, bodies)


def _over(rng, a, window):
    """Return an animal that lies across another, None after 50 tries."""
    for _ in range(50):
        b = larva(rng, a.length * rng.uniform(0.8, 1.2), bend=rng.normal(0, 0.3))
        m = replace(b, line=b.line - b.line[rng.integers(28, 52)] + a.line[rng.integers(28, 52)])
        ta, tb = a.line[50] - a.line[30], m.line[50] - m.line[30]
        o = outline(m)
        low, high = np.array(window[:2]) + 1, np.array(window[2:]) - 1
        inside = (o > low).all() and (o < high).all()
        if abs(ta @ tb) / np.hypot(*ta) / np.hypot(*tb) < 0.75 and inside:
            return m
    return None


def _crossing(rng, window, bodies, kind):
    del kind
    a = place(rng, larva(rng, rng.uniform(10, 22), bend=rng.normal(0, 0.3)), window, bodies, 1.3)
    if a is not None:
        larva(rng, a.length * rng.uniform(0.8, 1.2), bend=rng.normal(0, 0.3))
        b = _over(rng, a, window)
        bodies.append(a)
        if b is not None:
            a.kind = b.kind = "crossing"
            a.group = b.group = 0
            bodies.append(b)
    for _ in range(rng.integers(0, 4)):
        _add(rng, larva(rng), window, bodies)


def _ring(rng, window, bodies, kind):
    for _ in range(rng.integers(1, 4)):
        length = rng.uniform(8, 20)
        turn = 2 * np.pi * rng.uniform(0.98, 1.05) * rng.choice([-1, 1])
        _add(rng, replace(larva(rng, length, "curled", bend=turn), kind=kind), window, bodies)
    for _ in range(rng.integers(1, 4)):
        _add(rng, larva(rng), window, bodies)


WAYS = {
    "isolated": _apart,
    "small": _apart,
    "pale": _apart,
    "curled": _curled,
    "touching": _touching,
    "crossing": _crossing,
    "ring": _ring,
}


def populate(rng, kind, window):
    """Return animals that lie in a window in one of the ways."""
    bodies = []
    WAYS[kind](rng, window, bodies, kind)
    return bodies
