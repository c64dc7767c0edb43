"""A camera above the card: perspective, a little lens distortion, blur, noise, JPEG."""

from __future__ import annotations

import cv2
import numpy as np

from boxside.core.measure.card import card_geometry


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
    turn = cv2.Rodrigues(axis * t)[0] @ cv2.Rodrigues(np.array([0, 0, roll]))[0]
    centre = np.array([card.size_mm[0] / 2, card.size_mm[1] / 2, 0.0])
    lens = np.array([[f, 0, (cols - 1) / 2], [0, f, (rows - 1) / 2], [0, 0, 1.0]])
    corners = np.array([[0, 0, 0], [card.size_mm[0], 0, 0], [*card.size_mm, 0], [0, card.size_mm[1], 0]], float)
    # Camera looks along +z of its own frame; the card's z points away from the camera (y down, x right).
    lo, hi = 10.0, 4000.0
    for _ in range(50):
        z = (lo + hi) / 2
        q = (turn @ (corners - centre).T).T + np.array([0, 0, z])
        if (q[:, 2] < 5).any():
            lo = z
            continue
        u = (lens @ q.T).T
        u = u[:, :2] / u[:, 2:]
        share = max(np.abs(u[:, 0] - lens[0, 2]).max() / (cols / 2), np.abs(u[:, 1] - lens[1, 2]).max() / (rows / 2))
        lo, hi = (lo, z) if share < fill else (z, hi)
    place = np.array([0, 0, z]) - turn @ centre
    matrix = lens @ np.column_stack([turn[:, 0], turn[:, 1], place])
    eye = -turn.T @ place
    return {
        "H": matrix,
        "K": lens,
        "shape": (rows, cols),
        "eye": np.array([eye[0], eye[1], -eye[2]]),
        "tilt": tilt,
    }


def see(plane, scale, margin, cam, k1, blur, rng, iso, quality, motion=0.0):
    """Photograph a plane painted at `scale` px/mm with `margin` mm around the card."""
    rows, cols = cam["shape"]
    fine = 1.0
    jj, ii = np.meshgrid(np.arange(cols), np.arange(rows))
    c = np.array([(cols - 1) / 2, (rows - 1) / 2])
    square = (cols**2 + rows**2) / 4
    d = np.stack([jj - c[0], ii - c[1]], axis=-1).astype(np.float32)
    u = d.copy()
    for _ in range(6):
        u = d / (1 + k1 * (u**2).sum(-1, keepdims=True) / square)
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
    local = np.hypot(np.gradient(mx, axis=1)[rows // 2, cols // 2], np.gradient(my, axis=1)[rows // 2, cols // 2])
    pre = cv2.GaussianBlur(plane, (0, 0), 0.45 * local) if local > 0.8 else plane
    out = cv2.remap(pre, mx, my, cv2.INTER_CUBIC if local < 0.8 else cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
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
