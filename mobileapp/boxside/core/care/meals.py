"""When a box was last fed, as far as anybody knows, and the first week of boxes where nobody does."""

from __future__ import annotations

import re
import zlib
from dataclasses import dataclass
from datetime import date

from boxside.core.care.windows import after, number_of
from boxside.core.values.facts import BoxFacts, Seen
from boxside.core.values.profile import Band, Profile

_SLOTS = 4
_LAST_OFFSET = 3


@dataclass(frozen=True, slots=True)
class Meal:
    """A known last meal: the day, the event that says so, and whether the day is only about right."""

    day: date
    seen: Seen
    about: bool = False


def last_meal(facts: BoxFacts) -> Meal | None:
    """Return the last meal that is known of, None where nobody knows of any."""
    known: list[Meal] = []
    fed = facts.latest.get("fed")
    if fed is not None:
        known.append(Meal(fed.day, fed))
    said = facts.latest.get("last_fed")
    if said is not None and said.fields.get("basis") == "today":
        known.append(Meal(said.day, said))
    if said is not None and said.fields.get("basis") == "about":
        known.append(Meal(after(said.day, -max(0, number_of(said, "days", 0))), said, about=True))
    return max(known, key=lambda meal: (meal.day, meal.seen.at_ms), default=None)


def arrived_on(facts: BoxFacts) -> date:
    """Return the day since which the animals are in this box: when it was made or last filled."""
    days = [facts.made_on]
    moved = facts.latest.get("transfer")
    if moved is not None and moved.fields.get("to_box") == facts.box:
        days.append(moved.day)
    said = facts.latest.get("last_fed")
    if said is not None:
        days.append(said.day)
    return max(days)


def first_week_offset_days(facts: BoxFacts, band: Band, profile: Profile) -> int:
    """Return after how many days, 0 to 6, a box of unknown last meal gets its first one.

    Young larvae come in the first four days, the oldest in the last four; boxes with consecutive numbers
    on their lids fall on consecutive days, so that a new shelf is not due all at once.
    """
    place = [one.name for one in profile.bands].index(band.name)
    steps = max(1, len(profile.bands) - 1)
    digits = re.search(r"(\d+)\D*$", facts.label)
    number = int(digits.group(1)[-9:]) if digits else zlib.crc32(facts.box.encode("utf-8"))
    offset = round(_LAST_OFFSET * place / steps) + number % _SLOTS
    return min(offset, max(0, profile.window(band.window_key).on - 1))
