"""Another kind of scene, as a guard against constants that suit one way of drawing: animals as chains of beads.

Nothing is shared with `render`: the plane is painted in 8 bit by OpenCV's own shapes, an animal is a row of
overlapping ellipses with a gloss along the back, the ground is speckled and lit from one side, the camera is a
plain homography. Truth is the way along the beads' middles from the first bead's front to the last one's back.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from boxside.core.measure.card import card_drawing, card_geometry

PX_PER_MM = 20
ROOM_MM = 10.0
GROUNDS = ((240, 238, 232), (200, 215, 190), (232, 214, 150), (190, 180, 200), (205, 190, 170))


@dataclass(frozen=True)
class Bead:
    """An animal in card coordinates: middles of its beads (n, 2) mm, its length and greatest width in mm."""

    line: np.ndarray
    length: float
    width: float


def _spine(rng, length, bend):
    """Middles of 28 beads along an arc whose bending grows or shrinks along it."""
    s = np.linspace(0, 1, 28)
    turn = bend * (s + rng.uniform(-0.4, 0.4) * s * (1 - s))
    step = length / 27
    points = np.cumsum(np.stack([np.cos(turn), np.sin(turn)], axis=1), axis=0) * step
    points = np.concatenate([[[0.0, 0.0]], points[:-1]])
    turned = rng.uniform(0, 2 * np.pi)
    c, d = np.cos(turned), np.sin(turned)
    return (points - points.mean(axis=0)) @ np.array([[c, d], [-d, c]])


def _animal(rng, window, others):
    """An animal that lies apart from the others, None if there is no room for it."""
    length = rng.uniform(5, 24)
    width = length / rng.uniform(4, 6.5)
    spine = _spine(rng, length - 0.6 * width, rng.normal(0, 0.7))
    for _ in range(60):
        at = np.array([rng.uniform(window[0], window[2]), rng.uniform(window[1], window[3])])
        line = spine + at
        low, high = line.min(axis=0) - width, line.max(axis=0) + width
        if (low < window[:2]).any() or (high > window[2:]).any():
            continue
        gaps = [np.hypot(*(line[:, None] - o.line[None]).transpose(2, 0, 1)).min() for o in others]
        if all(gap > 0.6 * (width + o.width) + 1.5 for gap, o in zip(gaps, others, strict=True)):
            long = float(np.hypot(*np.diff(line, axis=0).T).sum())
            return Bead(line, long + 0.6 * width, width)
    return None


def _px(points):
    return (np.asarray(points) + ROOM_MM) * PX_PER_MM - 0.5


def _paint(rng, img, one):
    """Beads from tail to head, each with a dark rim and a lighter back; short legs under the first third."""
    colour = np.array([rng.uniform(25, 60)] * 3) * rng.uniform(0.8, 1.2, 3)
    way = np.gradient(one.line, axis=0)
    way /= np.hypot(*way.T)[:, None]
    s = np.linspace(-1, 1, len(one.line))
    half = one.width / 2 * np.where(np.abs(s) < 0.4, 1.0, 1 - 0.55 * ((np.abs(s) - 0.4) / 0.6) ** 2)
    half[[0, -1]] = 0.3 * one.width
    for k in (4, 6, 8):
        for side in (-1, 1):
            out = side * np.array([-way[k][1], way[k][0]])
            ends = _px([one.line[k], one.line[k] + out * one.width * rng.uniform(0.7, 1.0)])
            thick = max(1, round(0.06 * one.width * PX_PER_MM))
            cv2.line(img, *(tuple(int(v) for v in np.round(e)) for e in ends), colour.tolist(), thick, cv2.LINE_AA)
    for shade, share in ((1.0, 1.0), (1.5, 0.55)):
        for k in range(len(one.line) - 1, -1, -1):
            at, angle = _px(one.line[k]), float(np.degrees(np.arctan2(way[k][1], way[k][0])))
            axes = (0.3 * one.width * share * PX_PER_MM, half[k] * share * PX_PER_MM)
            box = (tuple(at.tolist()), tuple(2 * a for a in axes), angle)
            cv2.ellipse(img, box, np.clip(colour * shade, 0, 255).tolist(), -1, cv2.LINE_AA)


def _card(img, variant):
    rects, _ = card_drawing(variant)
    for r in rects:
        low = np.round(_px([r.x_mm, r.y_mm]) + 0.5).astype(int)
        high = np.round(_px([r.x_mm + r.w_mm, r.y_mm + r.h_mm]) + 0.5).astype(int)
        img[low[1] : high[1], low[0] : high[0]] = 30 if r.shade < 0.5 else 236


def _homography(rng, size_mm):
    """A camera that stands up to 25 degrees off the upright, as a homography from plane pixels to photo pixels."""
    w, h = size_mm
    corners = np.array([[0, 0], [w, 0], [w, h], [0, h]], float) - [w / 2, h / 2]
    tilt, azimuth, roll = np.radians(rng.uniform(0, 25)), rng.uniform(0, 2 * np.pi), rng.normal(0, 0.15)
    axis = tilt * np.array([np.cos(azimuth), np.sin(azimuth), 0.0])
    turn = cv2.Rodrigues(axis)[0] @ cv2.Rodrigues(np.array([0, 0, roll]))[0]
    seen = (turn @ np.column_stack([corners, np.zeros(4)]).T).T + np.array([0, 0, 1.55 * max(w, h)])
    flat = seen[:, :2] / seen[:, 2:]
    flat = (flat - flat.mean(axis=0)) * 0.88 * min(2048 / np.ptp(flat[:, 0]), 1536 / np.ptp(flat[:, 1]))
    goal = (flat - (flat.max(axis=0) + flat.min(axis=0)) / 2 + [1024, 768]).astype(np.float32)
    return cv2.getPerspectiveTransform(_px(corners + np.array([w / 2, h / 2])).astype(np.float32), goal)


def beads(seed, count=6):
    """A photo (rows, cols, 3) uint8 of the A6 card with animals made of beads, and those animals."""
    rng = np.random.default_rng([seed, 77])
    card = card_geometry("a6")
    shape = tuple(int((card.size_mm[k] + 2 * ROOM_MM) * PX_PER_MM) for k in (1, 0))
    ground = np.array(GROUNDS[rng.integers(len(GROUNDS))], np.float32)
    speck = cv2.GaussianBlur(rng.normal(size=shape).astype(np.float32), (0, 0), 2.5)
    img = np.clip(ground * (1 + rng.uniform(0.05, 0.2) * speck[..., None]), 0, 255).astype(np.uint8)
    window = np.round(_px(np.reshape(card.window_mm, (2, 2))) + 0.5).astype(int)
    inside = img[window[0, 1] : window[1, 1], window[0, 0] : window[1, 0]].copy()
    _card(img, "a6")
    img[window[0, 1] : window[1, 1], window[0, 0] : window[1, 0]] = inside
    animals: list[Bead] = []
    room = np.array(card.window_mm) + np.array([2, 2, -2, -2])
    for _ in range(count):
        one = _animal(rng, room, animals)
        if one is not None:
            animals.append(one)
    for one in animals:
        _paint(rng, img, one)
    slope = 1 + rng.uniform(-0.25, 0.25) * np.linspace(-0.5, 0.5, shape[1], dtype=np.float32)
    lit = np.clip(img * slope[None, :, None] * rng.uniform(0.8, 1.0), 0, 255).astype(np.uint8)
    fine = cv2.GaussianBlur(lit, (0, 0), 0.8)
    photo = cv2.warpPerspective(fine, _homography(rng, card.size_mm), (2048, 1536), borderMode=cv2.BORDER_REPLICATE)
    noisy = cv2.GaussianBlur(photo, (0, 0), 0.7) + rng.normal(0, 2.0, (1536, 2048, 1))
    ok, data = cv2.imencode(".jpg", np.clip(noisy, 0, 255).astype(np.uint8)[:, :, ::-1], [cv2.IMWRITE_JPEG_QUALITY, 88])
    if not ok:
        raise RuntimeError("the photo could not be encoded")
    return cv2.imdecode(data, cv2.IMREAD_COLOR)[:, :, ::-1].copy(), animals
