"""The Java of the app on this computer's JVM, against small stand-ins for Android's classes."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from boxside.device.ports.files import KINDS
from buildspec import java


def test_plain_java_checks_pass(classes: Path, tmp_path: Path) -> None:
    n, rest = java.run_checks(classes, tmp_path).split(" ", 1)
    assert (int(n) >= 60, rest) == (True, "passed, 0 failed")


def test_the_decision_knows_no_android_types() -> None:
    """So that the same lines run here and on the phone."""
    folder = java.HERE / "java" / "org" / "boxside" / "nudge"
    for name in ("Decision", "Json", "Memory", "Plan"):
        assert "import android" not in (folder / f"{name}.java").read_text(encoding="utf-8"), name


def test_java_that_does_not_compile_is_reported(classes: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "java").mkdir()
    (tmp_path / "java" / "Torn.java").write_text("class Torn { int x = ; }", encoding="utf-8")
    monkeypatch.setattr(java, "HERE", tmp_path)
    with pytest.raises(RuntimeError, match="does not compile"):
        java.compile_into(tmp_path)


def test_kinds_of_files_are_the_same_in_java_and_python() -> None:
    text = (java.HERE / "java" / "org" / "boxside" / "files" / "OwnFiles.java").read_text(encoding="utf-8")
    assert dict(re.findall(r'\{"\.(\w+)", "([^"]+)"\}', text)) == KINDS
