from __future__ import annotations

import pytest

from boxside.core.development import Salt, dew_point_c, salt_humidity_percent, saturation_hpa


def test_dew_point_matches_alduchov_1996(checks):
    table = checks("humidity")["dew_point_alduchov_1996"]
    for temperature, pressure in table["saturation_hpa"]:
        assert saturation_hpa(temperature) == pytest.approx(pressure, abs=table["tolerance"])
    for temperature, humidity, dew in table["dew_point_c"]:
        assert dew_point_c(temperature, humidity) == pytest.approx(dew, abs=table["tolerance"])


@pytest.mark.parametrize("rule", ["dew_point_metpy", "dew_point_lawrence_2005"])
def test_dew_point_by_other_formulae_matches_lawrence_2005(checks, rule):
    table = checks("humidity")[rule]
    for temperature, humidity, dew in table["dew_point_c"]:
        assert dew_point_c(temperature, humidity) == pytest.approx(dew, abs=table["tolerance"])


def test_vapour_pressure_matches_sonntag_1990(checks):
    table = checks("humidity")["saturation_sonntag_1990"]
    for temperature, pressure in table["saturation_hpa"]:
        assert saturation_hpa(temperature) == pytest.approx(pressure, rel=table["relative_tolerance"])


@pytest.mark.parametrize("salt", list(Salt))
def test_air_over_wet_salt_matches_greenspan_1977(checks, salt):
    table = checks("humidity")["salts_greenspan_1977"]
    for temperature, humidity in zip(table["temperature_c"], table[salt.value], strict=True):
        assert salt_humidity_percent(salt, temperature) == pytest.approx(humidity, abs=table["tolerance"])


@pytest.mark.parametrize("salt", list(Salt))
def test_air_over_wet_salt_matches_wexler_crc(checks, salt):
    table = checks("humidity")["salts_crc_wexler"]
    ours = salt_humidity_percent(salt, table["temperature_c"])
    assert ours == pytest.approx(table[salt.value], rel=table["tolerance"] / 100)
