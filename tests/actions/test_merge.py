"""Merging: shown before it happens, all or nothing, taken back as one step, and the same on every phone."""

from __future__ import annotations

import itertools
import json
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any
from unittest import mock

import pytest

from boxside.actions import demo_colony, export_season, keep_snapshots, line, list_due, merge_archive, settings
from boxside.core.archive import EVENTS
from boxside.core.values.errors import DataError, EntryError, StoreError
from boxside.core.values.event import Event
from boxside.core.values.keeping import ConflictKind
from boxside.device.fake import FakeClock
from boxside.store import merging, open_store, photos, saving, snapshots
from tests.actions.carrying import archive, files_of, held, listed, photograph, put_together, with_lines
from tests.actions.keeping import Keeper
from tests.actions.lining import female, found, male, rows, start

Make = Callable[..., Keeper]


def two(make: Make, tmp_path: Path) -> tuple[Keeper, Keeper]:
    """A keeper with two boxes, and a second one whose box has a code that the first uses, with a photo."""
    ours, theirs = make("ours"), make("theirs")
    ours.add("B01")
    ours.add("B02", n=12)
    theirs.add("B01", n=7)
    photograph(theirs, "B01", tmp_path)
    return ours, theirs


def test_a_restore_is_shown_before_it_happens_and_gives_the_same_log(make_keeper: Make, tmp_path: Path) -> None:
    old, new = make_keeper("old"), make_keeper("new")
    old.add("B01")
    photograph(old, "B01", tmp_path)
    path = archive(old, tmp_path / "a.zip")
    preview = merge_archive.preview_restore(new.services, path)
    assert preview.stops is None
    assert preview.text == f"{old.n_events()} events, 1 photo, newest 3 May"
    assert held(new)[1:] == ([], [])
    done = merge_archive.restore_archive(new.services, path)
    assert done.notice.what == f"Restored: {preview.text}."
    assert held(new) == held(old)
    new.log("B01", "misted")
    assert new.n_events() == old.n_events() + 1


def test_a_restore_never_goes_over_a_log(make_keeper: Make, tmp_path: Path) -> None:
    ours, theirs = two(make_keeper, tmp_path)
    path = archive(theirs, tmp_path / "a.zip")
    before = held(ours)
    stops = merge_archive.preview_restore(ours.services, path).stops
    assert stops is not None
    assert "There is a log here already" in stops.what
    with pytest.raises(EntryError, match=r"There is a log here already.*Merge the archive into it"):
        merge_archive.restore_archive(ours.services, path)
    assert held(ours) == before


def test_a_merge_is_shown_before_it_happens(make_keeper: Make, tmp_path: Path) -> None:
    ours, theirs = two(make_keeper, tmp_path)
    path = archive(theirs, tmp_path / "a.zip")
    before = held(ours)
    preview = merge_archive.preview_merge(ours.services, path)
    n = theirs.n_events()
    assert preview.text == f"{n} of {n} events and 1 of 1 photo are new, newest 3 May"
    assert (preview.n_new_events, preview.n_known_events, preview.n_new_photos) == (n, 0, 1)
    (conflict,) = preview.conflicts
    assert conflict.kind is ConflictKind.LABEL
    assert "two open boxes are called B01: both stay, one is shown as B01·2" in conflict.what
    assert held(ours) == before
    assert not list((tmp_path / "ours").glob(".incoming*"))


def test_boxes_with_one_code_both_stay_and_one_is_to_be_relabelled(make_keeper: Make, tmp_path: Path) -> None:
    ours, theirs = two(make_keeper, tmp_path)
    merge_archive.merge_archive(ours.services, archive(theirs, tmp_path / "a.zip"))
    (one, other) = ours.services.store.rows("SELECT id, shown FROM entity WHERE label = 'B01' ORDER BY id")
    assert (one[1], other[1]) == ("B01", "B01·2")
    dues = {due.task for due in list_due.tasks_of(ours.services, other[0])}
    assert "relabel" in dues
    assert len(held(ours)[2]) == 1


def test_a_merge_is_taken_back_as_one_step(make_keeper: Make, tmp_path: Path) -> None:
    ours, theirs = two(make_keeper, tmp_path)
    before = held(ours)
    merged = merge_archive.merge_archive(ours.services, archive(theirs, tmp_path / "a.zip"))
    assert merged.undo
    assert held(ours) != before
    notice = merge_archive.undo_merge(ours.services)
    assert "Taken back: the merge of" in notice.what
    assert held(ours)[:2] == before[:2]
    with pytest.raises(EntryError, match="No merge can be taken back"):
        merge_archive.undo_merge(ours.services)
    ours.log("B01", "misted")
    again = merge_archive.merge_archive(ours.services, tmp_path / "a.zip")
    assert again.preview.n_new_events == theirs.n_events()


