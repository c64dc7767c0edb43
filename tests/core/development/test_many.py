from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from boxside.core.development import (
    Asked,
    Started,
    expected_date,
    expected_dates,
    fit_climate,
    prior_need,
    steady_climate,
)
from boxside.core.values.errors import EntryError
from boxside.core.values.forecast import DaysBand, DayTemperature, Outlook, ThermalNeed

LAID = date(2026, 7, 1)
EGG = ThermalNeed(10.6, 214.8, 0.5, 10.0, correlation=-0.8, source="Lee et al. 2003; errors invented")


def asked(from_day: int, to_day: int, look_day: int) -> Asked:
    days = [LAID + timedelta(days=n) for n in (from_day, to_day, look_day)]
    return Asked("larvae", Started(days[0], days[1]), days[2])


ASKED = [asked(0, 0, 0), asked(0, 6, 10), asked(12, 12, 20), asked(-9, -5, 8)]


@pytest.mark.parametrize("known", [DaysBand(26, 34), EGG])
def test_each_of_many_is_as_if_foretold_alone(known):
    need = prior_need(known)
    record = [DayTemperature(LAID - timedelta(days=n), 18.0 - n % 3, 21.0 + n % 2) for n in range(20)]
    climate = fit_climate(record)
    many = expected_dates(ASKED, need, climate, np.random.default_rng(1), 4000)
    for one, forecast in zip(ASKED, many, strict=True):
        alone = expected_date("larvae", one.started, need, climate, one.as_of, np.random.default_rng(2), 4000)
        assert forecast.outlook is alone.outlook is Outlook.EXPECTED
        assert forecast.reasons == alone.reasons
        for mine, other in ((forecast.earliest, alone.earliest), (forecast.likely, alone.likely)):
            assert abs((mine - other).days) <= 1
        assert abs((forecast.latest - alone.latest).days) <= 2


def test_what_should_have_happened_long_ago_is_overdue_alone_or_among_many():
    late = asked(0, 0, 90)
    many = expected_dates(
        [ASKED[0], late], prior_need(DaysBand(26, 34)), steady_climate(20, 1), np.random.default_rng(1)
    )
    assert [forecast.outlook for forecast in many] == [Outlook.EXPECTED, Outlook.OVERDUE]


def test_too_cold_means_stalled():
    (cold,) = expected_dates([ASKED[0]], prior_need(EGG), steady_climate(4, 1), np.random.default_rng(1), 200)
    assert (cold.outlook, cold.likely) == (Outlook.STALLED, None)


def test_none_asked_none_answered_and_bad_dates_are_refused():
    need, climate, rng = prior_need(DaysBand(26, 34)), steady_climate(20, 1), np.random.default_rng(1)
    assert expected_dates([], need, climate, rng) == ()
    with pytest.raises(EntryError):
        expected_dates([asked(5, 5, 0)], need, climate, rng)
