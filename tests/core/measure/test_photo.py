"""Whole photos: what is refused and why, and a few rendered scenes measured.

A handful of seeds cannot carry the bars of the design; `python -m tests.core.measure.score` does that. Here
stand bounds that a handful can honestly support.
"""

import dataclasses
import importlib
import subprocess
import sys

import numpy as np
import pytest

from boxside.core.measure import (
    body_by_taps,
    calibrate,
    calibrate_known,
    card_geometry,
    measure_photo,
    overlay,
    rectify,
    with_body,
)
from boxside.core.measure.plane import to_mm, to_px
from boxside.core.measure.refusals import REASONS, refuse
from boxside.core.values.body import BodyStatus, Calibration, Flag, Refusal
from tests.core.measure.render import render
from tests.core.measure.score import matched


@pytest.fixture(scope="module")
def scene():
    return render(3, "isolated")


@pytest.fixture(scope="module")
def result(scene):
    return measure_photo(scene.rgb)


def test_the_scale_of_a_rendered_photo_is_that_of_its_camera(scene):
    cal = calibrate(scene.rgb)
    window = np.array(card_geometry(scene.variant).window_mm).reshape(2, 2)
    seen = to_mm(cal, to_px(cal, window))
    assert np.abs(seen - window).max() < 1e-6
    assert cal.tilt_deg == pytest.approx(scene.facts["tilt"], abs=2.0)
    assert cal.radial == pytest.approx(scene.facts["k1"], abs=0.005)


def test_animals_lying_apart_are_counted_and_measured(scene, result):
    assert result.refused is None
    assert result.count.best == len(scene.larvae)
    assert result.count.low <= result.count.best <= result.count.high
    found = matched(scene, result)
    assert len(found) == len(scene.larvae)
    for i, body in found.items():
        truth = scene.larvae[i]
        assert body.length_mm == pytest.approx(truth.length, rel=0.04)
        assert abs(body.length_mm - truth.length) < 4 * body.length_se_mm
        assert body.width_mm == pytest.approx(truth.width, rel=0.25)


def test_a_printer_that_scales_is_corrected_by_the_measured_check_line(scene, result):
    larger = measure_photo(scene.rgb, print_scale=1.05)
    lengths = sorted(b.length_mm for b in result.bodies)
    assert sorted(b.length_mm for b in larger.bodies) == pytest.approx([1.05 * v for v in lengths], rel=0.01)


def test_turning_the_photo_changes_lengths_by_less_than_half_a_percent(scene, result):
    turned = measure_photo(np.ascontiguousarray(np.rot90(scene.rgb)))
    lengths = sorted(b.length_mm for b in result.bodies if b.length_mm > 6)
    assert sorted(b.length_mm for b in turned.bodies if b.length_mm > 6) == pytest.approx(lengths, rel=0.005)


@pytest.mark.parametrize(
    ("bad", "reasons"),
    [
        ("blur", {"blur", "no_card", "hidden_marker"}),
        ("tilt", {"tilt", "small", "no_card"}),
        ("hidden", {"hidden_marker", "bent"}),
        ("small", {"small", "no_card"}),
        ("distortion", {"distortion", "bent"}),
    ],
)
def test_a_photo_that_cannot_be_trusted_is_refused_with_its_reason(bad, reasons):
    refused = measure_photo(render(40, "isolated", bad=bad, paper=9.0).rgb).refused
    assert refused is not None
    assert refused.reason in reasons


def test_touching_animals_never_pass_unflagged_as_one():
    scene = render(1, "touching")
    result = measure_photo(scene.rgb)
    for i, body in matched(scene, result).items():
        if body.status is BodyStatus.MEASURED:
            assert body.length_mm < 1.2 * scene.larvae[i].length


def test_animals_across_each_other_are_a_clump_that_holds_their_number():
    scene = render(2, "crossing")
    result = measure_photo(scene.rgb)
    clumps = [b for b in result.bodies if Flag.CLUMP in b.flags]
    assert len(clumps) == 1
    assert clumps[0].length_mm is None
    assert clumps[0].n_low <= 2 <= clumps[0].n_high


@pytest.mark.parametrize(
    "picture",
    [
        None,
        "photo.jpg",
        np.zeros((0, 0, 3), np.uint8),
        np.zeros((0,), np.uint8),
        np.zeros((5, 5, 3), np.uint8),
        np.zeros((400, 400), np.uint8),
        np.full((400, 400, 3), 255, np.uint8),
        np.zeros((400, 400, 2), np.uint8),
        np.zeros((400, 400, 4), np.uint8),
        np.zeros((400, 400, 7), np.uint8),
        np.zeros((3, 400, 400, 3), np.uint8),
        np.full((400, 400, 3), 65535, np.uint16),
        np.full((400, 400, 3), np.nan),
        np.zeros((400, 400, 3), complex),
        np.zeros((400, 400, 3), object),
        np.ones((400, 400), bool),
        np.full((400, 400, 3), -7, np.int64),
    ],
)
def test_what_is_no_photo_of_the_card_is_refused_and_never_raises(picture):
    for answer in (calibrate(picture), measure_photo(picture).refused):
        assert isinstance(answer, Refusal)
        assert answer.reason in REASONS
        assert answer.what
        assert answer.do


