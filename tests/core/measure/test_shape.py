"""Lengths and widths of masks whose truth is known in closed form."""

import numpy as np
import pytest

from boxside.core.measure.likeness import faults, likeness
from boxside.core.measure.midline import length_of
from boxside.core.measure.notches import sharpest
from boxside.core.measure.shape import fit_shape, outline_of_mask
from boxside.core.measure.split import split
from tests.core.measure.shapes import ellipse, sector, spiral, tube


def fitted(mask):
    shape = fit_shape(outline_of_mask(mask))
    assert shape is not None
    return shape


@pytest.mark.parametrize("turn", [0.0, 0.7, 2.1])
@pytest.mark.parametrize("shift", [0.0, 0.37])
def test_a_curled_capsule_is_as_long_as_its_midline_wherever_it_lies(turn, shift):
    shape = fitted(sector(60, 4.5, 25, turn, shift, 220))
    assert shape.length == pytest.approx(60 * 4.5 + 25, rel=0.005)
    assert shape.width == pytest.approx(25, rel=0.03)


@pytest.mark.parametrize("turn", [0.0, 0.4, 0.785, 1.2])
def test_an_ellipse_is_as_long_as_its_long_axis(turn):
    shape = fitted(ellipse(240, 60, turn, 0.3))
    assert shape.length == pytest.approx(240, rel=0.006)
    assert shape.width == pytest.approx(60, rel=0.02)


def test_an_euler_spiral_is_as_long_as_its_arc():
    line = spiral(300, 2.4)
    line = line - line.min(axis=0) + 60
    shape = fitted(tube(line, np.full(len(line), 15.0), 420))
    assert shape.length == pytest.approx(300 + 30, rel=0.006)


def test_a_taper_is_measured_to_its_thin_end():
    x = np.linspace(60, 360, 300)
    u = (x - 60) / 300
    half = 14 - 9 * u + 12 * np.sin(np.pi * u)
    shape = fitted(tube(np.stack([x, np.full_like(x, 100.3)], axis=1), half, 430))
    assert shape.length == pytest.approx(300 + 14 + 5, rel=0.008)
    assert shape.width == pytest.approx(2 * half.max(), rel=0.03)


def test_rotation_and_mirroring_change_a_length_by_less_than_half_a_percent():
    mask = sector(100, 1.8, 30, 0.2, 0.1, 320)
    base = fitted(mask).length
    for other in (np.rot90(mask), mask[:, ::-1], mask[::-1], mask.T):
        assert fitted(np.ascontiguousarray(other)).length == pytest.approx(base, rel=0.005)


def test_twice_the_scale_gives_twice_the_length():
    small, large = sector(60, 1.6, 20, 0.3, 0.2, 220), sector(120, 1.6, 40, 0.3, 0.4, 440)
    assert fitted(large).length == pytest.approx(2 * fitted(small).length, rel=0.006)


def test_a_length_is_never_below_the_greatest_distance_across():
    for phi in (0.3, 1.0, 2.0):
        shape = fitted(sector(120, phi, 26, 0.4, 0.0, 330))
        assert shape.length >= 0.99 * shape.feret


def test_a_single_capsule_has_no_faults_and_a_pair_has():
    one = sector(200, 0.7, 30, 0.0, 0.0, 520)
    assert faults(fitted(one), sharpest(one, 30)) == ()
    pair = pair_in_a_v()
    assert "notch" in faults(fit_shape(outline_of_mask(pair)), sharpest(pair, 30))


def pair_in_a_v():
    """Two capsules of length 190 that meet with their tips at a right angle."""
    a = np.linspace(0, 160, 200)
    first = np.stack([60 + a, np.full_like(a, 80.0)], axis=1)
    second = np.stack([np.full_like(a, 240.0), 96.0 + a], axis=1)
    return tube(first, np.full(200, 15.0), 330) | tube(second, np.full(200, 15.0), 330)


def test_a_pair_that_meets_at_the_tips_is_cut_into_both():
    parts, lumps = split(outline_of_mask(pair_in_a_v()), 30)
    assert not lumps
    assert len(parts) == 2
    for part in parts:
        assert part.shape.length == pytest.approx(190, rel=0.06)


def test_a_pair_side_by_side_is_cut_along_the_seam():
    a = np.linspace(0, 170, 200)
    lower = np.stack([60 + a, np.full_like(a, 130.0)], axis=1)
    upper = np.stack([100 + a, np.full_like(a, 99.0)], axis=1)
    both = tube(lower, np.full(200, 16.0), 340) | tube(upper, np.full(200, 16.0), 340)
    parts, _ = split(outline_of_mask(both), 34)
    assert sorted(p.shape.length for p in parts) == pytest.approx([202, 202], rel=0.05)


def test_animals_across_each_other_are_no_pair_of_lengths():
    a = np.linspace(-90, 90, 220)
    one = np.stack([200 + a, 200 + 0.2 * a], axis=1)
    two = np.stack([200 - 0.2 * a, 200 + a], axis=1)
    both = tube(one, np.full(220, 14.0), 400) | tube(two, np.full(220, 14.0), 400)
    parts, lumps = split(outline_of_mask(both), 28)
    assert parts == [] or {k for lump in lumps for k in lump.parts} == set(range(len(parts)))


def test_a_disc_looks_like_no_animal():
    assert likeness(fit_shape(outline_of_mask(ellipse(80, 70, 0.0, 0.0, 140)))) < 0.2


def test_a_straight_bar_has_the_length_of_its_polyline():
    line = np.array([[0.0, 0.0], [3.0, 4.0], [3.0, 10.0]])
    assert length_of(line) == 11.0
