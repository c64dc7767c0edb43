"""Growth of a box and of a cohort: what is drawn, said and advised, from lengths that the test itself entered."""

from __future__ import annotations

import re
import statistics
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from boxside.actions import accept_measure, settings, void_event
from boxside.actions.growth_view import growth_view
from boxside.core.charts import CHART_PALETTES
from boxside.core.values.chart import Chart, Dots, Role, Steps
from boxside.core.values.errors import EntryError
from boxside.core.values.photo_view import GrowthView
from boxside.device.chart_png import draw_png
from boxside.device.folders import bundled
from boxside.store import reading
from tests.actions.keeping import Keeper

SMALL = [4.0, 4.2, 4.4, 4.5, 4.6, 4.8, 5.0, 5.2]
LARGE = [8.0, 8.3, 8.6, 9.0, 9.1, 9.5, 9.8, 10.2]


def hatch(keeper: Keeper, code: str, day: str, n: int = 40) -> str:
    """Have a clutch hatch in a box on a day; return its cohort."""
    keeper.stand(day)
    keeper.add(code, "egg", n)
    keeper.wait(60)
    keeper.log(code, "hatched", n=n)
    box = keeper.id(code)
    return reading.lines(keeper.services.store, [box])[box][0][0].cohort


def enter(keeper: Keeper, code: str, day: str, lengths: list[float]) -> str:
    keeper.stand(day)
    return accept_measure.accept_lengths(keeper.services, keeper.id(code), lengths).event_id


def of_box(keeper: Keeper, code: str) -> GrowthView:
    return growth_view(keeper.services, keeper.id(code))


def dots(chart: Chart) -> dict[str, Dots]:
    return {series.name: series for series in chart.series if isinstance(series, Dots)}


def said(view: GrowthView, what: str) -> str:
    return next(text for label, text in view.numbers if label.startswith(what))


@pytest.fixture
def grown(keeper: Keeper) -> Keeper:
    """A box of larvae that hatched on 1 August, measured after 40 and 140 days."""
    hatch(keeper, "B01", "2025-08-01")
    enter(keeper, "B01", "2025-09-10", SMALL)
    enter(keeper, "B01", "2025-12-19", LARGE)
    return keeper


def test_every_body_is_a_dot_at_its_age_with_quartiles(grown: Keeper) -> None:
    view = of_box(grown, "B01")
    own = dots(view.chart)["B01"]
    assert sorted(zip(own.x, own.y, strict=True)) == sorted([(40.0, v) for v in SMALL] + [(140.0, v) for v in LARGE])
    assert own.role is Role.MAIN
    for box, lengths in zip(own.boxes, (SMALL, LARGE), strict=True):
        # numpy's default is definition 7 of Hyndman R.J., Fan Y. 1996, Sample quantiles in statistical packages.
        assert [box.lower, box.median, box.upper] == pytest.approx(np.quantile(lengths, [0.25, 0.5, 0.75]))
    assert (view.chart.x.label, view.chart.x.unit) == ("age", "d")


def test_growth_per_day_is_the_difference_of_means(grown: Keeper) -> None:
    text = said(of_box(grown, "B01"), "Growth per day since 2025-09-10")
    mm = (statistics.mean(LARGE) - statistics.mean(SMALL)) / 100
    per_cent = 100 * np.log(np.array(LARGE)).mean() - 100 * np.log(np.array(SMALL)).mean()
    assert text.startswith(f"{mm:.3f} (")
    assert f"{per_cent / 100:.2f} (" in text


def test_boxes_of_a_cohort_are_each_compared_with_themselves(grown: Keeper) -> None:
    """A box of large ones measured after a box of small ones is no growth: both grew by 1 mm in 50 days."""
    cohort = reading.lines(grown.services.store, [grown.id("B01")])[grown.id("B01")][0][0].cohort
    grown.add("B02", "")
    grown.stand("2025-12-20")
    grown.log("B01", "transfer", to_box=grown.id("B02"), n=10)
    for code, day, lengths in (
        ("B01", "2026-01-01", [5.0, 5.2, 4.8]), ("B02", "2026-01-03", [10.0, 10.2, 9.8]),
        ("B01", "2026-02-20", [6.0, 6.2, 5.8]), ("B02", "2026-02-22", [11.0, 11.2, 10.8]),
    ):  # fmt: skip
        enter(grown, code, day, lengths)
    text = said(growth_view(grown.services, cohort=cohort), "Growth per day since 2026-01-01")
    assert text.startswith("0.020 (")


