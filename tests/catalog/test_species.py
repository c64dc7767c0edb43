"""Species files: what is shipped is whole and sourced, and every fault is named with file, key and reason."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from boxside.catalog.species import load_all_species, load_species
from boxside.core.values.errors import DataError
from boxside.core.values.profile import UNSOURCED, editable

SPECIES = Path(__file__).parents[2] / "shared" / "species"
GLOW_WORM = (SPECIES / "lampyris_noctiluca.toml").read_text(encoding="utf-8")


def test_shipped_species_then_each_is_whole_and_every_number_says_its_source() -> None:
    profiles = load_all_species(SPECIES)
    assert set(profiles) == {
        "earthworm_eating_lampyrid",
        "lampyris_noctiluca",
        "luciola_lateralis",
        "snail_eating_lampyrid",
    }
    for profile in profiles.values():
        for row in editable(profile):
            dated = re.search(r"\b(19|20)\d\d\b|year not (seen|given)", row.source)
            assert row.source == UNSOURCED or dated, f"{profile.species} {row.key}: {row.source}"


def test_shipped_species_then_cautions_stand_where_they_matter() -> None:
    profiles = load_all_species(SPECIES)
    for profile in profiles.values():
        assert {"keep", "release"} <= {caution.where for caution in profile.cautions}
    snails = [caution.text for caution in profiles["lampyris_noctiluca"].cautions if caution.where == "feed"]
    assert any("lungworm" in text for text in snails)
    apple = next(prey for prey in profiles["lampyris_noctiluca"].prey if prey.name == "apple_snail")
    assert "2024/2013" in apple.source


def spoilt(folder: Path, old: str, new: str) -> Path:
    assert old in GLOW_WORM
    path = folder / "spoilt.toml"
    path.write_text(GLOW_WORM.replace(old, new, 1), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("old", "new", "key", "reason"),
    [
        ('name = "Common glow-worm"', "", "name", "must be a text"),
        ("earliest = 5", "earliest = 5.5", "window.feeding.young.earliest", "whole number"),
        ("earliest = 5", "earliest = true", "window.feeding.young.earliest", "whole number"),
        ("earliest = 5", "earliest = 99", "window.feeding.young.earliest", "not between min and max"),
        ("earliest = 5", "earliest = 8", "", "earliest day must not be after"),
        ("[window.moisture]", "[window.moistures]", "window.moisture", "is missing"),
        ("low = 25", "lowest = 25", "range.egg.lowest", "is not known here"),
        ("low = 25", "low = inf", "range.egg.low", "must be a number"),
        ("first_instar = 1", "first_instar = 2", "band", "start at instar 1"),
        ("first_instar = 3", "first_instar = 9", "band", "youngest to the oldest"),
        ('where = "feed"', 'where = "fed"', "caution[0].where", "must be feed"),
        ("[[band]]", "[[bands]]", "bands", "is not known here"),
        ("[[band]]", "[[band", "", "not valid TOML"),
    ],
)
def test_species_file_when_it_is_wrong_then_file_key_and_reason_are_named(
    tmp_path: Path, old: str, new: str, key: str, reason: str
) -> None:
    with pytest.raises(DataError, match=re.escape(reason)) as fault:
        load_species(spoilt(tmp_path, old, new))
    assert fault.value.key == key
    assert fault.value.path.endswith("spoilt.toml")


def test_species_file_when_a_source_is_missing_then_refused(tmp_path: Path) -> None:
    text = re.sub(r'(\[range\.egg\][^\[]*?)source = "[^"]*"\n', r"\1", GLOW_WORM)
    path = tmp_path / "bare.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(DataError, match="must be a text that is not empty") as fault:
        load_species(path)
    assert fault.value.key == "range.egg.source"


def test_species_file_when_there_is_none_then_says_so(tmp_path: Path) -> None:
    with pytest.raises(DataError, match="cannot be read"):
        load_species(tmp_path / "none.toml")
