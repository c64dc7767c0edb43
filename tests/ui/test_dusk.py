"""Dusk: what shows of the evening, and what each button asks and logs, driven by touches."""

from __future__ import annotations

from typing import Any

import pytest

from boxside.core.values.season import Parent as Laid
from tests.ui.fake_colony import colony
from tests.ui.fake_dusk import LAY_ACTIONS

pytestmark = pytest.mark.screen


@pytest.fixture
def dusk(start: Any) -> Any:
    """Return a driver that is on Dusk, in the day theme before."""
    driver = start(colony(24), **LAY_ACTIONS)
    driver.tap("More")
    driver.tap("Dusk")
    return driver


def shown(driver: Any) -> str:
    """Return all that the list says, also what is scrolled away."""
    return "\n".join(f"{row.get('title', '')}\n{row.get('detail', '')}" for row in driver.page.data)


def open_box(driver: Any, label: str) -> None:
    driver.page.open(next(row for row in driver.page.view.rows if row.label == label))
    driver.settle()


def logged(driver: Any) -> list[tuple[str, str, dict[str, Any]]]:
    return [(draft.kind, draft.subject_id, dict(draft.fields)) for draft in driver.services.drafts]


# ---- what shows ----


def test_the_evening_tells_the_sun_who_glows_who_is_with_whom_and_who_may_die(dusk: Any) -> None:
    said = shown(dusk)
    for text in (
        "Sunset 21:33", "Glowing since 22:11, 38 min after sunset. No male here.", "2 females may die from 18 Jun.",
        "Could come: 3 males of Dogwood 2025 in B04, kinship 0.000.", "2 males of Dogwood 2025, introduced",
        "Eggs laid. 1 female with 1 male.", "3 males without a female.", "Males without a female to go to: B04.",
    ):  # fmt: skip
        assert text in said


def test_red_and_a_screen_that_stays_on_last_as_long_as_dusk(dusk: Any) -> None:
    assert dusk.app.theme.name == "red"
    dusk.services.device.light.awake = False
    dusk.app.dispatch("on_resume")
    dusk.settle()
    assert dusk.services.device.light.awake
    dusk.app.keeps_awake = False
    dusk.tap("Shelf")
    assert dusk.app.theme.name == "day"
    assert not dusk.services.device.light.awake
    dusk.app.dispatch("on_resume")
    dusk.settle()
    assert not dusk.services.device.light.awake


def test_the_minutes_go_on_but_not_while_something_is_asked(dusk: Any) -> None:
    asked: list[bool] = []
    true_act = dusk.shell.acts.find("dusk_view")
    dusk.shell.acts._found["dusk_view"] = lambda services: asked.append(True) or true_act(services)
    dusk.page._minute()
    assert len(asked) == 1
    open_box(dusk, "B05")
    dusk.tap("Part")
    dusk.page._minute()
    assert len(asked) == 1


def test_boxes_keep_their_places_while_one_stays(dusk: Any) -> None:
    from dataclasses import replace

    view = dusk.page.view
    dusk.page.show(replace(view, rows=tuple(reversed(view.rows))))
    assert [row.label for row in dusk.page.rows()] == [row.label for row in view.rows]
    dusk.tap("Shelf")
    dusk.tap("More")
    dusk.tap("Dusk")
    dusk.page._order = []
    dusk.page.show(replace(view, rows=tuple(reversed(view.rows))))
    assert [row.label for row in dusk.page.rows()] == [row.label for row in reversed(view.rows)]


def test_an_evening_without_adults_says_so(start: Any) -> None:
    services = colony(3)
    services.settings["evening"] = "none"
    driver = start(services)
    driver.shell.go("dusk")
    driver.settle()
    assert "No adults now." in driver.words()


def test_one_way_back_from_a_box_to_the_evening_and_from_there_to_more(dusk: Any) -> None:
    dusk.tap("B01")
    assert dusk.page.title == "B01"
    dusk.tap("Back")
    assert (dusk.shell.here, dusk.page.is_list) == ("dusk", True)
    dusk.tap("Back")
    assert dusk.shell.here == "more"


