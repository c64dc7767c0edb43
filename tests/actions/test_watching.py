"""Long work that is watched: it counts, and stopped anywhere it leaves everything as it was."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from boxside.actions import archive_now, check_log, import_notebook, keep_archives, make_archive, merge_archive
from boxside.actions.undo_flow import undo_flow
from boxside.actions.watching import StoppedError, Watch, watched
from boxside.actions.which_file import which_file
from boxside.core.values.carry import NotebookMapping
from boxside.core.values.errors import EntryError
from tests.actions.carrying import archive, held, photograph
from tests.actions.keeping import Keeper

Make = Callable[..., Keeper]


@dataclass(slots=True)
class StopAt(Watch):
    """Asks for a stop when the work looks for the n-th time whether it is to."""

    at: int = 0
    n: int = 0
    parts: list[str] = field(default_factory=list)

    def begin(self, part: str = "", total: int = 0) -> None:
        self.parts.append(part)
        Watch.begin(self, part, total)

    def check(self) -> None:
        self.n += 1
        self.is_stopped = self.n == self.at
        Watch.check(self)


def looks(work: Callable[[Watch], Any]) -> tuple[int, list[str]]:
    """Return how often work looks whether it is to stop, and the parts that it counts."""
    watch = StopAt()
    work(watch)
    return watch.n, [part for part in watch.parts if part]


def test_items_are_counted_while_they_are_taken() -> None:
    watch = Watch()
    seen = [(item, watch.part, watch.done, watch.total) for item in watched(watch, "ab", "letters", 2)]
    assert seen == [("a", "letters", 0, 2), ("b", "letters", 1, 2)]
    assert (watch.part, watch.done, watch.total) == ("", 0, 0)
    assert list(watched(None, "ab", "letters")) == ["a", "b"]


def test_an_archive_that_is_stopped_anywhere_leaves_no_file(keeper: Keeper, tmp_path: Path) -> None:
    keeper.add("B01")
    photograph(keeper, "B01", tmp_path)
    path = tmp_path / "out" / "a.zip"
    path.parent.mkdir()
    n, parts = looks(lambda watch: make_archive.make_archive(keeper.services, path, watch))
    assert parts == ["entries written", "photos written", "entries read", "files read"]
    written = path.read_bytes()
    for at in range(1, n + 1):
        with pytest.raises(StoppedError, match="Nothing was changed"):
            make_archive.make_archive(keeper.services, path, StopAt(at=at))
        assert [one.name for one in path.parent.iterdir()] == ["a.zip"]
        assert path.read_bytes() == written


@pytest.mark.parametrize("name", ["preview_merge", "merge_archive"])
def test_a_merge_that_is_stopped_anywhere_brings_nothing(make_keeper: Make, tmp_path: Path, name: str) -> None:
    ours, theirs = make_keeper("ours"), make_keeper("theirs")
    ours.add("B01")
    theirs.add("B02")
    photograph(theirs, "B02", tmp_path)
    path = archive(theirs, tmp_path / "a.zip")
    before = held(ours)
    act = getattr(merge_archive, name)
    other = make_keeper("other")
    n, parts = looks(lambda watch: act(other.services, path, watch))
    assert parts == ["photos read", "entries read"]
    for at in range(1, n + 1):
        with pytest.raises(StoppedError):
            act(ours.services, path, StopAt(at=at))
        assert held(ours) == before
    merge_archive.merge_archive(ours.services, path)
    assert held(ours) != before


def test_a_notebook_that_is_stopped_anywhere_brings_nothing_nor_does_its_undo_take_half(
    keeper: Keeper, tmp_path: Path
) -> None:
    keeper.add("B01")
    keeper.stand("2026-05-09")
    path = tmp_path / "old.csv"
    path.write_text("date,box,what\n2026-05-04,B01,misted\n2026-05-05,B01,aired\n", encoding="utf-8")
    mapping = NotebookMapping(
        (("date", 0), ("box", 1), ("kind", 2)), kinds=(("misted", "misted"), ("aired", "aired"))
    )  # fmt: skip
    before = held(keeper)
    n, _ = looks(lambda watch: import_notebook.notebook_view(keeper.services, path, mapping, watch))
    assert n == 3
    for at in range(1, n + 1):
        with pytest.raises(StoppedError):
            import_notebook.import_notebook(keeper.services, path, mapping, StopAt(at=at))
        assert held(keeper) == before
    flow = import_notebook.import_notebook(keeper.services, path, mapping)
    imported = held(keeper)
    for at in (1, 2, 3):
        with pytest.raises(StoppedError):
            undo_flow(keeper.services, flow.events, (), StopAt(at=at))
        assert held(keeper) == imported
    undo_flow(keeper.services, flow.events)
    assert len(held(keeper)[1]) == len(imported[1]) + 2


def test_a_check_is_stopped_between_its_parts(keeper: Keeper) -> None:
    keeper.add("B01")
    n, parts = looks(lambda watch: check_log.check_log(keeper.services, watch))
    assert (n, parts) == (6, ["parts read"])
    with pytest.raises(StoppedError):
        check_log.check_log(keeper.services, StopAt(at=3))


# ---- an archive at a tap ----


def test_an_archive_goes_into_the_chosen_folder_else_among_the_exports(keeper: Keeper, tmp_path: Path) -> None:
    keeper.add("B01")
    keeper.stand("2026-05-09")
    exports = Path(keeper.services.device.data_dir) / "exports"
    assert archive_now.archive_now(keeper.services).path == str(exports / "boxside-2026-05-09.zip")
    assert archive_now.archive_now(keeper.services).path == str(exports / "boxside-2026-05-09-2.zip")
    stick = tmp_path / "stick"
    stick.mkdir()
    assert archive_now.use_folder(keeper.services, str(stick)).folder == str(stick)
    assert archive_now.archive_now(keeper.services).path == str(stick / "boxside-2026-05-09.zip")
    for file in stick.iterdir():
        file.unlink()
    stick.rmdir()
    assert archive_now.archive_now(keeper.services).path == str(exports / "boxside-2026-05-09-3.zip")
    assert archive_now.use_folder(keeper.services, "").folder == ""


def test_archives_make_themselves_beside_the_log_where_nothing_else_can_be_chosen(keeper: Keeper) -> None:
    keeper.add("B01")
    keeper.stand("2026-05-09")
    view = archive_now.use_own_folder(keeper.services)
    assert view.folder == str(Path(keeper.services.device.data_dir) / "archives")
    assert view.age_days is None
    keeper.stand("2026-06-09")
    made = keep_archives.archive_if_due(keeper.services)
    assert made is not None
    assert list(Path(view.folder).iterdir()) == [Path(view.folder) / "boxside-2026-06-09.zip"]
    keeper.stand("2026-06-12", 60)
    assert keep_archives.keeping_view(keeper.services).age_days == 3


def test_a_file_is_told_by_what_it_begins_with(keeper: Keeper, tmp_path: Path) -> None:
    from boxside.actions.export_season import export_season

    keeper.add("B01")
    path = archive(keeper, tmp_path / "called.csv")
    assert which_file(keeper.services, str(path)) == "archive"
    export_season(keeper.services, tmp_path / "season")
    assert which_file(keeper.services, str(tmp_path / "season" / "events.csv")) == "events"
    (tmp_path / "old.csv").write_text("date,box\n2026-05-04,B01\n", encoding="utf-8")
    assert which_file(keeper.services, str(tmp_path / "old.csv")) == "notebook"
    with pytest.raises(EntryError, match="Nothing was changed"):
        which_file(keeper.services, str(tmp_path / "gone.csv"))
