"""The exported tables: as declared, and the same as what pandas works out from events.csv alone."""

from __future__ import annotations

import csv
import json
from datetime import date
from pathlib import Path

import frictionless
import pandas as pd
import pytest

from boxside.actions import export_season, void_event
from boxside.core.values.errors import EntryError
from tests.actions.keeping import Keeper
from tests.actions.season import exported, numbers, standing, tables_in

IN_ACCOUNTS = ["founders", "received", "laid", "surplus", "revised"]


@pytest.fixture(scope="module")
def season(demo_season: Path) -> dict[str, pd.DataFrame]:
    """The whole of the invented colony as it is exported."""
    return tables_in(demo_season)


def test_every_table_has_the_columns_that_are_declared(season: dict[str, pd.DataFrame], catalog: object) -> None:
    shared = Path(__file__).parents[2] / "shared" / "tables"
    declared = {path.stem: json.loads(path.read_text(encoding="utf-8")) for path in shared.glob("*.json")}
    assert set(season) == set(declared)
    for name, table in season.items():
        assert list(table.columns) == [field["name"] for field in declared[name]["fields"]], name


def test_the_package_is_valid_to_a_reader_of_its_own(keeper: Keeper, tmp_path: Path) -> None:
    """frictionless 5 (Frictionless Data, reference implementation of Data Package) checks types, enums and keys."""
    keeper.stand("2026-04-20")
    keeper.add("B01", n=30, instar=1)
    keeper.stand("2026-05-03")
    fed = keeper.log("B01", "fed", prey='so called "moss", wet\nand old', amount=1.5)
    keeper.log("B01", "count", n=27)
    void_event.void_event(keeper.services, fed.event_id)
    exported(keeper, tmp_path / "S")
    report = frictionless.Package(str(tmp_path / "S" / "datapackage.json")).validate()
    assert report.valid, report.flatten(["rowNumber", "fieldName", "type", "note"])
    (tmp_path / "S" / "counts.csv").write_text("event,day\nx,yesterday\n", encoding="utf-8")
    assert not frictionless.Package(str(tmp_path / "S" / "datapackage.json")).validate().valid, "the control"


