"""The touch app as a program: its arguments, the pictures it draws, what it tells a benchmark."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

MAIN = Path(__file__).resolve().parents[2] / "mobileapp" / "main.py"


def run(*arguments: str) -> None:
    """Run the program and fail with what it says."""
    clean = {key: value for key, value in os.environ.items() if not key.startswith("KIVY")}
    done = subprocess.run(
        [sys.executable, str(MAIN), *arguments], env=clean, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr[-2000:]


@pytest.mark.screen
def test_pictures_of_four_screens_are_drawn_without_a_display(demo: Path, tmp_path: Path) -> None:
    run("--data", str(demo), "--screens", str(tmp_path / "pictures"), "--theme", "red")
    for name in ("round", "shelf", "box", "settings"):
        shown = np.asarray(Image.open(tmp_path / "pictures" / f"{name}.png").convert("RGB"))
        assert shown.shape == (2340, 1080, 3)
        assert int(shown[..., 1:].max()) == 0
        assert len(np.unique(shown[..., 0])) > 8


@pytest.mark.screen
def test_probe_tells_when_the_first_due_box_showed(demo: Path, tmp_path: Path) -> None:
    run("--data", str(demo), "--probe", str(tmp_path / "probe.json"))
    told = json.loads((tmp_path / "probe.json").read_text(encoding="utf-8"))
    assert told["box"].startswith("B")
    assert told["first_box_at_s"] > 0


def test_arguments_are_read() -> None:
    from boxside.app.phone import arguments

    asked = arguments(["--data", "d", "--theme", "red"])
    assert (asked.data, asked.theme, asked.screens, asked.probe) == ("d", "red", None, None)


@pytest.mark.screen
def test_pause_and_resume_let_the_screen_sleep_and_wake_it(start: Any) -> None:
    from tests.ui.fake_colony import colony

    driver = start(colony())
    light = driver.services.device.light
    assert light.awake
    assert driver.app.on_pause() is True
    assert not light.awake
    driver.app.on_resume()
    assert light.awake
    assert driver.page.code == "B01"


@pytest.mark.screen
def test_a_photo_is_chosen_folder_by_folder(start: Any, tmp_path: Path) -> None:
    from boxside.app.chooser import PhotoChooser
    from tests.ui.fake_colony import colony

    (tmp_path / "spring").mkdir()
    (tmp_path / "spring" / "larva.jpg").write_bytes(b"x")
    (tmp_path / "notes.txt").write_text("x", encoding="utf-8")
    driver = start(colony())
    got: list[str] = []
    PhotoChooser(driver.shell, tmp_path)(got.append)
    driver.settle()
    assert not driver.has("notes.txt")
    driver.tap("spring")
    driver.tap("larva.jpg")
    assert got == [str(tmp_path / "spring" / "larva.jpg")]
