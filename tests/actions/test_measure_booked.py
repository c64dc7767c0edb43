"""A measuring booked: photo, bodies and count together or not at all, undone, exported, worked out again."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from boxside.actions import accept_measure, correct_event, keep_photo, measure_photo, rebuild_state, show_box, undo_flow
from boxside.core.values.errors import EntryError, StoreError
from boxside.core.values.photo_view import MeasureDone, MeasureView
from boxside.store import photos, reading
from tests.actions.keeping import Keeper
from tests.actions.photo_scenes import measured, seen, write_scene
from tests.actions.season import exported, numbers


@pytest.fixture
def at_box(keeper: Keeper) -> Keeper:
    keeper.add("B01", n=4, instar=3)
    return keeper


@pytest.fixture
def view(at_box: Keeper, tmp_path: Path) -> MeasureView:
    return measured(at_box, write_scene(tmp_path / "a.jpg"))


def kinds(keeper: Keeper, done: MeasureDone) -> list[str]:
    events = [reading.event(keeper.services.store, one) for one in done.flow.events]
    return [event.kind for event in events if event is not None]


def test_the_photo_the_bodies_and_the_count_are_one_stop_at_the_box(at_box: Keeper, view: MeasureView) -> None:
    done = accept_measure.accept(at_box.services, view, also_count=True, complete=True)
    assert kinds(at_box, done) == ["photo", "measured", "count"]
    photo, event, count = (reading.event(at_box.services.store, one) for one in done.flow.events)
    assert photo is not None
    assert event is not None
    assert count is not None
    assert photo.visit == event.visit == count.visit
    assert photo.fields["sha256"] == event.fields["photo"] == count.fields["photo"] == view.sha256
    assert event.fields["algorithm"] == accept_measure.ALGORITHM
    assert (event.fields["stage"], event.fields["instar"], event.fields["scale"]) == ("larva", 3, "card")
    assert (count.fields["n"], count.fields["complete"], count.fields["method"]) == (view.count.best, True, "photo")
    assert (done.n_lengths, done.event_id) == (len(view.bodies), event.id)
    assert done.count is not None
    assert done.count.verdict == "complete"


def test_a_row_holds_the_scalars_of_its_body_and_no_outline(at_box: Keeper, view: MeasureView) -> None:
    done = accept_measure.accept(at_box.services, view)
    event = reading.event(at_box.services.store, done.event_id)
    assert event is not None
    rows = accept_measure.rows_of(event)
    assert len(rows) == len(view.bodies)
    for row, shown in zip(rows, view.bodies, strict=True):
        assert all(isinstance(value, int | float | str) for value in row.values())
        assert row["length_mm"] == pytest.approx(shown.body.length_mm, abs=1e-4)
        assert row["length_se_mm"] == pytest.approx(shown.body.length_se_mm, abs=1e-4)
        assert row["status"] == shown.body.status
        assert (row["x1_mm"], row["y1_mm"]) == shown.body.midline_mm[0]


def test_the_kept_photo_gives_the_booked_numbers_again(at_box: Keeper, view: MeasureView) -> None:
    """Outlines are not stored: what is worked out from the kept photo must be what was booked."""
    accept_measure.accept(at_box.services, view)
    again = measure_photo.measure(at_box.services, view.sha256, at_box.id("B01"))
    assert again.sha256 == view.sha256
    assert [row.body for row in again.bodies] == [row.body for row in view.bodies]


def test_what_a_keeper_dropped_and_added_is_what_is_booked(at_box: Keeper, view: MeasureView) -> None:
    longest = max(view.bodies, key=lambda row: row.body.length_mm or 0)
    services = at_box.services
    edited = measure_photo.drop_body(services, view, view.bodies[-1].id)
    edited = measure_photo.add_body(services, edited, longest.midline_px[0], longest.midline_px[-1])
    event = reading.event(services.store, accept_measure.accept(services, edited).event_id)
    assert event is not None
    assert sorted(accept_measure.lengths_of(event)) == pytest.approx(seen(edited), abs=1e-4)
    assert [row.get("flags", "") for row in accept_measure.rows_of(event)][-1] == "by_hand"


def test_an_incomplete_count_says_how_many_there_are_at_least(at_box: Keeper, view: MeasureView) -> None:
    at_box.add("B02", n=30)
    other = measure_photo.measure(at_box.services, str(_again(at_box, view)), at_box.id("B02"))
    done = accept_measure.accept(at_box.services, other, also_count=True)
    assert done.count is not None
    assert (done.count.counted, done.count.complete, done.count.verdict) == (other.count.low, False, "lower_bound")
    assert at_box.n("B02") == 30
    assert "at least" in done.sentence


def _again(keeper: Keeper, view: MeasureView) -> Path:
    """Write the photo of a view as a file of its own."""
    assert isinstance(view.work, measure_photo.Work)
    path = keeper.services.device.data_dir / "again.jpg"
    path.write_bytes(view.work.data)
    return path


def test_a_complete_count_books_what_is_missing(at_box: Keeper, view: MeasureView) -> None:
    at_box.log("B01", "count", n=9, complete=True)
    at_box.wait(60)
    done = accept_measure.accept(at_box.services, view, also_count=True, complete=True)
    assert at_box.n("B01") == view.count.best
    assert done.count is not None
    assert done.count.unaccounted == 9 - view.count.best


def test_all_of_it_is_taken_back_at_once(at_box: Keeper, view: MeasureView) -> None:
    before = at_box.standing()
    done = accept_measure.accept(at_box.services, view, also_count=True, complete=True)
    assert at_box.standing() != before
    undo_flow.undo_flow(at_box.services, done.flow.events)
    assert at_box.standing() == before
    again = accept_measure.accept(at_box.services, view)
    assert again.n_lengths == len(view.bodies), "a measuring that was taken back can be booked again"


def test_the_same_photo_is_booked_once(at_box: Keeper, view: MeasureView) -> None:
    accept_measure.accept(at_box.services, view)
    before = at_box.kept()
    with pytest.raises(EntryError, match="booked before"):
        accept_measure.accept(at_box.services, view, also_count=True)
    assert at_box.kept() == before


def test_a_photo_that_is_kept_with_the_box_is_not_kept_twice(at_box: Keeper, view: MeasureView, tmp_path: Path) -> None:
    keep_photo.keep_photo(at_box.services, at_box.id("B01"), str(tmp_path / "a.jpg"))
    kept = measure_photo.measure(at_box.services, view.sha256, at_box.id("B01"))
    done = accept_measure.accept(at_box.services, kept)
    assert kinds(at_box, done) == ["measured"]
    assert len(show_box.box_view(at_box.services, at_box.id("B01")).photos) == 1


def test_a_refused_photo_books_nothing(at_box: Keeper, tmp_path: Path) -> None:
    view = measured(at_box, write_scene(tmp_path / "b.jpg", 40, bad="tilt"))
    assert view.refused
    before = at_box.kept()
    with pytest.raises(EntryError, match="nothing to book"):
        accept_measure.accept(at_box.services, view, also_count=True)
    assert at_box.kept() == before
    assert not (at_box.services.device.data_dir / "photos").exists()


def test_when_the_count_does_not_fit_nothing_at_all_is_booked(
    at_box: Keeper, view: MeasureView, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The last of three entries fails: the first two must be gone as well."""
    from boxside.store.saving import Saving

    append, done = Saving.append, []

    def third_fails(self: Saving, event: object) -> None:
        done.append(event)
        if len(done) == 3:
            raise StoreError("The disk is full. Nothing was saved.")
        append(self, event)  # type: ignore[arg-type]

    before = at_box.kept()
    monkeypatch.setattr(Saving, "append", third_fails)
    with pytest.raises(StoreError, match="disk is full"):
        accept_measure.accept(at_box.services, view, also_count=True)
    assert len(done) == 3
    assert at_box.kept() == before


