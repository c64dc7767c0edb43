"""The shared archive against the terms of Darwin Core; python-dwca-reader is the reader of its own."""

from __future__ import annotations

import zipfile
from collections import Counter
from pathlib import Path
from xml.etree import ElementTree

import pandas as pd
import pytest
from dwca.read import DwCAReader

from boxside.actions import darwin_core
from boxside.catalog.catalog import Catalog
from boxside.core.values.carry import SeasonChoice
from tests.actions.keeping import keeper_in
from tests.conftest import DEMO_DAY
from tests.outside.standards.conftest import published

CORE = published("standards")["darwin_core"]
TEXT = "{http://rs.tdwg.org/dwc/text/}"


@pytest.fixture(scope="module")
def shared(
    demo_folder: Path, tmp_path_factory: pytest.TempPathFactory, catalog: Catalog
) -> tuple[Path, dict[str, int]]:
    """The archive of the invented colony and how many rows it says to have."""
    path = tmp_path_factory.mktemp("dwc") / "darwin-core.zip"
    keeper = keeper_in(demo_folder, catalog, DEMO_DAY)
    done = darwin_core.write_darwin_core(keeper.services, path, SeasonChoice())
    keeper.services.store.close()
    return path, dict(done.rows)


@pytest.fixture(scope="module")
def tables(shared: tuple[Path, dict[str, int]], tmp_path_factory: pytest.TempPathFactory) -> dict[str, pd.DataFrame]:
    """The archive's tables as the reader finds them by the descriptor."""
    with DwCAReader(str(shared[0]), tmp_dir=str(tmp_path_factory.mktemp("read"))) as reader:
        names = ["event.csv", "occurrence.csv", "measurementorfact.csv"]
        return {name: reader.pd_read(name, dtype=str, keep_default_na=False) for name in names}


def test_rows_and_types_are_what_the_reader_finds(shared: tuple[Path, dict[str, int]], tmp_path: Path) -> None:
    path, said = shared
    with DwCAReader(str(path), tmp_dir=str(tmp_path)) as reader:
        assert reader.descriptor.core.type == f"{CORE['namespace']}Event"
        assert {one.type for one in reader.descriptor.extensions} == {
            f"{CORE['namespace']}{name}" for name in ("Occurrence", "MeasurementOrFact")
        }
        n = Counter[str]()
        ids = set()
        for row in reader:
            ids.add(row.id)
            n["event.csv"] += 1
            for extension in row.extensions:
                n["occurrence.csv" if extension.rowtype.endswith("Occurrence") else "measurementorfact.csv"] += 1
            assert row.extensions, "an event of which nothing is told"
    assert dict(n) == said
    assert len(ids) == said["event.csv"] > 1000


def test_every_term_is_one_of_its_class_matches_tdwg_2025(shared: tuple[Path, dict[str, int]]) -> None:
    with zipfile.ZipFile(shared[0]) as archive:
        root = ElementTree.fromstring(archive.read("meta.xml"))
        assert set(archive.namelist()) == {"meta.xml", "event.csv", "occurrence.csv", "measurementorfact.csv"}
    for part in root:
        allowed = {f"{CORE['namespace']}{term}" for term in CORE[part.attrib["rowType"].rpartition("/")[2]]}
        terms = [field.attrib["term"] for field in part.iter(f"{TEXT}field")]
        assert set(terms) <= allowed
        assert len(terms) == len(set(terms)) > 5
        assert not {term.rpartition("/")[2] for term in terms} & set(CORE["private"])


def test_ids_are_unique_and_point_to_events(tables: dict[str, pd.DataFrame]) -> None:
    events = tables["event.csv"].iloc[:, 0]
    assert events.is_unique
    for name, key in (("occurrence.csv", "occurrenceID"), ("measurementorfact.csv", "measurementID")):
        assert tables[name][key].is_unique, name
        assert set(tables[name].iloc[:, 0]) <= set(events), name


def test_all_of_it_is_captive_and_counts_are_whole(tables: dict[str, pd.DataFrame]) -> None:
    found = tables["occurrence.csv"]
    assert set(found["basisOfRecord"]) == {"LivingSpecimen"}
    assert set(found["degreeOfEstablishment"]) == {"captive"}
    assert set(found["scientificName"]) == {"Lampyris noctiluca"}
    assert set(found["family"]) == {"Lampyridae"}
    n = found["individualCount"].astype(int)
    assert ((n > 0) == (found["occurrenceStatus"] == "present")).all()
    assert set(found["lifeStage"]) <= {"", "egg", "larva", "prepupa", "pupa", "adult"}
    assert set(found["sex"]) <= {"", "female", "male"}


def test_the_dead_and_the_measured_are_those_of_the_tables(tables: dict[str, pd.DataFrame], season: Path) -> None:
    dead = tables["occurrence.csv"].query("vitality == 'dead'")["individualCount"].astype(int).sum()
    moves = pd.read_csv(season / "movements.csv", dtype={"change": int})
    assert dead == moves.query("account == 'dead'")["change"].sum() > 100
    bodies = pd.read_csv(season / "bodies.csv")
    measured = (
        tables["measurementorfact.csv"].query("measurementType == 'body length'")["measurementValue"].astype(float)
    )
    assert measured.sum() == pytest.approx(bodies["length_mm"].sum())
    assert len(measured) == bodies["length_mm"].notna().sum() > 1000
    counted = pd.read_csv(season / "counts.csv").set_index("event")["counted"]
    told = tables["occurrence.csv"].set_index(tables["occurrence.csv"].columns[0])["individualCount"].astype(int)
    assert (told[told.index.isin(counted.index)].sort_index() == counted.sort_index()).all()


def test_what_a_keeper_wrote_stays_at_home(catalog: Catalog, tmp_path: Path) -> None:
    from boxside.core.values.event import Draft

    keeper = keeper_in(tmp_path / "log", catalog, DEMO_DAY)
    keeper.add("B01", n=30, instar=1)
    from boxside.actions import log_event

    private = Draft("count", "box", keeper.id("B01"), {"n": 29}, by="Ada Keeper", note="behind the house, Elm Street 5")
    log_event.log_event(keeper.services, private)
    darwin_core.write_darwin_core(keeper.services, tmp_path / "d.zip", SeasonChoice())
    keeper.services.store.close()
    with zipfile.ZipFile(tmp_path / "d.zip") as archive:
        text = "".join(archive.read(name).decode("utf-8") for name in archive.namelist())
    assert "29" in text
    assert "Ada" not in text
    assert "Elm" not in text


@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")  # the reader leaves files open then
def test_a_broken_archive_is_noticed_by_the_reader(shared: tuple[Path, dict[str, int]], tmp_path: Path) -> None:
    """The control: a descriptor that points to no file."""
    broken = tmp_path / "broken.zip"
    with zipfile.ZipFile(shared[0]) as old, zipfile.ZipFile(broken, "w") as new:
        new.writestr("meta.xml", old.read("meta.xml").replace(b"event.csv", b"events.csv"))
        new.writestr("occurrence.csv", old.read("occurrence.csv"))
        new.writestr("measurementorfact.csv", old.read("measurementorfact.csv"))
    with pytest.raises(Exception, match=r"events\.csv"):
        list(DwCAReader(str(broken), tmp_dir=str(tmp_path)))
