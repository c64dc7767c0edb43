"""Draws the pictures of the README from the invented colony of a fixed day.

python -m tests.ui.readme_pictures [FOLDER]
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image

from boxside.actions import demo_colony
from boxside.app import wiring
from boxside.cli.options import day_of_text

ROOT = Path(__file__).resolve().parents[2]
DAY = "2026-05-20"
SIZE = (360, 780)
APP = "import sys; from boxside.app.phone import run; sys.exit(run(sys.argv[1:]))"


def main(folder: Path) -> None:
    """Draw Round, Shelf, Box and Settings, small enough for a page."""
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as made:
        services = wiring.build(made, on=day_of_text(DAY, "day"))
        demo_colony.fill(services)
        services.store.close()
        drawn = Path(made) / "screens"
        subprocess.run([sys.executable, "-c", APP, "--data", made, "--screens", str(drawn)], check=True)
        for path in sorted(drawn.glob("*.png")):
            with Image.open(path) as image:
                image.convert("RGB").resize(SIZE, Image.Resampling.LANCZOS).save(folder / path.name, optimize=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "assets" / "pictures")
