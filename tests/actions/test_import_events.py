"""An exported log taken in again: byte for byte the same export, every reason by line, nothing half-imported."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import pytest

from boxside.actions import correct_event, export_season, import_events, merge_archive, rebuild_state, void_event
from boxside.core.values.carry import Flavour, SeasonChoice
from boxside.core.values.errors import EntryError
from tests.actions.keeping import Keeper

Make = Callable[..., Keeper]
NASTY = 'two\nlines, "quoted", \'=1+1, \0 \ufffd \u202e ünïcödé'


def files(out: Path) -> dict[str, bytes]:
    return {str(path.relative_to(out)): path.read_bytes() for path in sorted(out.rglob("*")) if path.is_file()}


@pytest.fixture
def filled(keeper: Keeper) -> Keeper:
    """A log with a correction, something taken back, two sexes of texts and two entries of one second."""
    keeper.stand("2026-04-20")
    keeper.add("B01", n=30, instar=1)
    keeper.add("B02", "egg", n=60)
    keeper.stand("2026-05-03")
    fed = keeper.log("B01", "fed", prey=NASTY, amount=1.5)
    keeper.wait(0.0001)
    keeper.log("B01", "misted")
    void_event.void_event(keeper.services, fed.event_id)
    count = keeper.log("B01", "count", n=27)
    correct_event.correct_event(keeper.services, count.event_id, {"n": 28})
    return keeper


def exported(keeper: Keeper, out: Path, choice: SeasonChoice | None = None) -> dict[str, bytes]:
    export_season.export_chosen(keeper.services, out, choice or SeasonChoice())
    return files(out)


@pytest.mark.parametrize("sheet", ["", ".", ","])
def test_export_import_export_gives_the_same_bytes(
    filled: Keeper, make_keeper: Make, tmp_path: Path, sheet: str
) -> None:
    both = SeasonChoice(report=not sheet, darwin_core=not sheet)
    before = exported(filled, tmp_path / "A", both)
    source = tmp_path / "A"
    if sheet:
        source = tmp_path / "sheet"
        exported(filled, source, SeasonChoice(flavour=Flavour.SPREADSHEET, decimal=sheet))
    other = make_keeper("other")
    done = import_events.import_events(other.services, source)
    assert done.n_new == filled.n_events()
    assert exported(other, tmp_path / "B", both) == before
    assert len(before) > 20
    assert other.standing() == filled.standing()
    same, again, _ = rebuild_state.rebuild_state(other.services)
    assert same == again


def test_the_invented_colony_comes_back_the_same(demo_season: Path, make_keeper: Make, tmp_path: Path) -> None:
    other = make_keeper("other")
    import_events.import_events(other.services, demo_season / "datapackage.json")
    assert exported(other, tmp_path / "B", SeasonChoice()) == files(demo_season)


def test_a_table_that_was_changed_would_be_seen(filled: Keeper, make_keeper: Make, tmp_path: Path) -> None:
    """The control: one prey item more, and the export is another."""
    before = exported(filled, tmp_path / "A")
    path = tmp_path / "A" / "events.csv"
    path.write_bytes(path.read_bytes().replace(b'""n"":27', b'""n"":26'))
    other = make_keeper("other")
    import_events.import_events(other.services, path)
    assert exported(other, tmp_path / "B") != before


def test_a_preview_says_what_would_come_and_keeps_nothing(filled: Keeper, make_keeper: Make, tmp_path: Path) -> None:
    exported(filled, tmp_path / "A")
    other = make_keeper("other")
    other.add("X1", n=3, instar=1)
    before = other.kept()
    view = import_events.preview_events(other.services, tmp_path / "A")
    assert view.ready
    assert (view.n_new, view.n_known) == (filled.n_events(), 0)
    assert dict(view.kinds)["Counted"] == 2
    assert view.sentence == f"{filled.n_events()} events would be imported."
    assert other.kept() == before


def test_what_is_there_already_is_left_alone(filled: Keeper, tmp_path: Path) -> None:
    exported(filled, tmp_path / "A")
    before = filled.kept()
    view = import_events.preview_events(filled.services, tmp_path / "A")
    assert (view.n_new, view.n_known, view.ready) == (0, filled.n_events(), False)
    with pytest.raises(EntryError, match=r"are in the log already\. Nothing was imported"):
        import_events.import_events(filled.services, tmp_path / "A")
    assert filled.kept() == before


def spoil(path: Path, change: Callable[[list[dict[str, str]]], None]) -> None:
    """Write a table again with some cells changed."""
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    change(rows)
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)


def test_every_reason_comes_with_its_line_and_nothing_is_kept(
    filled: Keeper, make_keeper: Make, tmp_path: Path
) -> None:
    exported(filled, tmp_path / "A")
    path = tmp_path / "A" / "events.csv"
    other = make_keeper("other")
    other.add("X1", n=3, instar=1)
    before = other.kept()

    def change(rows: list[dict[str, str]]) -> None:
        rows[0]["at"] = "long ago"
        rows[1]["seq"] = "-3"
        rows[2]["fields"] = rows[2]["fields"].replace("30", '"many"')
        rows[-1]["kind"] = ""

    spoil(path, change)
    view = import_events.preview_events(other.services, path)
    assert not view.ready
    assert view.n_problems == 4
    assert [line for line, _ in view.problems][:3] == [2, 3, 4]
    reasons = " ".join(reason for _, reason in view.problems)
    for said in (
        "'long ago' is no moment",
        "'-3' is no whole number",
        "n of stocked: is not a whole number",
        "kind is empty",
    ):
        assert said in reasons
    with pytest.raises(EntryError, match=r"events.csv, line 2: .*3 more lines cannot be taken either. Nothing was"):
        import_events.import_events(other.services, path)
    assert other.kept() == before


def test_an_id_that_stands_for_something_else_is_named(filled: Keeper, tmp_path: Path) -> None:
    exported(filled, tmp_path / "A")
    path = tmp_path / "A" / "events.csv"
    spoil(path, lambda rows: rows[1].update(note="something else"))
    before = filled.kept()
    view = import_events.preview_events(filled.services, path)
    assert [line for line, _ in view.problems] == [3]
    with pytest.raises(EntryError, match=r"line 3: The id \S+ stands for another entry already"):
        import_events.import_events(filled.services, path)
    assert filled.kept() == before


def test_the_same_id_twice_in_one_table_is_refused(filled: Keeper, make_keeper: Make, tmp_path: Path) -> None:
    exported(filled, tmp_path / "A")
    path = tmp_path / "A" / "events.csv"
    spoil(path, lambda rows: rows.append({**rows[1], "note": "twice"}))
    other = make_keeper("other")
    with pytest.raises(EntryError, match="stands for another entry already"):
        import_events.import_events(other.services, path)
    assert other.n_events() == 0


def test_it_is_taken_back_as_one_step(filled: Keeper, make_keeper: Make, tmp_path: Path) -> None:
    exported(filled, tmp_path / "A")
    other = make_keeper("other")
    other.add("X1", n=3, instar=1)
    before = other.kept()
    done = import_events.import_events(other.services, tmp_path / "A")
    assert done.undo
    assert other.kept() != before
    merge_archive.undo_merge(other.services)
    assert other.kept() == before


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("none.csv", None, "There is no file"),
        ("notes.csv", b"date,box\r\n2026-05-03,B07\r\n", "is no exported table of events"),
        ("empty.csv", b"", "is no exported table of events"),
        ("picture.csv", b"\xff\xd8\xff\xe0\0\0\0" * 50, "is no exported table of events"),
    ],
)
def test_other_files_are_refused(keeper: Keeper, tmp_path: Path, name: str, content: bytes | None, said: str) -> None:
    if content is not None:
        (tmp_path / name).write_bytes(content)
    with pytest.raises(EntryError, match=said):
        import_events.import_events(keeper.services, tmp_path / name)


def test_bytes_that_are_no_utf_8_are_refused_by_line(filled: Keeper, make_keeper: Make, tmp_path: Path) -> None:
    exported(filled, tmp_path / "A")
    path = tmp_path / "A" / "events.csv"
    path.write_bytes(path.read_bytes().replace("ünïcödé".encode(), b"\xfcn\xefc\xf6d\xe9"))
    view = import_events.preview_events(make_keeper("other").services, path)
    assert [reason for _, reason in view.problems] == ["It holds half of a character pair, or bytes that are no UTF-8."]


def test_what_no_log_can_hold_is_kept_as_a_replacement(keeper: Keeper, tmp_path: Path) -> None:
    """Half of a character pair cannot be stored; an entry with one is kept with the replacement sign in its place."""
    keeper.add("B01", n=30, instar=1)
    keeper.log("B01", "fed", prey="half \ud83d of a pair", batch="\0")
    (row,) = exported_rows(keeper, tmp_path / "A", "feedings")
    assert row["prey"] == "half \ufffdfffd of a pair"
    assert row["batch"] == "\ufffd0000"


def exported_rows(keeper: Keeper, out: Path, name: str) -> list[dict[str, str]]:
    exported(keeper, out)
    with (out / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
