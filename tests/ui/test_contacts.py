"""What counts as a press when fingers and glass are wet."""

from __future__ import annotations

from typing import Any

import pytest

from tests.ui.fake_colony import colony

pytestmark = pytest.mark.screen


def kinds(driver: Any) -> list[str]:
    """Return the kinds that were logged."""
    return [draft.kind for draft in driver.services.drafts]


def edges(target: Any) -> tuple[float, float, float, float]:
    """Return left, bottom, right, top of a target in the window."""
    x, y = target.to_window(*target.pos)
    return x, y, x + target.width, y + target.height


def test_a_contact_shorter_than_30_ms_is_a_drop_and_not_a_finger(start: Any) -> None:
    driver = start(colony())
    place = driver.centre(driver.find("Fed"))
    driver.at(*place).down().up(after_s=0.029)
    assert kinds(driver) == []
    driver.at(*place).down().up(after_s=0.031)
    assert kinds(driver) == ["fed"]


def test_a_tap_up_to_2_mm_beside_the_target_still_counts(start: Any) -> None:
    driver = start(colony())
    left, _, right, top = edges(driver.find("Misted"))
    driver.at((left + right) / 2, top + 12).down().up()
    assert kinds(driver) == ["misted"]


def test_a_tap_more_than_2_mm_beside_every_target_does_nothing(start: Any) -> None:
    driver = start(colony())
    left, _, right, top = edges(driver.find("Misted"))
    driver.at((left + right) / 2, top + 13.5).down().up()
    assert kinds(driver) == []


@pytest.mark.parametrize(("share", "expected"), [(0.3, "fed"), (0.7, "")])
def test_between_two_targets_the_nearer_one_is_meant(start: Any, share: float, expected: str) -> None:
    driver = start(colony())
    _, bottom, right, top = edges(driver.find("Fed"))
    gap = edges(driver.find("Look"))[0] - right
    driver.at(right + share * gap, (bottom + top) / 2).down().up()
    assert kinds(driver) == ([expected] if expected else [])
    assert (driver.shell.sheet is not None) == (not expected)


def test_a_finger_that_slides_off_before_lifting_does_nothing(start: Any) -> None:
    driver = start(colony())
    x, y = driver.centre(driver.find("Fed"))
    driver.at(x, y).down().move(x, y + 200).up()
    assert kinds(driver) == []


def test_a_second_contact_while_one_is_held_is_ignored(start: Any) -> None:
    driver = start(colony())
    finger = driver.at(*driver.centre(driver.find("Fed"))).down()
    drop = driver.at(*driver.centre(driver.find("Next"))).down()
    drop.up()
    finger.up()
    assert kinds(driver) == ["fed"]
    assert driver.page.code == "B01"


def test_a_drop_that_rests_on_a_target_gives_way_to_a_finger(start: Any) -> None:
    driver = start(colony())
    drop = driver.at(*driver.centre(driver.find("Next"))).down()
    driver.t += 2.0
    driver.at(*driver.centre(driver.find("Fed"))).down().up()
    drop.up()
    assert kinds(driver) == ["fed"]
    assert driver.page.code == "B01"


@pytest.mark.parametrize(("wait_s", "n"), [(0.2, 1), (0.35, 2)])
def test_the_same_button_answers_once_within_the_debounce_time(start: Any, wait_s: float, n: int) -> None:
    driver = start(colony())
    button = driver.find("Misted")
    place = driver.centre(button)
    driver.at(*place).down().up()
    driver.t += wait_s
    driver.at(*place).down().up()
    assert len(kinds(driver)) == n


@pytest.mark.parametrize(("wait_s", "n"), [(0.2, 0), (0.6, 1)])
def test_a_bounce_does_not_reach_what_has_just_come_up_there(start: Any, wait_s: float, n: int) -> None:
    driver = start(colony())
    driver.tap("Look")
    place = driver.centre(driver.find("Moulting"))
    driver.tap("Cancel")
    driver.shell.bar.hush()
    target = next(t for t in driver.targets() if t.collide_point(*place))
    assert target.text in ("Fed", "Look", "Misted", "Meal out", "Dead", "Other")
    driver.shell.page.do_act = lambda act, button: driver.shell.page._do_look(driver.page.view.main[1], button)
    driver.shell.page.show_more = lambda: driver.shell.page._do_look(driver.page.view.main[1], None)
    driver.at(*place).down().up()
    driver.settle()
    assert driver.shell.sheet is not None
    driver.t += wait_s - 0.08
    del driver.shell.page.do_act
    driver.at(*place).down().up()
    assert len(kinds(driver)) == n


def test_debounce_is_between_300_and_500_ms_for_every_button(start: Any) -> None:
    driver = start(colony())
    driver.tap("Count")
    times = {target.debounce for target in driver.targets()}
    driver.tap("Cancel")
    times |= {target.debounce for target in driver.targets()}
    assert times == {0.3, 0.4}


def test_right_and_middle_buttons_of_a_mouse_press_nothing(start: Any) -> None:
    driver = start(colony())
    hand = driver.at(*driver.centre(driver.find("Fed")))
    hand.touch.profile.append("button")
    hand.touch.button = "right"
    hand.down().up()
    assert kinds(driver) == []


def test_what_lies_under_a_sheet_cannot_be_pressed(start: Any) -> None:
    driver = start(colony())
    place = driver.centre(driver.find("Shelf"))
    driver.tap("Look")
    driver.at(*place).down().up()
    assert driver.shell.here == "round"


def test_a_tap_in_a_list_arrives_at_once_and_a_drag_scrolls(start: Any) -> None:
    driver = start(colony(30))
    driver.tap("Shelf")
    rows = driver.page.ids.rows
    x, y = driver.centre(driver.find("B02"))
    hand = driver.at(x, y).down()
    for step in range(1, 9):
        hand.move(x, y + 20 * step)
        driver.settle()
    hand.up()
    assert rows.scroll_y < 1
    assert driver.shell.here == "shelf"
    rows.effect_y.velocity = 0
    driver.settle()
    shown = next(target for target in driver.targets() if getattr(target, "mark", ""))
    driver.tap(shown)
    assert driver.shell.here == "box"
    assert driver.page.title == shown.mark


def test_tab_moves_a_visible_focus_and_enter_presses(start: Any) -> None:
    driver = start(colony())
    for _ in range(40):
        driver.key(9)
        focused = [target for target in driver.targets() if target.focused]
        if focused and focused[0].text == "Fed":
            break
    assert [target.text for target in focused] == ["Fed"]
    driver.key(13)
    assert kinds(driver) == ["fed"]


def test_shift_tab_goes_backwards_and_escape_goes_back(start: Any) -> None:
    driver = start(colony())
    driver.key(9, ["shift"])
    assert driver.targets()[-1].focused
    assert driver.find("Shelf") in driver.targets()[-4:]
    driver.key(32)
    assert driver.shell.here == "more"
    driver.key(27)
    assert driver.shell.here == "round"
