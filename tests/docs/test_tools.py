"""The tools that hold the house together find nothing: lint, types, imports."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]


def run(*words: str) -> subprocess.CompletedProcess[str]:
    """Run a tool from the root, with the app's folder on the path."""
    place = {**os.environ, "PYTHONPATH": str(ROOT / "mobileapp"), "NO_COLOR": "1"}
    return subprocess.run(words, cwd=ROOT, env=place, capture_output=True, text=True, check=False, timeout=300)


def script(name: str) -> str:
    """Return a program of this environment."""
    return str(Path(sys.executable).parent / name)


def test_ruff_finds_nothing() -> None:
    done = run(script("ruff"), "check", ".")
    assert done.returncode == 0, done.stdout


def test_ruff_would_format_nothing() -> None:
    done = run(script("ruff"), "format", "--check", ".")
    assert done.returncode == 0, done.stdout


def test_mypy_finds_nothing() -> None:
    done = run(sys.executable, "-m", "mypy")
    assert done.returncode == 0, done.stdout


def test_no_room_imports_what_it_may_not() -> None:
    done = run(script("lint-imports"), "--no-cache")
    assert done.returncode == 0, done.stdout
    assert "0 broken" in done.stdout


def test_a_forbidden_import_would_be_seen(tmp_path: Path) -> None:
    """The control: a core that reads the clock breaks the contract."""
    (tmp_path / "boxside" / "core").mkdir(parents=True)
    for folder in ("boxside", "boxside/core"):
        (tmp_path / folder / "__init__.py").write_text("", encoding="utf-8")
    (tmp_path / "boxside" / "core" / "late.py").write_text("import time\n", encoding="utf-8")
    (tmp_path / "setup.cfg").write_text(
        "[importlinter]\nroot_package = boxside\ninclude_external_packages = True\n"
        "[importlinter:contract:1]\nname = pure\ntype = forbidden\nsource_modules = boxside.core\n"
        "forbidden_modules = time\n",
        encoding="utf-8",
    )
    place = {**os.environ, "PYTHONPATH": str(tmp_path)}
    done = subprocess.run(
        [script("lint-imports"), "--no-cache"], cwd=tmp_path, env=place, capture_output=True, text=True, check=False
    )
    assert done.returncode == 1, done.stdout
    assert "boxside.core.late -> time" in done.stdout
