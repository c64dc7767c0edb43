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
from tests.core.measure.camera import camera, see
from tests.core.measure.larvae import Larva, populate
from tests.core.measure.paint import (
    BACKGROUNDS,
    background,
    blend,
    crumbs,
    dress,
    droplets,
    noise_field,
    paint_larva,
    shells,
    stains,
)

PAPER_PX_PER_MM = 16.0
MARGIN_MM = 12.0


@dataclass
class Scene:
    rgb: np.ndarray
    larvae: list[Larva]
    kind: str
    variant: str
    must_refuse: str = ""
    facts: dict = field(default_factory=dict)


def _print_card(rng, img, variant, scale):
    """Print the card on the plane; OpenCV's smoothed polygons come out 0.67 px larger on every side."""
    rects, texts = card_drawing(variant)
    for r in rects:
        x0, y0 = (r.x_mm + MARGIN_MM) * scale + 0.67, (r.y_mm + MARGIN_MM) * scale + 0.67
        x1, y1 = (r.x_mm + r.w_mm + MARGIN_MM) * scale - 0.67, (r.y_mm + r.h_mm + MARGIN_MM) * scale - 0.67
        p = ((np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]]) - 0.5) * 256).round().astype(np.int32)
        ink = rng.uniform(18, 40) if r.shade < 0.5 else 238
        cv2.fillConvexPoly(img, p, (ink, ink, ink * (0.97 if r.shade > 0.5 else 1)), cv2.LINE_AA, 8)
    for t in texts:
        words = np.zeros(img.shape[:2], np.uint8)
        at = (int((t.x_mm + MARGIN_MM) * scale), int((t.y_mm + MARGIN_MM) * scale))
        cv2.putText(words, t.text, at, cv2.FONT_HERSHEY_SIMPLEX, t.size_mm * scale / 30, 255, 1, cv2.LINE_AA)
        blend(img, words, np.array([40, 40, 40], np.float32))


def _free_spots(rng, window, bodies, scale):
    """Return places (px) and sizes (mm) for shells, apart from animals and from each other."""
    spots = []
    for _ in range(rng.integers(1, 4)):
        size = rng.uniform(2, 8)
        for _ in range(30):
            x = rng.uniform(window[0] + 6, window[2] - 6)
            y = rng.uniform(window[1] + 6, window[3] - 6)
            at = (np.array([x, y]) + MARGIN_MM) * scale
            apart = all(np.hypot(*(b.line - [x, y]).T).min() > size / 2 + b.width / 2 + 1.2 for b in bodies)
            alone = all(np.hypot(*(at - q[:2])) > (size + q[2]) * scale / 2 + scale for q in spots)
            if apart and alone:
                spots.append((at[0], at[1], size))
                break
    return spots


def _litter(rng, img, part, window, bodies, scale):
    """Put stains, crumbs and shells around the animals."""
    if rng.uniform() < 0.35:
        stains(rng, part, scale)
    if rng.uniform() < 0.5:
        crumbs(rng, part, scale)
    if rng.uniform() < 0.35:
        shells(rng, img, scale, _free_spots(rng, window, bodies, scale))


def _light(rng, img, scale, plain):
    """Light the plane: a slope, a shade with a soft edge, a warm or cold colour."""
    shape = img.shape[:2]
    img *= 1 + rng.uniform(0, 0.1) * noise_field(rng, (8, 8), 4)[0, 0]
    yy, xx = np.mgrid[0 : shape[0], 0 : shape[1]].astype(np.float32)
    g = rng.normal(0, 0.12, 2)
    img *= (1 + g[0] * (xx / shape[1] - 0.5) + g[1] * (yy / shape[0] - 0.5))[..., None]
    if not plain and rng.uniform() < 0.3:
        shade = np.zeros(shape, np.float32)
        c = rng.uniform(size=2) * [shape[1], shape[0]]
        d = rng.normal(size=2)
        d *= max(shape) * 2 / np.hypot(*d)
        side = np.array([-d[1], d[0]])
        poly = np.array([c - d, c + d, c + d + side, c - d + side])
        cv2.fillConvexPoly(shade, poly.astype(np.int32), 1.0)
        shade = cv2.GaussianBlur(shade, (0, 0), rng.uniform(0.5, 6) * scale)
        img *= 1 - rng.uniform(0.2, 0.55) * shade[..., None]
    warm = rng.normal(0, 0.1)
    img *= np.array([1 + warm, 1, 1 - warm], np.float32)


def _hide(rng, img, card, scale):
    """Cover a marker, or a part of it."""
    m = card.markers[rng.integers(4)]
    c = (np.array([m.x_mm, m.y_mm]) + m.side_mm * rng.uniform(0.15, 0.85, 2) + MARGIN_MM) * scale
    cover = np.zeros(img.shape[:2], np.uint8)
    axes = (m.side_mm * scale * rng.uniform(0.6, 1.5), m.side_mm * scale * rng.uniform(0.6, 1.5))
    cv2.ellipse(cover, (tuple(c.tolist()), axes, float(rng.uniform(0, 180))), 255, -1, cv2.LINE_AA)
    blend(img, cover, np.array([rng.uniform(60, 200), rng.uniform(60, 160), rng.uniform(30, 120)], np.float32))


