from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.development import (
    Crossing,
    LampHours,
    Salt,
    Span,
    condenses,
    dew_point_c,
    light_day,
    salt_humidity_percent,
    salt_test,
    sun_day,
)
from boxside.core.values.errors import EntryError

BERLIN = ZoneInfo("Europe/Berlin")
quick = settings(deadline=None, max_examples=100)


@quick
@given(st.floats(-89.9, 89.9), st.floats(-180, 180), st.dates(date(1990, 1, 1), date(2060, 12, 31)))
def test_every_place_and_day_has_a_noon_and_ordered_times(latitude, longitude, day):
    sun = sun_day(day, latitude, longitude, UTC)
    assert sun.noon_at.date() == day or abs((sun.noon_at.date() - day).days) == 1
    assert 0 <= sun.day_length_h <= 24
    lengths = [times.above_h for times in (sun.horizon, sun.civil, sun.nautical)]
    assert lengths == sorted(lengths)
    for times in (sun.horizon, sun.civil, sun.nautical):
        if times.crossing is Crossing.CROSSES and times.rises_at is not None:
            assert times.rises_at < sun.noon_at < times.sinks_at


def test_a_dusk_after_midnight_belongs_to_the_evening_before():
    sun = sun_day(date(2026, 6, 20), 60.0, 10.0, ZoneInfo("Europe/Oslo"))
    dusk = sun.civil.sinks_at.astimezone(ZoneInfo("Europe/Oslo"))
    assert dusk.date() == date(2026, 6, 21)
    assert dusk.hour == 0


def test_noon_falls_on_the_keepers_own_day_at_both_ends_of_the_world():
    for zone, longitude in (
        ("Pacific/Auckland", 175.0),
        ("Pacific/Kiritimati", -157.4),
        ("Pacific/Honolulu", -158.0),
    ):
        sun = sun_day(date(2026, 3, 1), -20.0, longitude, ZoneInfo(zone))
        assert sun.noon_at.astimezone(ZoneInfo(zone)).date() == date(2026, 3, 1)


def test_white_nights_and_polar_night_are_named():
    white = sun_day(date(2026, 6, 20), 62.0, 25.0, UTC)
    assert white.horizon.crossing is Crossing.CROSSES
    assert white.civil.crossing is Crossing.ALWAYS_ABOVE
    assert white.civil.sinks_at is None
    for pole in (90.0, -90.0):
        lengths = {sun_day(date(2026, month, 20), pole, 0, UTC).day_length_h for month in (6, 12)}
        assert lengths == {0.0, 24.0}


def test_a_place_off_the_globe_is_refused():
    with pytest.raises(EntryError, match="no place on Earth"):
        sun_day(date(2026, 1, 1), 91, 0, UTC)


def test_a_dark_cupboard_with_a_lamp_has_the_lamps_hours():
    day = light_day(date(2026, 5, 5), BERLIN, lamps=[LampHours(8 * 60, 20 * 60)])
    assert day.light_h == 12
    assert day.dark.hours == 8
    assert light_day(date(2026, 5, 5), BERLIN).light_h == 0
    assert light_day(date(2026, 5, 5), BERLIN).dark.hours == 24


def test_a_lamp_over_midnight_lights_both_ends_of_the_day():
    day = light_day(date(2026, 5, 5), BERLIN, lamps=[LampHours(20 * 60, 6 * 60)])
    assert day.light_h == 10
    assert (day.dark.from_at.hour, day.dark.until_at.hour) == (6, 20)


def test_a_lamp_that_always_burns_leaves_no_dark():
    day = light_day(date(2026, 5, 5), BERLIN, lamps=[LampHours(600, 600)])
    assert day.light_h == 24
    assert day.dark is None


def test_lamp_and_daylight_are_not_counted_twice():
    sun = Span(datetime(2026, 5, 5, 4, tzinfo=UTC), datetime(2026, 5, 5, 18, tzinfo=UTC))
    day = light_day(date(2026, 5, 5), UTC, [sun], [LampHours(17 * 60, 22 * 60)])
    assert day.light_h == 18


def test_hours_are_those_that_pass_where_clocks_change():
    spring, autumn = date(2026, 3, 29), date(2026, 10, 25)
    assert light_day(spring, BERLIN).dark.hours == 23
    assert light_day(autumn, BERLIN).dark.hours == 25
    assert light_day(spring, BERLIN, lamps=[LampHours(60, 240)]).light_h == 2
    assert light_day(autumn, BERLIN, lamps=[LampHours(60, 240)]).light_h == 4


def test_a_lamp_time_that_is_no_time_is_refused():
    with pytest.raises(EntryError, match="lamp"):
        light_day(date(2026, 5, 5), BERLIN, lamps=[LampHours(0, 1440)])


@quick
@given(
    st.lists(st.tuples(st.integers(0, 1439), st.integers(0, 1439)), max_size=4),
    st.dates(date(2020, 1, 1), date(2030, 1, 1)),
)
def test_another_lamp_never_makes_a_day_shorter(hours, day):
    lamps = [LampHours(on, off) for on, off in hours]
    lengths = [light_day(day, BERLIN, lamps=lamps[:n]).light_h for n in range(len(lamps) + 1)]
    assert lengths == sorted(lengths)
    assert lengths[-1] <= 25


@quick
@given(st.floats(-10, 40), st.floats(1, 100))
def test_dew_point_is_never_above_the_air(temperature, humidity):
    assert dew_point_c(temperature, humidity) <= temperature + 1e-9
    assert dew_point_c(temperature, 100) == pytest.approx(temperature)


def test_a_lid_a_degree_cooler_runs_with_water_in_a_moist_box():
    assert condenses(20, 95, 19.0)
    assert not condenses(20, 95, 19.5)
    assert not condenses(20, 60, 15.0)


def test_a_hygrometer_over_salt_shows_its_error():
    test = salt_test(Salt.SODIUM_CHLORIDE, 20, 79.0)
    assert test.error == pytest.approx(79 - test.true_percent)
    assert test.error > 0
    # Over a day at room temperature the salt is the steadier of the two.
    span = [salt_humidity_percent(Salt.SODIUM_CHLORIDE, c) for c in (15, 25)]
    assert abs(span[0] - span[1]) < 0.5


def test_air_and_salt_out_of_range_are_refused():
    for call in (
        lambda: dew_point_c(20, 0),
        lambda: dew_point_c(20, 101),
        lambda: dew_point_c(80, 50),
        lambda: salt_humidity_percent(Salt.POTASSIUM_CHLORIDE, 0),
        lambda: salt_test(Salt.POTASSIUM_CHLORIDE, 20, 120),
    ):
        with pytest.raises(EntryError):
            call()


def test_day_length_grows_towards_midsummer():
    lengths = [sun_day(date(2026, 3, 1) + timedelta(days=d), 52, 13, UTC).day_length_h for d in range(0, 110, 10)]
    assert lengths == sorted(lengths)
