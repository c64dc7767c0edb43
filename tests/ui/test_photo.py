"""Photo, driven by touches: what is measured, corrected, refused and booked; the actions are stood in for."""

from __future__ import annotations

from typing import Any

import pytest

from boxside.core.values.season import Group
from tests.ui.fake_colony import LARVAE, colony
from tests.ui.fake_measure import FRAME
from tests.ui.fake_measure import LARVAE as DRAWN
from tests.ui.photo_hand import drag, measured, middle, standing, touch

pytestmark = pytest.mark.screen
ALL = [str(number) for number in range(1, 10)]


@pytest.fixture
def driver(start: Any) -> Any:
    """Return a driver on a photo of B01 that was just measured."""
    return measured(start(colony()))


def tip(number: int, end: int) -> tuple[float, float]:
    return FRAME.to_px(DRAWN[number - 1][end])


# ---- what shows ----


def test_a_photo_of_the_box_is_measured_and_says_how_many_how_long_and_how_sure(driver: Any) -> None:
    assert driver.services.calls("measure") == [("/home/keeper/tray.jpg", "id1")]
    assert driver.shell.here == "photo"
    assert "10 animals (10 to 11)." in driver.words()
    assert "median 13.7 mm" in driver.words()
    driver.tap("Sizes")
    said = "\n".join(f"{row.get('title')} {row.get('detail')} {row.get('soft')}" for row in driver.shell.sheet.data)
    assert "12.6 ± 0.3 mm" in said
    assert "2 to 3 animals, no length" in said
    assert "doubtful: curled, pale" in said
    assert "Scale from the A6 card" in said


def test_lengths_stand_beside_their_bodies_and_never_on_each_other(driver: Any) -> None:
    from boxside.ui.sight import overlaps
    from boxside.ui.widgets.tracing import placed_labels

    picture = driver.page.picture
    labels = placed_labels(picture.rows, picture.sight, frozenset())
    assert {label.text for label in labels} >= {"1: 12.6 ± 0.3", "5: 2–3?"}
    for n, label in enumerate(labels):
        assert not any(overlaps(label.at, other.at) for other in labels[n + 1 :])
        assert label.at[0] >= 0
        assert label.at[2] <= picture.width


def test_where_there_is_no_room_for_all_lengths_closer_there_is(start: Any) -> None:
    services = colony()
    services.settings["photo"] = "crowded"
    driver = measured(start(services))
    from boxside.ui.widgets.tracing import placed_labels

    picture = driver.page.picture
    lengths = [label for label in placed_labels(picture.rows, picture.sight, frozenset()) if "±" in label.text]
    assert 0 < len(lengths) < 20
    touch(driver, middle(8))
    for _ in range(2):
        driver.tap("Closer")
    near = [row for row in picture.rows if is_in_sight(picture, row)]
    labels = placed_labels(near, picture.sight, frozenset())
    assert len([label for label in labels if "±" in label.text]) >= len(near) // 2


def is_in_sight(picture: Any, row: Any) -> bool:
    places = [picture.sight.to_room(at) for at in row.midline_px]
    return all(0 <= x <= picture.width and 0 <= y <= picture.height for x, y in places)


# ---- correcting ----


def test_a_tap_leaves_a_body_out_and_another_brings_it_back(driver: Any) -> None:
    touch(driver, middle(1))
    assert standing(driver) == ALL[1:]
    assert "Left out: 1: 12.6 ± 0.3 mm." in driver.words()
    assert "9 animals (9 to 10)." in driver.words()
    touch(driver, middle(1))
    assert standing(driver) == ALL
    assert "10 animals (10 to 11)." in driver.words()


def test_undo_goes_back_step_by_step(driver: Any) -> None:
    assert not driver.has("Undo")
    touch(driver, middle(1), middle(2))
    driver.tap("Undo")
    assert standing(driver) == [one for one in ALL if one != "1"]
    driver.tap("Undo")
    assert standing(driver) == ALL
    assert not driver.has("Undo")


def test_a_tap_beside_all_bodies_changes_nothing(driver: Any) -> None:
    touch(driver, FRAME.to_px((52.0, 40.0)))
    assert standing(driver) == ALL
    assert not driver.has("Undo")


def test_two_taps_add_a_body(driver: Any) -> None:
    driver.tap("Add")
    ends = FRAME.to_px((24.0, 44.0)), FRAME.to_px((34.0, 44.0))
    touch(driver, ends[0])
    assert "Now its other tip." in driver.words()
    assert driver.services.calls("add_body") == []
    touch(driver, ends[1])
    ((first, second),) = driver.services.calls("add_body")
    assert first == pytest.approx(ends[0], abs=1.5)
    assert second == pytest.approx(ends[1], abs=1.5)
    assert standing(driver) == [*ALL, "10"]
    assert "Added: 10: 10" in driver.words()
    driver.tap("Undo")
    assert standing(driver) == ALL