@pytest.mark.parametrize("then", ["log", "export", "archive"])
def test_what_was_logged_or_handed_on_since_lets_a_merge_stand(make_keeper: Make, tmp_path: Path, then: str) -> None:
    ours, theirs = two(make_keeper, tmp_path)
    merge_archive.merge_archive(ours.services, archive(theirs, tmp_path / "a.zip"))
    assert merging.undoable(ours.services.store) is not None
    if then == "log":
        ours.log("B02", "misted")
    elif then == "export":
        export_season.export_season(ours.services, tmp_path / "season")
    else:
        archive(ours, tmp_path / "b.zip")
    with pytest.raises(EntryError, match="No merge can be taken back"):
        merge_archive.undo_merge(ours.services)


def test_two_merges_are_taken_back_one_after_the_other(make_keeper: Make, tmp_path: Path) -> None:
    ours, theirs = two(make_keeper, tmp_path)
    states = [held(ours)[:2]]
    for _ in range(2):
        merge_archive.merge_archive(ours.services, archive(theirs, tmp_path / "a.zip"))
        states.append(held(ours)[:2])
        theirs.log("B01", "misted")
    for state in states[1::-1]:
        merge_archive.undo_merge(ours.services)
        assert held(ours)[:2] == state
    with pytest.raises(EntryError, match="No merge can be taken back"):
        merge_archive.undo_merge(ours.services)


