"""`shared` and `assets` are found in a clone, in a wheel and in the phone's stage, each laid out here."""

from __future__ import annotations

import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

from boxside.core.values.errors import DeviceError
from boxside.device import folders as installed

ROOT = Path(__file__).parents[2]
NAMES = ("shared", "assets")
# Where the package and the app's own data lie below the top.
LAYOUTS = {
    "clone": ("mobileapp/boxside", "."),
    "wheel": ("site-packages/boxside", "site-packages/boxside/_bundle"),
    "phone": ("app/boxside", "app"),
}


def lay(top: Path, layout: str) -> ModuleType:
    """Lay out folders and return the module that stands in them."""
    package, data = (top / place for place in LAYOUTS[layout])
    (package / "device").mkdir(parents=True)
    for name in NAMES:
        (data / name).mkdir(parents=True)
    return standing_in(package)


def standing_in(package: Path) -> ModuleType:
    """Return `folders` read from a package in another place."""
    path = package / "device" / "folders.py"
    path.parent.mkdir(parents=True, exist_ok=True)
    shutil.copy(str(installed.__file__), path)
    spec = importlib.util.spec_from_file_location("folders_elsewhere", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("name", NAMES)
def test_each_layout_finds_its_own(tmp_path: Path, layout: str, name: str) -> None:
    folders = lay(tmp_path, layout)
    assert folders.bundled(name) == (tmp_path / LAYOUTS[layout][1] / name).resolve()


def test_a_wheel_takes_no_folder_of_a_stranger_beside_it(tmp_path: Path) -> None:
    folders = lay(tmp_path, "wheel")
    for stranger in (tmp_path / "site-packages" / "shared", tmp_path / "shared"):
        stranger.mkdir()
    assert folders.bundled("shared") == tmp_path / LAYOUTS["wheel"][1] / "shared"


def test_a_file_of_that_name_is_no_folder(tmp_path: Path) -> None:
    folders = lay(tmp_path, "clone")
    (tmp_path / "mobileapp" / "assets").write_text("a file", encoding="utf-8")
    assert folders.bundled("assets") == tmp_path / "assets"


def test_where_it_is_missing_every_place_is_named(tmp_path: Path) -> None:
    folders = standing_in(tmp_path / "a" / "b" / "boxside")
    with pytest.raises(
        DeviceError, match=r"The folder shared is missing; looked in .*\. Install Boxside again"
    ) as caught:
        folders.bundled("shared")
    for place in ("a/b/boxside/_bundle/shared", "a/b/shared", "a/shared"):
        assert str(tmp_path / place) in str(caught.value)


def run_from(package_root: Path, elsewhere: Path) -> subprocess.CompletedProcess[str]:
    """Run a command of a copy of the whole package, from a folder that has nothing to do with it."""
    place = {**os.environ, "PYTHONPATH": str(package_root)}
    words = [sys.executable, "-m", "boxside.app.command", "due", "--data", "log", "--on", "2026-05-03"]
    return subprocess.run(words, cwd=elsewhere, env=place, capture_output=True, text=True, check=False)


@pytest.mark.parametrize("layout", LAYOUTS)
def test_a_copy_of_the_whole_runs_in_each_layout(tmp_path: Path, layout: str) -> None:
    package, data = (tmp_path / "top" / place for place in LAYOUTS[layout])
    no_cache = shutil.ignore_patterns("__pycache__", "_bundle")
    shutil.copytree(ROOT / "mobileapp" / "boxside", package, ignore=no_cache)
    for name in NAMES:
        shutil.copytree(ROOT / name, data / name)
    (tmp_path / "elsewhere").mkdir()
    done = run_from(package.parent, tmp_path / "elsewhere")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("Sunday 2026-05-03: Nothing is due.")
    shutil.rmtree(data / "shared")
    broken = run_from(package.parent, tmp_path / "elsewhere")
    assert broken.returncode == 1
    assert "The folder shared is missing" in broken.stderr
    assert len(broken.stderr.splitlines()) == 1
