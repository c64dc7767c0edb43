"""Line, Pairings and Founders: the drawing, what its cohorts tell, and what is asked and saved, by touches."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations, pairwise
from typing import Any

import pytest

from boxside.core.values.line_view import Founding, LineNode
from tests.ui.fake_colony import colony
from tests.ui.fake_line import LINE, PAIRINGS

pytestmark = pytest.mark.screen


def go(start: Any, place: str, **settings: Any) -> Any:
    services = colony(24)
    services.settings.update(settings)
    driver = start(services)
    driver.tap("More")
    driver.tap(place)
    driver.settle()
    return driver


def told(driver: Any) -> str:
    """Return all that a list or a sheet tells, also what is scrolled away."""
    rows = (driver.shell.sheet or driver.page).data
    return "\n".join(f"{row.get('title', '')}\n{row.get('detail', '')}\n{row.get('soft', '')}" for row in rows)


def cells(driver: Any) -> dict[str, Any]:
    from boxside.ui.widgets.line_drawing import NodeView

    return {w.node.label: w for w in driver.page.walk() if isinstance(w, NodeView)}


# ---- the drawing ----


def test_founders_stand_on_top_and_no_cohort_touches_another(start: Any) -> None:
    found = cells(go(start, "Line"))
    assert set(found) == {node.label for node in LINE.nodes}
    rows = [[cell.y for cell in found.values() if cell.node.generation == n] for n in range(4)]
    assert all(max(high) < min(low) for low, high in pairwise(rows))
    for one, other in combinations(found.values(), 2):
        across = max(one.x, other.x) - min(one.right, other.right)
        along = max(one.y, other.y) - min(one.top, other.top)
        assert max(across, along) >= 15.9


def test_discs_grow_with_the_headcount_and_the_dead_are_empty(start: Any) -> None:
    """An area of a disc is to its headcount as that of any other: diameters go with the square root."""
    found = cells(go(start, "Line"))
    most, fewer = found["2025 A"], found["2024 A"]
    assert (most.disc / fewer.disc) ** 2 == pytest.approx(400 / 120, rel=0.01)
    assert found["2023 C"].disc >= 16
    assert found["2023 C"].lives
    assert not found["2024 D"].lives


def test_unknown_parents_are_marked(start: Any) -> None:
    driver = go(start, "Line")
    cell = cells(driver)["?"]
    assert cell.text == "?"
    driver.page.tell(cell.node)
    assert "unknown" in driver.shell.sheet.title


def test_a_tap_on_a_cohort_tells_its_numbers(start: Any) -> None:
    driver = go(start, "Line")
    cell = cells(driver)["2023 B"]
    driver.page.ids.pane.scroll_to(cell, animate=False)
    driver.settle()
    driver.tap(cell)
    assert driver.shell.sheet.title == "2023 B"
    said = told(driver)
    for text in (
        "Inbreeding F", "0.125", "Kinship within", "0.250", "North bank 2022: 50 %", "Meadow 2022: 38 %",
        "1 female of 2023 A with one of 3 males", "Laid by 1 of 4 females",
    ):  # fmt: skip
        assert text in said
    driver.tap("Close")
    assert driver.shell.sheet is None


def test_mean_kinship_is_told_of_those_that_live(start: Any) -> None:
    driver = go(start, "Line")
    driver.page.tell(cells(driver)["2024 A"].node)
    driver.settle()
    assert "Mean kinship\n0.184." in told(driver)
    driver.page.tell(cells(driver)["2024 D"].node)
    driver.settle()
    assert "Mean kinship\n" not in told(driver)


def in_sight(driver: Any) -> set[str]:
    """Return the cohorts whose middle lies within the window on the drawing."""
    pane = driver.page.ids.pane
    low_x, low_y = pane.to_window(*pane.pos)
    middles = {label: driver.centre(cell) for label, cell in cells(driver).items()}
    return {
        label
        for label, (x, y) in middles.items()
        if low_x <= x <= low_x + pane.width and low_y <= y <= low_y + pane.height
    }


def test_every_cohort_is_reached_by_buttons_alone(start: Any) -> None:
    """Pan to each corner: what was in sight on the way is every cohort of the drawing."""
    driver = go(start, "Line")
    across = ["Move right"] * 6
    back = ["Move left"] * 6
    seen: set[str] = set()
    for words in [*back, *([*across, "Move down", *back] * 4)]:
        seen |= in_sight(driver)
        if driver.has(words):
            driver.tap(words)
    assert seen == set(cells(driver))


def test_the_buttons_of_the_pane_go_where_there_is_nothing_to_move(start: Any) -> None:
    from boxside.ui.widgets.line_drawing import Panner

    driver = go(start, "Line")
    driver.page.show(replace(LINE, nodes=LINE.nodes[:1], edges=()))
    driver.settle()
    (panner,) = [w for w in driver.page.walk() if isinstance(w, Panner)]
    assert not panner.is_needed
    assert not driver.has("Move right")


def test_a_drag_moves_the_drawing_and_does_not_tap(start: Any) -> None:
    driver = go(start, "Line")
    x, y = driver.centre(driver.page.ids.pane)
    before = driver.page.ids.pane.scroll_x
    hand = driver.at(x, y).down()
    for step in range(1, 9):
        hand.move(x - 12 * step, y)
        driver.settle()
    hand.up()
    assert driver.page.ids.pane.scroll_x > before
    assert driver.shell.sheet is None


def test_cohorts_are_found_by_name_as_well(start: Any) -> None:
    driver = go(start, "Line")
    driver.tap("Other")
    driver.tap("Cohorts")
    driver.tap("North bank 2022")
    assert driver.shell.sheet.title == "North bank 2022"


def test_an_empty_line_leads_to_founders_only(start: Any) -> None:
    driver = go(start, "Line", line="none")
    assert "No cohort has been logged." in driver.words()
    assert not driver.has("Numbers")
    driver.tap("Founders")
    assert driver.shell.here == "founders"
    driver.tap("Back")
    assert driver.shell.here == "line"
    driver.tap("Back")
    assert driver.shell.here == "more"


def test_the_numbers_of_the_line_say_what_is_lost_and_what_would_do_better(start: Any) -> None:
    driver = go(start, "Line")
    driver.tap("Numbers")
    driver.settle()
    said = told(driver)
    for text in (
        "Gene diversity of the living: 82 %", "Effective size, newest generation\n6.9", "that are left\n2.7",
        "Generation 1: 3 females and 4 males bred", "After 1: 76 % kept, 24 % lost", "After 5: 56 % kept, 44 % lost",
        "After 10: 39 % kept, 61 % lost", "10 families", "3 unrelated newcomers", "dashed ones from fathers",
    ):  # fmt: skip
        assert text in said


def node(**changed: Any) -> LineNode:
    values: dict[str, Any] = {
        "id": "a", "name": "a", "kind": "founders", "generation": 0, "x": 0.5, "y": 0.0, "n": 1, "n_eggs": 0,
        "size": 1.0, "unknown": False, "label": "a", "detail": "",
    }  # fmt: skip
    return LineNode(**{**values, **changed})


def test_a_drawing_is_as_wide_as_its_widest_row_and_as_high_as_its_generations(window: Any) -> None:
    from boxside.ui.widgets.line_drawing import DOWN_DP, drawing_size

    nodes = [node(), node(generation=1), node(generation=1), node(generation=1)]
    assert drawing_size(nodes, 100, 80, (10, 10)) == (3 * 116, 2 * 80 + DOWN_DP)
    assert drawing_size(nodes, 100, 80, (900, 200))[0] == 900


def test_dashes_and_gaps_are_as_long_as_asked_and_lie_on_the_line(window: Any) -> None:
    """Along a straight line of 100 px, dashes of 10 px: five of them, at 0-10, 20-30 and so on."""
    from boxside.ui.widgets.line_drawing import curve, dashed

    pieces = dashed([(0.0, 0.0), (35.0, 0.0), (100.0, 0.0)], 10.0)
    assert [x for piece in pieces for x in (piece[0][0], piece[-1][0])] == pytest.approx(list(range(0, 100, 10)))
    line = curve((0.0, 100.0), (50.0, 0.0))
    assert (line[0], line[-1]) == (pytest.approx((0.0, 100.0)), pytest.approx((50.0, 0.0)))
    assert [y for _, y in line] == sorted((y for _, y in line), reverse=True)


@pytest.mark.parametrize(
    ("part", "said"), [(1.0, "100 %"), (0.999, "99.9 %"), (0.816, "82 %"), (0.003, "0.3 %"), (0.0, "0 %")]
)
def test_a_small_loss_is_not_rounded_away(part: float, said: str) -> None:
    from boxside.ui.screens.line.line_rows import percent

    assert percent(part) == said


# ---- pairings ----


def test_pairings_tell_who_why_when_where_and_the_second_best(start: Any) -> None:
    driver = go(start, "Pairings")
    said = told(driver)
    for text in (
        "1 male of 2024 A with 3 females of 2024 C", "Kinship 0.000", "today to 10 Jul", "males in B05", "not related",
        "Second best: Instead of 2024 A", "0.31 percentage points", "2 males of 2024 B find no female",
        "Mean kinship 0.0312. The least that any pairing could reach is 0.0298.", "expected 25 Jun", "One male serves",
    ):  # fmt: skip
        assert text in said


def test_a_pairing_opens_with_all_its_reasons(start: Any) -> None:
    driver = go(start, "Pairings")
    driver.tap("1 male of 2024 A")
    driver.settle()
    said = told(driver)
    for _, _, reason in PAIRINGS.pairs[0].reasons:
        assert reason in said
    assert PAIRINGS.pairs[0].second_best in said
    driver.tap("Close")
    driver.page.tell(PAIRINGS.pairs[1])
    driver.settle()
    assert "Nothing else can take its place." in told(driver)


def test_pairings_can_be_planned_for_later_weeks(start: Any) -> None:
    driver = go(start, "Pairings")
    driver.tap("Adult from 20 June 2026")
    driver.tap("In 8 weeks")
    driver.settle()
    assert driver.services.calls("pairings_view") == [None, PAIRINGS.on + timedelta(weeks=8)]
    assert "nothing can be paired" in driver.words()
    driver.tap("Adult from 15 August 2026")
    driver.tap("Today")
    assert driver.services.calls("pairings_view")[-1] == PAIRINGS.on


def test_pairings_lead_back_where_one_came_from(start: Any) -> None:
    driver = go(start, "Line")
    driver.tap("Pairings")
    driver.tap("Back")
    assert driver.shell.here == "line"
    driver.tap("Back")
    driver.tap("Pairings")
    driver.tap("Back")
    assert driver.shell.here == "more"


# ---- founders ----


def founders(start: Any, **settings: Any) -> Any:
    driver = go(start, "Line", **settings)
    driver.page.go_way(next(way for way in driver.page.ways if way.command == "founders"))
    driver.settle()
    return driver


def test_founders_are_added_in_six_taps_into_a_fresh_box(start: Any) -> None:
    driver = founders(start)
    assert "only where it is allowed" in driver.words()
    driver.tap("Number")
    driver.type("12")
    driver.tap("Done")
    driver.tap("Save")
    assert driver.services.calls("add_founders") == [Founding("2026 founders", 12, "B25", fresh=True)]
    assert driver.shell.here == "line"
    assert "2026 founders: started" in driver.words()


def test_without_a_number_it_is_asked_for_before_anything_is_saved(start: Any) -> None:
    driver = founders(start)
    driver.tap("Save")
    assert driver.shell.sheet is not None
    driver.tap("Cancel")
    assert driver.services.added == []


def test_each_part_of_founders_can_be_changed(start: Any) -> None:
    driver = founders(start)
    page = driver.page

    def change(part: str, *taps: str) -> None:
        page.change(part)
        driver.settle()
        for words in taps:
            driver.tap(words)

    page.take(replace(page.new, n=3))
    change("on", "Days ago", "1", "0", "Done")
    change("stage", "Adults", "Females")
    change("box", "A box on the shelf", "0", "7", "Find", "B07")
    change("origin", "Another keeper")
    for part, text in (("permit", "12/2026"), ("place", "A meadow"), ("name", "Meadow")):
        page.change(part)
        driver.shell.sheet.ids.entry.text = text
        driver.tap("Done")
    driver.tap("Save")
    assert driver.services.calls("add_founders") == [
        Founding(
            "Meadow", 3, "id7", "adult", date(2026, 11, 15), sex="female", origin="received", place="A meadow",
            permit="12/2026",
        )
    ]  # fmt: skip
    assert driver.services.added == []


def test_founders_that_cannot_be_saved_stay_and_make_no_second_box(start: Any) -> None:
    driver = founders(start)
    driver.page.take(replace(driver.page.new, n=3))
    true_act = driver.shell.acts.find("add_founders")

    def refuses(*_: Any) -> None:
        from boxside.core.values.errors import EntryError

        raise EntryError("There is already a cohort 2026 founders. Nothing was saved. Choose another name.")

    driver.shell.acts._found["add_founders"] = refuses
    driver.tap("Save")
    assert "There is already a cohort" in driver.words()
    driver.shell.acts._found["add_founders"] = true_act
    driver.tap("Try again")
    assert driver.services.added == []
    assert driver.services.calls("add_founders") == [Founding("2026 founders", 3, "B25", fresh=True)]
