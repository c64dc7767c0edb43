from __future__ import annotations

from datetime import date, timedelta

import numpy as np
from scipy.optimize import linear_sum_assignment

from boxside.core.planning import smoothed_load
from boxside.core.values.due import Due

TODAY = date(2026, 5, 1)


def least_squares_of_loads(spans: list[range], n_days: int) -> int:
    """The smallest sum of squared loads: a day has slots that cost 1, 3, 5, ..., in sum n squared."""
    n = len(spans)
    cost = np.full((n, n_days * n), 10_000)
    for task, span in enumerate(spans):
        for day in span:
            cost[task, day * n : (day + 1) * n] = 2 * np.arange(n) + 1
    rows, columns = linear_sum_assignment(cost)
    return int(cost[rows, columns].sum())


def test_no_spread_is_more_even_matches_harvey_2006():
    rng = np.random.default_rng(2006)
    for _ in range(60):
        n_days, n = int(rng.integers(3, 12)), int(rng.integers(1, 25))
        dues = []
        for i in range(n):
            on = int(rng.integers(1, n_days))
            first, last = max(on - int(rng.integers(0, 4)), 0), min(on + int(rng.integers(0, 4)), n_days - 1)
            days = [TODAY + timedelta(days=d) for d in (first, on, last)]
            dues.append(Due(f"B{i:02d}", "feed", *days))
        smooth = smoothed_load(dues, TODAY, n_days)
        spans = [range((due.earliest - TODAY).days, (due.latest - TODAY).days + 1) for due in dues]
        assert sum(len(day.tasks) ** 2 for day in smooth.days) == least_squares_of_loads(spans, n_days)
