"""How a picture lies in its room: there and back, closer and moved; what a touch means; where labels stand."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.ui.sight import (
    MOST_ZOOM,
    Sight,
    covered,
    is_inside,
    nearest,
    nearest_end,
    overlaps,
    place_label,
    whole,
)

SIZES = st.tuples(st.floats(60, 900), st.floats(60, 900))
SHARES = st.tuples(st.floats(0, 1), st.floats(0, 1))
SQUARE = [(10.0, 10.0), (20.0, 10.0), (20.0, 20.0), (10.0, 20.0)]


def walked(room: tuple[float, float], picture: tuple[float, float], steps: list[tuple[float, float]]) -> Sight:
    """Return a sight after some closer looks and moves."""
    sight = whole(room, picture)
    for x, y in steps:
        sight = sight.closer((x * picture[0], y * picture[1])).panned(x - 0.5, y - 0.5)
    return sight


@given(SIZES, SIZES, st.lists(SHARES, max_size=5), SHARES)
@settings(deadline=None, max_examples=80)
def test_a_place_of_the_picture_comes_back_from_the_room(
    room: tuple[float, float], picture: tuple[float, float], steps: list[tuple[float, float]], at: tuple[float, float]
) -> None:
    sight = walked(room, picture, steps)
    spot = (at[0] * picture[0] - 0.5, at[1] * picture[1] - 0.5)
    assert sight.to_picture(sight.to_room(spot)) == pytest.approx(spot, abs=1e-6 * max(picture) + 1e-6)


@given(SIZES, SIZES, st.lists(SHARES, max_size=6))
@settings(deadline=None, max_examples=80)
def test_the_room_is_never_left_empty_on_one_side_only(
    room: tuple[float, float], picture: tuple[float, float], steps: list[tuple[float, float]]
) -> None:
    """A picture smaller than the room lies in its middle; a larger one covers it."""
    left, bottom, right, top = walked(room, picture, steps).frame()
    for low, high, size in ((left, right, room[0]), (bottom, top, room[1])):
        is_in_the_middle = low == pytest.approx(size - high, abs=1e-6 * size)
        assert is_in_the_middle or (low <= 1e-6 * size and high >= size * (1 - 1e-6))


def test_whole_shows_all_and_closer_keeps_what_was_meant_in_the_middle() -> None:
    sight = whole((300.0, 400.0), (600.0, 500.0))
    assert sight.is_whole
    assert sight.frame() == pytest.approx((0.0, 75.0, 300.0, 325.0))
    near = sight.closer((299.5, 249.5)).closer((209.5, 149.5))
    assert near.zoom == 4
    assert near.to_room((209.5, 149.5)) == pytest.approx((150.0, 200.0), abs=26)
    assert near.whole().frame() == pytest.approx(sight.frame())
    while near.can_come_closer:
        near = near.closer()
    assert near.zoom == MOST_ZOOM
    assert near.closer() is near


def test_a_place_beside_the_picture_means_its_edge() -> None:
    sight = whole((300.0, 400.0), (600.0, 500.0))
    assert sight.to_picture((150.0, 399.0)) == pytest.approx((299.5, -0.5))
    assert sight.to_picture((-50.0, 0.0)) == pytest.approx((-0.5, 499.5))


def test_moving_ends_at_the_edge() -> None:
    sight = whole((300.0, 300.0), (600.0, 600.0))
    assert not any(sight.can_pan(*way) for way in ((-1, 0), (1, 0), (0, -1), (0, 1)))
    corner = sight.closer((0.0, 0.0))
    assert [corner.can_pan(*way) for way in ((-1, 0), (1, 0), (0, -1), (0, 1))] == [False, True, False, True]


def test_inside_and_near_an_outline() -> None:
    assert is_inside(SQUARE, (15.0, 15.0))
    assert not is_inside(SQUARE, (25.0, 15.0))
    other = [(x + 30, y) for x, y in SQUARE]
    assert nearest([SQUARE, other], (15.0, 15.0), 0.0) == 0
    assert nearest([SQUARE, other], (45.0, 15.0), 0.0) == 1
    assert nearest([SQUARE, other], (27.0, 10.0), 8.0) == 0
    assert nearest([SQUARE, other], (27.0, 10.0), 5.0) is None
    assert nearest([], (0.0, 0.0), 9.0) is None


def test_the_end_that_is_nearest_within_reach() -> None:
    lines = [[(0.0, 0.0), (5.0, 0.0), (10.0, 0.0)], [(12.0, 0.0), (20.0, 0.0)], [(11.0, 0.0)]]
    assert nearest_end(lines, (1.0, 1.0), 3.0) == (0, 0)
    assert nearest_end(lines, (10.4, 0.0), 3.0) == (0, 1)
    assert nearest_end(lines, (19.0, 1.0), 3.0) == (1, 1)
    assert nearest_end(lines, (5.0, 9.0), 3.0) is None


def test_a_new_body_stands_for_the_one_it_covers_and_not_for_one_it_touches() -> None:
    assert covered([SQUARE], (11.0, 11.0), (19.0, 19.0), 0.0) == 0
    assert covered([SQUARE], (5.0, 15.0), (25.0, 15.0), 0.0) is None
    assert covered([SQUARE], (15.0, 15.0), (19.0, 15.0), 0.0) == 0
    assert covered([], (0.0, 0.0), (1.0, 1.0), 0.0) is None


@given(st.lists(st.tuples(st.floats(0, 200), st.floats(0, 200)), max_size=12), st.floats(8, 60))
@settings(deadline=None, max_examples=60)
def test_labels_stay_in_the_room_and_off_what_is_taken(places: list[tuple[float, float]], wide: float) -> None:
    room, taken = (240.0, 240.0), []
    for x, y in places:
        found = place_label((x, y, x + 20, y + 20), (wide, 16.0), room, taken, 3.0)
        if found is not None:
            assert not any(overlaps(found, other) for other in taken)
            assert min(found) >= 0
            assert found[2] <= room[0]
            assert found[3] <= room[1]
            assert math.isclose(found[2] - found[0], wide, abs_tol=1e-9)
            taken.append(found)
    assert taken or not places
