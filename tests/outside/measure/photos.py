"""The folder of test photos, which are never part of the project."""

import os
from pathlib import Path

import cv2
import pytest

FOLDER = Path(os.environ.get("BOXSIDE_PHOTOS", Path(__file__).parents[3].parent / "shared" / "photos"))


def photo(name):
    """The photo of that name as RGB, or a skip that says where it was looked for."""
    if not (FOLDER / name).exists():
        pytest.skip(f"no test photos at {FOLDER}: set BOXSIDE_PHOTOS")
    return cv2.imread(str(FOLDER / name))[:, :, ::-1].copy()
