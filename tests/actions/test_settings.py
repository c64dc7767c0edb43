"""Settings and the keeper's own numbers: what they change at once, and what they cannot be."""

from __future__ import annotations

import pytest

from boxside.actions import settings, show_box
from boxside.actions.context import profile, setting, today
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Json
from boxside.core.values.views import SettingRow
from boxside.store import reading
from tests.actions.keeping import Keeper

YOUNG = "profile:feeding.young.on"


def row_of(keeper: Keeper, key: str) -> SettingRow:
    (row,) = [row for row in settings.settings_view(keeper.services).rows if row.key == key]
    return row


def test_a_shorter_interval_moves_due_days_at_once(keeper: Keeper) -> None:
    keeper.add("B01", n=9, instar=1, fed="today")
    assert keeper.dues("B01")["feed"].on.isoformat() == "2026-05-10"
    settings.change_setting(keeper.services, YOUNG, 4)
    due = keeper.dues("B01")["feed"]
    assert due.on.isoformat() == "2026-05-07"
    assert due.reasons[0].days == 4
    assert "every 4 days" in due.reasons[0].text
    assert (row_of(keeper, YOUNG).value, row_of(keeper, YOUNG).hint) == (4, "your own")


def test_the_starting_value_comes_back(keeper: Keeper) -> None:
    keeper.add("B01", n=9, instar=1, fed="today")
    before = row_of(keeper, YOUNG)
    settings.change_setting(keeper.services, YOUNG, 4)
    settings.change_setting(keeper.services, YOUNG, None)
    assert keeper.dues("B01")["feed"].on.isoformat() == "2026-05-10"
    assert row_of(keeper, YOUNG) == before


def test_own_numbers_outlive_a_restart(keeper: Keeper) -> None:
    settings.change_setting(keeper.services, YOUNG, 4)
    keeper.restart()
    assert profile(keeper.services).window("feeding.young").on == 4


def test_undo_takes_a_changed_interval_back(keeper: Keeper) -> None:
    from boxside.actions import void_event

    keeper.add("B01", n=9, instar=1, fed="today")
    before = keeper.standing()
    settings.change_setting(keeper.services, YOUNG, 4)
    void_event.undo_last(keeper.services)
    assert keeper.standing() == before
    assert keeper.dues("B01")["feed"].on.isoformat() == "2026-05-10"


@pytest.mark.parametrize(
    ("key", "value", "why"),
    [
        (YOUNG, 0, "0 is out of bounds"),
        (YOUNG, 61, "61 is out of bounds"),
        (YOUNG, 3.5, "give whole days"),
        (YOUNG, float("nan"), "nan is out of bounds"),
        (YOUNG, "often", "'often' is not a number that"),
        (YOUNG, True, "True is not a number that"),
        (YOUNG, 20, "must not wait longer for food than"),
        ("profile:feeding.nearly_grown.on", 10, "must not wait longer for food than"),
        ("profile:feeding.ancient.on", 7, "no setting 'feeding.ancient.on'"),
        ("profile:", 7, "no setting ''"),
        ("colour", "blue", "no setting 'colour'"),
        ("theme", "blue", "'blue' is none of the choices"),
        ("theme", 3, "'3' is none of the choices"),
        ("nudge_minute", "evening", "'evening' is not between 0 and 1439"),
        ("nudge_minute", 1440, "'1440' is not between"),
        ("nudge_minute", -30, "'-30' is not between"),
        ("nudge_minute", 600.5, "'600.5' is not between"),
        ("zone", "Europe/Atlantis", "is not a time zone"),
        ("species", "unicorn", "none of the choices"),
    ],
)
def test_what_cannot_be_is_refused_and_changes_nothing(keeper: Keeper, key: str, value: Json, why: str) -> None:
    keeper.add("B01", n=9, instar=1, fed="today")
    before, view = keeper.kept(), settings.settings_view(keeper.services)
    with pytest.raises(EntryError, match=why):
        settings.change_setting(keeper.services, key, value)
    assert keeper.kept() == before
    assert settings.settings_view(keeper.services) == view