def test_noise_is_no_card():
    noise = np.random.default_rng(4).integers(0, 256, (500, 700, 3), np.uint8)
    assert measure_photo(noise).refused == refuse("no_card")


def test_deep_and_transparent_pictures_measure_like_plain_ones(scene, result):
    deep = scene.rgb.astype(np.uint16) * 257
    alpha = np.dstack([scene.rgb, np.full(scene.rgb.shape[:2], 255, np.uint8)])
    for picture in (deep, alpha):
        assert [b.length_mm for b in measure_photo(picture).bodies] == [b.length_mm for b in result.bodies]


def test_a_grey_photo_is_measured_too(scene):
    grey = scene.rgb.mean(axis=2).astype(np.uint8)
    assert measure_photo(grey).refused is None


@pytest.mark.parametrize("scale", [0.0, -1.0, 2.0, float("nan"), float("inf")])
def test_a_check_line_that_cannot_be_is_refused(scene, scale):
    assert calibrate(scene.rgb, print_scale=scale) == refuse("print_scale")


def test_measuring_can_be_stopped(scene):
    told = []

    def stop(what, share):
        told.append((what, share))
        return share < 0.5

    assert measure_photo(scene.rgb, progress=stop).refused == refuse("cancelled")
    assert [share for _, share in told] == sorted(share for _, share in told)


def test_two_taps_give_the_scale_with_a_larger_error(scene):
    card = calibrate(scene.rgb)
    ends = to_px(card, np.array([[10.0, 10.0], [75.0, 10.0]]))
    taps = calibrate_known(scene.rgb, tuple(ends[0]), tuple(ends[1]), 65.0)
    assert taps.mm_per_px == pytest.approx(card.mm_per_px, rel=0.25)
    assert taps.scale_se_frac > 5 * card.scale_se_frac
    assert 0.03 <= 1.96 * taps.scale_se_frac <= 0.07


@pytest.mark.parametrize("mm", [0.0, -3.0, float("nan")])
def test_taps_that_give_no_scale_are_refused(scene, mm):
    assert calibrate_known(scene.rgb, (10, 10), (900, 10), mm) == refuse("taps")
    assert calibrate_known(scene.rgb, (10, 10), (12, 10), 5.0) == refuse("taps")


def test_a_body_by_two_taps_has_the_length_of_the_animal_under_them(scene, result):
    cal = result.calibration
    assert isinstance(cal, Calibration)
    plane = rectify(scene.rgb, cal)
    truth = max(scene.larvae, key=lambda a: a.length)
    body = body_by_taps(plane, cal, tuple(truth.line[0] + 0.2), tuple(truth.line[-1] - 0.2))
    assert Flag.BY_HAND in body.flags
    assert body.length_mm == pytest.approx(truth.length, rel=0.05)
    nowhere = body_by_taps(plane, cal, tuple(plane.to_mm([[5, 5]])[0]), tuple(plane.to_mm([[65, 5]])[0]))
    assert nowhere.length_mm == pytest.approx(60 / plane.px_per_mm, rel=0.01)
    assert nowhere.width_mm is None


def test_a_body_is_added_or_put_in_anothers_place(result):
    extra = dataclasses.replace(result.bodies[0], n_best=2, n_high=3)
    more = with_body(result, extra)
    assert more.count.best == result.count.best + 2
    assert with_body(result, extra, 0).bodies[0] == extra
    with pytest.raises(IndexError):
        with_body(result, extra, 99)


def test_the_overlay_draws_on_the_plane_and_leaves_it_alone(scene, result):
    plane = rectify(scene.rgb, result.calibration)
    before = plane.rgb.copy()
    drawn = overlay(plane, result.bodies)
    assert drawn.shape == before.shape
    assert (plane.rgb == before).all()
    assert (drawn != before).any()


def test_the_room_loads_without_opencv():
    script = (
        "import sys; sys.modules['cv2'] = None\n"
        "import boxside.core.measure as m\n"
        "print(m.card_geometry('pocket').name, len(m.card_pdf()) > 1000)"
    )
    room = importlib.import_module("boxside").__path__[0].rsplit("/", 1)[0]
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True, env={"PYTHONPATH": room}
    )
    assert done.stdout.split() == ["pocket", "True"]
