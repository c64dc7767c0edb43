"""Draws the icons and `presplash.png`: a box with a light in it. Run it from this folder after a change."""

from __future__ import annotations

from pathlib import Path

from PIL import Image, ImageDraw

HERE = Path(__file__).parent
GROUND, RING, LIGHT = (13, 16, 14), (38, 45, 39), (183, 211, 107)
FINE = 4


def emblem(side: int, share: float, rounded: bool | None) -> Image.Image:
    """Return a picture of `side` px with the emblem over `share` of it; with None there is no ground below it."""
    n = side * FINE
    picture = Image.new("RGBA", (n, n), (*GROUND, 255) if rounded is False else (0, 0, 0, 0))
    draw = ImageDraw.Draw(picture)
    if rounded:
        draw.rounded_rectangle((0, 0, n - 1, n - 1), n * 0.22, fill=GROUND)
    unit, middle = n * share, n / 2

    def at(left: float, top: float, right: float, bottom: float) -> tuple[float, float, float, float]:
        return (middle + left * unit, middle + top * unit, middle + right * unit, middle + bottom * unit)

    stroke = int(unit * 0.028)
    draw.ellipse(at(-0.5, -0.5, 0.5, 0.5), fill=RING)
    draw.rounded_rectangle(at(-0.27, -0.18, 0.27, 0.23), unit * 0.05, outline=LIGHT, width=stroke)
    draw.line(at(-0.32, -0.19, 0.32, -0.19), fill=LIGHT, width=stroke)
    draw.ellipse(at(-0.075, 0.0, 0.075, 0.15), fill=LIGHT)
    return picture.resize((side, side), Image.Resampling.LANCZOS)


if __name__ == "__main__":
    emblem(512, 0.74, rounded=True).save(HERE / "icon.png", optimize=True)
    # Android cuts its own shape out of these two: the emblem keeps to the middle 66 of 108 dp.
    emblem(432, 0.56, rounded=None).save(HERE / "icon_foreground.png", optimize=True)
    Image.new("RGB", (432, 432), GROUND).save(HERE / "icon_background.png", optimize=True)
    emblem(1024, 0.4, rounded=False).convert("RGB").save(HERE / "presplash.png", optimize=True)