def test_the_median_is_held_against_the_profile(grown: Keeper) -> None:
    """Lampyris noctiluca, hatchling 2.5 mm, grown 20-23 mm after 365-1095 days: at 140 days 3.3 to 5.9 mm."""
    low, high = 2.5 * (20 / 2.5) ** (140 / 1095), 2.5 * (23 / 2.5) ** (140 / 365)
    assert said(of_box(grown, "B01"), "Expected") == (
        f"{low:.1f} to {high:.1f} mm at 140 days by the profile; the median is ahead of it"
    )
    band = next(s for s in of_box(grown, "B01").chart.series if isinstance(s, Steps))
    assert (band.low[0], band.high[0]) == pytest.approx((2.5, 2.5))


def test_the_guess_of_instars_adds_up(grown: Keeper) -> None:
    view = of_box(grown, "B01")
    assert sum(guess.n for guess in view.instars) == len(LARGE)
    assert sum(guess.share for guess in view.instars) == pytest.approx(1.0, abs=0.02)
    assert max(view.instars, key=lambda guess: guess.share).instar == 4
    assert "too few" in view.instar_note


def test_two_clear_groups_of_sizes_are_told_apart(keeper: Keeper) -> None:
    hatch(keeper, "B01", "2025-08-01")
    rng = np.random.default_rng(5)
    both = [*(6.0 * np.exp(rng.normal(0, 0.03, 30))), *(8.4 * np.exp(rng.normal(0, 0.03, 30)))]
    enter(keeper, "B01", "2025-12-19", [float(round(v, 2)) for v in both])
    assert re.search(r"2 groups, about (5\.9|6\.[01]), 8\.[345] mm, 1\.[34]\d times", of_box(keeper, "B01").instar_note)


def test_growth_per_moult_needs_instars_that_were_known(keeper: Keeper) -> None:
    keeper.stand("2025-08-01")
    keeper.add("B01", n=9, instar=2)
    enter(keeper, "B01", "2025-09-01", [4.0, 4.0, 4.0])
    keeper.log("B01", "moulted", n=9, to_instar=3)
    enter(keeper, "B01", "2025-10-01", [6.0, 6.0, 6.0])
    assert said(of_box(keeper, "B01"), "Growth at the moult from instar 2 to 3").startswith("1.50")


def test_sizes_too_far_apart_are_to_be_graded(keeper: Keeper) -> None:
    hatch(keeper, "B01", "2025-08-01")
    enter(keeper, "B01", "2025-12-01", [5.0, 5.2, 9.0, 9.5, 10.0, 10.5, 11.0])
    advice = {a.key: a for a in of_box(keeper, "B01").advice}
    assert set(advice) == {"grade", "runts"}
    assert "Grade by size" in advice["grade"].why
    assert advice["runts"].what == "2 stay far behind"
    assert "5.0, 5.2 mm" in advice["runts"].why


def test_even_sizes_bring_no_advice(grown: Keeper) -> None:
    assert of_box(grown, "B01").advice == ()


def test_larvae_near_mature_size_announce_pupation(keeper: Keeper) -> None:
    """90 % of the 20 mm that the profile names."""
    hatch(keeper, "B01", "2024-08-01")
    enter(keeper, "B01", "2025-12-01", [17.9, 17.5, 17.0])
    assert of_box(keeper, "B01").advice == ()
    enter(keeper, "B01", "2026-03-01", [18.1, 17.5, 19.0])
    (advice,) = of_box(keeper, "B01").advice
    assert (advice.key, advice.what) == ("pupation", "Expect pupation")
    assert advice.why.startswith("2 of 3 ")
    assert "Apr to Aug" in advice.why


def test_the_keepers_own_profile_decides(keeper: Keeper) -> None:
    hatch(keeper, "B01", "2024-08-01")
    enter(keeper, "B01", "2026-03-01", [13.0, 13.5, 14.0])
    assert of_box(keeper, "B01").advice == ()
    settings.change_setting(keeper.services, "profile:mature_length_mm.low", 15.0)
    assert [a.key for a in of_box(keeper, "B01").advice] == ["pupation"]


def test_an_earlier_cohort_is_compared_at_the_same_age(keeper: Keeper) -> None:
    old = hatch(keeper, "B01", "2024-08-01")
    enter(keeper, "B01", "2024-12-21", [6.0, 6.2, 6.4, 6.1])
    young = hatch(keeper, "B02", "2025-08-01")
    enter(keeper, "B02", "2025-12-19", [9.0, 9.2, 9.4, 9.1])
    view = growth_view(keeper.services, cohort=young)
    (row,) = view.earlier
    assert (row.cohort, row.pace) == (old, "ahead")
    ratio = np.exp(np.log([9.0, 9.2, 9.4, 9.1]).mean() - np.log([6.0, 6.2, 6.4, 6.1]).mean())
    assert row.ratio == pytest.approx(float(ratio))
    assert row.interval is not None
    assert row.interval[0] < row.ratio < row.interval[1]
    assert [series.role for series in dots(view.chart).values()] == [Role.MAIN, Role.PAST]
    assert growth_view(keeper.services, cohort=old).earlier == (), "the older one has none before it"