def test_every_setting_takes_each_of_its_choices(keeper: Keeper) -> None:
    for row in settings.settings_view(keeper.services).rows:
        if row.key.startswith("profile:") or row.key == "zone":
            continue
        values = [choice for choice, _ in row.choices] or [str(int(row.minimum or 0)), str(int(row.maximum or 0))]
        for value in values:
            settings.change_setting(keeper.services, row.key, value)
            assert setting(keeper.services, row.key) == value
        settings.change_setting(keeper.services, row.key, None)
        assert row_of(keeper, row.key).value == row.value


def test_every_interval_names_its_source(keeper: Keeper) -> None:
    rows = [row for row in settings.settings_view(keeper.services).rows if row.key.startswith("profile:")]
    assert len(rows) > 10
    assert all(row.hint for row in rows)
    assert all(row.unit == "days" for row in rows)


def test_the_zone_decides_which_day_it_is(keeper: Keeper) -> None:
    keeper.stand("2026-05-03", 23 * 60)
    assert today(keeper.services).isoformat() == "2026-05-03"
    settings.change_setting(keeper.services, "zone", "Asia/Tokyo")
    assert today(keeper.services).isoformat() == "2026-05-04"
    assert row_of(keeper, "zone").shown == "Asia/Tokyo"


def test_moving_to_another_zone_moves_no_entry_to_another_day_twice(keeper: Keeper) -> None:
    """A feeding at 23:00 in Berlin is one of the next day in Tokyo: the due day follows the keeper's zone."""
    keeper.add("B01", n=9, instar=1)
    keeper.stand("2026-05-03", 23 * 60)
    keeper.log("B01", "fed")
    assert keeper.dues("B01")["feed"].on.isoformat() == "2026-05-10"
    settings.change_setting(keeper.services, "zone", "Asia/Tokyo")
    assert keeper.dues("B01")["feed"].on.isoformat() == "2026-05-11"
    settings.change_setting(keeper.services, "zone", None)
    assert keeper.dues("B01")["feed"].on.isoformat() == "2026-05-10"


def test_another_species_brings_its_own_numbers(keeper: Keeper) -> None:
    names = [choice for choice, _ in row_of(keeper, "species").choices]
    assert len(names) >= 2
    settings.change_setting(keeper.services, YOUNG, 4)
    settings.change_setting(keeper.services, "species", next(n for n in names if n != "lampyris_noctiluca"))
    other = profile(keeper.services)
    assert other == keeper.services.catalog.profiles[other.species]
    settings.change_setting(keeper.services, "species", "lampyris_noctiluca")
    assert profile(keeper.services).window("feeding.young").on == 4


def test_cautions_name_their_sources(keeper: Keeper) -> None:
    cautions = settings.settings_view(keeper.services).cautions
    said = " ".join(text for text, _ in cautions).lower()
    for word in ("wash", "gloves", "protected", "release"):
        assert word in said
    assert all(source for _, source in cautions)


def test_entries_carry_who_logs_here_until_it_is_changed(keeper: Keeper) -> None:
    keeper.add("B01", n=30)
    settings.change_setting(keeper.services, "logged_by", "Ada")
    saved = keeper.log("B01", "fed")
    event = reading.event(keeper.services.store, saved.event_id)
    assert event is not None
    assert event.by == "Ada"
    assert show_box.box_view(keeper.services, keeper.id("B01")).history[0].when.endswith("· Ada")
    settings.change_setting(keeper.services, "logged_by", None)
    event = reading.event(keeper.services.store, keeper.log("B01", "misted").event_id)
    assert event is not None
    assert event.by is None
    for wrong in ("x" * 41, " Ada", "A\nB"):
        with pytest.raises(EntryError, match="at most 40 signs"):
            settings.change_setting(keeper.services, "logged_by", wrong)
