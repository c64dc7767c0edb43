"""Invented lengths for the demo's larvae: of the size that their instar has, scattered as animals are."""

from __future__ import annotations

import math
import random
from datetime import date

from boxside.core.values.event import Json

_HATCHLING_MM, _PER_MOULT = 2.5, 1.43
_MOST = 14
_LONGEST_MM = 24.0
_UNEVEN = 7


def lengths_measured(code: str, cohort: str, day: date, instar: int, n: int) -> dict[str, Json]:
    """Return what a measuring of some larvae of a box holds, the same for the same box and day.

    Every seventh box grows apart, so that there is something to grade.
    """
    chance = random.Random(f"lengths {code} {day.isoformat()}")
    middle = math.log(_HATCHLING_MM) + (instar - 0.5) * math.log(_PER_MOULT)
    scatter = 0.28 if int(code[1:]) % _UNEVEN == 0 else 0.09
    rows: list[Json] = [
        {"length_mm": round(min(_LONGEST_MM, math.exp(chance.gauss(middle, scatter))), 1), "status": "measured"}
        for _ in range(min(n, _MOST))
    ]
    return {"scale": "hand", "stage": "larva", "cohort": cohort, "instar": instar, "bodies": rows}
