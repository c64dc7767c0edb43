"""What is expected of the animals themselves: hatches, pupations, emergences, and boxes that wake."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from boxside.actions.chance import chance_for
from boxside.actions.needs import Needs
from boxside.actions.rests import Rests
from boxside.actions.stage_groups import Group
from boxside.actions.wording import MONTHS, day_text, stage_words
from boxside.core.development import Asked, expected_dates
from boxside.core.values.ahead import Expected
from boxside.core.values.due import Due, Reason
from boxside.core.values.forecast import Forecast, Outlook
from boxside.core.values.profile import Profile
from boxside.core.values.stages import Sex, Stage
from boxside.store.reading import Entity

# The share of futures between a forecast's earliest and latest day.
SHARE_FRAC = 0.8
_LONGEST_DAYS = 1095
# Days alone are cheap to draw; warmth must be summed day by day in every future.
DRAWS, WARM_DRAWS = 1000, 300
_WHAT = {Stage.EGG: "hatch", Stage.LARVA: "pupate", Stage.PREPUPA: "pupate", Stage.PUPA: "emerge"}
_SEXES = {Sex.FEMALE: "Females", Sex.MALE: "Males", Sex.UNKNOWN: "Adults"}


def expected_of(groups: Sequence[Group], needs: Needs, rests: Rests, day: date) -> tuple[Expected, ...]:
    """Return what is expected of every group whose stage began on a known day, soonest first.

    What should have happened by `day` (today) as nobody looked is overdue too, its days kept.
    """
    batches: dict[tuple[str, Stage, Sex, str], list[Group]] = {}
    for group in groups:
        if _can_be_foretold(needs, group):
            place = group.area if needs.is_thermal(group.species, group.stage, group.sex) else ""
            batches.setdefault((group.species, group.stage, group.sex, place), []).append(group)
    found: list[Expected] = []
    for (species, stage, sex, area), members in batches.items():
        forecasts = _forecasts(needs, (species, stage, sex, area), members)
        found += [
            _expected(group, fc, (rests, needs.profile(group.species)), day)
            for group, fc in zip(members, forecasts, strict=True)
        ]
    return tuple(sorted(found, key=lambda one: (one.by, one.subject, one.what, one.sex)))


def _can_be_foretold(needs: Needs, group: Group) -> bool:
    if group.started is None or group.stage is Stage.ADULT:
        return False
    if (group.looked_on - group.started.from_on).days > _LONGEST_DAYS:
        return False
    # Larvae that are far from grown by their instar are not near pupation, whatever their age allows.
    return group.stage is not Stage.LARVA or near_grown(needs, group)


def near_grown(needs: Needs, group: Group) -> bool:
    """Return whether larvae may be in their last instar but one, or of unknown instar."""
    return group.instar == 0 or group.instar >= needs.profile(group.species).mature_instar - 1


def _forecasts(needs: Needs, key: tuple[str, Stage, Sex, str], members: Sequence[Group]) -> tuple[Forecast, ...]:
    species, stage, sex, area = key
    need = needs.of(species, stage, sex, area)
    asked = [Asked(headline(g), g.started, g.looked_on) for g in members if g.started is not None]
    climate = needs.record(area).climate if area or need.curve is not None else needs.record("").climate
    rng = chance_for(species, stage, sex, area, need.n_seen, [(a.started, a.as_of) for a in asked])
    return expected_dates(asked, need, climate, rng, DRAWS if need.curve is None else WARM_DRAWS)


def headline(group: Group) -> str:
    """Return what is expected of a group in the keeper's words."""
    label = group.box.shown
    if group.stage is Stage.EGG:
        return f"First larvae in {label}"
    if group.stage is Stage.PUPA:
        return f"{_SEXES[group.sex]} emerge in {label}"
    who = "Larvae" if group.stage is Stage.LARVA else "Prepupae"
    return f"{who} pupate in {label}"


def _expected(group: Group, forecast: Forecast, year: tuple[Rests, Profile], day: date) -> Expected:
    days = [forecast.earliest, forecast.likely, forecast.latest]
    moved, why = (days, ()) if group.stage is not Stage.LARVA else _put_off(group, days, *year)
    reasons = (*forecast.reasons, *why)
    unseen = moved[2] is not None and moved[2] < day
    if unseen:
        text = f"Nobody has looked since {group.looked_on.isoformat()}, and it should have happened by now."
        reasons = (*reasons, Reason("not_looked", None, 0, text))
    return Expected(
        key=f"{group.box.id}/{group.cohort}/{_WHAT[group.stage]}/{group.stage}/{group.sex}",
        what=_WHAT[group.stage],
        subject=", ".join(part for part in (group.box.shown, group.name) if part),
        headline=headline(group),
        box_id=group.box.id,
        cohort_id=group.cohort,
        n=group.n,
        stage=str(group.stage),
        sex="" if group.sex is Sex.UNKNOWN else str(group.sex),
        outlook=Outlook.OVERDUE if unseen else forecast.outlook,
        earliest=moved[0],
        likely=moved[1],
        latest=moved[2],
        share_frac=SHARE_FRAC,
        reasons=reasons,
    )


