"""`boxside labels`: a file, or one line of refusal."""

from __future__ import annotations

from pathlib import Path

from tests.cli.conftest import Shell


def test_it_writes_a_label_for_every_open_box(small: Shell, tmp_path: Path) -> None:
    path = tmp_path / "labels.pdf"
    said = small.ok("labels", "--out", str(path)).out
    assert said.strip() == f"{path}: print at 100 %, cut along the lines."
    assert path.read_bytes().startswith(b"%PDF-1.4")
    one = tmp_path / "one.pdf"
    assert small.ok("labels", "B01", "--out", str(one), "--json").data == {"path": str(one)}


def test_what_cannot_be_written_is_refused_in_one_line(small: Shell, tmp_path: Path) -> None:
    for words in (("labels", "B99", "--out", str(tmp_path / "x.pdf")), ("labels",), ("labels", "--out", str(tmp_path))):
        refused = small(*words)
        assert (refused.status, refused.out, len(refused.err.splitlines())) == (2, "", 1)
    assert list(tmp_path.glob("*.pdf")) == []
