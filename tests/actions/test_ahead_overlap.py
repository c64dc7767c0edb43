"""Whether males and females of two cohorts will meet, and what cooling or warming would do."""

from __future__ import annotations

from datetime import date, timedelta

from boxside.actions import areas
from boxside.actions.overlap import overlap_view, pair_text
from boxside.actions.settings import change_setting
from tests.actions.keeping import Keeper

DAY = date(2026, 5, 3)


def pupae(keeper: Keeper, label: str, sex: str, n: int = 10, area: str = "") -> None:
    keeper.add(label, "pupa", n, sex=sex, area_id=area)


def test_pupae_of_one_day_meet_and_those_weeks_apart_do_not(keeper: Keeper) -> None:
    pupae(keeper, "B01", "male")
    pupae(keeper, "B02", "female")
    (together,) = overlap_view(keeper.services).pairs
    assert together.as_is.met_frac[1] > 0.9
    assert together.treated == ()
    assert "No temperature sum is known" in together.note
    keeper.stand(DAY + timedelta(days=6))
    keeper.log("B02", "emerged", n=10, to_sex="female")
    keeper.stand(DAY + timedelta(days=45))
    pupae(keeper, "B03", "female")
    (apart,) = overlap_view(keeper.services).pairs
    assert apart.as_is.lag_days[1] > 5
    assert "females come" in pair_text(apart)


def test_with_a_temperature_sum_cooling_the_males_brings_the_sexes_together(keeper: Keeper) -> None:
    change_setting(keeper.services, "species", "luciola_lateralis")
    area = areas.make_area(keeper.services, "Shelf", usual_c=22.0)
    pupae(keeper, "B01", "male", area=area)
    keeper.stand(DAY + timedelta(days=12))
    pupae(keeper, "B02", "female", area=area)
    (pair,) = overlap_view(keeper.services).pairs
    assert pair.note == ""
    by_label = {row.label: row for row in pair.treated}
    assert pair.as_is.lag_days[1] > 0
    assert by_label["males 3 °C cooler"].lag_days[1] < pair.as_is.lag_days[1]
    assert by_label["females 3 °C warmer"].lag_days[1] < pair.as_is.lag_days[1]
    assert by_label["both of these"].lag_days[1] < by_label["males 3 °C cooler"].lag_days[1]


def test_the_same_question_has_the_same_answer(keeper: Keeper) -> None:
    pupae(keeper, "B01", "male")
    pupae(keeper, "B02", "female")
    assert overlap_view(keeper.services) == overlap_view(keeper.services)


def test_one_sex_alone_is_named_and_unsexed_pupae_are_counted(keeper: Keeper) -> None:
    pupae(keeper, "B01", "male")
    keeper.add("B02", "pupa", 7)
    view = overlap_view(keeper.services)
    assert view.pairs == ()
    assert view.unpaired == ("2026 A",)
    assert any("7 pupae are not sexed" in note for note in view.notes)
