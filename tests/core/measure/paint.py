"""What is painted on the plane: ground, stains, drops, shells, crumbs, animals."""

from __future__ import annotations

import cv2
import numpy as np

from tests.core.measure.larvae import normals


def noise_field(rng, shape, size, octaves=1):
    out = np.zeros(shape, np.float32)
    for o in range(octaves):
        s = max(1.0, size / 2**o)
        small = rng.normal(size=(int(shape[0] / s) + 3, int(shape[1] / s) + 3)).astype(np.float32)
        out += cv2.resize(small, (shape[1], shape[0]), interpolation=cv2.INTER_CUBIC) / 2**o
    return out / max(out.std(), 1e-6)


BACKGROUNDS = {
    "white": (235, 233, 228),
    "paper": (222, 220, 212),
    "yellow": (226, 205, 120),
    "blue": (110, 150, 200),
    "brown": (165, 125, 85),
    "grey": (180, 182, 184),
    "green": (150, 185, 140),
}


def background(rng, shape, scale, name, cloth):
    base = np.array(BACKGROUNDS[name], np.float32) * rng.uniform(0.9, 1.03)
    img = np.ones((*shape, 3), np.float32) * base
    img *= (1 + rng.uniform(0.004, 0.02) * noise_field(rng, shape, 0.3 * scale))[..., None]
    img *= (1 + rng.uniform(0.0, 0.03) * noise_field(rng, shape, 12 * scale, 2))[..., None]
    if cloth:
        pitch = rng.uniform(0.5, 1.2) * scale
        yy, xx = np.mgrid[0 : shape[0], 0 : shape[1]].astype(np.float32)
        a = rng.uniform(0, np.pi)
        wob = noise_field(rng, shape, 5 * scale) * pitch * 0.15
        u = np.cos(a) * xx + np.sin(a) * yy + wob
        v = -np.sin(a) * xx + np.cos(a) * yy + wob
        weave = np.sin(2 * np.pi * u / pitch) * np.sin(2 * np.pi * v / pitch) + 0.4 * noise_field(
            rng, shape, 0.6 * scale
        )
        img *= (1 + rng.uniform(0.02, 0.07) * weave)[..., None]
    return img


def blend(img, mask, colour):
    m = np.clip(mask, 0, 255).astype(np.uint8)
    x, y, w, h = cv2.boundingRect(m)
    if w == 0:
        return
    a = (m[y : y + h, x : x + w].astype(np.float32) / 255)[..., None]
    part = img[y : y + h, x : x + w]
    part *= 1 - a
    part += a * colour


def stains(rng, img, scale):
    for _ in range(rng.integers(1, 6)):
        m = np.zeros(img.shape[:2], np.float32)
        c = rng.uniform(size=2) * [img.shape[1], img.shape[0]]
        r = rng.uniform(0.8, 5) * scale
        cv2.ellipse(
            m,
            (
                tuple(c.tolist()),
                (float(2 * r), float(2 * r * rng.uniform(0.5, 1))),
                float(rng.uniform(0, 180)),
            ),
            1.0,
            -1,
        )
        m = cv2.GaussianBlur(m, (0, 0), r * rng.uniform(0.1, 0.4))
        tint = np.array([rng.uniform(0.75, 0.95), rng.uniform(0.6, 0.85), rng.uniform(0.35, 0.75)], np.float32)
        img *= 1 - m[..., None] * (1 - tint)


def droplets(rng, img, scale, box):
    for _ in range(rng.integers(3, 22)):
        r = rng.uniform(0.3, 2.2) * scale
        x, y = rng.uniform(box[0], box[2]), rng.uniform(box[1], box[3])
        whole, e = img, int(r) + 8
        x0, y0 = max(int(x) - e, 0), max(int(y) - e, 0)
        img = whole[y0 : int(y) + e, x0 : int(x) + e]
        x, y = x - x0, y - y0
        m = np.zeros(img.shape[:2], np.float32)
        cv2.circle(m, (int(x), int(y)), int(r), 1.0, -1, cv2.LINE_AA)
        rim = m - cv2.erode(m, np.ones((3, 3), np.uint8), iterations=max(1, int(0.12 * r)))
        img *= (
            1 - 0.06 * m[..., None] - rng.uniform(0.05, 0.25) * cv2.GaussianBlur(rim, (0, 0), 0.08 * r + 0.5)[..., None]
        )
        hl = np.zeros_like(m)
        cv2.circle(hl, (int(x - 0.35 * r), int(y - 0.35 * r)), max(1, int(0.16 * r)), 1.0, -1, cv2.LINE_AA)
        blend(img, hl * 255, np.array([252, 252, 252], np.float32))
        img = whole


