"""Draws the pictures of the README: the invented colony on a fixed day, in the dim theme, 360 x 780 pixels.

python -m tests.ui.readme_pictures [FOLDER]
"""

from __future__ import annotations

import os
import sys
import tempfile
import warnings
from datetime import date
from functools import partial
from pathlib import Path
from typing import Any

from PIL import Image

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT / "mobileapp"), str(ROOT)]
DAY = date(2026, 5, 20)
SIZE = (360, 780)
# Drawn larger and made smaller: smoother than the renderer without a display draws at once.
FINER = 3
SCENE = 11


def main(folder: Path) -> None:
    """Draw Round, Shelf, Box, Settings and Photo, small enough for a page."""
    from boxside.app.phone import PICTURES, prepare_kivy

    os.environ.update(KIVY_METRICS_DENSITY=str(FINER), KIVY_METRICS_FONTSCALE="1")
    prepare_kivy(True, (SIZE[0] * FINER, SIZE[1] * FINER))
    warnings.simplefilter("ignore")
    from boxside.actions.start import begin_demo
    from boxside.app import wiring
    from boxside.app.desk import InlineDesk
    from boxside.app.frame import BoxsideApp
    from boxside.app.pictures import draw
    from boxside.device.folders import bundled

    with tempfile.TemporaryDirectory() as made:
        services = wiring.build(Path(made) / "data", on=DAY)
        begin_demo(services)
        app = BoxsideApp(services, bundled("assets"), InlineDesk(services), theme="dim")
        photo = Path(made) / "tray.jpg"
        for path in draw(app, Path(made) / "screens", PICTURES, {"photo": partial(measure, photo)}):
            shrink(path, folder / path.name)
        services.store.close()


def measure(photo: Path, app: Any) -> None:
    """Measure a rendered photo of the box that is due first."""
    from tests.core.measure.render import render

    Image.fromarray(render(SCENE, "isolated", variant="a6").rgb).save(photo, quality=95)
    view = app.shell.built["round"].view
    app.shell.go("photo", box_id=view.box_id, title=view.label, source=str(photo))


def shrink(drawn: Path, small: Path) -> None:
    """Write a picture at the size of the README, in as few colours as show no loss."""
    small.parent.mkdir(parents=True, exist_ok=True)
    with Image.open(drawn) as image:
        fine = image.convert("RGB").resize(SIZE, Image.Resampling.LANCZOS)
        fine.quantize(160, dither=Image.Dither.NONE).save(small, optimize=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "assets" / "pictures")
