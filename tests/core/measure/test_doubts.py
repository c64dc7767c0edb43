"""What looks like one animal, and is doubted: two along each other, a cut through a body, a shadow taken in."""

import numpy as np
import pytest

from boxside.core.measure.doubts import (
    ends_in_shade,
    ends_in_stain,
    holds_shadow,
    is_miscut,
    may_be_two,
    miscut_or_next,
)
from boxside.core.measure.shape import fit_shape, outline_of_mask
from boxside.core.measure.split import Part
from tests.core.measure.shapes import ellipse, sector, tube

WIDTH = 30.0


def rod(start, stop, width=WIDTH, size=420):
    line = np.linspace(start, stop, 120)
    return tube(line, np.full(len(line), width / 2), size)


def seen(mask):
    outline = outline_of_mask(mask)
    shape = fit_shape(outline)
    assert shape is not None
    return shape, outline


def turned(point, angle):
    x, y = np.asarray(point, float) - 210
    return np.array([np.cos(angle) * x - np.sin(angle) * y, np.sin(angle) * x + np.cos(angle) * y]) + 210


@pytest.mark.parametrize("angle", [0.0, 0.6, 1.9])
@pytest.mark.parametrize("shift", [70, 100])
def test_two_that_lie_along_each_other_are_no_sure_one(angle, shift):
    one = rod(turned((90, 198), angle), turned((230, 198), angle))
    two = rod(turned((90 + shift, 221), angle), turned((230 + shift, 221), angle))
    assert may_be_two(*seen(one | two))


@pytest.mark.parametrize(
    "mask",
    [
        rod((80, 200), (300, 200)),
        rod((80, 150), (300, 280)),
        ellipse(240, 60, 0.4, 0.3),
        sector(90, 2.5, 34, 0.3, 0.0, 300),
        tube(np.linspace((80, 200), (300, 230), 200), np.linspace(24, 9, 200), 420),
    ],
    ids=["rod", "slanted rod", "ellipse", "bent", "taper"],
)
def test_one_animal_is_not_doubted(mask):
    shape, outline = seen(mask)
    assert not may_be_two(shape, outline)
    assert not is_miscut(Part(outline, shape))


def test_a_notch_at_the_root_of_a_leg_is_no_second_animal():
    body = rod((80, 200), (300, 200), 40.0)
    assert not may_be_two(*seen(body | rod((160, 200), (150, 240), 5.0) | rod((220, 200), (232, 160), 5.0)))


def test_a_part_cut_off_squarely_is_doubted_and_so_is_the_one_that_has_the_rest():
    whole = rod((80, 200), (300, 200))
    columns = np.arange(whole.shape[1])[None]
    short, outline = seen(whole & (columns < 220))
    rest, other = seen(whole & (columns >= 220))
    across = (np.array([220.0, 185.0]), np.array([220.0, 215.0]))
    part, far = Part(outline, short, (across,)), Part(other, rest)
    apart, alone = seen(rod((80, 320), (300, 320)))
    assert is_miscut(part)
    assert miscut_or_next([part, far, Part(alone, apart)]) == [True, True, False]


def test_a_tip_or_side_that_is_darker_than_the_body_is_a_shadow():
    shape, outline = seen(rod((80, 200), (300, 200), 40.0))
    even = np.where(outline.solid, np.float32(0.5), np.float32(0))
    rows, columns = np.mgrid[0:420, 0:420]
    assert not holds_shadow(shape, even)
    assert holds_shadow(shape, np.where(outline.solid & (columns > 295), np.float32(0.65), even))
    assert holds_shadow(shape, np.where(outline.solid & (rows > 206), np.float32(0.6), even))
    shaded_alike = np.where(outline.solid & (np.abs(rows - 200) > 6), np.float32(0.6), even)
    assert not holds_shadow(shape, shaded_alike)


def test_an_end_that_is_much_lighter_or_of_another_hue_is_no_part_of_the_body():
    shape, outline = seen(rod((80, 200), (300, 200), 40.0))
    columns = np.arange(420)[None]
    even = np.where(outline.solid, np.float32(0.6), np.float32(0))
    lighter = np.where(outline.solid & (columns > 280), np.float32(0.35), even)
    assert not ends_in_shade(shape, even, 1.5)
    assert ends_in_shade(shape, lighter, 1.5)
    assert not ends_in_shade(shape, lighter, 6.0), "a thin body ends lighter for the blur alone"
    tinted = np.where(outline.solid & (columns > 280), np.float32(0.4), np.float32(0.05))
    assert ends_in_stain(shape, tinted, 1.5)
    assert not ends_in_stain(shape, np.full_like(tinted, 0.4), 1.5)
