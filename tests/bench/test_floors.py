"""The floors are floors: they write, byte for byte, what is measured against them."""

from __future__ import annotations

import sqlite3

import numpy as np
import pytest

from boxside.actions.ahead import ahead_view
from boxside.actions.log_event import log_all
from tests.bench import row_ahead, row_export, row_late, row_measure, row_merge, row_save
from tests.bench.setting import Bench
from tests.bench.table import Row, not_run, text_of

SIZE = 3_000


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Bench:
    """A run on short logs."""
    folder = tmp_path_factory.mktemp("bench")
    (folder / "logs").mkdir()
    return Bench(folder / "logs", folder, (SIZE, SIZE), 3)


def test_saves_by_hand_leave_the_rows_that_a_rebuild_would(bench: Bench) -> None:
    """The row raises where the digests differ."""
    rows = list(row_save.rows(bench))
    assert [row.what.split(",")[0] for row in rows[:2]] == [
        "one durable save of a feeding",
        "one durable save of a death",
    ]
    assert rows[2].cells()[2:] == ("1 sync, 0 checkpoints", "1.00x", "1, no checkpoint", "yes")


def test_an_export_by_hand_is_the_same_to_the_byte(bench: Bench) -> None:
    services = bench.services(SIZE, "test-export")
    ours, floor = bench.work / "test-ours", bench.work / "test-floor"
    row_export.by_app(services, ours)
    row_export.by_hand(services, floor)
    services.store.close()
    for name in row_export.RECORDS:
        text = (ours / f"{name}.csv").read_bytes()
        assert text == (floor / f"{name}.csv").read_bytes()
        assert text.count(b"\r\n") > 100


def test_a_late_entry_touches_all_that_follow(bench: Bench) -> None:
    """Otherwise the row would measure nothing: half of the entries of one box are booked again, at least."""
    shape = row_late.SHAPES[1]
    events = list(row_late.component(shape, 400))
    assert len(events) == 400
    assert len({event.subject_id for event in events}) == shape.n_boxes
    assert 100 < sum(event.kind == "transfer" for event in events) < 300


def test_ahead_is_asked_about_a_colony_in_every_stage(bench: Bench) -> None:
    services = bench.services(SIZE, "test-ahead")
    log_all(services, row_ahead.colony(row_ahead.IN_WARMTH))
    view = ahead_view(services)
    services.store.close()
    assert len(view.expected) > 300
    assert {(one.what, one.sex) for one in view.expected} == {("hatch", ""), ("emerge", "female"), ("emerge", "male")}
    warm = [one for one in view.expected if any(reason.rule == "temperature_sum" for reason in one.reasons)]
    assert 100 < len(warm) < 200


def test_the_photo_that_is_timed_has_animals_to_measure(bench: Bench) -> None:
    """A refused photo, or an empty one, would be measured in no time; the row raises there."""
    picture = row_measure.decoded(np.fromfile(row_measure.photo(bench.folder, 3), np.uint8))
    assert picture.shape[0] * picture.shape[1] > 3_000_000
    found = row_measure.by_app(picture)
    assert sum(body.length_mm is not None for body in found.bodies) >= 4
    with pytest.raises(AssertionError, match="nothing was measured"):
        row_measure.by_app(np.full_like(picture, 200))


def test_the_table_says_what_is_not_held_and_what_could_not_be_run() -> None:
    rows = [
        Row("a save", "1 ms", "2 ms", 2.0, "<= 1.25x", False),
        not_run("the start", "no window here", "<= 2x"),
    ]
    assert text_of(rows).splitlines() == [
        "what       floor  measured                 ratio  bar       held",
        "---------  -----  -----------------------  -----  --------  ----",
        "a save     1 ms   2 ms                     2.00x  <= 1.25x  NO",
        "the start         not run: no window here         <= 2x     -",
    ]


def test_a_merge_by_hand_writes_the_rows_that_the_app_writes(bench: Bench) -> None:
    """The row raises where they differ, and where the state is another than that of a rebuild."""
    source = row_merge.archive(bench, SIZE)
    lines = bench.work / "lines"
    with row_merge.open_archive(source) as opened:
        lines.write_bytes(b"".join(opened.pieces(opened.member("events.jsonl"))))
    row_merge.by_hand(lines, bench.work / "floor-1")
    row_merge.by_app(bench, source, bench.work / "ours-1")
    row_merge.check_same(bench.work)
    row_merge.by_hand(lines, bench.work / "floor-3")
    with sqlite3.connect(bench.work / "floor-3" / "floor.db") as floor:
        floor.execute("UPDATE event SET seq = 0 WHERE row = 7")
    floor.close()
    with pytest.raises(AssertionError, match="the floor wrote other rows"):
        row_merge.check_same(bench.work)
