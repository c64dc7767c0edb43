"""A clump's pieces and the animals they are put together into; the answer of each is drawn, so it is known."""

import cv2
import numpy as np
import pytest

from boxside.core.measure.cover import best_cover, board_of, border_between, parted, sight_of
from boxside.core.measure.shape import outline_of_mask
from boxside.core.measure.silhouette import FREE_SHARE, trimmed
from boxside.core.measure.split import split
from tests.core.measure.shapes import tube

SIZE, WIDTH = 420, 30.0


def rod(start, stop, width=WIDTH):
    line = np.linspace(start, stop, 160)
    return tube(line, np.full(len(line), width / 2), SIZE)


def seen(*animals, shades=(0.8, 0.8, 0.8), lit=True):
    """The outline of all animals together, and what a picture of them shows: each as dark as its shade.

    Where two meet some light of the ground shows between them, as it does in photos.
    """
    mask = np.any(animals, axis=0)
    depth, met = np.zeros(mask.shape, np.float32), np.zeros(mask.shape, int)
    for animal, shade in zip(animals, shades, strict=False):
        depth[animal] = shade
        met += cv2.dilate(animal.astype(np.uint8), np.ones((5, 5), np.uint8))
    depth[mask & (met > 1) & lit] = 0.4
    return outline_of_mask(mask), sight_of(depth, np.zeros_like(depth), WIDTH, 1.0)


def lengths(outline, sight):
    parts, lumps = split(outline, WIDTH, sight=sight)
    assert not lumps
    return sorted(round(float(p.shape.length)) for p in parts)


def test_a_tip_at_a_flank_is_cut_there_and_the_flank_stays_whole():
    outline, sight = seen(rod((60, 200), (360, 200)), rod((210, 215 + 15), (210, 390)), shades=(0.85, 0.6))
    assert lengths(outline, sight) == pytest.approx([190, 330], rel=0.06)


def test_three_in_a_row_are_three():
    one, two, three = rod((40, 120), (190, 120)), rod((206, 128), (206, 290)), rod((222, 306), (380, 306))
    outline, sight = seen(one, two, three, shades=(0.85, 0.6, 0.8))
    assert len(lengths(outline, sight)) == 3


def test_one_animal_is_not_cut_however_many_legs_it_has():
    body = rod((60, 200), (360, 200))
    legs = [rod((x, 200), (x + 8, 200 + side * 32), 4.0) for x in (140, 170, 200) for side in (-1, 1)]
    outline, sight = seen(trimmed(np.any([body, *legs], axis=0), WIDTH / 2, FREE_SHARE))
    parts, _ = split(outline, WIDTH, sight=sight)
    assert parts == []


def test_a_border_is_surer_where_the_colour_changes_or_light_shows_between():
    left, right = rod((75, 200), (190, 200)), rod((220, 200), (345, 200))
    a, b = np.array([205.0, 190.0]), np.array([205.0, 210.0])
    block = tube(np.linspace((75, 200), (345, 200), 200), np.full(200, 15.0), SIZE)
    same = parted(seen(block)[1], a, b)
    changed = parted(seen(block, block & (np.arange(SIZE) > 205), shades=(0.85, 0.6), lit=False)[1], a, b)
    lit = parted(seen(left, right)[1], a, b)
    assert same < 0.2 < changed < 0.5
    assert lit > 0.8


def test_a_cover_takes_every_piece_once():
    outline, sight = seen(rod((60, 200), (360, 200)), rod((210, 230), (210, 390)), shades=(0.85, 0.6))
    board = board_of(outline, sight)
    assert board is not None
    unions, worth = best_cover(board)
    assert sum(unions) == (1 << len(board.areas)) - 1
    assert np.sum([board.of(u) for u in unions], axis=0).max() == 1
    assert 0.5 < worth <= 1.0


def test_masks_that_do_not_touch_have_no_border():
    assert border_between(rod((60, 100), (200, 100)), rod((60, 300), (200, 300))) is None


def test_animals_of_one_colour_across_each_other_are_no_sure_ones():
    outline, sight = seen(rod((80, 200), (340, 200)), rod((210, 70), (210, 330)), lit=False)
    parts, lumps = split(outline, WIDTH, sight=sight)
    held = {k for lump in lumps for k in lump.parts}
    assert parts == [] or held == set(range(len(parts)))
    assert all(lump.animals == 2 for lump in lumps)