def test_a_copy_that_has_rotted_is_not_put_in_the_place_of_the_log(make_keeper: Make, tmp_path: Path) -> None:
    ours, theirs = two(make_keeper, tmp_path)
    merge_archive.merge_archive(ours.services, archive(theirs, tmp_path / "a.zip"))
    after = held(ours)
    (copy,) = snapshots.snapshots(tmp_path / "ours")
    data = bytearray(copy.path.read_bytes())
    data[len(data) // 2] ^= 1
    copy.path.write_bytes(data)
    with pytest.raises(StoreError, match="The merge stands"):
        merge_archive.undo_merge(ours.services)
    assert held(ours) == after


def test_a_log_that_another_program_has_open_is_not_replaced(make_keeper: Make, tmp_path: Path) -> None:
    """It would go on saving into the file that was taken away."""
    ours, theirs = two(make_keeper, tmp_path)
    merge_archive.merge_archive(ours.services, archive(theirs, tmp_path / "a.zip"))
    after = held(ours)
    ours.services.store.run("PRAGMA busy_timeout = 1")
    other = open_store(tmp_path / "ours", ours.services.store.vocabulary)
    assert other.rows("SELECT count(*) FROM event") == [(len(after[1]),)]
    with pytest.raises(StoreError, match=r"Another program uses this log. Nothing was changed"):
        merge_archive.undo_merge(ours.services)
    assert held(ours) == after
    other.close()
    merge_archive.undo_merge(ours.services)
    assert held(ours) != after
    ours.log("B01", "misted")


def test_an_id_that_stands_for_something_else_stops_the_merge_and_is_named(make_keeper: Make, tmp_path: Path) -> None:
    ours, theirs = two(make_keeper, tmp_path)
    merge_archive.merge_archive(theirs.services, archive(ours, tmp_path / "a.zip"))
    theirs.log("B02", "misted")
    ids = [row[0] for row in ours.services.store.rows("SELECT id FROM event WHERE kind = 'stocked'")]

    def change(events: list[dict[str, Any]]) -> None:
        for event in events:
            if event["id"] == ids[0]:
                event["note"] = "not what was said"

    path = put_together(tmp_path / "b.zip", with_lines(files_of(archive(theirs, tmp_path / "b.zip")), change))
    before = held(ours)
    preview = merge_archive.preview_merge(ours.services, path)
    assert preview.stops is not None
    assert "1 entry of the archive has the id of another here" in preview.stops.what
    assert preview.conflicts[0].kind is ConflictKind.SAME_ID
    assert ids[0] in preview.conflicts[0].what
    with pytest.raises(EntryError, match="has the id of another here"):
        merge_archive.merge_archive(ours.services, path)
    assert held(ours) == before


def test_a_clock_that_runs_ahead_is_told_and_kept(make_keeper: Make, tmp_path: Path) -> None:
    ours, theirs = make_keeper("ours"), make_keeper("theirs", day="2027-05-03")
    ours.add("B01")
    theirs.add("B02")
    preview = merge_archive.preview_merge(ours.services, archive(theirs, tmp_path / "a.zip"))
    (conflict,) = preview.conflicts
    assert conflict.kind is ConflictKind.FUTURE
    assert f"{theirs.n_events()} events lie in the future by this clock" in conflict.what
    merged = merge_archive.merge_archive(ours.services, tmp_path / "a.zip")
    assert merged.preview.n_new_events == theirs.n_events()


def test_parents_and_line_are_carried(make_keeper: Make, tmp_path: Path) -> None:
    ours, theirs = make_keeper("ours"), make_keeper("theirs")
    ours.add("B01")
    found(theirs, "A", 4, "B11")
    found(theirs, "B", 4, "B12")
    theirs.stand("2027-06-20")
    start(theirs, "C", "2027-06-20", female("A"), male("B"))
    ours.stand("2027-06-20")
    merge_archive.merge_archive(ours.services, archive(theirs, tmp_path / "a.zip"))
    mine, other = rows(ours), rows(theirs)
    for name, row in other.items():
        carried = ("id", "kind", "generation", "born_on", "n", "inbreeding", "founder_shares", "parents")
        assert [getattr(mine[name], one) for one in carried] == [getattr(row, one) for one in carried]
    assert "C" in "\n".join(line.line_text(ours.services))


def test_a_demo_that_took_somebodys_records_in_is_never_replaced(make_keeper: Make, tmp_path: Path) -> None:
    theirs = make_keeper("theirs")
    theirs.add("B99")
    demo = make_keeper("demo")
    demo.services.store.set_meta(demo_colony.MARK, "2026-05-03")
    merge_archive.merge_archive(demo.services, archive(theirs, tmp_path / "a.zip"))
    demo.services.store.close()
    with pytest.raises(EntryError, match="holds a real log"):
        demo_colony.make_room(tmp_path / "demo", tmp_path / "out")


def test_copies_of_an_earlier_demo_go_with_it(make_keeper: Make, tmp_path: Path) -> None:
    demo = make_keeper("demo")
    demo.add("B01")
    demo.services.store.set_meta(demo_colony.MARK, "2026-05-03")
    keep_snapshots.take_snapshot(demo.services, "daily")
    demo.services.store.close()
    demo_colony.make_room(tmp_path / "demo", tmp_path / "out")
    assert [path.name for path in (tmp_path / "demo").iterdir()] == ["this-is-the-demo-colony.txt"]


def test_unknown_kinds_are_kept_and_handed_on(make_keeper: Make, tmp_path: Path) -> None:
    ours, theirs, third = make_keeper("ours"), make_keeper("theirs"), make_keeper("third")
    ours.add("B01")
    box = ours.id("B01")
    event = Event("z1", "from_a_newer_app", "box", box, "z1", 5, 0, "UTC", 5, "d9", 1, {"odd": [1, {"x": None}]})
    with saving(ours.services.store) as log:
        log.append(event)
    merge_archive.restore_archive(theirs.services, archive(ours, tmp_path / "a.zip"))
    merge_archive.restore_archive(third.services, archive(theirs, tmp_path / "b.zip"))
    assert held(third) == held(ours)
    assert b'"kind":"from_a_newer_app"' in files_of(archive(third, tmp_path / "c.zip"))[EVENTS]


def test_a_merge_that_a_disk_refuses_leaves_nothing(make_keeper: Make, tmp_path: Path) -> None:
    """A full disk at the photos, at the events, at the end: log and photos are as before each time."""
    ours, theirs = two(make_keeper, tmp_path)
    path = archive(theirs, tmp_path / "a.zip")
    before = held(ours)
    places = ("boxside.store.photos.rename", "boxside.store.merging.unite", "boxside.store.snapshots.rename")
    for place in (*places, "boxside.store.merging.note_undo"):
        with mock.patch(place, side_effect=OSError(28, "No space left")), pytest.raises((StoreError, OSError)):
            merge_archive.merge_archive(ours.services, path)
        assert held(ours) == before, place
        assert not list((tmp_path / "ours").glob(".incoming*")), place
    merge_archive.merge_archive(ours.services, path)
    assert held(ours) != before


def test_two_phones_end_with_the_same_season_byte_for_byte(make_keeper: Make, tmp_path: Path) -> None:
    """Whichever of the two merges first, and in whatever order a third one comes in."""
    a, b = make_keeper("a"), make_keeper("b")
    for keeper, boxes in ((a, ("B01", "B02")), (b, ("B01", "B03"))):
        settings.change_setting(keeper.services, "zone", "Europe/Berlin")
        for box in boxes:
            keeper.add(box, n=20)
            keeper.log(box, "fed", prey="garden snail")
        keeper.wait(7)
    photograph(b, "B03", tmp_path)
    a.log("B01", "died", n=2)
    a.log("B01", "transfer", n=5, to_box=a.id("B02"))
    b.log("B03", "count", n=17, complete=True)
    archives = [archive(a, tmp_path / "a.zip"), archive(b, tmp_path / "b.zip")]
    merge_archive.merge_archive(a.services, archives[1])
    merge_archive.merge_archive(b.services, archives[0])
    third, fourth = make_keeper("third"), make_keeper("fourth", zone="Asia/Tokyo")
    for keeper, order in ((third, archives), (fourth, archives[::-1])):
        for path in order:
            merge_archive.merge_archive(keeper.services, path)
    digests = []
    evening = a.at("2026-05-20")
    for keeper in (a, b, third, fourth):
        assert isinstance(keeper.services.clock, FakeClock)
        keeper.services.clock.at_ms = evening
        out = tmp_path / f"season {len(digests)}"
        export_season.export_season(keeper.services, out, date(2026, 5, 1), date(2026, 5, 20))
        digests.append({path.relative_to(out): path.read_bytes() for path in out.rglob("*") if path.is_file()})
    assert len(digests[0]) > 15
    for first, second in itertools.pairwise(digests):
        assert first == second
    ours = [held(keeper)[:2] for keeper in (a, b, third, fourth)]
    assert all(one == ours[0] for one in ours)


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        (lambda event: event.update(at_ms="x"), "'at_ms' is no whole number"),
        (lambda event: event.update(fields={"n": "many"}), "n of .*: is not a whole number"),
        (lambda event: event.update(extra=1), "unknown entry 'extra'"),
        (lambda event: event.update(note="\ud800"), "half of a character pair"),
    ],
)
def test_an_event_that_no_log_can_keep_stops_the_merge(
    make_keeper: Make, tmp_path: Path, change: Callable[[dict[str, Any]], None], reason: str
) -> None:
    ours, theirs = two(make_keeper, tmp_path)
    theirs.log("B01", "died", n=1)
    files = files_of(archive(theirs, tmp_path / "a.zip"))
    lines = files[EVENTS].splitlines()
    at = next(n for n, line in enumerate(lines) if b'"kind":"died"' in line)
    event = json.loads(lines[at])
    change(event)
    lines[at] = json.dumps(event).encode()
    bad = listed({**files, EVENTS: b"".join(line + b"\n" for line in lines)})
    before = held(ours)
    with pytest.raises(DataError, match=reason):
        merge_archive.merge_archive(ours.services, put_together(tmp_path / "b.zip", bad))
    assert held(ours) == before


