"""Lengths against published errors of line estimators and against scikit-image."""

import tomllib
from pathlib import Path

import numpy as np
import pytest

from boxside.core.measure.shape import fit_shape, outline_of_mask
from tests.core.measure.shapes import sector, tube

CHECKS = tomllib.loads((Path(__file__).parents[3] / "shared/checks/measure.toml").read_text())


@pytest.mark.parametrize("case", CHECKS["phantom_larvae"]["shapes"], ids=str)
def test_phantom_larvae_have_their_closed_form_length(case):
    radius, phi, width, length = case
    check = CHECKS["phantom_larvae"]
    assert radius * phi + width == pytest.approx(length)
    shape = fit_shape(outline_of_mask(sector(radius, phi, width, 0.35, 0.2)))
    assert shape.length == pytest.approx(length, rel=check["tolerance_frac"])
    assert shape.width == pytest.approx(width, rel=check["width_tolerance_frac"])


def test_a_slanted_bar_escapes_the_step_counting_error_of_vossepoel_1982():
    check = CHECKS["skeleton_overreads"]
    angle = np.radians(22.5)
    way = np.array([np.cos(angle), np.sin(angle)])
    line = np.array([60.0, 60.0]) + np.linspace(0, 300, 400)[:, None] * way
    shape = fit_shape(outline_of_mask(tube(line, np.full(400, 12.0), 420)))
    # The digital line: one point a column, steps of 1 or, where the row changes, of sqrt 2.
    columns = np.arange(0, 301)
    rows = np.round(np.tan(angle) * columns)
    steps = np.where(np.diff(rows) != 0, np.sqrt(2), 1.0)
    counted = steps.sum() / np.hypot(300, rows[-1])
    assert counted == pytest.approx(check["freeman_worst"], abs=0.002)
    assert shape.length == pytest.approx(324, rel=check["tolerance_frac"])


def test_straight_bodies_match_scikit_image_feret():
    measure = pytest.importorskip("skimage.measure")
    for angle in (0.1, 0.6, 1.3):
        way = np.array([np.cos(angle), np.sin(angle)])
        line = np.array([80.0, 80.0]) + np.linspace(0, 250, 300)[:, None] * way
        mask = tube(line, np.full(300, 20.0), 420)
        feret = measure.regionprops(mask.astype(int))[0].feret_diameter_max
        assert fit_shape(outline_of_mask(mask)).length == pytest.approx(feret, rel=0.007)


def test_curved_bodies_are_longer_than_scikit_image_feret():
    measure = pytest.importorskip("skimage.measure")
    mask = sector(120, 2.2, 30, 0.3, 0.1, 340)
    feret = measure.regionprops(mask.astype(int))[0].feret_diameter_max
    assert fit_shape(outline_of_mask(mask)).length > 1.05 * feret


def test_the_midline_matches_scikit_image_route_through_array():
    graph = pytest.importorskip("skimage.graph")
    from scipy.ndimage import distance_transform_edt

    mask = sector(120, 2.0, 34, 0.2, 0.0, 340)
    shape = fit_shape(outline_of_mask(mask))
    inside = distance_transform_edt(mask)
    cost = np.where(mask, 1 + 20 * (1 - inside / inside.max()) ** 2, 1e6)
    ends = [tuple(int(v) for v in np.round(shape.stations[k])[::-1]) for k in (0, -1)]
    path, _ = graph.route_through_array(cost, *ends, fully_connected=True, geometric=True)
    path = np.array(path)[:, ::-1].astype(float)
    away = [np.hypot(*(shape.stations - p).T).min() for p in path]
    assert np.mean(away) < 1.5