def test_a_photo_measured_without_a_box_cannot_be_booked(at_box: Keeper, tmp_path: Path, view: MeasureView) -> None:
    loose = measure_photo.measure(at_box.services, str(tmp_path / "a.jpg"))
    assert loose.sha256 == ""
    assert view.sha256
    with pytest.raises(EntryError, match="no such box"):
        accept_measure.accept(at_box.services, loose)


def test_lengths_by_hand_are_booked_without_a_photo(at_box: Keeper) -> None:
    done = accept_measure.accept_lengths(at_box.services, at_box.id("B01"), [9.5, 11.0])
    assert (kinds(at_box, done), done.n_lengths) == (["measured"], 2)
    event = reading.event(at_box.services.store, done.event_id)
    assert event is not None
    assert (event.fields["scale"], accept_measure.lengths_of(event)) == ("hand", [9.5, 11.0])


@pytest.mark.parametrize("lengths", [[], [0.1], [9.0, 900.0], [float("nan")]])
def test_lengths_that_no_larva_has_are_refused(at_box: Keeper, lengths: list[float]) -> None:
    before = at_box.kept()
    with pytest.raises(EntryError, match="Nothing was saved"):
        accept_measure.accept_lengths(at_box.services, at_box.id("B01"), lengths)
    assert at_box.kept() == before