def test_a_box_that_has_no_adults_any_more_leads_back_to_the_evening(dusk: Any) -> None:
    from dataclasses import replace

    open_box(dusk, "B06")
    dusk.page.show(replace(dusk.page.view, rows=dusk.page.view.rows[:2]))
    assert dusk.page.is_list


# ---- glowing ----


def test_one_tap_notes_a_glow_or_its_end(dusk: Any) -> None:
    dusk.tap("Stopped glowing")
    assert logged(dusk) == [("glow_ended", "id1", {})]
    assert dusk.services.device.haptics.felt == ["confirm"]
    assert dusk.has("Undo")
    dusk.tap("Undo")
    assert dusk.services.drafts == []


def test_how_many_glow_can_be_told(dusk: Any) -> None:
    open_box(dusk, "B05")
    dusk.tap("Several glow")
    dusk.tap("Less")
    dusk.tap("Done")
    assert logged(dusk) == [("glowing", "id5", {"n": 2})]


def test_a_glow_that_cannot_be_saved_is_kept_and_tried_again(dusk: Any) -> None:
    dusk.services.fail_next = "The log could not be written: the disk is full. Free some room, then try again."
    dusk.tap("Stopped glowing")
    assert "Not saved" in dusk.words()
    dusk.tap("Try again")
    assert logged(dusk) == [("glow_ended", "id1", {})]


# ---- bringing together and parting ----


def test_males_are_brought_from_a_box_that_is_proposed(dusk: Any) -> None:
    dusk.tap("Bring males")
    assert [t.text for t in dusk.targets()][:2] == [
        "3 males of Dogwood 2025 in B04, kinship 0.000",
        "1 male of Alder 2026 in B05, kinship 0.250, with females now",
    ]
    dusk.tap("3 males of Dogwood")
    dusk.tap("More")
    dusk.tap("Done")
    assert dusk.services.calls("introduce") == [("id1", "id4", 2, "c4")]


def test_a_single_male_is_not_counted(dusk: Any) -> None:
    dusk.tap("Bring males")
    dusk.tap("1 male of Alder 2026")
    assert dusk.services.calls("introduce") == [("id1", "id5", 1, "c1")]


def test_without_a_male_anywhere_it_says_what_to_do(dusk: Any) -> None:
    from dataclasses import replace

    page = dusk.page
    page.show(replace(page.view, rows=(replace(page.view.rows[0], offers=()),)))
    dusk.settle()
    dusk.tap("Bring males")
    assert "No male is adult in another box." in dusk.words()
    dusk.tap("Close")
    assert dusk.shell.sheet is None


def test_idle_males_can_be_brought_to_those_who_lack_them(dusk: Any) -> None:
    open_box(dusk, "B04")
    dusk.tap("Bring to females")
    dusk.tap("B02: 1 female, kinship 0.000")
    dusk.tap("Done")
    assert dusk.services.calls("introduce") == [("id2", "id4", 1, "c4")]


def test_a_pair_is_parted_all_at_once_into_a_box_of_males(dusk: Any) -> None:
    open_box(dusk, "B05")
    dusk.tap("Part")
    dusk.tap("All 2 males")
    dusk.tap("B04: 3 males")
    assert dusk.services.calls("separate") == [("id5", "id4", None, "male")]


def test_some_females_are_parted_into_a_box_found_by_its_code(dusk: Any) -> None:
    open_box(dusk, "B05")
    dusk.tap("Part")
    dusk.tap("Some females")
    dusk.tap("More")
    dusk.tap("Done")
    dusk.tap("Another box")
    dusk.type("07")
    dusk.tap("Find")
    dusk.tap("B07")
    assert dusk.services.calls("separate") == [("id5", "id7", 2, "female")]


# ---- eggs ----


def eggs(driver: Any, label: str, n: str, sure: str) -> None:
    open_box(driver, label)
    driver.tap("Eggs laid")
    driver.type(n)
    driver.tap("Done")
    driver.tap(sure)