@pytest.mark.parametrize(
    ("change", "said", "reason"),
    [
        (lambda lines: [*lines, lines[-1]], {}, "has an id that was there already"),
        (lambda lines: lines[::-1], {}, "is out of order"),
        (lambda lines: lines[:-1], {"events": 3}, "other numbers are in the manifest"),
        (lambda lines: lines, {"newest_ms": 5}, "other numbers are in the manifest"),
        (lambda lines: [], {}, "other numbers are in the manifest"),
    ],
)
def test_lines_that_are_not_those_of_one_log_stop_the_merge(
    make_keeper: Make, tmp_path: Path, change: Callable[[list[bytes]], list[bytes]], said: dict[str, int], reason: str
) -> None:
    ours, theirs = two(make_keeper, tmp_path)
    files = files_of(archive(theirs, tmp_path / "a.zip"))
    text = b"".join(line + b"\n" for line in change(files[EVENTS].splitlines()))
    before = held(ours)
    with pytest.raises(DataError, match=reason):
        merge_archive.merge_archive(
            ours.services, put_together(tmp_path / "b.zip", listed({**files, EVENTS: text}, **said))
        )
    assert held(ours) == before


def test_photos_of_an_archive_are_those_that_were_taken(make_keeper: Make, tmp_path: Path) -> None:
    ours, theirs = two(make_keeper, tmp_path)
    merge_archive.merge_archive(ours.services, archive(theirs, tmp_path / "a.zip"))
    (name,) = photos.named(ours.services.store)
    assert photos.fault(tmp_path / "ours", name) == ""
    photos.path_of(tmp_path / "ours", name).unlink()
    again = merge_archive.merge_archive(ours.services, tmp_path / "a.zip")
    assert (again.preview.n_new_events, again.preview.n_new_photos) == (0, 1)
    assert photos.fault(tmp_path / "ours", name) == "", "a photo that was lost comes back from an archive"
