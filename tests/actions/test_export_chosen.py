"""An export of some boxes or cohorts, its two flavours, and what comes along on request."""

from __future__ import annotations

import io
import json
import re
from datetime import date
from pathlib import Path

import pandas as pd
import pytest
from PIL import Image

from boxside.actions import export_form, export_season, keep_photo, season_report, transfer
from boxside.core.tables import machine_text
from boxside.core.values.carry import Flavour, SeasonChoice
from boxside.core.values.errors import EntryError
from boxside.core.values.season import TransferDraft, TransferPart
from boxside.store.photos import path_of
from tests.actions.keeping import Keeper, keeper_in
from tests.actions.photos import write_photo
from tests.conftest import DEMO_DAY

Tables = dict[str, pd.DataFrame]
CONCERNED = ("events", "event_fields", "feedings", "counts", "movements", "bodies")


def tables(out: Path) -> Tables:
    return {path.stem: pd.read_csv(path, dtype=str, keep_default_na=False) for path in out.glob("*.csv")}


@pytest.fixture(scope="module")
def demo_keeper(demo_folder: Path, catalog: object) -> object:
    """A keeper of the invented colony, whose log is only read."""
    keeper = keeper_in(demo_folder, catalog, DEMO_DAY)  # type: ignore[arg-type]
    yield keeper
    keeper.services.store.close()


@pytest.fixture(scope="module")
def whole(demo_season: Path) -> Tables:
    return tables(demo_season)


def ids(keeper: Keeper, *codes: str) -> tuple[str, ...]:
    return tuple(box for code in codes for box in export_form.boxes_coded(keeper.services, code))


def test_some_boxes_are_what_a_filter_of_the_whole_gives(demo_keeper: Keeper, whole: Tables, tmp_path: Path) -> None:
    boxes = ids(demo_keeper, "B07", "B12")
    export_season.export_chosen(demo_keeper.services, tmp_path, SeasonChoice(boxes=boxes))
    some = tables(tmp_path)
    at_box = whole["movements"][whole["movements"]["box"].isin(boxes)]
    touched = set(at_box["event"]) | set(whole["events"][whole["events"]["subject"].isin(boxes)]["event"])
    own = some["events"][some["events"]["subject_type"] == "box"]
    assert set(own["event"]) == {e for e in touched if e in set(whole["events"]["event"])}
    assert set(some["boxes"]["box"]) == set(boxes)
    for name in ("feedings", "counts"):
        assert set(some[name]["event"]) == set(whole[name][whole[name]["box"].isin(boxes)]["event"]), name
    assert set(some["movements"]["event"]) == set(at_box["event"])
    assert (some["movements"].assign(n=some["movements"]["change"].astype(int)).groupby("event")["n"].sum() == 0).all()
    assert set(some["headcounts"]["box"]) == set(boxes)
    assert set(some["cohorts"]["cohort"]) == set(at_box[at_box["account"] == "present"]["cohort"])
    assert set(some["survival"]["cohort"]) <= set(some["cohorts"]["cohort"])
    assert 0 < len(some["events"]) < len(whole["events"]) / 4


def test_some_cohorts_bring_what_was_done_at_their_boxes_while_they_lived_there(
    demo_keeper: Keeper, whole: Tables, tmp_path: Path
) -> None:
    name = "2025 B03"
    cohort = whole["cohorts"].set_index("name").loc[name, "cohort"]
    export_season.export_chosen(demo_keeper.services, tmp_path, SeasonChoice(cohorts=(cohort,)))
    some = tables(tmp_path)
    moves = whole["movements"][(whole["movements"]["cohort"] == cohort) & (whole["movements"]["account"] == "present")]
    assert list(some["cohorts"]["cohort"]) == [cohort]
    assert set(some["boxes"]["box"]) == set(moves["box"])
    assert set(moves["event"]) <= set(some["movements"]["event"])
    assert set(some["headcounts"]["cohort"]) == {cohort}
    assert set(some["stages"]["cohort"]) == {cohort}
    held = {box: own["at"].min()[:10] for box, own in moves.groupby("box")}
    for _, row in some["feedings"].iterrows():
        assert row["day"] >= held[row["box"]], "nobody of the cohort was there yet"
    fed = whole["feedings"][whole["feedings"].apply(lambda row: row["day"] > held.get(row["box"], "9"), axis=1)]
    present = moves.assign(n=moves["change"].astype(int)).groupby("box")["n"].sum()
    still = set(present[present > 0].index)
    assert set(fed[fed["box"].isin(still)]["event"]) <= set(some["feedings"]["event"])


