"""The season's worked-out tables and pictures: recomputed from the CSV alone, with pandas and other libraries."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from pathlib import Path

import frictionless
import numpy as np
import pandas as pd
import pytest
from lifelines import KaplanMeierFitter
from PIL import Image
from scipy.optimize import brentq

from boxside.actions import export_season
from boxside.actions.change_stage import change_stage
from boxside.actions.count_box import confirm_empty, count_box
from boxside.actions.lay_clutch import lay_clutch
from boxside.actions.show_season import season_view
from boxside.actions.transfer import transfer
from boxside.core.values.errors import EntryError
from boxside.core.values.season import ClutchDraft, CountDraft, StageDraft, TransferDraft, TransferPart
from boxside.core.values.stages import Stage
from boxside.core.values.views import Saved
from boxside.store import reading
from tests.actions.keeping import Keeper
from tests.actions.season import exported, tables_in

IN = ["came_in", "stage_in", "box_in", "cohort_in"]
OUT = ["stage_out", "box_out", "cohort_out", "dead", "unaccounted", "went_out"]


@pytest.fixture(scope="module")
def season(demo_season: Path) -> dict[str, pd.DataFrame]:
    """The whole of the invented colony as it is exported."""
    return tables_in(demo_season)


def as_numbers(table: pd.DataFrame, *columns: str) -> pd.DataFrame:
    return table.assign(**{column: pd.to_numeric(table[column]) for column in columns})


def life_of(keeper: Keeper) -> str:
    """Live through a small colony from eggs to eggs, 2025-06-01 to 2026-07-01; return its cohort."""
    keeper.stand("2025-06-01")
    keeper.add("B01", stage="adult", n=1, sex="female")
    keeper.wait(1)
    box = keeper.id("B01")
    clutch = lay_clutch(keeper.services, ClutchDraft(box, 40, quality="counted")).made[0][0]
    keeper.log("B01", "died", n=1, stage="adult", cause="age")
    for day, n in (("2025-06-30", 10), ("2025-07-01", 25)):
        keeper.stand(day)
        change_stage(keeper.services, StageDraft(box, "larva", n))
    keeper.stand("2025-07-10")
    keeper.log("B01", "unhatched")
    for day, n in (("2025-08-01", 33), ("2025-10-01", 30), ("2026-04-01", 24)):
        keeper.stand(day)
        count_box(keeper.services, CountDraft(box, n))
    keeper.log("B01", "fed", prey="snail", amount=4)
    keeper.stand("2026-04-20")
    transfer(keeper.services, TransferDraft(box, (TransferPart(n=23, to_label="B02"),)))
    keeper.stand("2026-04-22")
    confirm_empty(keeper.services, box)
    fresh = keeper.id("B02")
    for day, to, n, sex in (
        ("2026-05-20", "pupa", 12, "female"), ("2026-05-21", "pupa", 10, "male"),
        ("2026-06-02", "adult", 10, "male"), ("2026-06-05", "adult", 11, "female"),
    ):  # fmt: skip
        keeper.stand(day)
        change_stage(keeper.services, StageDraft(fresh, to, n, sex=sex))
    keeper.log("B02", "deformed", n=1)
    keeper.stand("2026-06-08")
    count_box(keeper.services, CountDraft(fresh, 23))
    keeper.wait(1)
    lay_clutch(keeper.services, ClutchDraft(fresh, 600, sires=(), name="F2"))
    keeper.stand("2026-06-20")
    keeper.log("B02", "died", n=15, stage="adult", cause="age")
    keeper.stand("2026-07-01")
    return clutch


def test_every_headcount_adds_up_and_follows_on_the_one_before(season: dict[str, pd.DataFrame]) -> None:
    table = as_numbers(season["headcounts"], "before", "after", *IN, *OUT)
    assert len(table) > 200
    assert (table["before"] + table[IN].sum(axis=1) - table[OUT].sum(axis=1) == table["after"]).all()
    for _, rows in table.groupby(["box", "cohort", "stage"]):
        assert list(rows["before"]) == [0, *rows["after"].iloc[:-1]]
    last = table.groupby(["box", "cohort", "stage"]).last().groupby("box")["after"].sum()
    boxes = as_numbers(season["boxes"], "animals").set_index("box")["animals"]
    assert last.to_dict() == {box: n for box, n in boxes.to_dict().items() if box in last.index}
    for into, out_of in (("stage_in", "stage_out"), ("box_in", "box_out"), ("cohort_in", "cohort_out")):
        assert table[into].sum() == table[out_of].sum()


def test_headcounts_say_the_same_of_deaths_as_the_entries_do(season: dict[str, pd.DataFrame]) -> None:
    moves = as_numbers(season["movements"], "change")
    table = as_numbers(season["headcounts"], *IN, *OUT)
    for column in ("dead", "unaccounted"):
        assert table[column].sum() == moves[moves["account"] == column]["change"].sum() > 0


def survivors(stages: pd.DataFrame, missing: str) -> pd.DataFrame:
    """Return one row for each animal's last stage: age when it left, and whether it died."""
    rows = as_numbers(stages[stages["is_last"] == "true"], "animals")
    died = rows["end"].isin(["died", "unaccounted"] if missing == "dead" else ["died"])
    until = pd.to_datetime(rows["left_by"].where(died, rows["left_after"]))
    age = (until - pd.to_datetime(rows["came_on"])).dt.days.clip(lower=0.5)
    return pd.DataFrame({"age": age, "died": died, "n": rows["animals"]})


