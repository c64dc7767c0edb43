"""Rendered photos of the card with animals whose length, width and number are known.

The scene is painted on the card's plane at a fine scale, then seen by a camera: perspective, a little lens
distortion, blur, noise, JPEG. Animals lie above the plane and are displaced as a camera sees it. Everything
is drawn from one Generator per seed. Truth is the midline arc from tip to tip, in mm, of the animal itself.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import cv2
import numpy as np

from boxside.core.measure.card import card_drawing, card_geometry

PAPER_PX_PER_MM = 16.0


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


@dataclass
class Scene:
    rgb: np.ndarray
    larvae: list[Larva]
    kind: str
    variant: str
    must_refuse: str = ""
    facts: dict = field(default_factory=dict)


# ---------------------------------------------------------------- animals
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
        moved = Larva(**{**made.__dict__, "line": made.line + shift})
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
        moved = Larva(**{**b.__dict__, "line": b.line + aim + way * mid})
        if (mask_of(moved, coarse, shape, origin) & own).any():
            lo = mid
        else:
            hi = mid
    moved = Larva(**{**b.__dict__, "line": b.line + aim + way * (hi - rng.uniform(0.0, 0.12))})
    o = outline(moved)
    if o[:, 0].min() < left + 1 or o[:, 0].max() > right - 1:
        return None
    if o[:, 1].min() < top + 1 or o[:, 1].max() > bottom - 1:
        return None
    return moved


# ---------------------------------------------------------------- the camera
def camera(rng, variant, mp, tilt=None, fill=None, focal=None):
    card = card_geometry(variant)
    rows, cols = {0.8: (768, 1024), 2: (1224, 1632), 3: (1536, 2048), 12: (3024, 4032)}[mp]
    if rng.uniform() < 0.15:
        rows, cols = cols, rows
    f = (rng.uniform(0.62, 0.95) if focal is None else focal) * max(rows, cols)
    tilt = rng.uniform(0, 38) * rng.uniform() ** 0.5 if tilt is None else tilt
    fill = rng.uniform(0.68, 0.95) if fill is None else fill
    az = rng.uniform(0, 2 * np.pi)
    across = (rows > cols) != (rng.uniform() < 0.12)
    roll = rng.choice([0, np.pi]) + (np.pi / 2 if across else 0) + rng.normal(0, 0.2)
    t = np.deg2rad(tilt)
    axis = np.array([np.cos(az), np.sin(az), 0.0])
    R = cv2.Rodrigues(axis * t)[0] @ cv2.Rodrigues(np.array([0, 0, roll]))[0]
    centre = np.array([card.size_mm[0] / 2, card.size_mm[1] / 2, 0.0])
    K = np.array([[f, 0, (cols - 1) / 2], [0, f, (rows - 1) / 2], [0, 0, 1.0]])
    corners = np.array(
        [[0, 0, 0], [card.size_mm[0], 0, 0], [*card.size_mm, 0], [0, card.size_mm[1], 0]], float
    )
    # Camera looks along +z of its own frame; the card's z points away from the camera (y down, x right).
    lo, hi = 10.0, 4000.0
    for _ in range(50):
        z = (lo + hi) / 2
        q = (R @ (corners - centre).T).T + [0, 0, z]
        if (q[:, 2] < 5).any():
            lo = z
            continue
        u = (K @ q.T).T
        u = u[:, :2] / u[:, 2:]
        share = max(
            np.abs(u[:, 0] - K[0, 2]).max() / (cols / 2), np.abs(u[:, 1] - K[1, 2]).max() / (rows / 2)
        )
        lo, hi = (lo, z) if share < fill else (z, hi)
    T = np.array([0, 0, z]) - R @ centre
    H = K @ np.column_stack([R[:, 0], R[:, 1], T])
    eye = -R.T @ T
    return {"H": H, "K": K, "shape": (rows, cols), "eye": np.array([eye[0], eye[1], -eye[2]]), "tilt": tilt}


def see(plane, scale, margin, cam, k1, blur, rng, iso, quality, motion=0.0):
    """Photograph a plane painted at `scale` px/mm with `margin` mm around the card."""
    rows, cols = cam["shape"]
    fine = 1.0
    jj, ii = np.meshgrid(np.arange(cols), np.arange(rows))
    c = np.array([(cols - 1) / 2, (rows - 1) / 2])
    R2 = (cols**2 + rows**2) / 4
    d = np.stack([jj - c[0], ii - c[1]], axis=-1).astype(np.float32)
    u = d.copy()
    for _ in range(6):
        u = d / (1 + k1 * (u**2).sum(-1, keepdims=True) / R2)
    u += c
    inv = np.linalg.inv(cam["H"])
    w = inv[2, 0] * u[..., 0] + inv[2, 1] * u[..., 1] + inv[2, 2]
    x = (inv[0, 0] * u[..., 0] + inv[0, 1] * u[..., 1] + inv[0, 2]) / w
    y = (inv[1, 0] * u[..., 0] + inv[1, 1] * u[..., 1] + inv[1, 2]) / w
    mx = ((x + margin) * scale - 0.5).astype(np.float32)
    my = ((y + margin) * scale - 0.5).astype(np.float32)
    # The painted plane is smoothed to the photo's pitch first, so that fine detail does not alias.
    pitch = scale / (fine * np.sqrt(abs(np.linalg.det(cam["H"][:2, :2])))) if False else None
    del pitch
    local = np.hypot(
        np.gradient(mx, axis=1)[rows // 2, cols // 2], np.gradient(my, axis=1)[rows // 2, cols // 2]
    )
    pre = cv2.GaussianBlur(plane, (0, 0), 0.45 * local) if local > 0.8 else plane
    out = cv2.remap(
        pre, mx, my, cv2.INTER_CUBIC if local < 0.8 else cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    out = out.astype(np.float32)
    linear = rng.uniform() < 0.5
    if linear:
        out = np.power(np.clip(out, 0, 255) / 255, 2.2)
    if blur > 0:
        out = cv2.GaussianBlur(out, (0, 0), blur)
    if motion > 0:
        n = int(motion) | 1
        k = np.zeros((n, n), np.float32)
        a = rng.uniform(0, np.pi)
        e = np.array([np.cos(a), np.sin(a)]) * n / 2
        m = np.array([n / 2, n / 2])
        cv2.line(k, tuple((m - e).astype(int).tolist()), tuple((m + e).astype(int).tolist()), 1.0, 1)
        out = cv2.filter2D(out, -1, k / k.sum())
    if linear:
        out = np.power(np.clip(out, 0, 1), 1 / 2.2) * 255
    sigma = iso * (0.6 + 0.6 * np.sqrt(np.clip(out, 0, 255) / 255))
    out += rng.normal(size=out.shape).astype(np.float32) * sigma
    out = np.clip(out + 0.5, 0, 255).astype(np.uint8)
    ok, data = cv2.imencode(".jpg", out[:, :, ::-1], [cv2.IMWRITE_JPEG_QUALITY, quality])
    assert ok
    return cv2.imdecode(data, cv2.IMREAD_COLOR)[:, :, ::-1].copy()


# ---------------------------------------------------------------- painting
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
        tint = np.array(
            [rng.uniform(0.75, 0.95), rng.uniform(0.6, 0.85), rng.uniform(0.35, 0.75)], np.float32
        )
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
            1
            - 0.06 * m[..., None]
            - rng.uniform(0.05, 0.25) * cv2.GaussianBlur(rim, (0, 0), 0.08 * r + 0.5)[..., None]
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


def paint_larva(rng, img, a, scale, margin, eye, shadow):
    """Paint an animal as the camera at `eye` sees it: points at height h shift away from the camera's foot."""
    n = normals(a.line)
    h = a.height_frac * a.width

    def seen(p, height):
        return p + (p - eye[:2]) * height / (eye[2] - height)

    over = 2
    # OpenCV's smoothed polygons come out larger by two thirds of a pixel on every side: drawn that much smaller.
    eat = 0.67 / (over * scale)
    core = a.line.mean(0) + (a.line - a.line.mean(0)) * (a.length - 2 * eat) / a.length
    thin = np.maximum(a.half - eat, 0.0)[:, None]
    left, right = seen(core + n * thin, h), seen(core - n * thin, h)
    lo = np.minimum(left.min(0), right.min(0)) - 0.8 * a.width - 2
    hi = np.maximum(left.max(0), right.max(0)) + 0.8 * a.width + 2
    x0, y0 = np.maximum(((lo + margin) * scale).astype(int), 0)
    x1, y1 = ((hi + margin) * scale).astype(int)
    crop = img[y0:y1, x0:x1]
    shape = crop.shape[:2]

    def px(p):
        return ((p + margin) * scale - [x0, y0]) * over - 0.5

    def strip(lft, rgt, i0=0, i1=None):
        m = np.zeros((shape[0] * over, shape[1] * over), np.uint8)
        for i in range(i0, (len(lft) if i1 is None else i1) - 1):
            quad = np.array([lft[i], lft[i + 1], rgt[i + 1], rgt[i]])
            cv2.fillConvexPoly(
                m, cv2.convexHull((px(quad) * 16).round().astype(np.int32)), 255, cv2.LINE_AA, 4
            )
        return cv2.resize(m, (shape[1], shape[0]), interpolation=cv2.INTER_AREA)

    body = strip(left, right)
    if shadow is not None:
        off, soft, depth = shadow
        sm = cv2.warpAffine(
            body, np.float32([[1, 0, off[0] * scale * h], [0, 1, off[1] * scale * h]]), shape[::-1]
        )
        sm = cv2.GaussianBlur(sm, (0, 0), soft * scale)
        crop *= 1 - depth * (sm.astype(np.float32) / 255)[..., None]
    dark = a.colour
    legs = np.zeros((shape[0] * over, shape[1] * over), np.uint8)
    ln = a.width * rng.uniform(0.35, 0.7)
    for i in (12, 20, 28):
        for side in (-1, 1):
            root = seen(a.line[i] + side * n[i] * a.half[i] * 0.8, h * 0.5)
            t = np.array([n[i][1], -n[i][0]])
            knee = root + side * n[i] * ln * 0.6 + t * ln * rng.uniform(-0.4, 0.4)
            foot = knee + side * n[i] * ln * 0.4 + t * ln * rng.uniform(-0.5, 0.5)
            pts = (px(np.array([root, knee, foot])) * 16).round().astype(np.int32)
            cv2.polylines(legs, [pts], False, 255, max(1, int(0.07 * a.width * scale * over)), cv2.LINE_AA, 4)
    blend(crop, cv2.resize(legs, (shape[1], shape[0]), interpolation=cv2.INTER_AREA), dark * 0.9 + 15)
    yy = cv2.distanceTransform((body > 127).astype(np.uint8), cv2.DIST_L2, 3)
    round_ = np.clip(yy / max(a.width * scale / 2, 1), 0, 1)[..., None]
    tex = 1 + 0.08 * noise_field(rng, shape, 0.25 * scale)[..., None]
    lit = dark * (0.8 + a.gloss * round_) * tex
    al = (body.astype(np.float32) / 255)[..., None]
    crop *= 1 - al
    crop += al * lit
    if a.spots is not None:
        segs = np.linspace(6, len(a.line) - 7, 12).astype(int)
        sp = np.zeros((shape[0] * over, shape[1] * over), np.uint8)
        for i in segs:
            for side in (-1, 1):
                c = seen(a.line[i] + side * n[i] * a.half[i] * a.spots[1], h)
                r = a.width * a.spots[0]
                cv2.circle(
                    sp,
                    tuple((px(c[None])[0] * 16).round().astype(int).tolist()),
                    int(r * scale * over * 16),
                    255,
                    -1,
                    cv2.LINE_AA,
                    4,
                )
        sp = cv2.resize(sp, (shape[1], shape[0]), interpolation=cv2.INTER_AREA)
        sp = np.minimum(sp, body)
        blend(crop, sp, a.spot_colour)
        seam = np.zeros((shape[0] * over, shape[1] * over), np.uint8)
        for i in segs + 2:
            if i < len(left):
                pts = (px(np.array([left[i], right[i]])) * 16).round().astype(np.int32)
                cv2.polylines(seam, [pts], False, 255, 2, cv2.LINE_AA, 4)
        seam = np.minimum(cv2.resize(seam, (shape[1], shape[0]), interpolation=cv2.INTER_AREA), body)
        blend(crop, (seam * a.seam).astype(np.uint8), a.spot_colour * 0.7)
    return body, (x0, y0)


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
        a.spot_colour = np.array(
            [rng.uniform(150, 220), rng.uniform(110, 160), rng.uniform(70, 130)], np.float32
        )
    a.spots = (rng.uniform(0.04, 0.09), rng.uniform(0.6, 0.9)) if rng.uniform() < 0.7 else None
    a.seam = rng.uniform(0, 0.6)
    a.gloss = rng.uniform(0.1, 0.6)