def test_csv_is_strict_rfc_4180_without_a_byte_order_mark(keeper: Keeper, tmp_path: Path) -> None:
    keeper.add("B01", n=30, instar=1)
    note = 'two\nlines, "quoted", =1+1, ünïcödé'
    keeper.log("B01", "fed", prey=note)
    export_season.export_season(keeper.services, tmp_path / "S")
    raw = (tmp_path / "S" / "feedings.csv").read_bytes()
    assert not raw.startswith(b"\xef\xbb\xbf")
    assert raw.count(b"\r\n") == 2
    with (tmp_path / "S" / "feedings.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file, strict=True))
    assert [row["prey"] for row in rows] == [note]


def test_feedings_are_those_of_the_events_that_count(season: dict[str, pd.DataFrame]) -> None:
    fed = standing(season["events"], "fed")
    table = season["feedings"]
    assert len(table) > 500
    assert list(table["event"]) == list(fed["event"])
    assert list(table["prey"]) == list(fed["field_prey"].fillna(""))
    assert list(table["batch"]) == list(fed["field_batch"].fillna(""))
    said = pd.to_numeric(table["amount"])
    assert said.isna().sum() > 10, "what was not said stays empty"
    assert said.sum() == pd.to_numeric(fed["field_amount"]).sum()
    per_box = table.groupby("code").size()
    assert per_box.to_dict() == fed.groupby("code").size().to_dict()
    assert list(table["day"]) == [at[:10] for at in table["at"]]


def test_deaths_and_moves_in_are_those_of_the_events(season: dict[str, pd.DataFrame]) -> None:
    events, moves = season["events"], season["movements"]
    died = standing(events, "died")["field_n"].sum() + standing(events, "unhatched")["field_n"].sum()
    assert numbers(moves[moves["account"] == "dead"], "change").sum() == died
    stocked = standing(events, "stocked")["field_n"].sum()
    laid = standing(events, "laid")["field_n"].sum()
    came = {name: -numbers(moves[moves["account"] == name], "change").sum() for name in IN_ACCOUNTS}
    assert came["founders"] + came["received"] == stocked
    assert came["laid"] == laid
    assert (came["surplus"], came["revised"]) == (0, 0)


def test_every_event_moves_as_many_as_it_takes(season: dict[str, pd.DataFrame]) -> None:
    """Double entry: the changes of one event add up to nothing."""
    moves = season["movements"].assign(change=numbers(season["movements"], "change"))
    assert (moves.groupby("event")["change"].sum() == 0).all()
    assert set(moves["event"]) <= set(season["events"].query("standing == 'counts'")["event"])


def test_the_headcount_identity_holds_over_the_whole_and_in_each_cohort(season: dict[str, pd.DataFrame]) -> None:
    moves = season["movements"].assign(change=numbers(season["movements"], "change"))
    sums = moves.groupby("account")["change"].sum()
    out = sums.get("given_away", 0) + sums.get("escaped", 0)
    came = -sum(sums.get(name, 0) for name in IN_ACCOUNTS)
    assert came == sums["present"] + out + sums["dead"] + sums["unaccounted"]
    by_cohort = moves.pivot_table(index="cohort", columns="account", values="change", aggfunc="sum", fill_value=0)
    for _, row in season["cohorts"].iterrows():
        own = by_cohort.loc[row["cohort"]]
        assert int(row["present"]) == own["present"], row["name"]
        assert int(row["dead"]) == own["dead"], row["name"]
        assert int(row["came_in"]) == -sum(own.get(name, 0) for name in IN_ACCOUNTS), row["name"]
        left = int(row["present"]) + int(row["went_out"]) + int(row["dead"]) + int(row["unaccounted"])
        assert int(row["came_in"]) + int(row["from_others"]) == left, row["name"]


def test_boxes_hold_what_the_movements_leave_in_them(season: dict[str, pd.DataFrame]) -> None:
    moves = season["movements"].assign(change=numbers(season["movements"], "change"))
    present = moves[moves["account"] == "present"].groupby("code")["change"].sum()
    for _, row in season["boxes"].iterrows():
        assert int(row["animals"]) == present.get(row["code"], 0), row["code"]
    assert len(season["boxes"]) == 24
    assert present.min() >= 0


def test_no_line_is_ever_below_nothing(season: dict[str, pd.DataFrame]) -> None:
    moves = season["movements"].assign(change=numbers(season["movements"], "change"))
    present = moves[moves["account"] == "present"]
    after_each = present.groupby(["box", "cohort", "stage", "instar", "sex", "event"], sort=False)["change"].sum()
    running = after_each.groupby(level=["box", "cohort", "stage", "instar", "sex"], sort=False).cumsum()
    assert running.min() >= 0


def test_counts_say_what_was_expected_and_what_was_missing(season: dict[str, pd.DataFrame]) -> None:
    """The expected number is worked out here from the movements before the count, box by box."""
    moves = season["movements"].assign(change=numbers(season["movements"], "change"))
    present = moves[moves["account"] == "present"]
    counts = season["counts"]
    assert len(counts) > 100
    for code, own in counts.groupby("code"):
        at_box = present[present["code"] == code]
        for _, row in own.iterrows():
            before = at_box[(at_box["at"].map(pd.Timestamp) < pd.Timestamp(row["at"]))]["change"].sum()
            assert int(row["expected"]) == before, row["event"]
    complete = counts[counts["complete"] == "true"]
    missing = numbers(complete, "expected") - numbers(complete, "counted")
    assert (missing == numbers(complete, "unaccounted")).all()
    assert missing.sum() > 0


def test_fields_one_a_row_are_the_fields_of_the_events(season: dict[str, pd.DataFrame]) -> None:
    stated = {
        (row["event"], name): value
        for _, row in season["events"].iterrows()
        for name, value in json.loads(row["fields"] or "{}").items()
        if value != ""
    }
    table = season["event_fields"]
    assert {(row["event"], row["field"]) for _, row in table.iterrows()} == set(stated)
    for _, row in table.sample(300, random_state=1).iterrows():
        value = stated[row["event"], row["field"]]
        assert (row["value"] if isinstance(value, str) else json.loads(row["value"])) == value


def test_kinds_and_dictionary_explain_what_is_there(season: dict[str, pd.DataFrame]) -> None:
    assert set(season["events"]["kind"]) <= set(season["kinds"]["kind"])
    explained = {(row["table"], row["column"]) for _, row in season["data_dictionary"].iterrows()}
    assert explained == {(name, column) for name, table in season.items() for column in table.columns}


def test_what_was_taken_back_or_corrected_is_exported_but_does_not_count(keeper: Keeper, tmp_path: Path) -> None:
    from boxside.actions import correct_event

    keeper.add("B01", n=30, instar=1)
    fed = keeper.log("B01", "fed")
    void_event.void_event(keeper.services, fed.event_id)
    counted = keeper.log("B01", "count", n=20)
    correct_event.correct_event(keeper.services, counted.event_id, {"n": 28})
    tables = exported(keeper, tmp_path / "S")
    events = tables["events"].set_index("event")
    assert events.loc[fed.event_id, "standing"] == "voided"
    assert events.loc[counted.event_id, "standing"] == "replaced"
    assert len(tables["feedings"]) == 0
    assert list(tables["counts"]["counted"]) == ["28"]
    assert list(tables["counts"]["expected"]) == ["30"]
    assert set(tables["events"]["voids"]) >= {fed.event_id}
    assert set(tables["events"]["replaces"]) >= {counted.event_id}


SPANS = [("2025-06-01", "2025-08-31"), ("2026-05-03", "2026-05-03"), ("", "2024-12-31"), ("2026-01-01", "")]


@pytest.mark.parametrize(("from_day", "to_day"), SPANS)
def test_a_span_holds_both_its_days_and_opens_with_what_was_there(
    demo: Keeper, season: dict[str, pd.DataFrame], tmp_path: Path, from_day: str, to_day: str
) -> None:
    tables = exported(demo, tmp_path / "S", from_day, to_day)
    first, last = from_day or "0001-01-01", to_day or "9999-12-31"
    whole = season["events"]
    within = whole[(whole["day"] >= first) & (whole["day"] <= last)].reset_index(drop=True)
    pd.testing.assert_frame_equal(tables["events"], within)
    for name in ("feedings", "counts", "movements"):
        table = season[name]
        inside = table[(table["day"] >= first) & (table["day"] <= last)].reset_index(drop=True)
        pd.testing.assert_frame_equal(tables[name], inside)

    before = season["movements"][season["movements"]["day"] < first]
    key = ["box", "cohort", "stage", "instar", "sex", "account"]
    opened = numbers(before, "change").groupby([before[k] for k in key]).sum() if len(before) else pd.Series(dtype=int)
    own = tables["opening"]
    assert {tuple(row[k] for k in key): int(row["n"]) for _, row in own.iterrows()} == {
        line: n for line, n in opened.items() if n
    }
    present = numbers(own[own["account"] == "present"], "n").sum() if len(own) else 0
    moves = tables["movements"]
    change = numbers(moves[moves["account"] == "present"], "change").sum() if len(moves) else 0
    assert numbers(tables["boxes"], "animals").sum() == present + change


def test_the_keepers_day_decides_what_a_span_holds(keeper: Keeper, tmp_path: Path) -> None:
    """23:59 in Berlin belongs to its day, 00:00 to the next, although both are the same day in UTC."""
    keeper.stand("2026-05-01")
    keeper.add("B01", n=30, instar=1)
    keeper.stand("2026-05-04")
    for day, minute in (("2026-05-02", 0), ("2026-05-02", 1439), ("2026-05-03", 0)):
        keeper.log("B01", "misted", at_ms=keeper.at(day, minute))
    tables = exported(keeper, tmp_path / "S", "2026-05-02", "2026-05-02")
    assert list(tables["events"]["at"]) == ["2026-05-02T00:00:00.000+02:00", "2026-05-02T23:59:00.000+02:00"]
    assert len(exported(keeper, tmp_path / "T", "2026-05-03", "2026-05-03")["events"]) == 1


def test_adjoining_spans_make_up_the_whole(demo: Keeper, season: dict[str, pd.DataFrame], tmp_path: Path) -> None:
    early = exported(demo, tmp_path / "S", "", "2025-12-31")
    late = exported(demo, tmp_path / "T", "2026-01-01", "")
    for name in ("events", "movements", "feedings"):
        joined = pd.concat([early[name], late[name]], ignore_index=True)
        pd.testing.assert_frame_equal(joined, season[name])


def test_a_span_the_wrong_way_round_writes_nothing(demo: Keeper, tmp_path: Path) -> None:
    with pytest.raises(EntryError, match="wrong way round"):
        export_season.export_season(demo.services, tmp_path / "S", date(2026, 5, 2), date(2026, 5, 1))
    assert not (tmp_path / "S").exists()


def test_the_descriptor_tells_sizes_and_digests(keeper: Keeper, tmp_path: Path) -> None:
    import hashlib

    keeper.add("B01", n=30, instar=1)
    exported(keeper, tmp_path / "S")
    package = json.loads((tmp_path / "S" / "datapackage.json").read_text(encoding="utf-8"))
    assert len(package["resources"]) == len(list((tmp_path / "S").glob("*.csv")))
    for resource in package["resources"]:
        data = (tmp_path / "S" / resource["path"]).read_bytes()
        assert resource["bytes"] == len(data)
        assert resource["hash"] == f"sha256:{hashlib.sha256(data).hexdigest()}"