def _put_off(
    group: Group, days: Sequence[date | None], rests: Rests, profile: Profile
) -> tuple[list[date | None], tuple[Reason, ...]]:
    """Return days of pupation moved out of the winter rest and into the months in which the species pupates."""
    awake = [rests.after(group, day) if day else None for day in days]
    moved = [_in_season(day, profile) if day else None for day in awake]
    reasons = []
    if awake != list(days):
        waking = max(day for day in awake if day is not None)
        text = f"Nothing pupates in the winter rest: what would fall into it waits until {waking.isoformat()}."
        reasons.append(Reason("winter_rest", None, 0, text))
    if moved != awake:
        first, last = (MONTHS[profile.days(f"watch.pupation_{end}_month") - 1] for end in ("from", "to"))
        text = f"Larvae pupate from {first} to {last}: what would fall outside waits for the next such month."
        reasons.append(Reason("season", None, 0, text))
    return moved, tuple(reasons)


def _in_season(day: date, profile: Profile) -> date:
    first, last = profile.days("watch.pupation_from_month"), profile.days("watch.pupation_to_month")
    months = range(first, last + 1) if first <= last else (*range(first, 13), *range(1, last + 1))
    return day if day.month in months else date(day.year + (day.month > first), first, 1)


def planned(dues: Sequence[Due], boxes: dict[str, Entity]) -> Iterator[Expected]:
    """Yield what happens on planned days: boxes that wake, quarantines that end; one for all boxes of a day."""
    said = {"wake": "wake from the winter rest", "quarantine_end": "leave quarantine"}
    by_day: dict[tuple[str, date], list[Due]] = {}
    for due in dues:
        if due.task in said and due.box in boxes:
            by_day.setdefault((due.task, due.on), []).append(due)
    for (task, on), found in by_day.items():
        names = [boxes[due.box].shown for due in found]
        shown = ", ".join(names[:4]) + (f" and {len(names) - 4} more" if len(names) > 4 else "")
        yield Expected(
            key=f"{task}/{on.isoformat()}",
            what="wake" if task == "wake" else "quarantine",
            subject=shown,
            headline=f"{shown} {said[task] if len(names) > 1 else _singular(said[task])}",
            box_id=found[0].box if len(found) == 1 else "",
            cohort_id="",
            n=len(names),
            stage="",
            sex="",
            outlook=Outlook.EXPECTED,
            earliest=min(due.earliest for due in found),
            likely=on,
            latest=max(due.latest for due in found),
            share_frac=1.0,
            reasons=found[0].reasons,
        )


def _singular(said: str) -> str:
    return said.replace("wake ", "wakes ", 1).replace("leave ", "leaves ", 1)


def unknown_of(needs: Needs, groups: Sequence[Group]) -> tuple[str, ...]:
    """Return, one sentence each, of whom nothing can be foretold and why."""
    aged, old = [], []
    for group in groups:
        if group.stage is Stage.LARVA and group.started is None and near_grown(needs, group) and group.instar:
            aged.append(group.box.shown)
        elif group.started is not None and (group.looked_on - group.started.from_on).days > _LONGEST_DAYS:
            old.append(group.box.shown)
    said = []
    if aged:
        said.append(
            f"Grown larvae of unknown age in {_few(aged)}: no date of pupation can be given. Watch for shelter seekers."
        )
    if old:
        said.append(f"Over three years in one stage in {_few(old)}: count them, or correct when it began.")
    return tuple(said)


def _few(labels: Sequence[str]) -> str:
    names = list(dict.fromkeys(labels))
    return ", ".join(names[:6]) + (f" and {len(names) - 6} more" if len(names) > 6 else "")


def when_text(one: Expected, day: date) -> str:
    """Return the range of days in words."""
    if one.outlook is Outlook.OVERDUE:
        return "should have happened by now"
    if one.likely is None:
        return "not within 400 days at these temperatures"
    if one.earliest == one.likely == one.latest or one.earliest is None:
        return f"on {day_text(one.likely, day)}"
    latest = day_text(one.latest, day) if one.latest else "later than 400 days from now"
    return f"between {day_text(one.earliest, day)} and {latest}, likely {day_text(one.likely, day)}"


def animals_text(one: Expected) -> str:
    """Return how many animals it is about, empty where it is about boxes."""
    return stage_words(one.stage, one.n) if one.stage else ""


def within(found: Sequence[Expected], from_on: date, to_on: date) -> tuple[Expected, ...]:
    """Return what may happen between two days, and what should have happened already."""
    kept = []
    for one in found:
        overdue = one.outlook is Outlook.OVERDUE
        if overdue or (one.earliest and one.earliest <= to_on and (one.latest is None or one.latest >= from_on)):
            kept.append(one)
    return tuple(kept)
