"""Old notebooks: columns assigned, lines shown as entries, reasons by line, all or nothing, taken back as one step."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from boxside.actions import import_notebook, undo_flow
from boxside.core.values.carry import NotebookMapping, NotebookView
from boxside.core.values.errors import EntryError
from boxside.store import reading
from tests.actions.keeping import Keeper

TEXT = """\
Date;Tub;What;How many;Remark
1.5.24;B01;fed;2;"young ""snails"", two"
1.5.24;B01;misted;;
2.5.24;B01;Gave food;1,5;
3.5.24;B01;moon was full;;
"""


def notebook(tmp_path: Path, text: str = TEXT, name: str = "old.csv") -> Path:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


def told(view: NotebookView, **kinds: str) -> NotebookMapping:
    """Return the mapping that was guessed, with what the keeper says of words."""
    words = dict(view.mapping.kinds) | {word.replace("_", " "): kind for word, kind in kinds.items()}
    return replace(view.mapping, kinds=tuple(words.items()), order="dmy")


@pytest.fixture
def shelf(keeper: Keeper) -> Keeper:
    keeper.stand("2024-04-01")
    keeper.add("B01", n=30, instar=2)
    keeper.stand("2026-05-03")
    return keeper


def test_the_columns_are_guessed_and_what_is_unclear_is_asked(shelf: Keeper, tmp_path: Path) -> None:
    before = shelf.kept()
    view = import_notebook.notebook_view(shelf.services, notebook(tmp_path))
    assert dict(view.mapping.columns) == {"date": 0, "box": 1, "kind": 2, "amount": 3, "note": 4}
    assert (view.mapping.delimiter, view.mapping.decimal, view.mapping.order) == (";", ",", "")
    assert dict(view.words) == {"fed": "fed", "misted": "misted", "Gave food": "", "moon was full": ""}
    assert (
        view.question
        == "Is the day or the month written first? What was done where it says “Gave food”, “moon was full”?"
    )
    assert not view.ready
    with pytest.raises(EntryError, match="What was done where it says"):
        import_notebook.import_notebook(shelf.services, notebook(tmp_path))
    assert shelf.kept() == before


def test_a_preview_shows_the_lines_as_entries_and_keeps_nothing(shelf: Keeper, tmp_path: Path) -> None:
    path, before = notebook(tmp_path), shelf.kept()
    mapping = told(import_notebook.notebook_view(shelf.services, path), Gave_food="fed", moon_was_full="")
    view = import_notebook.notebook_view(shelf.services, path, mapping)
    assert (view.ready, view.n_rows, view.n_new, view.n_passed) == (True, 4, 3, 1)
    assert [(row.line, row.box, row.label, row.detail) for row in view.sample] == [
        (2, "B01", "Fed", "prey items 2"), (3, "B01", "Misted", ""), (4, "B01", "Fed", "prey items 1.5"),
    ]  # fmt: skip
    assert shelf.kept() == before


def test_lines_become_entries_of_their_day_and_are_remembered(shelf: Keeper, tmp_path: Path) -> None:
    path = notebook(tmp_path)
    mapping = told(import_notebook.notebook_view(shelf.services, path), Gave_food="fed", moon_was_full="")
    flow = import_notebook.import_notebook(shelf.services, path, mapping)
    events = [reading.event(shelf.services.store, one) for one in flow.events]
    assert [event and (event.kind, dict(event.fields), event.note) for event in events] == [
        ("fed", {"amount": 2.0}, 'young "snails", two'), ("misted", {}, None), ("fed", {"amount": 1.5}, None),
    ]  # fmt: skip
    assert [event and event.at_ms for event in events] == [
        shelf.at("2024-05-01", 720), shelf.at("2024-05-01", 720), shelf.at("2024-05-02", 720),
    ]  # fmt: skip
    assert events[0] is not None
    assert events[1] is not None
    assert events[0].visit == events[1].visit, "one stop at one box"
    later = notebook(tmp_path, TEXT + "4.5.24;B01;Gave food;1;\n", "later.csv")
    view = import_notebook.notebook_view(shelf.services, later)
    assert (view.remembered, view.question, view.n_new, view.n_known) == (True, "", 1, 3)
    assert len(import_notebook.import_notebook(shelf.services, later).events) == 1
    with pytest.raises(EntryError, match="its 4 lines are in the log already"):
        import_notebook.import_notebook(shelf.services, later)


def test_it_is_taken_back_as_one_step(shelf: Keeper, tmp_path: Path) -> None:
    path, before = notebook(tmp_path, "date,box,what\n2024-05-01,B09,fed\n2024-05-02,B09,misted\n"), shelf.standing()
    view = import_notebook.notebook_view(shelf.services, path)
    flow = import_notebook.import_notebook(shelf.services, path, replace(view.mapping, make_boxes=True))
    assert [label for _, label in flow.made] == ["B09"]
    assert shelf.standing() != before
    undo_flow.undo_flow(shelf.services, flow.events)
    left = [box.label for box in reading.open_boxes(shelf.services.store)]
    assert left == ["B01"]
    assert reading.history(shelf.services.store, "box", flow.made[0][0], 9)[0][0].kind == "void"


def test_every_reason_comes_with_its_line_and_nothing_is_kept(shelf: Keeper, tmp_path: Path) -> None:
    text = (
        "date,box,what,n\n2024-05-01,B01,fed,2\n2024-13-01,B01,fed,2\n2024-05-01,B77,fed,2\n2024-05-01,,fed,2\n"
        '2024-05-01,B01,fed,some\n"2024-05-01",B01,"died",99\n2024-05-01,B01,misted,3\n2031-05-01,B01,fed,1\n'
    )
    path, before = notebook(tmp_path, text), shelf.kept()
    view = import_notebook.notebook_view(shelf.services, path)
    reasons = dict(view.problems)
    assert set(reasons) == {3, 4, 5, 6, 7, 8, 9}
    for line, said in {
        3: "“2024-13-01” is no date in the order year, month, day.", 4: "There is no box 'B77'.",
        5: "No box is named.", 6: "“some” is no number with “.” as decimal sign.", 7: "fewer than were entered",
        8: "Misted has no amount", 9: "future",
    }.items():  # fmt: skip
        assert said in reasons[line], reasons[line]
    assert not any("Nothing was saved" in reason for reason in reasons.values())
    with pytest.raises(EntryError, match=r"old\.csv, line 3: .* 6 more lines cannot be taken either\. Nothing was"):
        import_notebook.import_notebook(shelf.services, path)
    assert shelf.kept() == before


def test_care_from_before_the_log_is_kept_but_counts_are_refused(shelf: Keeper, tmp_path: Path) -> None:
    """A count of animals that the log has only later would add them a second time."""
    path = notebook(tmp_path, "date,box,what,n\n2023-05-01,B01,fed,2\n2023-05-01,B01,counted,28\n")
    view = import_notebook.notebook_view(shelf.services, path)
    assert [line for line, _ in view.problems] == [2, 3]
    assert "B01 was made on 2024-04-01" in view.problems[0][1]
    early = replace(view.mapping, make_boxes=True)
    view = import_notebook.notebook_view(shelf.services, path, early)
    assert [line for line, _ in view.problems] == [3]
    assert "had no animals in this log at that time" in view.problems[0][1]
    assert (view.new_boxes, view.earlier_boxes) == ((), ("B01",))
    before, box = shelf.standing(), shelf.id("B01")
    path = notebook(tmp_path, "date,box,what,n\n2023-05-01,B01,fed,2\n")
    flow = import_notebook.import_notebook(shelf.services, path, early)
    assert shelf.n("B01") == 30
    assert reading.made_ms(shelf.services.store, box) == shelf.at("2023-05-01", 720)
    undo_flow.undo_flow(shelf.services, flow.events)
    assert reading.made_ms(shelf.services.store, box) == shelf.at("2024-04-01")
    assert shelf.standing() != before, "how the notebook was read stays remembered"


def test_a_day_that_could_be_read_two_ways_is_read_as_said(shelf: Keeper, tmp_path: Path) -> None:
    path = notebook(tmp_path, "date,box,what\n3/4/2025,B01,fed\n")
    view = import_notebook.notebook_view(shelf.services, path)
    for order, day in (("dmy", date(2025, 4, 3)), ("mdy", date(2025, 3, 4))):
        said = replace(view.mapping, order=order)
        shown = import_notebook.notebook_view(shelf.services, path, said)
        assert shown.sample[0].when.startswith(f"{day.day} {day:%b}")
    assert "day or the month" in view.question


def test_one_kind_for_all_lines_and_times_of_day(shelf: Keeper, tmp_path: Path) -> None:
    path = notebook(tmp_path, "when,hour,where,prey,by\n2025-05-01,19:15,B01,slug,Ada\n")
    mapping = NotebookMapping(
        (("date", 0), ("time", 1), ("box", 2), ("field:prey", 3), ("by", 4)), kind="fed"
    )  # fmt: skip
    flow = import_notebook.import_notebook(shelf.services, path, mapping)
    event = reading.event(shelf.services.store, flow.events[0])
    assert event is not None
    assert (event.at_ms, event.by, dict(event.fields)) == (shelf.at("2025-05-01", 1155), "Ada", {"prey": "slug"})


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"kind": "feeding"}, "'feeding' is no kind"), ({"kinds": (("x", "void"),)}, "'void' is no kind"),
        ({"order": "ydm"}, "order of dates"), ({"decimal": ""}, "decimal sign"), ({"delimiter": ":"}, "separator"),
    ],
)  # fmt: skip
def test_signs_and_kinds_that_are_none_are_refused(
    shelf: Keeper, tmp_path: Path, change: dict[str, object], said: str
) -> None:
    view = import_notebook.notebook_view(shelf.services, notebook(tmp_path))
    with pytest.raises(EntryError, match=said):
        import_notebook.notebook_view(shelf.services, notebook(tmp_path), replace(view.mapping, **change))


@pytest.mark.parametrize(
    ("columns", "said"),
    [((("date", 9),), "There is no column 10 for date"), ((("mood", 0),), "'mood' is nothing that a column can be")],
)
def test_a_mapping_that_does_not_fit_is_refused(
    shelf: Keeper, tmp_path: Path, columns: tuple[tuple[str, int], ...], said: str
) -> None:
    with pytest.raises(EntryError, match=said):
        import_notebook.notebook_view(shelf.services, notebook(tmp_path), NotebookMapping(columns, delimiter=";"))


@pytest.mark.parametrize(
    ("content", "said"),
    [(b"", "no line below its headings"), (b"date,box\n", "no line below"), (b"a\0b,c\nd,e\n", "is no text file")],
)
def test_what_is_no_notebook_is_refused(shelf: Keeper, tmp_path: Path, content: bytes, said: str) -> None:
    path = tmp_path / "x.csv"
    path.write_bytes(content)
    with pytest.raises(EntryError, match=said):
        import_notebook.notebook_view(shelf.services, path)


def test_a_notebook_of_windows_is_read(shelf: Keeper, tmp_path: Path) -> None:
    path = tmp_path / "x.csv"
    path.write_bytes("date;box;what;note\r\n2025-05-01;B01;fed;Gehäuseschnecke\r\n".encode("cp1252"))
    flow = import_notebook.import_notebook(shelf.services, path)
    event = reading.event(shelf.services.store, flow.events[0])
    assert event is not None
    assert event.note == "Gehäuseschnecke"
