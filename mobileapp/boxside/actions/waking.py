"""The winter rest in sentences: who rests until when, and what waking them costs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from boxside.actions.rests import Rests
from boxside.actions.stage_groups import Group
from boxside.actions.visits import Rhythm, helping_for
from boxside.actions.wording import day_text
from boxside.core.planning import Resting, Waking, wakings
from boxside.core.values.stages import Stage


def resting_texts(
    groups: Sequence[Group], known: Mapping[str, Rhythm], rests: Rests, day: date
) -> tuple[str, ...]:  # fmt: skip
    """Return who rests until when and what waking them costs, one sentence or two a day of waking."""
    return tuple(_said(waking, day) for waking in wakings(list(_resting(groups, known, rests))))


def _resting(groups: Sequence[Group], known: Mapping[str, Rhythm], rests: Rests) -> Iterator[Resting]:
    by_box: dict[str, list[Group]] = {}
    for group in groups:
        by_box.setdefault(group.box.id, []).append(group)
    for box, held in by_box.items():
        span = rests.now(box, held[0].area)
        if span is None:
            continue
        rhythm, n = known[box], sum(group.n for group in held if group.stage is Stage.LARVA)
        profile, youngest = rhythm.profile, rhythm.youngest or 0
        yield Resting(
            box=held[0].box.shown,
            since_on=span.from_on,
            until_on=span.until_on,
            n_larvae=n,
            prey="prey",
            helping=n * helping_for(profile, youngest).per_larva,
            interval_days=max(profile.window(profile.band_of(youngest).window_key).on, 1),
            first_meal_days=profile.window("wake_meal").on,
        )


def _said(waking: Waking, day: date) -> str:
    text = f"In winter rest until {day_text(waking.on, day)}: {', '.join(waking.boxes)}."
    if not waking.n_larvae:
        return text
    prey, visits = round(sum(figure.value for figure in waking.prey)), round(waking.visits_a_week.value)
    meals = "1 more meal" if visits <= 1 else f"{visits} more meals"
    larvae = "1 larva" if waking.n_larvae == 1 else f"{waking.n_larvae} larvae"
    return (
        f"{text} Waking {larvae} costs about {max(prey, 1)} prey for the first meals from "
        f"{day_text(waking.first_meals_on, day)}, then about {meals} a week."
    )


__all__ = ["resting_texts"]
