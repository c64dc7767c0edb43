"""Draws every screen, sheet and toast into PNG files, to be looked at.

python tests/ui/look.py FOLDER [WIDTHxHEIGHT] [DENSITY] [FONTSCALE] [THEMES] [NAMES]
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT / "mobileapp"), str(ROOT)]


def main() -> None:
    """Draw."""
    folder = Path(sys.argv[1])
    size, density, scale, themes, names = ([*sys.argv[2:], "", "", "", "", ""])[:5]
    os.environ["KIVY_METRICS_DENSITY"] = density or "3"
    os.environ["KIVY_METRICS_FONTSCALE"] = scale or "1"
    from boxside.app.phone import prepare_kivy

    width, height = (int(n) for n in (size or "1080x2340").split("x"))
    prepare_kivy(True, (width, height))
    from tests.ui.scenes import draw_scenes

    folder.mkdir(parents=True, exist_ok=True)
    for theme in (themes or "day,dim,red").split(","):
        draw_scenes(folder, theme, [name for name in names.split(",") if name])


if __name__ == "__main__":
    main()
