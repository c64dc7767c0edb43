"""The wheel holds all that the app reads, and runs from wherever it was put."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A wheel, built within this process and without a network."""
    builders = pytest.importorskip("hatchling.builders.wheel", reason="the build backend is not installed here")
    out = tmp_path_factory.mktemp("wheel")
    (built,) = builders.WheelBuilder(str(ROOT)).build(directory=str(out), versions=["standard"])
    return Path(built)


def test_it_holds_the_package_and_its_data(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        names = set(archive.namelist())
    for top in ("shared", "assets"):
        wanted = {f"boxside/_bundle/{p.relative_to(ROOT)}" for p in (ROOT / top).rglob("*") if p.is_file()}
        assert wanted, top
        assert wanted <= names, top
    package = ROOT / "mobileapp" / "boxside"
    for pattern in ("*.py", "*.kv"):
        own = {str(path.relative_to(ROOT / "mobileapp")) for path in package.rglob(pattern)}
        assert own <= names, pattern
    assert not [name for name in names if name.startswith(("tests", "buildspec")) or "__pycache__" in name]


def test_it_brings_the_command(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        (points,) = [name for name in archive.namelist() if name.endswith("entry_points.txt")]
        assert "boxside = boxside.app.command:main" in archive.read(points).decode()


def test_unpacked_elsewhere_it_finds_its_data(wheel: Path, tmp_path: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(tmp_path / "site")
    place = {**os.environ, "PYTHONPATH": str(tmp_path / "site")}
    done = subprocess.run(
        [sys.executable, "-m", "boxside.app.command", "due", "--data", "log", "--on", "2026-05-03"],
        cwd=tmp_path, env=place, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("Sunday 2026-05-03: Nothing is due.")
