"""All of `shared/` as one value, and what is refused in it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from boxside.catalog.catalog import Catalog, load_catalog
from boxside.core.values.errors import BoxsideError, DataError
from boxside.core.values.stages import Stage

SHARED = Path(__file__).parents[2] / "shared"


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """A copy of `shared/` to spoil."""
    shutil.copytree(SHARED, tmp_path / "shared")
    return tmp_path / "shared"


def spoil(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def test_a_copy_reads_as_the_same_catalog(catalog: Catalog, copy: Path) -> None:
    again = load_catalog(copy)
    for part in ("vocabulary", "profiles", "settings", "acts", "tables"):
        assert getattr(again, part) == getattr(catalog, part), part


def test_every_stage_and_an_empty_box_have_their_acts(catalog: Catalog) -> None:
    assert set(catalog.acts.main) == set(catalog.acts.more) == {*map(str, Stage), "empty"}
    for stage, main in catalog.acts.main.items():
        assert 2 <= len(main) <= 4, "at most four main acts fit a wet thumb"
        assert not set(main) & set(catalog.acts.more[stage])


def test_offered_acts_fit_their_stage(catalog: Catalog) -> None:
    kinds = catalog.vocabulary.kinds
    for stage in map(str, Stage):
        for name in (*catalog.acts.main[stage], *catalog.acts.more[stage]):
            if name in kinds:
                assert not kinds[name].stages or stage in kinds[name].stages, (stage, name)


def test_main_acts_need_one_tap_or_one_number(catalog: Catalog) -> None:
    kinds = catalog.vocabulary.kinds
    for main in catalog.acts.main.values():
        for name in main:
            if name in kinds and not kinds[name].one_tap:
                assert len([field for field in kinds[name].fields if field.required]) <= 1, name


def test_every_sign_is_a_kind_with_all_it_needs(catalog: Catalog) -> None:
    for sign in catalog.acts.signs:
        kind = catalog.vocabulary.kinds[sign.kind]
        missing = [field.name for field in kind.fields if field.required and field.name not in sign.fields]
        assert missing == [], sign.label
        for name, value in sign.fields.items():
            field = kind.field(name)
            assert field is not None
            assert value in field.choices, sign.label


def test_every_default_setting_is_one_that_may_be_chosen(catalog: Catalog) -> None:
    for setting in catalog.settings.values():
        if setting.choices:
            assert setting.default in dict(setting.choices), setting.key
        if setting.how == "minute":
            assert 0 <= int(setting.default) <= 1439, setting.key
    assert catalog.settings["species"].default in catalog.profiles


@pytest.mark.parametrize(
    ("file", "old", "new", "why"),
    [
        ("acts.toml", '"fed", "look"', '"fedd", "look"', "fedd is neither a kind of event nor a command"),
        ("acts.toml", 'main = ["fed",', 'main = ["misted", "fed",', "more than four main acts"),
        ("acts.toml", 'kind = "looked"', 'kind = "lookedd"', "lookedd is no kind of event"),
        ("acts.toml", 'appetite = "searching"', 'hunger = "searching"', "hunger is no field of it"),
        ("settings.toml", 'label = "Theme"', "", "theme.label"),
        ("tables/feedings.json", '"title"', '"titel"', "KeyError"),
        ("tables/feedings.json", "{", "", "feedings.json"),
        ("species/lampyris_noctiluca.toml", "on = 7", "on = 700", "is not between min and max"),
        ("species/lampyris_noctiluca.toml", "source = ", "sauce = ", "sauce"),
    ],
)
def test_a_fault_in_any_file_is_refused_by_name(copy: Path, file: str, old: str, new: str, why: str) -> None:
    spoil(copy / file, old, new)
    with pytest.raises(DataError, match=why) as caught:
        # A profile is read when it is first asked for, so that a start reads only one.
        list(load_catalog(copy).profiles.values())
    assert caught.value.path == str(copy / file)


def test_a_missing_folder_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BoxsideError, match="cannot be read"):
        load_catalog(tmp_path / "nothing")