def test_two_taps_on_a_body_measure_it_anew(driver: Any) -> None:
    driver.tap("Add")
    touch(driver, tip(5, 0), tip(5, 1))
    assert standing(driver) == [*(one for one in ALL if one != "5"), "10"]
    assert "Measured anew" in driver.words()
    driver.tap("Undo")
    assert standing(driver) == ALL


def test_the_first_of_two_taps_can_be_taken_back(driver: Any) -> None:
    driver.tap("Add")
    touch(driver, (300.0, 300.0))
    driver.tap("Undo")
    touch(driver, FRAME.to_px((24.0, 44.0)), FRAME.to_px((34.0, 44.0)))
    assert len(driver.services.calls("add_body")) == 1


def test_taps_that_give_no_body_are_told_and_change_nothing(driver: Any) -> None:
    driver.tap("Add")
    touch(driver, (300.0, 300.0), (302.0, 300.0))
    assert "too close together" in driver.words()
    driver.tap("Close")
    assert standing(driver) == ALL
    assert "Tap both tips" in driver.words()


def test_an_end_is_moved_by_two_taps(driver: Any) -> None:
    driver.tap("Ends")
    to = FRAME.to_px((26.0, 12.0))
    touch(driver, tip(1, 1))
    assert "Now tap where this end belongs." in driver.words()
    touch(driver, to)
    ((body_id, end, at),) = driver.services.calls("move_end")
    assert (body_id, end) == ("1", 1)
    assert at == pytest.approx(to, abs=1.5)
    assert "Measured anew: 1: 18." in driver.words()


def test_an_end_is_moved_by_a_drag(driver: Any) -> None:
    driver.tap("Ends")
    to = FRAME.to_px((26.0, 12.0))
    drag(driver, tip(1, 1), to)
    ((body_id, end, at),) = driver.services.calls("move_end")
    assert (body_id, end) == ("1", 1)
    assert at == pytest.approx(to, abs=1.5)


def test_the_list_leaves_out_and_brings_back_too(driver: Any) -> None:
    """For bodies too small or too close together for a wet thumb."""
    driver.tap("Sizes")
    row = next(target for target in driver.targets() if getattr(target, "mark", "") == "2")
    driver.tap(row)
    assert standing(driver) == [one for one in ALL if one != "2"]
    assert next(data for data in driver.shell.sheet.data if data.get("mark") == "2")["is_struck"]
    driver.tap(next(target for target in driver.targets() if getattr(target, "mark", "") == "2"))
    assert standing(driver) == ALL


def test_keys_walk_through_the_bodies_and_drop_none(driver: Any) -> None:
    picture = driver.page.picture
    picture.press_by_key()
    driver.t += 1
    picture.press_by_key()
    assert picture.told == "2"
    assert standing(driver) == ALL


# ---- closer ----


def test_taps_count_where_the_photo_shows_closer(driver: Any) -> None:
    """The same place of the window means another body once the photo is shown closer, and moved."""
    picture = driver.page.picture
    touch(driver, middle(5))
    driver.tap("Closer")
    driver.tap("Closer")
    assert picture.sight.zoom == 4
    x, y = picture.to_window(picture.center_x, picture.center_y)
    driver.at(x, y).down().up()
    driver.t += 1
    driver.settle()
    assert standing(driver) == ALL, "the middle of the room shows the body that was meant last"
    for _ in range(2):
        driver.tap("Move right")
    touch(driver, middle(6))
    assert standing(driver) == [one for one in ALL if one != "6"]
    driver.tap("Whole")
    assert picture.sight.zoom == 1
    touch(driver, middle(9))
    assert "9" not in standing(driver)


def test_closer_ends_at_the_most_and_moving_at_the_edge(driver: Any) -> None:
    touch(driver, tip(1, 0))
    n = 0
    while driver.has("Closer"):
        driver.tap("Closer")
        n += 1
    assert n == 4
    while driver.has("Move left"):
        driver.tap("Move left")
    while driver.has("Move up"):
        driver.tap("Move up")
    left, _, _, top = driver.page.picture.sight.frame()
    assert left == pytest.approx(0, abs=1.5)
    assert top == pytest.approx(driver.page.picture.height, abs=1.5)
    assert driver.has("Move right")


