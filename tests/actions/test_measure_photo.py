"""A photo measured and changed by hand before it is booked: the view a screen gets, and that nothing is saved."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from boxside.actions import card, measure_photo
from boxside.core.measure import card_geometry
from boxside.core.measure.plane import to_px
from boxside.core.values.body import BodyStatus, Flag
from boxside.core.values.errors import DeviceError, EntryError
from boxside.core.values.photo_view import MeasureView
from tests.actions.keeping import Keeper
from tests.actions.photo_scenes import lengths, measured, scene, seen, shown, write_scene


@pytest.fixture
def at_box(keeper: Keeper) -> Keeper:
    keeper.add("B01", n=30)
    return keeper


@pytest.fixture
def view(at_box: Keeper, tmp_path: Path) -> MeasureView:
    return measured(at_box, write_scene(tmp_path / "a.jpg"))


def test_a_photo_says_how_many_how_long_and_how_sure(view: MeasureView) -> None:
    truth = lengths()
    assert (view.refused, view.notice, view.can_calibrate) == ("", None, False)
    assert view.count.best == len(truth)
    assert view.count.low <= len(truth) <= view.count.high
    assert view.count_text.startswith(f"{len(truth)} animals")
    assert seen(view) == pytest.approx(truth, rel=0.04)
    assert [row.number for row in view.bodies] == list(range(1, len(truth) + 1))
    for row in view.bodies:
        assert row.size.startswith(f"{row.body.length_mm:.1f} ± ")
    assert "bank-card size card" in view.scale_text
    assert re.search(r"0\.\d{4} mm a pixel, ± 0\.\d %, camera tilted \d°", view.scale_text)
    assert any("larvae stretch" in limit for limit in view.limits)


def test_the_picture_shows_each_outline_where_its_row_says(view: MeasureView) -> None:
    """Something is drawn on the window along every outline."""
    pixels, frame, work = shown(view), view.frame, view.work
    assert frame is not None
    assert isinstance(work, measure_photo.Work)
    assert work.plane is not None
    assert pixels.shape[:2] == (frame.height_px, frame.width_px)
    rows, cols = np.nonzero((pixels != work.plane.rgb).any(axis=2))
    drawn = np.stack([cols, rows], axis=1)
    assert len(drawn) < 0.1 * frame.height_px * frame.width_px
    for row in view.bodies:
        for at in row.outline_px[:: max(1, len(row.outline_px) // 12)]:
            assert np.hypot(*(drawn - at).T).min() < 4


def test_positions_go_to_millimetres_and_back(view: MeasureView) -> None:
    frame = view.frame
    assert frame is not None
    left, top, *_ = card_geometry("pocket").window_mm
    x, y = frame.to_mm((0.0, 0.0))
    assert (x, y) == pytest.approx((left + 0.3, top + 0.3), abs=0.1)
    assert frame.to_px((x, y)) == pytest.approx((0.0, 0.0), abs=1e-9)
    for row in view.bodies:
        back = [frame.to_mm(at) for at in row.midline_px]
        assert np.allclose(back, row.body.midline_mm, atol=1e-9)


def test_measuring_saves_nothing(at_box: Keeper, tmp_path: Path) -> None:
    before = at_box.kept()
    measured(at_box, write_scene(tmp_path / "a.jpg"))
    assert at_box.kept() == before
    assert not (at_box.services.device.data_dir / "photos").exists()


def test_a_body_is_left_out_and_the_others_keep_their_ids(at_box: Keeper, view: MeasureView) -> None:
    gone = view.bodies[1]
    fewer = measure_photo.drop_body(at_box.services, view, gone.id)
    assert [row.id for row in fewer.bodies] == [row.id for row in view.bodies if row.id != gone.id]
    assert [row.number for row in fewer.bodies] == list(range(1, len(view.bodies)))
    assert fewer.count.best == view.count.best - gone.body.n_best
    assert gone in view.bodies, "the view before is as it was, so that a screen can go back to it"
    with pytest.raises(EntryError, match="no such animal"):
        measure_photo.drop_body(at_box.services, fewer, gone.id)


def test_an_animal_that_was_left_out_comes_back_by_two_taps(at_box: Keeper, view: MeasureView) -> None:
    longest = max(view.bodies, key=lambda row: row.body.length_mm or 0)
    fewer = measure_photo.drop_body(at_box.services, view, longest.id)
    again = measure_photo.add_body(at_box.services, fewer, longest.midline_px[0], longest.midline_px[-1])
    added = again.bodies[-1]
    assert added.id not in {row.id for row in view.bodies}
    assert added.body.length_mm == pytest.approx(longest.body.length_mm, rel=0.02)
    assert Flag.BY_HAND in added.body.flags
    assert "by hand" in added.why
    assert (added.body.length_se_mm or 0) > (longest.body.length_se_mm or 0)
    assert again.count.best == view.count.best


def test_taps_that_lie_together_are_no_animal(at_box: Keeper, view: MeasureView) -> None:
    at = view.bodies[0].midline_px[0]
    with pytest.raises(EntryError, match="too close together"):
        measure_photo.add_body(at_box.services, view, at, (at[0] + 1, at[1]))


def test_a_moved_end_changes_the_length_and_nothing_else(at_box: Keeper, view: MeasureView) -> None:
    """Moving an end inwards, to the middle of the midline, halves the animal."""
    row = max(view.bodies, key=lambda row: row.body.length_mm or 0)
    middle = row.midline_px[len(row.midline_px) // 2]
    moved = measure_photo.move_end(at_box.services, view, row.id, 1, middle)
    after = next(other for other in moved.bodies if other.id == row.id)
    assert after.body.length_mm == pytest.approx((row.body.length_mm or 0) / 2, rel=0.12)
    assert [other for other in moved.bodies if other.id != row.id] == [o for o in view.bodies if o.id != row.id]
    for end in (-1, 2):
        with pytest.raises(EntryError, match="cannot be moved"):
            measure_photo.move_end(at_box.services, view, row.id, end, middle)


@pytest.mark.parametrize(
    ("bad", "reasons"), [("tilt", {"tilt", "small", "no_card"}), ("blur", {"blur", "no_card", "hidden_marker"})]
)
def test_a_poor_photo_says_why_and_what_to_do(at_box: Keeper, tmp_path: Path, bad: str, reasons: set[str]) -> None:
    view = measured(at_box, write_scene(tmp_path / "a.jpg", 40, bad=bad))
    assert view.refused in reasons
    assert view.notice is not None
    assert view.notice.what.endswith(".")
    assert view.notice.do
    assert (view.bodies, view.can_accept) == ((), False)
    assert shown(view).shape[:2] == (view.frame.height_px, view.frame.width_px)  # type: ignore[union-attr]


def test_without_the_card_two_taps_give_the_scale(at_box: Keeper, tmp_path: Path) -> None:
    """A level scene cut to the inside of the window: the keeper taps two points whose distance is known."""
    from PIL import Image

    level = scene()
    whole = measured(at_box, write_scene(tmp_path / "whole.jpg"))
    cal = whole.result.calibration  # type: ignore[union-attr]
    assert cal is not None
    left, top, right, bottom = card_geometry(level.variant).window_mm
    corners = to_px(cal, np.array([[left, top], [left, bottom], [right, top], [right, bottom]]))
    x0, y0 = np.ceil(corners.min(axis=0)).astype(int) + 25
    x1, y1 = np.floor(corners.max(axis=0)).astype(int) - 25
    Image.fromarray(level.rgb[y0:y1, x0:x1]).save(tmp_path / "cut.jpg", quality=95)
    view = measured(at_box, tmp_path / "cut.jpg")
    assert (view.refused, view.can_calibrate) == ("no_card", True)
    frame = view.frame
    assert frame is not None
    assert not frame.has_scale
    a, b = (10.0, 10.0), (frame.width_px - 10.0, 10.0)
    mm = (b[0] - a[0]) * frame.photo_per_px * cal.mm_per_px
    scaled = measure_photo.calibrate_by_taps(at_box.services, view, a, b, mm)
    assert scaled.refused == ""
    assert "two taps" in scaled.scale_text
    assert seen(scaled) == pytest.approx(lengths(), rel=0.05)
    widths = [row.body.length_se_mm for row in scaled.bodies if row.body.length_se_mm]
    assert min(widths) > 0.015 * min(seen(scaled)), "the taps' own error is in the lengths'"
    with pytest.raises(EntryError, match="no length"):
        measure_photo.calibrate_by_taps(at_box.services, view, a, b, 0.0)
    assert measure_photo.calibrate_by_taps(at_box.services, view, a, a, 10.0).refused == "taps"


def test_a_printer_that_scales_is_corrected_by_the_keepers_own_number(
    at_box: Keeper, view: MeasureView, tmp_path: Path
) -> None:
    card.set_bar_mm(at_box.services, 48.5)
    smaller = measured(at_box, tmp_path / "a.jpg")
    assert seen(smaller) == pytest.approx([length * 0.97 for length in seen(view)], rel=0.015)


@pytest.mark.parametrize("mm", [0.0, 44.9, 55.1, float("nan")])
def test_a_check_line_that_no_printer_makes_is_refused(at_box: Keeper, mm: float) -> None:
    before = at_box.kept()
    with pytest.raises(EntryError, match="Printed check line"):
        card.set_bar_mm(at_box.services, mm)
    assert at_box.kept() == before


def test_progress_is_told_and_a_keeper_may_stop(at_box: Keeper, tmp_path: Path) -> None:
    told: list[tuple[str, float]] = []
    path = str(write_scene(tmp_path / "a.jpg"))
    box = at_box.id("B01")
    measure_photo.measure(at_box.services, path, box, lambda what, share: told.append((what, share)))
    assert [what for what, _ in told][:3] == ["Looking for the card", "Straightening the window", "Measuring"]
    assert [share for _, share in told] == sorted(share for _, share in told)
    for after in range(len(told)):
        steps = iter(range(len(told)))
        view = measure_photo.measure(
            at_box.services, path, box, cancel=lambda steps=steps, after=after: next(steps) == after
        )
        assert (view.refused, view.can_accept) == ("cancelled", False)


def test_a_file_that_is_no_photo_is_refused_and_nothing_is_kept(at_box: Keeper, tmp_path: Path) -> None:
    (tmp_path / "a.jpg").write_text("no photo", encoding="utf-8")
    before = at_box.kept()
    with pytest.raises(DeviceError, match="cannot be read"):
        measured(at_box, tmp_path / "a.jpg")
    with pytest.raises(DeviceError, match="kept photo is not there"):
        measure_photo.measure(at_box.services, "0" * 64, at_box.id("B01"))
    assert at_box.kept() == before


def test_without_opencv_measuring_says_what_to_install(
    at_box: Keeper, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import importlib.util

    path = write_scene(tmp_path / "a.jpg")
    find = importlib.util.find_spec
    monkeypatch.setattr(importlib.util, "find_spec", lambda name, *rest: None if name == "cv2" else find(name, *rest))
    for known in (None, (0.0, 0.0, 100.0, 0.0, 10.0)):
        view = measure_photo.measure(at_box.services, str(path), at_box.id("B01"), known=known)
        assert view.refused == "no_opencv"
        assert view.notice is not None
        assert "boxside[measure]" in view.notice.do
        assert not view.can_calibrate
    assert card.card_view(at_box.services).pdf.startswith(b"%PDF-"), "the card needs no OpenCV"


def test_touching_animals_say_so(at_box: Keeper, tmp_path: Path) -> None:
    view = measured(at_box, write_scene(tmp_path / "a.jpg", 1, "touching"))
    flagged = [row for row in view.bodies if Flag.TOUCHING in row.body.flags]
    assert len(flagged) >= 2
    assert all("touches another" in row.why for row in flagged)
    assert all(row.why.startswith("doubtful") for row in flagged if row.body.status is BodyStatus.DOUBTFUL)
