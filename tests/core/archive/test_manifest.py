"""The manifest: it comes back as it was, and says what is wrong with one that does not hold."""

from __future__ import annotations

import json
from typing import Any

import pytest

from boxside.core.archive import Manifest, Member, manifest_text, name_fault, photo_path, photo_sha256, read_manifest

A, B = "ab" * 32, "cd" * 32
GOOD = Manifest("boxside 1", 3, 1, 2, 0, 5, (Member("events.jsonl", 9, A), Member(photo_path(B), 7, B)))


def changed(**parts: Any) -> bytes:
    return json.dumps({**json.loads(manifest_text(GOOD)), **parts}).encode()


def test_a_manifest_comes_back_as_it_was() -> None:
    assert read_manifest(manifest_text(GOOD).encode()) == GOOD
    assert read_manifest(changed(newest_ms=None)).newest_ms is None


def test_a_photo_is_found_by_its_digest_and_by_nothing_else() -> None:
    assert photo_sha256(photo_path(A)) == A
    for path in (f"photos/cd/{A}.jpg", f"photos/ab/{A}.png", f"photos/ab/{A.upper()}.jpg", f"photos/ab/{A}.jpg/x"):
        assert photo_sha256(path) == ""


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (b"", "not JSON"),
        (b"{}", "not that of a Boxside archive"),
        (b"[" * 200_000, "nested too deeply|not JSON"),
        (changed(format="other"), "not that of a Boxside archive"),
        (changed(version=2), "a newer Boxside has written; update"),
        (changed(version=0), "no format that was ever used"),
        (changed(version=True), "no format that was ever used"),
        (changed(version="1"), "no format that was ever used"),
        (changed(more=1), "'more'"),
        (changed(events=-1), "'events' is no number of things"),
        (changed(events=1.5), "'events' is no number of things"),
        (changed(newest_ms="now"), "'newest_ms' is no moment"),
        (changed(written_by=None), "what has written it"),
        (changed(members={}), "no list"),
        (changed(members=["x"]), "no file"),
        (changed(members=[{"path": "events.jsonl", "bytes": 1, "sha256": "xyz"}]), "without path or digest"),
        (changed(members=[{"path": "events.jsonl", "bytes": -1, "sha256": A}]), "without its length"),
        (changed(photos=0, members=[]), "lists no events.jsonl"),
        (changed(photos=2), "other photos than it lists"),
        (changed(members=[{"path": "events.jsonl", "bytes": 1, "sha256": A}] * 2), "a file twice"),
        (
            changed(members=[
                {"path": "events.jsonl", "bytes": 9, "sha256": A}, {"path": photo_path(B), "bytes": 7, "sha256": A}
            ]),
            "another digest than its name",
        ),
    ],
)  # fmt: skip
def test_a_manifest_that_does_not_hold_is_refused_with_the_reason(data: bytes, reason: str) -> None:
    with pytest.raises(ValueError, match=reason):
        read_manifest(data)


@pytest.mark.parametrize("path", ["manifest.json", "events.jsonl", "README.txt", "copies/events.toml", photo_path(A)])
def test_what_an_archive_holds_may_be_in_it(path: str) -> None:
    assert name_fault(path) == ""


@pytest.mark.parametrize(
    ("path", "reason"),
    [
        ("/etc/passwd", "absolute"), ("\\\\server\\x", "absolute"), ("C:\\x", "absolute"), ("c:x", "absolute"),
        ("../events.jsonl", "leads out"), ("photos/../../x", "leads out"), ("photos\\..\\x", "leads out"),
        ("photos/", "no file of an archive"), ("events.jsonl/", "no file"), ("EVENTS.jsonl", "no file"),
        ("copies/a/b.toml", "no file"), ("copies/run.py", "no file"), ("", "no file"), ("CON", "no file"),
        ("events.jsonl\n", "no file"), ("events.jsonl ", "no file"),
    ],
)  # fmt: skip
def test_no_other_name_may_be_in_an_archive(path: str, reason: str) -> None:
    assert reason in name_fault(path)