@pytest.mark.parametrize("missing", ["dead", "censored"])
def test_survival_at_each_date_is_that_of_the_stages_table(season: dict[str, pd.DataFrame], missing: str) -> None:
    """The product limit by hand in pandas, and by lifelines (Davidson-Pilon 2019), from stages.csv alone."""
    table = as_numbers(season["survival"], "day", "survival", "std_error", "low", "high", "died")
    n_checked = 0
    for cohort, rows in table[(table["method"] == "product_limit") & (table["missing"] == missing)].groupby("cohort"):
        lives = survivors(season["stages"][season["stages"]["cohort"] == cohort], missing)
        alive = 1.0
        for day in rows["day"]:
            at_risk = lives.loc[lives["age"] >= day, "n"].sum()
            alive *= 1 - lives.loc[lives["died"] & (lives["age"] == day), "n"].sum() / at_risk
            assert rows.loc[rows["day"] == day, "survival"].iloc[0] == pytest.approx(alive, abs=1e-12)
        fit = KaplanMeierFitter().fit(lives["age"], lives["died"], weights=lives["n"])
        theirs = fit.confidence_interval_survival_function_.loc[list(rows["day"])].to_numpy()
        kept = rows["low"].notna().to_numpy()
        assert theirs[kept] == pytest.approx(rows[["low", "high"]].to_numpy()[kept], abs=1e-6)
        n_checked += len(rows)
    assert n_checked > 100


def test_intervals_hold_the_product_limit_ends_that_the_log_leaves_open(season: dict[str, pd.DataFrame]) -> None:
    table = as_numbers(season["survival"], "day", "after_day", "died", "low", "high")
    rows = table[table["method"] == "interval"]
    assert (rows["after_day"] <= rows["day"]).all()
    assert (rows["low"] <= rows["high"] + 1e-12).all()
    shares = rows.groupby(["cohort", "missing"])["died"].sum()
    assert ((shares > 0) & (shares <= 1 + 1e-9)).all()


def test_the_life_table_gives_its_growth_rate_back(season: dict[str, pd.DataFrame]) -> None:
    """R0 = sum lx mx, T = sum x lx mx / R0, and r solves sum exp(-rx) lx mx = 1 (Euler, Lotka; Birch 1948)."""
    columns = ("age", "alive", "dying", "births", "eggs", "net_rate", "generation", "rate", "at_risk", "risk")
    table = as_numbers(season["lifetable"], *columns)
    mothers = [cohort for cohort, rows in table.groupby("cohort") if rows["eggs"].sum() > 0]
    assert mothers
    for cohort, rows in table.groupby("cohort"):
        assert rows["alive"].is_monotonic_decreasing
        assert np.allclose(rows["dying"], rows["alive"] - rows["alive"].shift(-1, fill_value=0.0))
        net = (rows["alive"] * rows["births"]).to_numpy()
        age = rows["age"].to_numpy()
        assert rows["net_rate"].iloc[0] == pytest.approx(net.sum())
        if cohort in mothers:
            assert rows["generation"].iloc[0] == pytest.approx((age * net).sum() / net.sum())
            r = brentq(lambda rate, age=age, net=net: (np.exp(-rate * age) * net).sum() - 1, -0.05, 0.05, xtol=1e-14)
            assert rows["rate"].iloc[0] == pytest.approx(r, abs=1e-9)


