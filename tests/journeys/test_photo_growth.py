"""A year of one clutch on photos: measured, counted, graded when it must be, and held against the year before."""

from __future__ import annotations

from pathlib import Path

import pytest

from boxside.actions import accept_measure, export_season, measure_photo, transfer, undo_flow
from boxside.actions.growth_view import growth_view
from boxside.core.values.photo_view import MeasureView
from boxside.core.values.season import TransferDraft, TransferPart
from boxside.store import reading
from tests.actions.keeping import Keeper
from tests.actions.photo_scenes import seen, write_scene
from tests.actions.season import exported


def photographed(keeper: Keeper, code: str, day: str, path: Path) -> MeasureView:
    keeper.stand(day)
    return measure_photo.measure(keeper.services, str(path), keeper.id(code))


def test_a_clutch_is_followed_from_photo_to_photo(keeper: Keeper, tmp_path: Path) -> None:
    services = keeper.services
    keeper.stand("2025-08-01")
    keeper.add("B01", "egg", 12)
    keeper.wait(60)
    keeper.log("B01", "hatched", n=12)
    cohort = reading.lines(services.store, [keeper.id("B01")])[keeper.id("B01")][0][0].cohort

    accept_measure.accept_lengths(services, keeper.id("B01"), [2.6, 2.5, 2.7, 2.6])
    first = photographed(keeper, "B01", "2025-11-01", write_scene(tmp_path / "a.jpg"))
    done = accept_measure.accept(services, first, also_count=True)
    assert done.count is not None
    assert done.count.verdict == "lower_bound"
    assert keeper.n("B01") == 12

    # The second photo shows nearly all, and one crumb that is none of them.
    second = photographed(keeper, "B01", "2025-12-20", write_scene(tmp_path / "b.jpg", 17))
    second = measure_photo.drop_body(services, second, second.bodies[-1].id)
    wrong = accept_measure.accept(services, second, also_count=True, complete=True)
    assert keeper.n("B01") == second.count.best
    undo_flow.undo_flow(services, wrong.flow.events)
    assert keeper.n("B01") == 12
    done = accept_measure.accept(services, second, also_count=True)
    view = growth_view(services, keeper.id("B01"))
    assert next(advice.key for advice in view.advice) == "grade", "sizes from the true scene differ by far"

    keeper.add("B02", "")
    keeper.stand("2025-12-21")
    parts = (TransferPart(n=5, to_box=keeper.id("B02"), size="large"),)
    transfer.transfer(services, TransferDraft(keeper.id("B01"), parts, empties=False))
    third = photographed(keeper, "B02", "2026-02-01", write_scene(tmp_path / "c.jpg", 16))
    accept_measure.accept(services, third, also_count=True, complete=True)

    of_box, of_cohort = growth_view(services, keeper.id("B02")), growth_view(services, cohort=cohort)
    last_day = (keeper.at("2026-02-01") - keeper.at("2025-08-01")) // 86_400_000
    for whole in (of_box, of_cohort):
        dots = whole.chart.series[-1]
        assert sorted(set(dots.x)) == [0.0, 92.0, 141.0, float(last_day)]
        here = [y for x, y in zip(dots.x, dots.y, strict=True) if x == last_day]  # type: ignore[union-attr]
        measured = [row.body.length_mm for row in third.bodies if row.body.status == "measured"]
        assert sorted(here) == pytest.approx(sorted(length for length in measured if length), abs=1e-3)
    assert growth_view(services, keeper.id("B01")).numbers[0] == ("Measured", _n_on(second, "2025-12-20"))

    bodies = exported(keeper, tmp_path / "season")["bodies"]
    assert len(bodies) == 4 + len(first.bodies) + len(second.bodies) + len(third.bodies)
    assert set(bodies["cohort"]) == {cohort}
    again = export_season.export_season(services, tmp_path / "season")
    assert dict(again.rows)["bodies"] == len(bodies)
    assert len(seen(third)) >= 1


def _n_on(view: MeasureView, day: str) -> str:
    n = sum(1 for row in view.bodies if row.body.status == "measured")
    return f"{n} on {day}"
