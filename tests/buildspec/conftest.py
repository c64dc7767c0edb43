"""The Java, compiled once; skipped with the reason where no JDK is."""

from __future__ import annotations

from pathlib import Path

import pytest

from buildspec import java


@pytest.fixture(scope="session")
def classes(tmp_path_factory: pytest.TempPathFactory) -> Path:
    if missing := java.missing():
        pytest.skip(missing)
    folder = tmp_path_factory.mktemp("classes")
    java.compile_into(folder)
    return folder