def test_transfers_are_the_movements_between_boxes(season: dict[str, pd.DataFrame]) -> None:
    table = as_numbers(season["transfers"], "animals")
    assert len(table) >= 10
    moves = as_numbers(season["movements"], "change")
    moves = moves[(moves["account"] == "present") & moves["event"].isin(table["event"])]
    for event, rows in table.groupby("event"):
        own = moves[moves["event"] == event]
        for side, sign in (("from_box", -1), ("to_box", 1)):
            for box, n in rows.groupby(side)["animals"].sum().items():
                assert sign * own[(own["box"] == box) & (own["change"] * sign > 0)]["change"].sum() == n


def test_a_small_colony_s_figures_are_those_one_works_out_by_hand(keeper: Keeper, tmp_path: Path) -> None:
    clutch = life_of(keeper)
    tables = exported(keeper, tmp_path / "S")
    stages = as_numbers(tables["stages"], "animals")
    own = stages[stages["cohort"] == clutch]
    by_end = own.groupby(["stage", "end"])["animals"].sum().to_dict()
    assert by_end == {
        ("egg", "moved_on"): 35, ("egg", "died"): 5, ("larva", "unaccounted"): 12, ("larva", "moved_on"): 22,
        ("larva", "present"): 1, ("pupa", "moved_on"): 21, ("pupa", "present"): 1, ("adult", "died"): 15,
        ("adult", "present"): 6,
    }  # fmt: skip
    pupae = own[(own["stage"] == "pupa") & (own["end"] == "moved_on")]
    found = pupae.groupby(["sex", "entered_by", "left_by"])["animals"].sum()
    assert found[("male", "2026-05-21", "2026-06-02")] == 10
    assert found[("female", "2026-05-20", "2026-06-05")] == 11
    (moved,) = tables["transfers"].itertuples()
    assert (moved.from_code, moved.to_code, moved.animals) == ("B01", "B02", "23")
    assert (moved.empties, moved.old_box_checked_on) == ("true", "2026-04-22")
    life = as_numbers(tables["lifetable"], "age", "eggs", "net_rate", "rate")
    mine = life[life["cohort"] == clutch]
    assert set(mine["from_egg"]) == {"true"}
    assert mine["eggs"].sum() == 600
    # All 23 that were left were counted on the day of laying, so that R0 is simply eggs over eggs.
    assert mine["net_rate"].iloc[0] == pytest.approx(600 / 40)
    laid_at = (pd.Timestamp("2026-06-08") - pd.Timestamp("2025-06-01")).days
    assert mine["rate"].iloc[0] == pytest.approx(np.log(600 / 40) / laid_at)
    report = frictionless.Package(str(tmp_path / "S" / "datapackage.json")).validate()
    assert report.valid, report.flatten(["rowNumber", "fieldName", "type", "note"])


def test_the_dictionary_explains_every_column_of_the_figures(season: dict[str, pd.DataFrame]) -> None:
    words = season["data_dictionary"]
    for name in ("headcounts", "transfers", "stages", "survival", "lifetable"):
        assert set(words[words["table"] == name]["column"]) == set(season[name].columns)
        assert len(season[name]) > 0


def test_pictures_are_whole_and_the_same_for_the_same_log(keeper: Keeper, tmp_path: Path) -> None:
    life_of(keeper)
    first = export_season.export_season(keeper.services, tmp_path / "A")
    export_season.export_season(keeper.services, tmp_path / "B")
    assert {plot.key for plot in first.plots} >= {"timeline", "survival", "stages", "lengths", "hatch", "losses"}
    package = json.loads(first.path.read_text(encoding="utf-8"))
    for plot, told in zip(first.plots, package["boxside"]["plots"], strict=True):
        data = (tmp_path / "A" / plot.path).read_bytes()
        assert data == (tmp_path / "B" / plot.path).read_bytes()
        assert (len(data), told["path"]) == (plot.n_bytes, plot.path)
        with Image.open(io.BytesIO(data)) as image:
            image.load()
            assert image.size == (1200, 800)
            assert len(image.getcolors(1200 * 800) or ()) > 3, "a picture with something on it"


