from __future__ import annotations

import math
from datetime import date, timedelta

import numpy as np
import pytest

from boxside.core.development import Pupae, Started, Treatment, meetings, prior_need, steady_climate
from boxside.core.values.errors import EntryError
from boxside.core.values.forecast import DaysBand, ThermalNeed

TODAY = date(2026, 6, 1)
SUM = prior_need(ThermalNeed(10.0, 100.0, 0.3, 5.0, correlation=-0.8, spread_frac=0.05))


def pupae(n: int, since_days: int, adult=(8, 14), need=SUM) -> Pupae:
    day = TODAY - timedelta(days=since_days)
    return Pupae(n, Started(day, day), need, DaysBand(*adult))


def compare(males, females, *treatments, seed=1):
    return meetings(males, females, steady_climate(18, 1.5), TODAY, treatments, np.random.default_rng(seed))


def test_pupae_of_one_day_meet():
    (meeting,) = compare(pupae(8, 2), pupae(8, 2), Treatment())
    assert meeting.met_frac.likely > 0.9
    assert abs(meeting.lag_days.likely) < 2
    assert meeting.stalled_frac == 0


def test_males_three_weeks_ahead_are_dead_before_the_females_come():
    (meeting,) = compare(pupae(8, 9, adult=(5, 8)), pupae(8, 0, adult=(3, 6)), Treatment())
    near = meeting.lag_days
    assert near.low < near.likely < near.high
    assert near.likely == pytest.approx(9, abs=2.5)
    assert meeting.met_frac.likely < 0.6


def test_cooling_the_males_brings_them_together_and_warming_them_does_not():
    males, females = pupae(8, 9, adult=(5, 8)), pupae(8, 0, adult=(3, 6))
    as_is, cooler, warmer = compare(males, females, Treatment(), Treatment(males_c=-5), Treatment(males_c=3))
    assert cooler.lag_days.likely < as_is.lag_days.likely <= warmer.lag_days.likely + 1e-9
    assert cooler.met_frac.likely > as_is.met_frac.likely
    assert as_is.met_frac.low <= as_is.met_frac.likely <= as_is.met_frac.high


def test_warming_the_females_does_the_same():
    males, females = pupae(8, 9, adult=(5, 8)), pupae(8, 0, adult=(3, 6))
    as_is, warmer = compare(males, females, Treatment(), Treatment(females_c=4))
    assert warmer.lag_days.likely < as_is.lag_days.likely


def test_females_that_wait_long_are_met_by_late_males():
    patient, hasty = (compare(pupae(6, 0), pupae(6, 8, adult=wait), Treatment())[0] for wait in ((12, 20), (1, 2)))
    assert patient.lag_days.likely < -5
    assert patient.met_frac.likely > 0.9
    assert hasty.met_frac.likely < 0.4


def test_treatments_are_compared_in_the_same_futures():
    first, second = compare(pupae(5, 4), pupae(5, 0), Treatment(), Treatment(0.0, 0.0))
    assert first == second


def test_cooling_below_the_threshold_stalls_them():
    (meeting,) = compare(pupae(4, 0), pupae(4, 0), Treatment(males_c=-25))
    assert meeting.stalled_frac == 1
    assert math.isnan(meeting.met_frac.likely)


def test_a_shift_says_nothing_where_days_are_counted():
    days = prior_need(DaysBand(8, 12))
    as_is, cooler = compare(pupae(5, 3, need=days), pupae(5, 0, need=days), Treatment(), Treatment(-5, 0))
    assert as_is.lag_days == cooler.lag_days


@pytest.mark.parametrize(("n", "since"), [(0, 3), (4, -2)])
def test_nobody_to_meet_is_refused(n, since):
    with pytest.raises(EntryError, match="at least one pupa"):
        compare(pupae(n, since), pupae(3, 0), Treatment())
