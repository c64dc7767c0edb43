"""What was entered at once is taken back at once: founders, a shelf of boxes, a logger's file, tasks put off."""

from __future__ import annotations

from pathlib import Path

import pytest

from boxside.actions import add_box, areas, founders, log_event, temperatures, undo_flow, void_event
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft
from boxside.core.values.line_view import Founding
from boxside.core.values.views import NewBox, Undo
from boxside.store import outlook, reading
from tests.actions.keeping import Keeper


def take_back(keeper: Keeper, undo: Undo | None) -> None:
    """Do what the screen does with an undo."""
    assert undo is not None
    if undo.events:
        undo_flow.undo_flow(keeper.services, undo.events)
    else:
        void_event.void_event(keeper.services, undo.event_id)


@pytest.mark.parametrize("fresh", [True, False])
@pytest.mark.parametrize("way", ["toast", "history", "command"])
def test_founders_go_with_their_animals(keeper: Keeper, fresh: bool, way: str) -> None:
    if not fresh:
        keeper.add("B09", stage="")
    keeper.wait(5)
    before = keeper.standing()
    saved = founders.add_founders(keeper.services, Founding("Meadow", 12, "B09", fresh=fresh))
    assert keeper.n("B09") == 12
    if way == "toast":
        take_back(keeper, saved.undo)
    elif way == "command":
        void_event.undo_last(keeper.services)
    else:
        event = reading.event(keeper.services.store, saved.event_id)
        assert event is not None
        assert event.kind == "stocked"
        void_event.void_event(keeper.services, event.id)
    assert not any(cohort.label == "Meadow" for cohort in reading.entities(keeper.services.store, "cohort"))
    if way != "history":
        assert keeper.standing() == before


def test_founders_that_went_on_are_not_undone_as_if_they_had_not(keeper: Keeper) -> None:
    keeper.add("B09", stage="")
    saved = founders.add_founders(keeper.services, Founding("Meadow", 12, "B09"))
    keeper.log("B09", "died", n=2)
    void_event.void_event(keeper.services, saved.event_id)
    assert [cohort.label for cohort in reading.entities(keeper.services.store, "cohort")] == ["Meadow"]


def test_a_whole_shelf_goes_with_one_undo_unless_a_box_was_used(keeper: Keeper) -> None:
    before = keeper.standing()
    shelf = (NewBox("B01", "larva", 30, fed="today"), NewBox("B02", "egg", 60), NewBox("B03"))
    take_back(keeper, add_box.add_boxes(keeper.services, shelf).undo)
    assert keeper.standing() == before
    assert reading.open_boxes(keeper.services.store) == []
    saved = add_box.add_boxes(keeper.services, shelf)
    keeper.log("B01", "fed")
    kept = keeper.kept()
    with pytest.raises(EntryError, match="has later entries"):
        take_back(keeper, saved.undo)
    assert keeper.kept() == kept


def test_a_loggers_file_goes_with_one_undo(keeper: Keeper, tmp_path: Path) -> None:
    areas.make_area(keeper.services, "Cellar")
    keeper.wait(5)
    area = temperatures.area_named(keeper.services, "Cellar")
    temperatures.log_temperature(keeper.services, area, min_c=3, max_c=5)
    lines = [f"2026-04-{day:02d} {hour:02d}:00,{10 + hour / 4}" for day in range(1, 21) for hour in range(24)]
    path = tmp_path / "logger.csv"
    path.write_text("Time,Temp °C\n" + "\n".join(lines) + "\n", encoding="utf-8")
    assert temperatures.import_file(keeper.services, path, area).n_new == 20
    void_event.undo_last(keeper.services)
    assert len(outlook.standing(keeper.services.store, "area", area, "temperature")) == 1
    void_event.undo_last(keeper.services)
    assert outlook.standing(keeper.services.store, "area", area, "temperature") == []


def test_tasks_put_off_together_come_back_together(keeper: Keeper) -> None:
    keeper.add("B01", n=30, fed="about", fed_days=40)
    before = keeper.standing()
    drafts = [Draft("later", "box", keeper.id("B01"), {"task": task, "days": 2}) for task in ("feed", "moisture")]
    saved = log_event.log_together(keeper.services, drafts)
    assert keeper.dues("B01")["feed"].on.isoformat() == "2026-05-05"
    take_back(keeper, saved.undo)
    assert keeper.standing() == before
