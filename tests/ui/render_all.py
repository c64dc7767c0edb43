"""Draws every screen, sheet and toast in every theme into PNG files, to be looked at.

python -m tests.ui.render_all --out DIR [--size 360x780] [--density 3] [--scale 1] [--themes day,dim,red] [NAME ...]
"""

from __future__ import annotations

import argparse
import os
import sys
import warnings
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT / "mobileapp"), str(ROOT)]


def main() -> None:
    """Draw."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("names", nargs="*", help="scenes to draw; all without a name")
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--size", default="360x780", help="in dp")
    parser.add_argument("--density", default="3")
    parser.add_argument("--scale", default="1", help="of the type")
    parser.add_argument("--themes", default="day,dim,red")
    asked = parser.parse_args()
    os.environ.update(KIVY_METRICS_DENSITY=asked.density, KIVY_METRICS_FONTSCALE=asked.scale)
    from boxside.app.phone import prepare_kivy

    width, height = (round(int(n) * float(asked.density)) for n in asked.size.split("x"))
    prepare_kivy(True, (width, height))
    asked.out.mkdir(parents=True, exist_ok=True)
    draw(asked.out, asked.themes.split(","), asked.names)


def draw(out: Path, themes: list[str], names: list[str]) -> None:
    """Draw scenes into `out`, one file for each scene and theme."""
    from kivy.base import EventLoop
    from kivy.core.window import Window

    from tests.ui.scenes import SCENES, stage

    warnings.simplefilter("ignore")
    with stage() as on_stage:
        for theme in themes:
            for name in names or SCENES:
                on_stage.show(name, theme)
                EventLoop.idle()
                path = out / f"{theme}-{name}.png"
                Path(Window.screenshot(name=str(path))).replace(path)


if __name__ == "__main__":
    main()