def test_a_drag_moves_a_photo_that_is_closer_and_drops_nothing(driver: Any) -> None:
    touch(driver, FRAME.to_px((52.0, 40.0)))
    driver.tap("Closer")
    before = driver.page.picture.sight.centre
    drag(driver, middle(5), (middle(5)[0] - 60, middle(5)[1]))
    assert driver.page.picture.sight.centre[0] > before[0] + 30
    assert standing(driver) == ALL


# ---- booking ----


def test_lengths_are_booked_without_what_was_left_out_and_undone_at_once(driver: Any) -> None:
    touch(driver, middle(1), middle(5))
    driver.tap("Accept")
    driver.tap("7 lengths")
    kept = [one for one in ALL if one not in ("1", "5")]
    assert driver.services.calls("accept") == [(kept, False, False)]
    assert driver.shell.here == "box"
    assert driver.services.device.haptics.felt == ["confirm"]
    driver.tap("Undo")
    assert driver.services.voided == ["m1", "m2"]


def test_a_count_is_booked_with_them_and_says_what_is_missing(driver: Any) -> None:
    driver.tap("Accept")
    driver.tap("Lengths and the count: 10 animals (10 to 11)")
    assert "Only a complete count" in driver.words()
    driver.tap("Yes, all of them")
    assert driver.services.calls("accept") == [(ALL, True, True)]
    for text in ("10 counted, 28 unaccounted.", "Expected: 38", "Unaccounted: 28", "Under the lining"):
        assert text in driver.words()
    driver.tap("Undo")
    assert driver.services.voided == ["m1", "m2", "m3"]
    assert driver.shell.here == "box"


def test_where_several_cohorts_live_together_it_is_asked_whose_they_are(driver: Any) -> None:
    birch = Group("12 larvae of Birch 2025", 12, "c2", "Birch 2025", "larva", 5)
    eggs = Group("12 eggs of Cedar 2026", 12, "c3", "Cedar 2026", "egg")
    driver.services.groups = (LARVAE, birch, eggs)
    for answer, cohort in (("Birch 2025", "c2"), ("Several together", "")):
        driver.tap("Accept")
        assert not driver.has("Cedar 2026")
        driver.tap(answer)
        driver.tap("8 lengths")
        assert driver.services.calls("accept_whose")[-1] == (cohort, "larva" if cohort else "")
        driver.page.measure("/home/keeper/other.jpg")
        driver.settle()


def test_what_cannot_be_saved_stays_on_the_screen(driver: Any) -> None:
    touch(driver, middle(1))
    driver.services.fail_next = "The log could not be written: the disk is full. Free some room, then try again."
    driver.tap("Accept")
    driver.tap("8 lengths" if "8 lengths" in driver.words() else "7 lengths")
    assert "Not saved" in driver.words()
    assert driver.shell.here == "photo"
    driver.tap("Try again")
    assert driver.services.calls("accept") == [(ALL[1:], False, False)]


def test_only_the_photo_can_be_kept(driver: Any) -> None:
    driver.tap("Accept")
    driver.tap("Only keep the photo")
    assert driver.services.photos == ["/home/keeper/tray.jpg"]
    assert driver.services.calls("accept") == []
    assert driver.shell.here == "box"


def test_a_photo_without_animals_can_only_be_kept(start: Any) -> None:
    services = colony()
    services.settings["photo"] = "nothing"
    driver = measured(start(services))
    driver.tap("Accept")
    assert not driver.has("0 lengths")
    driver.tap("Only keep the photo")
    assert services.photos == ["/home/keeper/tray.jpg"]


def test_what_was_corrected_is_there_again_after_a_look_elsewhere(driver: Any) -> None:
    touch(driver, middle(1))
    driver.tap("Back")
    assert driver.shell.here == "box"
    driver.page.measure(None)
    driver.settle()
    assert standing(driver) == ALL[1:]
    driver.page.enter(box_id="id2", title="B02")
    driver.settle()
    assert driver.has("Choose"), "another box begins anew"


def test_the_photo_is_red_too(start: Any) -> None:
    """Pixels of the picture, its marks, its loupe: no green, no blue; by day there is green."""
    from tests.ui.test_red import assert_red_only, pixels

    driver = measured(start(colony(), theme="red"))
    assert_red_only(pixels())
    driver.tap("Ends")
    x, y = driver.page.picture.to_window(*driver.page.picture.center)
    hand = driver.at(x, y).down()
    assert_red_only(pixels())
    hand.up()
    driver.tap("Closer")
    assert_red_only(pixels())
    driver.app.use_theme("day")
    driver.settle()
    assert int(pixels()[..., 1].max()) > 0