# ---------------------------------------------------------------- whole photos
def populate(rng, kind, window):
    bodies = []
    if kind in ("isolated", "small", "pale"):
        for _ in range(rng.integers(3, 10)):
            size = rng.uniform(3.0, 6.0) if kind == "small" else None
            b = place(rng, larva(rng, size), window, bodies, 1.3)
            if b is not None:
                bodies.append(b)
    elif kind == "curled":
        for _ in range(rng.integers(3, 7)):
            k = "curled" if rng.uniform() < 0.75 else "isolated"
            b = place(rng, larva(rng, rng.uniform(8, 24), k), window, bodies, 1.3)
            if b is not None:
                bodies.append(b)
    elif kind == "touching":
        for g in range(rng.integers(1, 4)):
            a = place(rng, larva(rng, rng.uniform(6, 22)), window, bodies, 7)
            if a is None:
                continue
            a.kind, a.group = "touching", g
            mates = [a]
            for _ in range(1 if rng.uniform() < 0.8 else 2):
                for _ in range(30):
                    b = touch(rng, mates[0], larva(rng, a.length * rng.uniform(0.6, 1.5)), window)
                    if b is None:
                        continue
                    b.kind, b.group = "touching", g
                    others = [o for o in bodies] + mates[1:]
                    shape = (int((window[3] - window[1]) * 4), int((window[2] - window[0]) * 4))
                    o = np.array(window[:2])
                    own = mask_of(b, 4, shape, o)
                    if not any((mask_of(x, 4, shape, o, 1.2) & own).any() for x in others):
                        mates.append(b)
                        break
            if len(mates) == 1:
                a.kind, a.group = "isolated", -1
            bodies += mates
        for _ in range(rng.integers(0, 4)):
            b = place(rng, larva(rng), window, bodies, 1.3)
            if b is not None:
                bodies.append(b)
    elif kind == "crossing":
        a = place(rng, larva(rng, rng.uniform(10, 22), bend=rng.normal(0, 0.3)), window, bodies, 1.3)
        b = larva(rng, a.length * rng.uniform(0.8, 1.2), bend=rng.normal(0, 0.3))
        for _ in range(50):
            b = larva(rng, a.length * rng.uniform(0.8, 1.2), bend=rng.normal(0, 0.3))
            m = Larva(
                **{**b.__dict__, "line": b.line - b.line[rng.integers(28, 52)] + a.line[rng.integers(28, 52)]}
            )
            ta, tb = a.line[50] - a.line[30], m.line[50] - m.line[30]
            cosang = abs(ta @ tb) / np.hypot(*ta) / np.hypot(*tb)
            o = outline(m)
            inside = (
                o[:, 0].min() > window[0] + 1
                and o[:, 0].max() < window[2] - 1
                and o[:, 1].min() > window[1] + 1
                and o[:, 1].max() < window[3] - 1
            )
            if cosang < 0.75 and inside:
                a.kind = m.kind = "crossing"
                a.group = m.group = 0
                bodies += [a, m]
                break
        else:
            bodies += [a]
        for _ in range(rng.integers(0, 4)):
            c = place(rng, larva(rng), window, bodies, 1.3)
            if c is not None:
                bodies.append(c)
    elif kind == "ring":
        for _ in range(rng.integers(1, 4)):
            length = rng.uniform(8, 20)
            made = larva(
                rng, length, "curled", bend=2 * np.pi * rng.uniform(0.98, 1.05) * rng.choice([-1, 1])
            )
            made.kind = "ring"
            b = place(rng, made, window, bodies, 1.3)
            if b is not None:
                bodies.append(b)
        for _ in range(rng.integers(1, 4)):
            b = place(rng, larva(rng), window, bodies, 1.3)
            if b is not None:
                bodies.append(b)
    return bodies