def test_whose_sizes_they_are_follows_from_the_box(keeper: Keeper) -> None:
    """Two cohorts in a box: neither is named; instars that differ: none."""
    keeper.add("B01", n=9, instar=2)
    first = keeper.round(box_id=keeper.id("B01"))
    assert first.box_id
    one = accept_measure.accept_lengths(keeper.services, keeper.id("B01"), [5.0])
    keeper.add("B02", n=9, instar=4)
    keeper.log("B02", "transfer", to_box=keeper.id("B01"), n=4)
    keeper.wait(60)
    two = accept_measure.accept_lengths(keeper.services, keeper.id("B01"), [5.0])
    events = [reading.event(keeper.services.store, done.event_id) for done in (one, two)]
    assert [event.fields.get("instar") for event in events if event] == [2, None]
    assert [bool(event.fields.get("cohort")) for event in events if event] == [True, False]
    assert [event.fields.get("stage") for event in events if event] == ["larva", "larva"]


def test_history_says_it_without_numbers_of_the_camera(at_box: Keeper, view: MeasureView) -> None:
    accept_measure.accept(at_box.services, view)
    row = next(r for r in show_box.box_view(at_box.services, at_box.id("B01")).history if r.kind == "measured")
    assert f"{len(view.bodies)} bodies" in row.detail
    assert view.sha256[:8] not in row.detail
    assert "mm/px" not in row.detail


def test_the_season_holds_one_row_a_body(at_box: Keeper, view: MeasureView, tmp_path: Path) -> None:
    done = accept_measure.accept(at_box.services, view)
    taken_back = accept_measure.accept_lengths(at_box.services, at_box.id("B01"), [12.0])
    undo_flow.undo_flow(at_box.services, taken_back.flow.events)
    bodies = exported(at_box, tmp_path / "season")["bodies"]
    assert set(bodies["event"]) == {done.event_id}
    assert numbers(bodies, "body").tolist() == list(range(1, len(view.bodies) + 1))
    assert sorted(bodies["length_mm"].astype(float)) == pytest.approx(seen(view), abs=1e-3)
    assert set(bodies["code"]) == {"B01"}
    assert set(bodies["photo"]) == {view.sha256}
    assert set(bodies["stage"]) == {"larva"}
    assert (bodies["cohort"] != "").all()


def test_the_exported_package_is_valid(at_box: Keeper, view: MeasureView, tmp_path: Path) -> None:
    """As the reference implementation of the standard reads it (Frictionless Data Package v2)."""
    frictionless = pytest.importorskip("frictionless")
    accept_measure.accept(at_box.services, view, also_count=True)
    accept_measure.accept_lengths(at_box.services, at_box.id("B01"), [9.5])
    assert isinstance(exported(at_box, tmp_path / "season")["bodies"], pd.DataFrame)
    with frictionless.system.use_context(trusted=True):
        resource = frictionless.Package(str(tmp_path / "season" / "datapackage.json")).get_resource("bodies")
        report = resource.validate()
    assert report.valid, report.flatten(["rowNumber", "fieldName", "note"])
    assert report.tasks[0].stats["rows"] == len(view.bodies) + 1


def test_state_follows_from_the_log_alone(at_box: Keeper, view: MeasureView) -> None:
    accept_measure.accept(at_box.services, view, also_count=True, complete=True)
    before, after, _ = rebuild_state.rebuild_state(at_box.services)
    assert before == after


def test_a_measuring_can_be_corrected_to_another_stage(at_box: Keeper, view: MeasureView) -> None:
    done = accept_measure.accept(at_box.services, view)
    event = reading.event(at_box.services.store, done.event_id)
    assert event is not None
    correct_event.correct_event(at_box.services, event.id, {**event.fields, "stage": "pupa", "instar": None})
    standing = reading.struck(at_box.services.store, event.id)
    assert standing is not None
    assert standing.why == "replaced"


def test_the_photo_on_the_disk_is_the_one_that_was_measured(at_box: Keeper, view: MeasureView) -> None:
    accept_measure.accept(at_box.services, view)
    path = photos.path_of(at_box.services.device.data_dir, view.sha256)
    assert isinstance(view.work, measure_photo.Work)
    assert path.read_bytes() == view.work.data
