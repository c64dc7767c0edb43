"""Assembles what is packed into the app: `mobileapp/`, `assets/` and `shared/` side by side, without dotted folders.

`python -m buildspec.stage [FOLDER]`; the folder, `build/stage` where none is named, is made anew.
"""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
STAGE = ROOT / "build" / "stage"
MARK = ".boxside-stage"
# What the app never reads: values for the tests, pictures for the README, what draws the icon.
LEFT_OUT = (
    "shared/checks",
    "shared/golden",
    "assets/pictures",
    "assets/draw_icon.py",
    "mobileapp/boxside/cli",
    "mobileapp/boxside/app/command.py",
    "mobileapp/boxside/device/desktop",
    "mobileapp/boxside/device/ios",
)
_NEVER = ("__pycache__",)


def staged() -> dict[str, Path]:
    """Return every file that goes into the app: its place there, and where it lies now."""
    found: dict[str, Path] = {}
    for top, place in (("mobileapp", ""), ("assets", "assets/"), ("shared", "shared/")):
        for path in sorted((ROOT / top).rglob("*")):
            inside = path.relative_to(ROOT)
            if path.is_file() and not _is_left_out(inside):
                found[place + path.relative_to(ROOT / top).as_posix()] = path
    return found


def stage(folder: Path) -> int:
    """Make the folder anew and return the bytes in it.

    Raises
    ------
    RuntimeError : for a folder that is there and was not made by this; nothing was deleted
    """
    if folder.exists():
        if not (folder / MARK).is_file():
            raise RuntimeError(f"{folder} was not made by this; nothing was deleted. Name another folder.")
        shutil.rmtree(folder)
    folder.mkdir(parents=True)
    (folder / MARK).touch()
    n_bytes = 0
    for place, path in staged().items():
        (folder / place).parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(path, folder / place)
        n_bytes += path.stat().st_size
    return n_bytes


def _is_left_out(inside: Path) -> bool:
    if any(part.startswith(".") or part in _NEVER for part in inside.parts):
        return True
    return any(inside.is_relative_to(one) for one in LEFT_OUT)


def main() -> int:
    """Stage and say where."""
    folder = Path(sys.argv[1]).resolve() if len(sys.argv) > 1 else STAGE
    print(f"{stage(folder):,} bytes staged in {folder}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