def test_a_picture_that_a_later_export_does_not_draw_goes(keeper: Keeper, tmp_path: Path) -> None:
    life_of(keeper)
    export_season.export_season(keeper.services, tmp_path / "A")
    assert (tmp_path / "A" / "plots" / "hatch.png").exists()
    keeper.stand("2027-01-01")
    from datetime import date

    later = export_season.export_season(keeper.services, tmp_path / "A", date(2026, 12, 1), date(2026, 12, 31))
    assert "hatch" not in {plot.key for plot in later.plots}
    assert not (tmp_path / "A" / "plots" / "hatch.png").exists()
    assert (tmp_path / "A" / "plots" / "timeline.png").exists()


def test_the_season_answers_its_questions_in_words(keeper: Keeper) -> None:
    clutch = life_of(keeper)
    view = season_view(keeper.services, cohort=clutch)
    sections = {section.key: section for section in view.sections}
    assert dict(sections["sexes"].numbers)["Females among those sexed"].startswith("55 %")
    assert dict(sections["lifetable"].numbers)["R0, eggs for each animal"] == "15.00"
    assert any("missing counted as alive" in name for name, _ in sections["survival"].numbers)
    whole = season_view(keeper.services, from_day=view.from_day.replace(year=2025))
    by_key = {section.key: section for section in whole.sections}
    assert dict(by_key["hatch"].numbers)["All clutches"] == "88 % (74–95 %; n 40)"
    assert dict(by_key["sexes"].numbers)["Deformed adults"].startswith("4.8 %")
    assert ("Snail", "4 items") in by_key["feedings"].numbers
    for section in whole.sections:
        assert section.rows
        assert all(len(row) == len(section.columns) for row in section.rows), section.key


def test_an_empty_season_has_nothing_to_show_and_says_so(keeper: Keeper, tmp_path: Path) -> None:
    assert season_view(keeper.services).sections == ()
    assert export_season.export_season(keeper.services, tmp_path / "A").plots == ()
    with pytest.raises(EntryError, match="no season 'Summer'"):
        season_view(keeper.services, season="Summer")
    with pytest.raises(EntryError, match="no such cohort"):
        season_view(keeper.services, cohort="nobody")


def test_a_named_season_is_its_days(keeper: Keeper) -> None:
    from boxside.actions.log_event import log_event
    from boxside.core.values.event import Draft

    fields = {"name": "First year", "begins_on": "2025-06-01", "ends_on": "2025-09-30"}
    life_of(keeper)
    log_event(keeper.services, Draft("season_named", "colony", "colony", dict(fields)))
    view = season_view(keeper.services, season="First year")
    assert [day.isoformat() for day in (view.from_day, view.to_day)] == ["2025-06-01", "2025-09-30"]
    stages = next(section for section in view.sections if section.key == "stages")
    assert {row[0] for row in stages.rows} == {Stage.EGG, Stage.LARVA, Stage.ADULT}


def test_unaccounted_animals_are_shown_both_ways(make_keeper: Callable[..., Keeper]) -> None:
    keeper = make_keeper("both")
    added: Saved = keeper.add("B01", n=40)
    assert added.event_id
    keeper.wait(1)
    keeper.log("B01", "count", n=40)
    keeper.stand("2026-06-01")
    keeper.log("B01", "died", n=12)
    keeper.log("B01", "count", n=20)
    (cohort,) = reading.entities(keeper.services.store, "cohort")
    view = season_view(keeper.services, cohort=cohort.id)
    survival = next(section for section in view.sections if section.key == "survival")
    words = dict(survival.numbers)
    assert words["missing counted as dead"].startswith("50 % alive after 29 days")
    # The 8 missing ones were last known alive at the first count: 12 of the other 32 died.
    assert words["missing counted as alive"].startswith("62 % alive after 29 days")
