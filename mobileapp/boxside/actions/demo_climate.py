"""The invented colony's surroundings: a thermometer on the shelf, another in the cool room, and prey in stock.

All of it is made up. The thermometers were hung up last summer; some days nobody read them.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from datetime import date, timedelta

from boxside.actions.demo_story import Deed
from boxside.core.values.event import Json

_SINCE_DAYS = 330
_MORNING = 8 * 60
_STOCKED_BEFORE_DAYS = 12


def surroundings(today: date) -> Iterator[Deed]:
    """Return the readings of two thermometers and a count of the prey, up to and including `today`."""
    chance = random.Random(f"invented surroundings {today.isoformat()}")
    for n in range(_SINCE_DAYS, -1, -1):
        day = today - timedelta(days=n)
        # Warmest in late July.
        season = math.cos(2 * math.pi * (day.timetuple().tm_yday - 205) / 365)
        if chance.random() > 0.05:
            yield _reading("shelf", day, 19.5 + 1.5 * season + chance.gauss(0, 0.6), 1.6)
        if n % 3 == 0:
            yield _reading("cool room", day, 8.0 + 3.5 * season + chance.gauss(0, 0.7), 0.9)
    stocked = today - timedelta(days=_STOCKED_BEFORE_DAYS)
    for size, n in ((6, 70), (14, 45)):
        fields: dict[str, Json] = {
            "prey": "garden snail",
            "batch": f"own {size} mm",
            "n": n,
            "size_mm": size,
            "origin": "own culture",
        }
        yield Deed(stocked, _MORNING, "prey_stock", "prey", "garden snail", fields)
    yield Deed(stocked, _MORNING, "prey_culture", "prey", "garden snail", {"prey": "garden snail", "breeders": 12})


def _reading(area: str, day: date, mean_c: float, half_c: float) -> Deed:
    low, high = round(mean_c - half_c, 1), round(mean_c + half_c, 1)
    return Deed(day, _MORNING, "temperature", "area", area, {"now_c": round(mean_c, 1), "min_c": low, "max_c": high})
