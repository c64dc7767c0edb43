"""Shelf, box, new boxes, settings and the first start, driven by touches."""

from __future__ import annotations

from typing import Any

import pytest

from boxside.core.values.views import NewBox
from tests.ui.fake_colony import colony

pytestmark = pytest.mark.screen


# ---- shelf ----


def test_shelf_lists_every_box_as_the_action_orders_them(start: Any) -> None:
    driver = start(colony(3))
    driver.tap("Shelf")
    assert [row["mark"] for row in driver.page.data] == ["B01", "B02", "B03"]
    assert "3 boxes" in driver.words()


def test_a_box_is_found_by_the_digits_of_its_code(start: Any) -> None:
    driver = start(colony(24))
    driver.tap("Shelf")
    driver.tap("Find")
    driver.type("07")
    driver.tap("Find")
    assert [row["mark"] for row in driver.page.data] == ["B07"]
    driver.tap("Code with")
    assert len(driver.page.data) == 24


def test_a_code_with_letters_can_be_typed(start: Any) -> None:
    driver = start(colony(3))
    driver.tap("Shelf")
    driver.tap("Find")
    pad = driver.shell.sheet.ids.pad
    for key in ("a-m", "B", "n-z", "S", "a-m", "123", "0"):
        driver.tap(next(face for face in pad.ids.grid.children if face.key == key))
    assert pad.value == "BS0"


def shown_marks(driver: Any) -> list[str]:
    """Return the codes of the rows that show, from the top."""
    rows = [target for target in driver.targets() if getattr(target, "mark", "")]
    return [row.mark for row in sorted(rows, key=lambda row: -row.to_window(*row.pos)[1])]


def test_the_next_stretch_comes_when_the_end_is_near_and_nothing_jumps(start: Any) -> None:
    from boxside.app.pictures import frames

    driver = start(colony(120))
    driver.tap("Shelf")
    assert len(driver.page.data) == 50
    rows = driver.page.ids.rows
    rows.scroll_y = 0.15
    frames(2)
    assert len(driver.page.data) == 50
    before = shown_marks(driver)
    assert "B40" in before
    for _ in range(4):
        driver.settle()
    assert len(driver.page.data) == 100
    assert set(shown_marks(driver)) & set(before)


def test_every_box_of_a_large_shelf_is_reached_in_order_both_ways(start: Any) -> None:
    """A window of rows moves along; no box is left out and the window stays small."""
    driver = start(colony(260))
    driver.tap("Shelf")
    codes = [box.label for box in driver.services.boxes]
    rows = driver.page.ids.rows
    seen: set[str] = set()
    for direction in (-1, 1):
        for _ in range(400):
            seen |= set(shown_marks(driver))
            assert len(driver.page.data) <= 200
            at = codes.index(driver.page.data[0]["mark"])
            assert [row["mark"] for row in driver.page.data] == codes[at : at + len(driver.page.data)]
            hidden = rows.viewport_size[1] - rows.height
            rows.scroll_y = min(1.0, max(0.0, rows.scroll_y + direction * 0.8 * rows.height / hidden))
            driver.settle()
            driver.settle()
            end = codes[-1] if direction == -1 else codes[0]
            if driver.page.data[min(direction, 0)]["mark"] == end and rows.scroll_y in (0.0, 1.0):
                break
        if direction == -1:
            seen |= set(shown_marks(driver))
            assert seen == set(codes)
    assert driver.page.data[0]["mark"] == codes[0]


def test_page_buttons_scroll_without_a_swipe(start: Any) -> None:
    driver = start(colony(24))
    driver.tap("Shelf")
    before = driver.page.ids.rows.scroll_y
    driver.tap("Down")
    assert driver.page.ids.rows.scroll_y < before
    driver.tap("Up")
    assert driver.page.ids.rows.scroll_y == pytest.approx(1)


# ---- box ----


def box(start: Any, services: Any = None) -> Any:
    """Open the first box from the shelf."""
    driver = start(services or colony())
    driver.tap("Shelf")
    driver.tap("B01")
    return driver


def test_box_tells_who_what_is_due_and_the_facts(start: Any) -> None:
    driver = box(start)
    shown = "\n".join(f"{row.get('title', '')} {row.get('detail', '')}" for row in driver.page.data)
    for text in ("12 larvae, 5th instar", "Feeding", "due since Tuesday", "Headcount", "gloves on"):
        assert text in shown


