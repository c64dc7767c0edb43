"""The command line within one process: status, output, errors, and what the data folder holds."""

from __future__ import annotations

import functools
import json
import shutil
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from boxside.app import command, wiring
from boxside.device.desktop.clock import SystemClock
from tests.actions.keeping import KEPT_TABLES


@dataclass(frozen=True, slots=True)
class Answer:
    """What a command gave back."""

    status: int
    out: str
    err: str

    @property
    def data(self) -> Any:
        """The output read as JSON."""
        return json.loads(self.out)


@dataclass(frozen=True, slots=True)
class Shell:
    """A shell that stands in one data folder, on 3 May 2026 unless `--on` says otherwise."""

    folder: Path
    capsys: pytest.CaptureFixture[str]

    def run(self, *words: str) -> Answer:
        """Run a command as it is written."""
        try:
            status = command.main(list(words))
        except SystemExit as end:  # --help only; everything else comes back
            status = end.code if isinstance(end.code, int) else 1
        said = self.capsys.readouterr()
        return Answer(status, said.out, said.err)

    def __call__(self, *words: str, on: str = "2026-05-03") -> Answer:
        """Run a command on this folder and a day."""
        return self.run(words[0], *words[1:], "--data", str(self.folder), "--on", on)

    def ok(self, *words: str, on: str = "2026-05-03") -> Answer:
        """Run a command that must succeed."""
        answer = self(*words, on=on)
        assert (answer.status, answer.err) == (0, ""), answer
        return answer

    def kept(self) -> dict[str, list[tuple[Any, ...]]]:
        """Return everything that the data folder holds: rows of the log, and files."""
        files = [(str(path.relative_to(self.folder)),) for path in sorted(self.folder.rglob("*.jpg"))]
        held: dict[str, list[tuple[Any, ...]]] = {"files": files}
        if not (self.folder / "boxside.db").exists():
            return {**held, **{sql: [] for sql in KEPT_TABLES}}
        database = sqlite3.connect(self.folder / "boxside.db")
        try:
            held |= {sql: database.execute(sql).fetchall() for sql in KEPT_TABLES}
        finally:
            database.close()
        return held


@pytest.fixture(autouse=True)
def _one_catalog(monkeypatch: pytest.MonkeyPatch) -> None:
    """Read `shared/` once for all commands of this process, and stand in Berlin."""
    monkeypatch.setattr(wiring, "load_catalog", _cached)
    monkeypatch.setattr(SystemClock, "zone_name", lambda self: "Europe/Berlin")


_cached = functools.lru_cache(wiring.load_catalog)


@pytest.fixture
def shell(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Shell:
    """A shell on an empty folder."""
    return Shell(tmp_path / "data", capsys)


@pytest.fixture
def small(shell: Shell) -> Shell:
    """A shell on three boxes: B01 with larvae, B02 with eggs, B03 empty."""
    shell.ok("add", "B01", "--stage", "larva", "--n", "30", "--instar", "2", "--fed", "about", "--days", "9")
    shell.ok("add", "B02", "--stage", "egg", "--n", "60")
    shell.ok("add", "B03")
    return shell


@pytest.fixture
def colony(demo_folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Shell:
    """A shell on the invented colony."""
    shutil.copytree(demo_folder, tmp_path / "colony")
    return Shell(tmp_path / "colony", capsys)


@pytest.fixture
def photo(tmp_path: Path) -> Callable[..., Path]:
    """Make a small JPEG that says where it was taken."""

    def make(name: str = "box.jpg", with_place: bool = True) -> Path:
        from tests.actions.photos import write_photo

        return write_photo(tmp_path / name, with_place)

    return make
