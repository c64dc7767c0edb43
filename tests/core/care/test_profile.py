"""The keeper's own copy of a profile: what may be changed, within which bounds, and what is refused."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.values.errors import EntryError
from boxside.core.values.profile import disorder, editable, with_overrides, with_sound_overrides
from boxside.core.values.stages import Sex, Stage
from tests.core.care.boxes import GLOW_WORM

ROWS = editable(GLOW_WORM)


def test_editable_then_every_number_once_with_bounds_and_source() -> None:
    keys = [row.key for row in ROWS]
    assert len(set(keys)) == len(keys)
    assert len(keys) == 3 * len(GLOW_WORM.windows) + 2 * len(GLOW_WORM.ranges) + len(GLOW_WORM.quantities)
    assert all(row.minimum <= row.value <= row.maximum and row.source and not row.changed for row in ROWS)


def test_overrides_when_one_day_is_changed_then_its_window_moves_along() -> None:
    own = with_overrides(GLOW_WORM, {"feeding.young.on": 9})
    window = own.window("feeding.young")
    assert (window.earliest, window.on, window.latest) == (7, 9, 11)
    assert window.source == "the keeper's own; before: common practice, no source; starting value"
    assert [row.key for row in editable(own) if row.changed] == ["feeding.young.on"]
    assert GLOW_WORM.window("feeding.young").on == 7


def test_overrides_when_none_then_the_same_profile() -> None:
    assert with_overrides(GLOW_WORM, {}) == GLOW_WORM


@pytest.mark.parametrize(
    ("overrides", "said"),
    [
        ({"feeding.tiny.on": 5}, "no setting"),
        ({"feeding.young.on": 0}, "out of bounds"),
        ({"feeding.young.on": float("nan")}, "out of bounds"),
        ({"feeding.young.on": 5.5}, "whole days"),
        ({"feeding.young.on": 20}, "must not wait longer"),
        ({"feeding.young.earliest": 9}, "earliest day must not be after"),
        ({"egg.low": 60}, "must not be more than the most"),
        ({"cool.max_pct": 101}, "out of bounds"),
    ],
)
def test_overrides_when_they_make_no_sense_then_refused(overrides: dict[str, float], said: str) -> None:
    with pytest.raises(EntryError, match=said):
        with_overrides(GLOW_WORM, overrides)


@settings(deadline=None, max_examples=100)
@given(st.dictionaries(st.sampled_from([row.key for row in ROWS]), st.integers(-5, 400), max_size=3))
def test_overrides_of_any_kind_then_kept_as_said_or_refused(overrides: dict[str, int]) -> None:
    """Whatever is accepted is in order, and shows exactly what the keeper entered."""
    own, refused = with_sound_overrides(GLOW_WORM, overrides)
    assert disorder(own) == ()
    kept = {key: value for key, value in overrides.items() if key not in refused}
    assert {row.key: row.value for row in editable(own) if row.changed} == kept
    if refused:
        with pytest.raises(EntryError, match="Nothing was changed"):
            with_overrides(GLOW_WORM, overrides)
    else:
        assert own == with_overrides(GLOW_WORM, overrides)


def test_sound_overrides_when_one_cannot_stand_then_the_others_do() -> None:
    """Two phones may have changed one profile in ways that do not fit together: care goes on."""
    own, refused = with_sound_overrides(GLOW_WORM, {"feeding.young.on": 40, "egg.low": 20, "gone.by": 1})
    assert refused == ("feeding.young.on", "gone.by")
    assert own.ranges["egg"].low == 20


def test_durations_when_sex_is_not_known_then_both_are_spanned() -> None:
    assert GLOW_WORM.duration_days(Stage.PUPA, Sex.MALE) == (7, 8)
    assert GLOW_WORM.duration_days(Stage.PUPA) == (7, 10)
    assert GLOW_WORM.duration_days(Stage.PREPUPA) == (1, 6)
    assert GLOW_WORM.duration_days(Stage.EGG) == (25, 40)