def test_an_act_is_logged_from_the_box(start: Any) -> None:
    driver = box(start)
    driver.tap("Log")
    driver.tap("Misted")
    (draft,) = driver.services.drafts
    assert (draft.kind, draft.subject_id, draft.visit) == ("misted", "id1", None)
    assert driver.has("Undo")


def test_every_act_of_a_box_can_be_reached_by_turning_pages(start: Any) -> None:
    driver = box(start)
    driver.tap("Log")
    seen: set[str] = set()
    for _ in range(8):
        seen |= {target.text for target in driver.targets()}
        driver.tap(next(target for target in driver.targets() if " of " in target.text))
    assert {act.label for act in driver.page.view.acts} <= seen


def test_an_entry_is_taken_back_from_the_history(start: Any) -> None:
    driver = box(start)
    driver.tap("Past")
    driver.page.open_entry(driver.page.view.history[0])
    driver.settle()
    driver.tap("Take back")
    assert driver.services.voided == ["e0"]


def test_an_entry_is_corrected_field_by_field(start: Any) -> None:
    driver = box(start)
    driver.tap("Past")
    driver.page.open_entry(driver.page.view.history[0])
    driver.settle()
    driver.tap("Correct")
    driver.tap("How many: 2")
    driver.tap("Keypad")
    driver.tap(next(face for face in driver.shell.sheet._pad.ids.grid.children if face.key == "erase"))
    driver.type("7")
    driver.tap("Done")
    driver.tap("Save")
    assert driver.services.corrected == [("e0", {"n": 7})]


def test_a_struck_entry_offers_nothing(start: Any) -> None:
    driver = box(start)
    driver.tap("Past")
    driver.page.open_entry(driver.page.view.history[2])
    assert driver.shell.sheet is None


def test_older_entries_are_fetched_on_request(start: Any) -> None:
    from dataclasses import replace

    services = colony()
    services.history = [replace(services.history[0], event_id=f"e{n}") for n in range(45)]
    driver = box(start, services)
    driver.tap("Past")
    assert len(driver.page.view.history) == 30
    driver.page._load_more(None)
    assert len(driver.page.view.history) == 45
    assert "Show older entries" not in [row["title"] for row in driver.page.data]


def test_back_leads_where_one_came_from(start: Any) -> None:
    driver = box(start)
    driver.tap("Back")
    assert driver.shell.here == "shelf"
    driver.tap("Round")
    driver.tap("Box")
    driver.tap("Back")
    assert driver.shell.here == "round"


def test_a_box_is_asked_for_by_its_code(start: Any) -> None:
    driver = start(colony(24))
    act = next(act for act in driver.page.view.more if act.kind == "introduced")
    driver.page.do_act(act, None)
    driver.settle()
    driver.type("07")
    driver.tap("Find")
    driver.tap("B07")
    driver.tap("Done")
    (draft,) = driver.services.drafts
    assert (draft.kind, dict(draft.fields)) == ("introduced", {"from_box": "id7", "n": 1})


# ---- new boxes ----


def test_a_box_is_added_in_seven_taps(start: Any) -> None:
    driver = start(colony(3))
    driver.tap("Shelf")
    driver.tap("Add")
    driver.tap("Larvae")
    driver.type("30")
    driver.tap("Done")
    driver.tap("3")
    driver.tap("Today")
    driver.tap("Save")
    assert driver.services.added == [NewBox("B04", "larva", 30, 3, "today")]
    assert driver.shell.here == "shelf"
    assert "1 added" in driver.words()


def test_eggs_are_not_asked_for_instar_or_feeding(start: Any) -> None:
    driver = start(colony(3))
    driver.tap("Shelf")
    driver.tap("Add")
    driver.tap("Eggs")
    driver.type("60")
    driver.tap("Done")
    assert driver.shell.sheet is None
    assert not any(target.text.startswith(("Instar", "Last fed")) for target in driver.targets())


def test_each_part_of_a_new_box_can_be_changed(start: Any) -> None:
    driver = start(colony(3))
    driver.tap("Shelf")
    driver.tap("Add")
    driver.tap("Larvae")
    driver.type("30")
    driver.tap("Done")
    driver.tap("Not known")
    driver.tap("Some days ago")
    driver.tap("Done")
    driver.tap("Cohort:")
    driver.tap("Birch 2025")
    driver.tap("Area:")
    driver.tap("Window sill")
    driver.tap("Save")
    (new,) = driver.services.added
    assert new == NewBox("B04", "larva", 30, None, "about", 3, "c2", "a2")