def _dazzle(rng, img, bodies, scale):
    """Put a burnt-out spot on the longest animal."""
    b = max(bodies, key=lambda q: q.length)
    c = (b.line[rng.integers(15, 66)] + MARGIN_MM) * scale
    r = b.width * rng.uniform(0.5, 1.2) * scale
    m = np.zeros(img.shape[:2], np.float32)
    axes = (2 * r, 2 * r * rng.uniform(0.6, 1))
    cv2.ellipse(m, (tuple(c.tolist()), axes, float(rng.uniform(0, 180))), 1.0, -1)
    m = np.clip(1.3 * cv2.GaussianBlur(m, (0, 0), 0.12 * r), 0, 1)
    blend(img, m * 255, np.array([255, 255, 255], np.float32))


def _shot(rng, img, scale, cam, bad, fine):
    """Photograph the plane; `fine` is how many times finer than usual the camera's pixels are."""
    k1 = rng.uniform(0.16, 0.35) * rng.choice([-1, -1, 1]) if bad == "distortion" else rng.normal(0, 0.012)
    blur, motion = rng.uniform(0.4, 1.1) * (1.6 if fine > 1 else 1), 0.0
    if bad == "blur":
        if rng.uniform() < 0.6:
            blur = rng.uniform(4.5, 9) * fine
        else:
            motion = rng.uniform(18, 40) * fine
    iso, quality = rng.uniform(0.8, 4.0), int(rng.integers(75, 96))
    rgb = see(np.clip(img, 0, 255), scale, MARGIN_MM, cam, k1, blur, rng, iso, quality, motion)
    return rgb, {"k1": k1, "blur": blur, "H": cam["H"]}


def _animals(rng, img, bodies, kind, ground, scale, eye):
    """Give animals their looks and paint them, all with the same light."""
    shadow = None
    if rng.uniform() >= 0.4:
        shadow = (rng.normal(0, 0.9, 2), rng.uniform(0.1, 0.5), rng.uniform(0.15, 0.5))
    pale_ok = ground in ("white", "paper", "blue", "brown", "grey")
    for b in bodies:
        dress(rng, b, pale=(kind == "pale" and rng.uniform() < 0.5 and pale_ok))
    for b in bodies:
        paint_larva(rng, img, b, scale, MARGIN_MM, eye, shadow)
    return shadow is not None


def render(seed, kind="isolated", mp=3, bad="", variant=None, plain=False, paper=PAPER_PX_PER_MM):
    """One scene; `kind` says how animals lie, `bad` what makes it a photo to refuse; `paper` in px/mm."""
    rng = np.random.default_rng([seed, sum(map(ord, kind + bad))])
    variant = variant or ("a6" if rng.uniform() < 0.75 else "pocket")
    card = card_geometry(variant)
    tilt = rng.uniform(47, 60) if bad == "tilt" else (0 if plain else None)
    cam = camera(rng, variant, mp, tilt=tilt, fill=rng.uniform(0.15, 0.3) if bad == "small" else None)
    scale = paper * (1.6 if variant == "pocket" else 1) * (1.5 if mp > 4 else 1)
    shape = tuple(int((card.size_mm[k] + 2 * MARGIN_MM) * scale) for k in (1, 0))
    ground = rng.choice(list(BACKGROUNDS))
    cloth = rng.uniform() < 0.35 and not plain
    img = background(rng, shape, scale, ground, cloth)
    under = img.copy()
    _print_card(rng, img, variant, scale)
    left, top, right, bottom = (int((v + MARGIN_MM) * scale) for v in card.window_mm)
    img[top:bottom, left:right] = under[top:bottom, left:right]
    bodies = populate(rng, kind, tuple(np.array(card.window_mm) + np.array([1.5, 1.5, -1.5, -1.5])))
    if not plain:
        _litter(rng, img, img[top:bottom, left:right], card.window_mm, bodies, scale)
    shadow = _animals(rng, img, bodies, kind, ground, scale, cam["eye"])
    if not plain and rng.uniform() < 0.3:
        droplets(rng, img, scale, (left, top, right, bottom))
    _light(rng, img, scale, plain)
    if bad == "hidden":
        _hide(rng, img, card, scale)
    if bad == "glare":
        _dazzle(rng, img, bodies, scale)
    rgb, seen = _shot(rng, img, scale, cam, bad, 2 if mp > 4 else 1)
    facts = {"tilt": cam["tilt"], "bg": ground, "cloth": cloth, "shadow": shadow}
    return Scene(rgb, bodies, kind, variant, bad, facts | seen)