def test_an_earlier_cohort_that_was_not_measured_at_that_age_says_so(keeper: Keeper) -> None:
    hatch(keeper, "B01", "2024-08-01")
    enter(keeper, "B01", "2024-09-01", [4.0, 4.1])
    hatch(keeper, "B02", "2025-08-01")
    enter(keeper, "B02", "2025-12-19", [9.0, 9.2])
    (row,) = of_box(keeper, "B02").earlier
    assert (row.pace, row.interval) == ("", None)
    assert "not measured near that age" in row.sentence


def test_sizes_follow_the_animals_into_a_fresh_box(grown: Keeper) -> None:
    grown.add("B02", "")
    grown.stand("2025-12-20")
    grown.log("B01", "transfer", to_box=grown.id("B02"))
    enter(grown, "B02", "2026-02-01", [11.0, 11.5])
    grown.stand("2026-02-02")
    enter(grown, "B01", "2026-02-03", [3.0])  # what was put in there afterwards is no animal of B02
    own = dots(of_box(grown, "B02").chart)["B02"]
    assert sorted(own.y) == sorted([*SMALL, *LARGE, 11.0, 11.5])


def test_what_was_taken_back_is_not_drawn(grown: Keeper) -> None:
    event = enter(grown, "B01", "2026-01-10", [30.0])
    assert 30.0 in dots(of_box(grown, "B01").chart)["B01"].y
    void_event.void_event(grown.services, event)
    assert 30.0 not in dots(of_box(grown, "B01").chart)["B01"].y


def test_without_a_day_of_hatching_days_count_from_the_first_measuring(keeper: Keeper) -> None:
    keeper.stand("2025-08-01")
    keeper.add("B01", n=9)
    enter(keeper, "B01", "2025-09-01", [9.0, 9.5])
    enter(keeper, "B01", "2025-10-01", [11.0, 11.5])
    view = of_box(keeper, "B01")
    assert set(dots(view.chart)["B01"].x) == {0.0, 30.0}
    assert view.chart.x.label == "days since 2025-09-01"
    assert not any(isinstance(series, Steps) for series in view.chart.series)
    assert any("hatching is not known" in note for note in view.notes)
    assert not [label for label, _ in view.numbers if label == "Expected"]


def test_a_box_that_was_never_measured_says_what_is_missing(keeper: Keeper) -> None:
    keeper.add("B01", n=9)
    view = of_box(keeper, "B01")
    assert (view.numbers, view.advice, view.chart.series) == ((), (), ())
    assert "measure a photo" in view.chart.nothing


def test_pupae_and_doubtful_bodies_are_no_growing_larvae(keeper: Keeper) -> None:
    from boxside.actions.log_event import log_event
    from boxside.core.values.event import Draft

    hatch(keeper, "B01", "2025-08-01")
    rows = [{"length_mm": 9.0, "status": "measured"}, {"length_mm": 30.0, "status": "doubtful"},
            {"status": "refused", "n_low": 2, "n_best": 3, "n_high": 4}]  # fmt: skip
    keeper.stand("2025-12-01")
    log_event(keeper.services, Draft("measured", "box", keeper.id("B01"), {"bodies": rows}))
    log_event(keeper.services, Draft("measured", "box", keeper.id("B01"), {"bodies": rows[:1], "stage": "pupa"}))
    assert dots(of_box(keeper, "B01").chart)["B01"].y == (9.0,)


def test_a_box_or_a_cohort_is_named(keeper: Keeper) -> None:
    keeper.add("B01", n=9)
    for names in ({}, {"box_id": keeper.id("B01"), "cohort": "x"}, {"box_id": "none"}, {"cohort": "none"}):
        with pytest.raises(EntryError):
            growth_view(keeper.services, **names)


def test_the_chart_can_be_drawn(grown: Keeper, tmp_path: Path) -> None:
    grown.add("B02", n=9)
    fonts = bundled("assets") / "fonts"
    palette = next(iter(CHART_PALETTES.values()))
    for code in ("B01", "B02"):
        png = draw_png(of_box(grown, code).chart, 480, 320, palette, fonts)
        assert png.startswith(b"\x89PNG")
    assert date(2025, 12, 19).isoformat() in said(of_box(grown, "B01"), "Measured")
