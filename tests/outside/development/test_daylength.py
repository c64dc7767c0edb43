from __future__ import annotations

from datetime import UTC, date, timedelta

import pytest
from astral import Observer, refraction_at_zenith
from astral import sun as reference

from boxside.core.development import Crossing, height_times, sun_day


def test_day_length_matches_reda_2004(checks):
    table = checks("daylength")["day_length_spa"]
    for latitude, day, hours in table["rows"]:
        ours = sun_day(day, latitude, 0, UTC).day_length_h
        assert ours == pytest.approx(hours, abs=table["tolerance_h"]), (latitude, day)


def test_day_length_matches_forsythe_1995(checks):
    table = checks("daylength")["day_length_forsythe_1995"]
    for latitude, day, hours in table["rows"]:
        ours = sun_day(day, latitude, 0, UTC).day_length_h
        assert ours == pytest.approx(hours, abs=table["tolerance_h"]), (latitude, day)


def test_dusk_matches_reda_2004(checks):
    table = checks("daylength")["dusk_spa"]
    for latitude, day, name, moment in table["rows"]:
        sun = sun_day(day, latitude, 0, UTC)
        dusk = {"civil": sun.civil, "nautical": sun.nautical}[name]
        if moment == "none":
            assert dusk.crossing is Crossing.ALWAYS_ABOVE
            continue
        assert abs((dusk.sinks_at - moment).total_seconds()) <= table["tolerance_s"], (latitude, day, name)


def test_midnight_sun_and_polar_night_match_forsythe_1995(checks):
    for latitude, day, hours in checks("daylength")["polar"]["rows"]:
        sun = sun_day(day, latitude, 25, UTC)
        assert sun.day_length_h == hours
        assert sun.horizon.sinks_at is None
        assert sun.horizon.crossing is (Crossing.ALWAYS_ABOVE if hours else Crossing.ALWAYS_BELOW)
        with pytest.raises(ValueError, match="Sun"):
            reference.sunset(Observer(latitude, 25, 0), day)


@pytest.mark.parametrize("latitude", [-65, -40, 0, 30, 52, 60, 65])
def test_sun_over_a_year_matches_astral_3(checks, latitude):
    # Both are asked for the same depression; the SPA tables above check our choice of it.
    tolerance = checks("daylength")["astral"]["tolerance_s"]
    half_sun = reference.SUN_APPARENT_RADIUS
    heights = [
        (reference.sunrise, reference.sunset, {}, 90 + half_sun),
        (reference.dawn, reference.dusk, {"depression": 6}, 96),
        (reference.dawn, reference.dusk, {"depression": 12}, 102),
    ]
    compared, observer = 0, Observer(latitude, 10, 0)
    for step in range(0, 365, 2):
        day = date(2024, 1, 1) + timedelta(days=step)
        noon = sun_day(day, latitude, 10, UTC).noon_at
        for rise, sink, options, zenith in heights:
            ours = height_times(noon, latitude, 90 - zenith - refraction_at_zenith(zenith))
            for moment, asked in ((ours.rises_at, rise), (ours.sinks_at, sink)):
                if moment is None or moment.date() != day:
                    continue
                try:
                    theirs = asked(observer, day, **options)
                except ValueError:
                    # The last evening before a season without night: astral asks at another moment.
                    assert latitude in (-65, 60, 65)
                    continue
                if theirs.date() == day:
                    assert abs((moment - theirs).total_seconds()) <= tolerance, (day, asked, options)
                    compared += 1
    assert compared > 600
