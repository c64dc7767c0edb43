"""What each box will eat: when, how often, how much, of what."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta

from boxside.actions.ahead import Outlook
from boxside.actions.context import today, zone_of
from boxside.actions.services import Services
from boxside.actions.visits import helping_for, interval_days
from boxside.core.planning import BoxMeals, PastMeal
from boxside.core.values.due import Due
from boxside.core.values.moments import local_ms
from boxside.core.values.stages import Stage
from boxside.store import outlook
from boxside.store.outlook import Logged

# Meals of the last weeks say what larvae of this size eat; older ones were of smaller larvae.
LEARNED_FROM_DAYS = 60
_MEALS = 4
UNSAID = "prey, kind not said"


def box_meals(services: Services, now: Outlook) -> tuple[BoxMeals, ...]:
    """Return what decides the meals to come of every box with larvae, those at rest from their waking on."""
    day = today(services)
    since = local_ms(day - timedelta(days=LEARNED_FROM_DAYS), 0, zone_of(services))
    fed: dict[str, list[Logged]] = {}
    for item in outlook.at_boxes_since(services.store, "fed", since):
        fed.setdefault(item.subject, []).append(item)
    feeds = {due.box: due for due in now.dues if due.task == "feed"}
    larvae = n_larvae(now)
    found = [_meals(now, box, larvae[box], feeds.get(box), fed.get(box, ()), day) for box in larvae]
    return tuple(meals for meals in found if meals is not None)


def n_larvae(now: Outlook) -> dict[str, int]:
    """Return how many larvae each box holds, boxes without any left out."""
    held: dict[str, int] = {}
    for group in now.groups:
        if group.stage is Stage.LARVA:
            held[group.box.id] = held.get(group.box.id, 0) + group.n
    return held


def _meals(now: Outlook, box: str, n: int, due: Due | None, fed: Sequence[Logged], day: date) -> BoxMeals | None:
    rhythm = now.rhythms[box]
    spans = rhythm.rests
    resting = next((span for span in spans if span.begun), None)
    if due is None and resting is None:
        return None
    youngest = rhythm.youngest or 0
    profile = rhythm.profile
    every = profile.window(profile.band_of(youngest).window_key).on
    if due is not None:
        next_on, every = max(due.on, day), interval_days(due, rhythm) or every
    else:
        waking = resting.until_on if resting else day
        next_on = max(waking, day) + timedelta(days=profile.window("wake_meal").on)
    begins = min((span.from_on for span in spans if span.from_on > next_on), default=None)
    amounts = [item.fields.get("amount") for item in fed]
    past = [PastMeal(n, float(amount)) for amount in amounts if isinstance(amount, (int, float))]
    return BoxMeals(
        box=now.boxes[box].shown,
        prey=_kind(fed),
        next_on=next_on,
        interval_days=max(every, 1),
        n_larvae=n,
        per_larva=helping_for(profile, youngest).per_larva,
        past=tuple(past[-_MEALS:]),
        until_on=begins - timedelta(days=1) if begins else None,
    )


def _kind(fed: Sequence[Logged]) -> str:
    """Return the kind of prey that a box was last given, as far as it was said."""
    said = [item.fields.get("prey") for item in reversed(fed)]
    return next((kind_name(text) for text in said if isinstance(text, str) and text.strip()), UNSAID)


def kind_name(text: str) -> str:
    """Return a kind of prey as it is compared: case and blanks do not matter."""
    return " ".join(text.casefold().replace("_", " ").split())


def by_kind(meals: Sequence[BoxMeals], stocked: Sequence[str]) -> tuple[BoxMeals, ...]:
    """Return the meals with those of unsaid kind given the only kind in stock, where there is just one."""
    if len(stocked) != 1:
        return tuple(meals)
    return tuple(replace(one, prey=stocked[0]) if one.prey == UNSAID else one for one in meals)


def said_of(fields: Mapping[str, object], name: str) -> str:
    """Return a text field of an event, empty where it was not said."""
    value = fields.get(name)
    return value if isinstance(value, str) else ""