def test_days_narrow_what_was_chosen(demo_keeper: Keeper, whole: Tables, tmp_path: Path) -> None:
    choice = SeasonChoice(date(2026, 1, 1), date(2026, 2, 1), boxes=ids(demo_keeper, "B07"))
    export_season.export_chosen(demo_keeper.services, tmp_path, choice)
    some = tables(tmp_path)
    assert some["events"]["day"].between("2026-01-01", "2026-02-01").all()
    assert len(some["feedings"]) == len(
        whole["feedings"].query("code == 'B07' and day >= '2026-01-01' and day <= '2026-02-01'")
    )
    opened = some["opening"][some["opening"]["account"] == "present"]
    assert set(opened["code"]) == {"B07"}


def test_boxes_and_cohorts_together_or_unknown_ones_are_refused(demo_keeper: Keeper, tmp_path: Path) -> None:
    (box,) = ids(demo_keeper, "B07")
    for choice, said in (
        (SeasonChoice(boxes=(box,), cohorts=("x",)), "Choose boxes or cohorts, not both"),
        (SeasonChoice(boxes=("nowhere",)), "There is no such box"),
        (SeasonChoice(cohorts=("nobody",)), "There is no such cohort"),
    ):
        with pytest.raises(EntryError, match=said):
            export_season.export_chosen(demo_keeper.services, tmp_path / "S", choice)
    assert not (tmp_path / "S").exists()


def reversed_equals(sheets: Path, machines: Path, decimal: str) -> int:
    """Return how many tables are written otherwise for a spreadsheet; each must give the machine's bytes again."""
    n_other = 0
    for path in sorted(sheets.glob("*.csv")):
        text = path.read_bytes().decode("utf-8")
        assert text.startswith("\ufeff")
        back = "".join(machine_text(io.StringIO(text, newline=""), decimal))
        machine = (machines / path.name).read_bytes()
        assert back.encode("utf-8") == machine, path.name
        n_other += text[1:] != machine.decode("utf-8")
    return n_other


def test_tables_for_a_spreadsheet_are_those_for_machines_written_otherwise(
    demo_keeper: Keeper, demo_season: Path, tmp_path: Path
) -> None:
    choice = SeasonChoice(flavour=Flavour.SPREADSHEET, decimal=",")
    export_season.export_chosen(demo_keeper.services, tmp_path, choice)
    assert reversed_equals(tmp_path, demo_season, ",") >= 15
    assert "apostrophe" in (tmp_path / "README.txt").read_text(encoding="utf-8")
    assert "apostrophe" not in (demo_season / "README.txt").read_text(encoding="utf-8")


def test_so_are_those_with_a_point(keeper: Keeper, tmp_path: Path) -> None:
    keeper.add("007", n=30, instar=1)
    keeper.log("007", "fed", prey="=1+1", amount=1.5)
    choice = SeasonChoice(flavour=Flavour.SPREADSHEET)
    export_season.export_chosen(keeper.services, tmp_path / "S", choice)
    export_season.export_chosen(keeper.services, tmp_path / "M", SeasonChoice())
    assert reversed_equals(tmp_path / "S", tmp_path / "M", ".") >= 4


def test_photos_come_on_request_and_without_place(keeper: Keeper, tmp_path: Path) -> None:
    keeper.add("B01", n=30, instar=1)
    kept = keep_photo.keep_photo(keeper.services, keeper.id("B01"), str(write_photo(tmp_path / "a.jpg")))
    event = keeper.services.store.row(
        "SELECT json_extract(fields, '$.sha256') FROM event WHERE id = ?", (kept.event_id,)
    )
    assert event is not None
    stored = path_of(keeper.services.device.data_dir, event[0])
    # As if it had come from elsewhere with its notes, such as in an older archive.
    stored.write_bytes(write_photo(tmp_path / "b.jpg").read_bytes())
    with Image.open(stored) as image:
        assert image.getexif(), "the control: there is something to take out"
    out = tmp_path / "S"
    assert export_season.export_chosen(keeper.services, out, SeasonChoice()).photos == 0
    assert not (out / "photos").exists()
    assert export_season.export_chosen(keeper.services, out, SeasonChoice(photos=True)).photos == 1
    (path,) = (out / "photos").iterdir()
    assert path.name == f"{event[0]}.jpg"
    with Image.open(path) as image, Image.open(stored) as before:
        assert dict(image.getexif()) == {}
        assert (image.size, image.tobytes()) == (before.size, before.tobytes())
    package = json.loads((out / "datapackage.json").read_text(encoding="utf-8"))
    assert [photo["path"] for photo in package["boxside"]["photos"]] == [f"photos/{event[0]}.jpg"]
    assert export_season.export_chosen(keeper.services, out, SeasonChoice()).photos == 0
    assert list((out / "photos").iterdir()) == [], "those of an earlier export go"