def render(seed, kind="isolated", mp=3, bad="", variant=None, plain=False):
    """One scene; `kind` says how animals lie, `bad` what makes it a photo to refuse."""
    rng = np.random.default_rng([seed, sum(map(ord, kind + bad))])
    variant = variant or ("a6" if rng.uniform() < 0.75 else "pocket")
    card = card_geometry(variant)
    cam = camera(
        rng,
        variant,
        mp,
        tilt=rng.uniform(47, 60) if bad == "tilt" else (0 if plain else None),
        fill=rng.uniform(0.15, 0.3) if bad == "small" else None,
    )
    scale = PAPER_PX_PER_MM * (1.6 if variant == "pocket" else 1) * (1.5 if mp > 4 else 1)
    margin = 12.0
    shape = (int((card.size_mm[1] + 2 * margin) * scale), int((card.size_mm[0] + 2 * margin) * scale))
    bg = rng.choice(list(BACKGROUNDS))
    cloth = rng.uniform() < 0.35 and not plain
    img = background(rng, shape, scale, bg, cloth)
    inside = img.copy()
    rects, texts = card_drawing(variant)
    for r in rects:
        x0, y0 = (r.x_mm + margin) * scale + 0.67, (r.y_mm + margin) * scale + 0.67
        x1, y1 = (r.x_mm + r.w_mm + margin) * scale - 0.67, (r.y_mm + r.h_mm + margin) * scale - 0.67
        p = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])
        ink = rng.uniform(18, 40) if r.shade < 0.5 else 238
        cv2.fillConvexPoly(
            img,
            ((p - 0.5) * 256).round().astype(np.int32),
            (ink, ink, ink * (0.97 if r.shade > 0.5 else 1)),
            cv2.LINE_AA,
            8,
        )
    for t in texts:
        words = np.zeros(shape, np.uint8)
        at = (int((t.x_mm + margin) * scale), int((t.y_mm + margin) * scale))
        cv2.putText(words, t.text, at, cv2.FONT_HERSHEY_SIMPLEX, t.size_mm * scale / 30, 255, 1, cv2.LINE_AA)
        blend(img, words, np.array([40, 40, 40], np.float32))
    w = card.window_mm
    wx = [
        int((w[0] + margin) * scale),
        int((w[1] + margin) * scale),
        int((w[2] + margin) * scale),
        int((w[3] + margin) * scale),
    ]
    img[wx[1] : wx[3], wx[0] : wx[2]] = inside[wx[1] : wx[3], wx[0] : wx[2]]
    win = img[wx[1] : wx[3], wx[0] : wx[2]]
    bodies = populate(rng, kind, tuple(np.array(w) + [1.5, 1.5, -1.5, -1.5]))
    if not plain:
        if rng.uniform() < 0.35:
            stains(rng, win, scale)
        if rng.uniform() < 0.5:
            crumbs(rng, win, scale)
        if rng.uniform() < 0.35:
            spots = []
            for _ in range(rng.integers(1, 4)):
                size = rng.uniform(2, 8)
                for _ in range(30):
                    x, y = rng.uniform(w[0] + 6, w[2] - 6), rng.uniform(w[1] + 6, w[3] - 6)
                    if all(
                        np.hypot(*(b.line - [x, y]).T).min() > size / 2 + b.width / 2 + 1.2 for b in bodies
                    ) and all(
                        np.hypot(x * scale - q[0] + margin * scale, y * scale - q[1] + margin * scale)
                        > (size + q[2]) * scale / 2 + scale
                        for q in spots
                    ):
                        spots.append(((x + margin) * scale, (y + margin) * scale, size))
                        break
            shells(rng, img, scale, spots)
    shadow = (
        None
        if rng.uniform() < 0.4
        else (rng.normal(0, 0.9, 2), rng.uniform(0.1, 0.5), rng.uniform(0.15, 0.5))
    )
    pale_ok = bg in ("white", "paper", "blue", "brown", "grey")
    for b in bodies:
        dress(rng, b, pale=(kind == "pale" and rng.uniform() < 0.5 and pale_ok))
    eye = cam["eye"]
    for b in bodies:
        paint_larva(rng, img, b, scale, margin, eye, shadow)
    if not plain and rng.uniform() < 0.3:
        droplets(rng, img, scale, wx)
    img *= 1 + rng.uniform(0, 0.1) * noise_field(rng, (8, 8), 4)[0, 0]
    yy, xx = np.mgrid[0 : shape[0], 0 : shape[1]].astype(np.float32)
    g = rng.normal(0, 0.12, 2)
    img *= (1 + g[0] * (xx / shape[1] - 0.5) + g[1] * (yy / shape[0] - 0.5))[..., None]
    if not plain and rng.uniform() < 0.3:
        m = np.zeros(shape, np.float32)
        c = rng.uniform(size=2) * [shape[1], shape[0]]
        d = rng.normal(size=2)
        d /= np.hypot(*d)
        far = max(shape) * 2
        n_ = np.array([-d[1], d[0]])
        poly = np.array([c - d * far, c + d * far, c + d * far + n_ * far, c - d * far + n_ * far])
        cv2.fillConvexPoly(m, poly.astype(np.int32), 1.0)
        m = cv2.GaussianBlur(m, (0, 0), rng.uniform(0.5, 6) * scale)
        img *= 1 - rng.uniform(0.2, 0.55) * m[..., None]
    warm = rng.normal(0, 0.1)
    img *= np.array([1 + warm, 1, 1 - warm], np.float32)
    facts = {"tilt": cam["tilt"], "bg": bg, "cloth": cloth, "shadow": shadow is not None}
    if bad == "hidden":
        m = card.markers[rng.integers(4)]
        c = (np.array([m.x_mm, m.y_mm]) + m.side_mm * rng.uniform(0.15, 0.85, 2) + margin) * scale
        cover = np.zeros(shape, np.uint8)
        cv2.ellipse(
            cover,
            (
                tuple(c.tolist()),
                (m.side_mm * scale * rng.uniform(0.6, 1.5), m.side_mm * scale * rng.uniform(0.6, 1.5)),
                float(rng.uniform(0, 180)),
            ),
            255,
            -1,
            cv2.LINE_AA,
        )
        blend(
            img,
            cover,
            np.array([rng.uniform(60, 200), rng.uniform(60, 160), rng.uniform(30, 120)], np.float32),
        )
    if bad == "glare":
        b = bodies[0] if kind != "isolated" else max(bodies, key=lambda q: q.length)
        i = rng.integers(15, 66)
        c = (b.line[i] + margin) * scale
        r = b.width * rng.uniform(0.5, 1.2) * scale
        m = np.zeros(shape, np.float32)
        cv2.ellipse(
            m, (tuple(c.tolist()), (2 * r, 2 * r * rng.uniform(0.6, 1)), float(rng.uniform(0, 180))), 1.0, -1
        )
        m = np.clip(1.3 * cv2.GaussianBlur(m, (0, 0), 0.12 * r), 0, 1)
        blend(img, m * 255, np.array([255, 255, 255], np.float32))
    k1 = rng.normal(0, 0.012) if bad != "distortion" else rng.uniform(0.16, 0.35) * rng.choice([-1, -1, 1])
    blur = rng.uniform(0.4, 1.1) * (1.6 if mp > 4 else 1)
    motion = 0.0
    if bad == "blur":
        if rng.uniform() < 0.6:
            blur = rng.uniform(4.5, 9) * (2 if mp > 4 else 1)
        else:
            motion = rng.uniform(18, 40) * (2 if mp > 4 else 1)
    rgb = see(
        np.clip(img, 0, 255),
        scale,
        margin,
        cam,
        k1,
        blur,
        rng,
        rng.uniform(0.8, 4.0),
        int(rng.integers(75, 96)),
        motion,
    )
    facts |= {"k1": k1, "blur": blur, "H": cam["H"]}
    return Scene(rgb, bodies, kind, variant, bad, facts)