def test_a_code_that_is_taken_leaves_the_form_as_it_is(start: Any) -> None:
    from boxside.core.values.errors import EntryError

    def refuses(services: Any, new: Any) -> Any:
        raise EntryError("There is already a box B04. Nothing was saved. Choose another code.")

    driver = start(colony(3), add_box=refuses)
    driver.tap("Shelf")
    driver.tap("Add")
    driver.tap("Nothing yet")
    driver.tap("Save")
    assert "There is already a box B04." in driver.words()
    driver.tap("Leave it")
    assert driver.page.new.label == "B04"


def test_an_occupied_shelf_is_entered_with_one_tap_a_box_after_the_first(start: Any) -> None:
    services = colony(is_new=True)
    driver = start(services)
    driver.tap("Full shelf")
    driver.tap("First box")
    driver.tap("Larvae")
    driver.type("20")
    driver.tap("Done")
    driver.tap("4")
    driver.tap("Today")
    driver.tap("Same again")
    driver.tap("Same again")
    driver.tap("Undo")
    driver.tap("Another")
    driver.tap("Eggs")
    driver.tap(next(face for face in driver.shell.sheet._pad.ids.grid.children if face.key == "erase"))
    driver.tap("Done")
    driver.tap("Save all")
    assert [(new.label, new.stage, new.n, new.fed) for new in services.added] == [
        ("B01", "larva", 20, "today"), ("B02", "larva", 20, "today"), ("B03", "egg", 2, "unknown"),
    ]  # fmt: skip
    assert driver.shell.here == "round"


@pytest.mark.parametrize(
    ("label", "following"), [("B07", "B08"), ("B99", "B100"), ("A", "A"), ("7", "8"), ("X-009", "X-010")]
)
def test_next_code_counts_on(label: str, following: str) -> None:
    from boxside.ui.entering import next_code

    assert next_code(label) == following


# ---- start and settings ----


def test_first_start_offers_three_ways_and_no_way_past_them(start: Any) -> None:
    driver = start(colony(is_new=True))
    assert [target.text for target in driver.targets()] == ["Demo colony", "Empty shelf", "Full shelf"]
    driver.tap("Demo colony")
    assert driver.page.code == "B01"


def test_an_empty_shelf_begins_on_the_shelf(start: Any) -> None:
    driver = start(colony(is_new=True))
    driver.tap("Empty shelf")
    assert driver.shell.here == "shelf"
    assert "No boxes yet." in driver.words()


def test_a_theme_is_seen_at_once(start: Any) -> None:
    driver = start(colony())
    driver.tap("More")
    driver.tap("Settings")
    driver.tap("Theme")
    driver.tap("Red")
    assert driver.services.settings["theme"] == "red"
    assert tuple(driver.app.theme.ink) == (1, 0, 0, 1)


def test_a_time_of_day_is_set_by_hour_and_minute(start: Any) -> None:
    driver = start(colony())
    driver.tap("More")
    driver.tap("Settings")
    driver.page.change(next(row for row in driver.page.view.rows if row.how == "minute"))
    driver.settle()
    driver.tap("More")
    driver.tap("Done")
    driver.tap("More")
    driver.tap("Done")
    assert driver.services.settings["nudge_minute"] == 20 * 60 + 5


def test_settings_show_cautions_the_nudge_and_that_no_screen_reader_is_served(start: Any) -> None:
    driver = start(colony())
    driver.tap("More")
    driver.tap("Settings")
    shown = "\n".join(f"{row.get('title', '')} {row.get('detail', '')}" for row in driver.page.data)
    for text in ("Protected species", "3 boxes are due", "no screen-reader support"):
        assert text in shown


def test_leaving_the_first_screen_leaves_the_app(start: Any) -> None:
    driver = start(colony())
    left = []
    driver.shell.leave_app = lambda: left.append(True)
    driver.key(27)
    assert left == [True]


def test_each_screen_is_built_at_its_first_visit_only(start: Any) -> None:
    driver = start(colony())
    assert set(driver.shell.built) == {"round"}
    driver.tap("Shelf")
    first = driver.page
    driver.tap("Round")
    driver.tap("Shelf")
    assert driver.page is first