def test_a_missing_photo_is_left_out(keeper: Keeper, tmp_path: Path) -> None:
    keeper.add("B01", n=30, instar=1)
    keep_photo.keep_photo(keeper.services, keeper.id("B01"), str(write_photo(tmp_path / "a.jpg")))
    for path in (keeper.services.device.data_dir / "photos").rglob("*.jpg"):
        path.unlink()
    assert export_season.export_chosen(keeper.services, tmp_path / "S", SeasonChoice(photos=True)).photos == 0


def test_the_page_says_what_the_tables_say(demo_keeper: Keeper, whole: Tables, tmp_path: Path) -> None:
    done = season_report.write_report(demo_keeper.services, tmp_path / "report.html", SeasonChoice())
    text = (tmp_path / "report.html").read_text(encoding="utf-8")
    assert done.n_bytes == len(text.encode("utf-8"))
    assert text.count("<svg") == 10
    events = whole["events"]
    assert f"{(events['standing'] == 'counts').sum():,} on {events['day'].nunique():,} days" in text
    moves = whole["movements"].assign(n=whole["movements"]["change"].astype(int)).groupby("account")["n"].sum()
    for what, account in (("Died", "dead"), ("Unaccounted for", "unaccounted"), ("Animals at last", "present")):
        assert f"<bdi>{what}</bdi></th><td><bdi>{moves[account]:,}</bdi>" in text
    assert all(title in text for title in done.sections)


def test_the_page_of_one_box_adds_up_over_a_transfer(keeper: Keeper, tmp_path: Path) -> None:
    keeper.add("B01", n=30, instar=1)
    keeper.wait(2)
    part = TransferPart(12, to_label="B02")
    transfer.transfer(keeper.services, TransferDraft(keeper.id("B01"), (part,), empties=False))
    keeper.wait(2)
    keeper.log("B02", "died", n=2)
    for code, numbers in (("B01", (0, 30, -12, 0, 0, 0, 18)), ("B02", (0, 0, 12, 2, 0, 0, 10))):
        choice = SeasonChoice(boxes=(keeper.id(code),))
        season_report.write_report(keeper.services, tmp_path / "r.html", choice)
        glance = (
            (tmp_path / "r.html").read_text(encoding="utf-8").partition('id="glance"')[2].partition("</section>")[0]
        )
        assert tuple(map(int, re.findall(r"<td><bdi>(-?\d+)</bdi></td>", glance))) == numbers


def test_an_empty_log_makes_a_page_too(keeper: Keeper, tmp_path: Path) -> None:
    done = season_report.write_report(keeper.services, tmp_path / "report.html", SeasonChoice())
    assert done.sections == ()
    assert "0 on 0 days" in (tmp_path / "report.html").read_text(encoding="utf-8")


def test_pages_that_were_not_asked_for_again_go(keeper: Keeper, tmp_path: Path) -> None:
    keeper.add("B01", n=30, instar=1)
    both = SeasonChoice(report=True, darwin_core=True)
    done = export_season.export_chosen(keeper.services, tmp_path / "S", both)
    assert Path(done.report).exists()
    assert Path(done.darwin_core).exists()
    done = export_season.export_chosen(keeper.services, tmp_path / "S", SeasonChoice())
    assert (done.report, done.darwin_core) == ("", "")
    assert {path.suffix for path in (tmp_path / "S").iterdir() if path.is_file()} == {".csv", ".json", ".txt"}


def test_the_form_offers_what_there_is(demo_keeper: Keeper) -> None:
    form = export_form.export_form(demo_keeper.services)
    assert form.n_events > 10_000
    assert (form.first_on, form.last_on) == (date(2023, 8, 10), date(2026, 5, 3))
    assert [label for _, label in form.boxes][:2] == ["B01", "B02"]
    assert len(form.cohorts) == 12
    assert [key for key, _ in form.flavours] == ["analysis", "spreadsheet"]
    assert form.decimal in (".", ",")
    assert form.seasons[0][0] == "2026"


def test_a_code_means_every_box_that_ever_had_it(keeper: Keeper) -> None:
    keeper.add("B01", n=30, instar=1)
    first = keeper.id("B01")
    keeper.wait(2)
    keeper.log("B01", "count", n=0)
    keeper.log("B01", "box_retired")
    keeper.wait(2)
    keeper.add("B01", n=5, instar=1)
    assert set(export_form.boxes_coded(keeper.services, "b01")) == {first, keeper.id("B01")}
    assert export_form.boxes_coded(keeper.services, first) == (first,)
    with pytest.raises(EntryError, match="nor was there one"):
        export_form.boxes_coded(keeper.services, "B99")