def test_parents_are_proposed_and_kept_with_the_clutch(dusk: Any) -> None:
    eggs(dusk, "B05", "60", "Counted")
    words = dusk.words()
    assert "60 eggs, counted: clutch 2026 F" in words
    assert "Mothers: 1 of these 3: 2 of Birch 2025, 1 of Alder 2026" in words
    assert "Fathers: 1 of the 3 of Dogwood 2025" in words
    dusk.tap("Save")
    (draft,) = dusk.services.calls("lay_clutch")
    assert (draft.box_id, draft.n, draft.quality) == ("id5", 60, "counted")
    assert draft.dams == (Laid("c2", 2, "Birch 2025"), Laid("c1", 1, "Alder 2026"))
    assert draft.sires == (Laid("c4", 3, "Dogwood 2025"),)
    assert (draft.laid_by, draft.n_dams, draft.n_sires, draft.males_per_clutch) == ("female", None, 3, 1)
    assert dusk.has("Undo")


def test_who_laid_them_can_be_told_otherwise(dusk: Any) -> None:
    eggs(dusk, "B05", "60", "Estimated")
    dusk.tap("Change")
    dusk.tap("Not these: 1 female of Alder 2026")
    dusk.tap("Change")
    dusk.tap("Mothers: 1 of the 2")
    dusk.tap("More")
    dusk.tap("Done")
    dusk.tap("Change")
    dusk.tap("Fathers: 1 of the 3")
    dusk.tap("More")
    dusk.tap("Done")
    dusk.tap("Save")
    (draft,) = dusk.services.calls("lay_clutch")
    assert (draft.laid_by, draft.n_dams, draft.n_sires, draft.males_per_clutch) == ("group", None, 3, 2)
    assert [(one.cohort, one.n) for one in (*draft.dams, *draft.sires)] == [("c2", 2), ("c4", 3)]


def test_more_eggs_of_an_earlier_clutch_ask_for_no_parents(dusk: Any) -> None:
    eggs(dusk, "B06", "9", "Counted")
    dusk.tap("More of 2026 E")
    (draft,) = dusk.services.calls("lay_clutch")
    assert (draft.clutch_id, draft.n, draft.dams, draft.laid_by) == ("k1", 9, (), "")


def test_eggs_whose_parents_cannot_be_kept_are_not_saved_and_stay(dusk: Any) -> None:
    from boxside.core.values.errors import EntryError

    true_act = dusk.shell.acts.find("lay_clutch")

    def refuses(*_: Any) -> None:
        raise EntryError("There is no cohort 'k9'. Nothing was saved. Add it first.")

    dusk.shell.acts._found["lay_clutch"] = refuses
    eggs(dusk, "B05", "60", "Counted")
    dusk.tap("Save")
    assert "There is no cohort" in dusk.words()
    dusk.shell.acts._found["lay_clutch"] = true_act
    dusk.tap("Try again")
    (draft,) = dusk.services.calls("lay_clutch")
    assert (draft.n, draft.laid_by) == (60, "female")


# ---- place ----


@pytest.mark.parametrize(("half", "sign"), [("North", 1), ("South", -1)])
def test_the_place_is_asked_for_by_keypad_and_everything_works_without_it(start: Any, half: str, sign: int) -> None:
    services = colony(24)
    services.settings["evening"] = "no_place"
    driver = start(services, **LAY_ACTIONS)
    driver.shell.go("dusk")
    driver.settle()
    driver.tap("Stopped glowing")
    assert len(driver.services.drafts) == 1
    driver.tap("Set latitude and longitude")
    driver.tap(half)
    driver.type("47.5")
    driver.tap("Done")
    driver.tap("West")
    driver.type("8")
    driver.tap("Done")
    assert (services.settings["latitude"], services.settings["longitude"]) == (sign * 47.5, -8)
    assert "Sunset 21:33" in shown(driver)


def test_degrees_beyond_the_pole_are_refused(start: Any) -> None:
    services = colony(3)
    services.settings["evening"] = "no_place"
    driver = start(services)
    driver.shell.go("dusk")
    driver.settle()
    driver.tap("Set latitude and longitude")
    driver.tap("North")
    driver.type("91")
    driver.tap("Done")
    assert "A number from 0 to 90, please." in driver.words()
