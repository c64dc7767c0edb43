"""What may not be in a text file: a byte order mark, another encoding, words that do not belong."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
TEXT = {".py", ".kv", ".toml", ".json", ".md", ".txt", ".cfg", ".java", ".xml", ".spec", ".yml", ".yaml", ""}
# Put together, so that this file does not hold them itself.
FORBIDDEN = [
    "trans" + "cripts?", "seed " + "documents?", "assist" + "ants?", "chat" + "gpt", "clau" + "de", "co" + "pilot",
    "l" + "lm", "language " + "models?", "as an " + "ai", "issue " + r"#\d+",
]  # fmt: skip


def text_files() -> list[Path]:
    """Return the files that belong to the project; a folder without git is walked."""
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    if listed.returncode == 0:
        paths = [ROOT / name for name in listed.stdout.splitlines()]
    else:
        tops = ("mobileapp", "shared", "tests", "assets", "buildspec")
        paths = [path for top in tops for path in (ROOT / top).rglob("*")] + list(ROOT.glob("*.*"))
    skipped = {"__pycache__", ".venv", "build", "dist"}
    return [path for path in paths if path.is_file() and path.suffix in TEXT and not skipped & set(path.parts)]


def faults(data: bytes) -> list[str]:
    """Return what is wrong with a text file's bytes."""
    found = []
    if data.startswith(b"\xef\xbb\xbf"):
        found.append("a byte order mark")
    if b"\r" in data:
        found.append("a carriage return")
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        return [*found, "not UTF-8"]
    if data and not data.endswith(b"\n"):
        found.append("no line end at the end")
    found += [match.group() for word in FORBIDDEN for match in re.finditer(rf"\b{word}\b", text, re.IGNORECASE)]
    return found


def test_text_is_utf_8_and_speaks_of_the_project_only() -> None:
    paths = text_files()
    assert len(paths) > 100
    found = {str(path.relative_to(ROOT)): faults(path.read_bytes()) for path in paths}
    assert {name: fault for name, fault in found.items() if fault} == {}


@pytest.mark.parametrize(
    ("data", "fault"),
    [
        (b"\xef\xbb\xbfa\n", "a byte order mark"),
        (b"a\r\n", "a carriage return"),
        ("ä".encode("latin-1") + b"\n", "not UTF-8"),
        (b"a", "no line end at the end"),
        (("An assist" + "ant wrote it.\n").encode(), "assist" + "ant"),
    ],
)
def test_each_fault_would_be_seen(data: bytes, fault: str) -> None:
    assert faults(data) == [fault]


def test_names_of_files_are_plain() -> None:
    for path in text_files():
        name = str(path.relative_to(ROOT))
        assert name.isascii(), name
        assert " " not in name, name