def shells(rng, img, scale, spots):
    for x, y, size in spots:
        dark = rng.uniform() < 0.4
        col = np.array(
            [60, 50, 40] if dark else [rng.uniform(120, 190), rng.uniform(95, 150), rng.uniform(60, 110)],
            np.float32,
        )
        a = rng.uniform(0, 180)
        ratio = rng.uniform(0.55, 0.95)
        m = np.zeros(img.shape[:2], np.uint8)
        cv2.ellipse(
            m,
            ((float(x), float(y)), (float(size * scale), float(size * scale * ratio)), float(a)),
            255,
            -1,
            cv2.LINE_AA,
        )
        blend(img, m, col)
        for k in range(3):
            rr = size * scale * (0.4 - 0.11 * k)
            line = np.zeros_like(m)
            cv2.ellipse(
                line,
                ((float(x + 0.1 * rr), float(y)), (2 * rr, 2 * rr * ratio), float(a)),
                255,
                2,
                cv2.LINE_AA,
            )
            blend(img, line // 2, col * 0.55)


def crumbs(rng, img, scale):
    for _ in range(rng.integers(0, 60)):
        x, y = rng.uniform(size=2) * [img.shape[1], img.shape[0]]
        r = rng.uniform(0.08, 0.3) * scale
        m = np.zeros(img.shape[:2], np.uint8)
        cv2.ellipse(
            m,
            ((float(x), float(y)), (2 * r + 1, 2 * r * rng.uniform(0.4, 1) + 1), float(rng.uniform(0, 180))),
            255,
            -1,
            cv2.LINE_AA,
        )
        blend(img, m, np.array([rng.uniform(30, 110)] * 3, np.float32))


class Brush:
    """A crop of the plane around one animal, drawn twice as fine, as the camera at `eye` sees it.

    Points at a height above the card shift away from the camera's foot.
    """

    over = 2

    def __init__(self, img, a, scale, margin, eye):
        self.scale, self.margin, self.eye = scale, margin, eye
        n, h = normals(a.line), a.height_frac * a.width
        # OpenCV's smoothed polygons come out larger by two thirds of a pixel on every side.
        eat = 0.67 / (self.over * scale)
        core = a.line.mean(0) + (a.line - a.line.mean(0)) * (a.length - 2 * eat) / a.length
        thin = np.maximum(a.half - eat, 0.0)[:, None]
        self.left, self.right = self.seen(core + n * thin, h), self.seen(core - n * thin, h)
        lo = np.minimum(self.left.min(0), self.right.min(0)) - 0.8 * a.width - 2
        hi = np.maximum(self.left.max(0), self.right.max(0)) + 0.8 * a.width + 2
        self.x0, self.y0 = np.maximum(((lo + margin) * scale).astype(int), 0)
        x1, y1 = ((hi + margin) * scale).astype(int)
        self.crop = img[self.y0 : y1, self.x0 : x1]
        self.shape = self.crop.shape[:2]

    def seen(self, p, height):
        return p + (p - self.eye[:2]) * height / (self.eye[2] - height)

    def px(self, p):
        fine = ((p + self.margin) * self.scale - [self.x0, self.y0]) * self.over - 0.5
        return (fine * 16).round().astype(np.int32)

    def sheet(self):
        return np.zeros((self.shape[0] * self.over, self.shape[1] * self.over), np.uint8)

    def shrunk(self, sheet):
        return cv2.resize(sheet, (self.shape[1], self.shape[0]), interpolation=cv2.INTER_AREA)

    def body(self):
        m = self.sheet()
        for i in range(len(self.left) - 1):
            quad = np.array([self.left[i], self.left[i + 1], self.right[i + 1], self.right[i]])
            cv2.fillConvexPoly(m, cv2.convexHull(self.px(quad)), 255, cv2.LINE_AA, 4)
        return self.shrunk(m)


def paint_legs(rng, brush, a):
    """Three pairs of legs in the front third."""
    n, h = normals(a.line), a.height_frac * a.width
    legs = brush.sheet()
    long = a.width * rng.uniform(0.35, 0.7)
    thick = max(1, int(0.07 * a.width * brush.scale * brush.over))
    for i in (12, 20, 28):
        for side in (-1, 1):
            root = brush.seen(a.line[i] + side * n[i] * a.half[i] * 0.8, h * 0.5)
            t = np.array([n[i][1], -n[i][0]])
            knee = root + side * n[i] * long * 0.6 + t * long * rng.uniform(-0.4, 0.4)
            foot = knee + side * n[i] * long * 0.4 + t * long * rng.uniform(-0.5, 0.5)
            cv2.polylines(legs, [brush.px(np.array([root, knee, foot]))], False, 255, thick, cv2.LINE_AA, 4)
    blend(brush.crop, brush.shrunk(legs), a.colour * 0.9 + 15)


def paint_spots(brush, a, body):
    """Pale spots at the sides of the segments, and seams between them."""
    n, h = normals(a.line), a.height_frac * a.width
    segments = np.linspace(6, len(a.line) - 7, 12).astype(int)
    spots, seams = brush.sheet(), brush.sheet()
    radius = int(a.width * a.spots[0] * brush.scale * brush.over * 16)
    for i in segments:
        for side in (-1, 1):
            at = brush.px(brush.seen(a.line[i] + side * n[i] * a.half[i] * a.spots[1], h)[None])[0]
            cv2.circle(spots, tuple(at.tolist()), radius, 255, -1, cv2.LINE_AA, 4)
    for i in segments + 2:
        if i < len(brush.left):
            ends = brush.px(np.array([brush.left[i], brush.right[i]]))
            cv2.polylines(seams, [ends], False, 255, 2, cv2.LINE_AA, 4)
    blend(brush.crop, np.minimum(brush.shrunk(spots), body), a.spot_colour)
    seam = np.minimum(brush.shrunk(seams), body)
    blend(brush.crop, (seam * a.seam).astype(np.uint8), a.spot_colour * 0.7)


def paint_larva(rng, img, a, scale, margin, eye, shadow):
    """Paint one animal: its shadow, legs, body, spots."""
    brush = Brush(img, a, scale, margin, eye)
    crop, shape, h = brush.crop, brush.shape, a.height_frac * a.width
    body = brush.body()
    if shadow is not None:
        off, soft, depth = shadow
        move = np.float32([[1, 0, off[0] * scale * h], [0, 1, off[1] * scale * h]])
        cast = cv2.GaussianBlur(cv2.warpAffine(body, move, shape[::-1]), (0, 0), soft * scale)
        crop *= 1 - depth * (cast.astype(np.float32) / 255)[..., None]
    paint_legs(rng, brush, a)
    inside = cv2.distanceTransform((body > 127).astype(np.uint8), cv2.DIST_L2, 3)
    bulge = np.clip(inside / max(a.width * scale / 2, 1), 0, 1)[..., None]
    grain = 1 + 0.08 * noise_field(rng, shape, 0.25 * scale)[..., None]
    cover = (body.astype(np.float32) / 255)[..., None]
    crop *= 1 - cover
    crop += cover * (a.colour * (0.8 + a.gloss * bulge) * grain)
    if a.spots is not None:
        paint_spots(brush, a, body)


def dress(rng, a, pale=False):
    a.pale = pale
    a.height_frac = rng.uniform(0.12, 0.4)
    if pale:
        a.colour = np.array([rng.uniform(185, 215), rng.uniform(165, 195), rng.uniform(100, 140)], np.float32)
        a.spot_colour = a.colour * 0.75
    else:
        v = rng.uniform(25, 75)
        a.colour = np.array(
            [v * rng.uniform(1, 1.35), v * rng.uniform(0.95, 1.05), v * rng.uniform(0.7, 1)], np.float32
        )
        a.spot_colour = np.array([rng.uniform(150, 220), rng.uniform(110, 160), rng.uniform(70, 130)], np.float32)
    a.spots = (rng.uniform(0.04, 0.09), rng.uniform(0.6, 0.9)) if rng.uniform() < 0.7 else None
    a.seam = rng.uniform(0, 0.6)
    a.gloss = rng.uniform(0.1, 0.6)
