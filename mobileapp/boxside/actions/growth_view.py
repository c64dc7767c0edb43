"""Growth of the larvae of a box or a cohort: sizes over time, rates, instars, and what to do about them."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

from boxside.actions import growth_words as words
from boxside.actions.context import profile, setting
from boxside.actions.entry import box_label
from boxside.actions.facts import box_facts, species_of
from boxside.actions.groups import box_of_id, cohort_name
from boxside.actions.measured_rows import Ages, Measuring, ages_of, measured_cohorts, of_box, of_cohort
from boxside.actions.services import Services
from boxside.core.growth import (
    Body,
    CannotTell,
    Frame,
    Measured,
    SizeDay,
    compare_at_age,
    expected_length_mm,
    guess_instars,
    instars_of,
    near_mature,
    size_chart,
    size_spread,
    sizes_by_day,
)
from boxside.core.growth.expected import LIMITS as EXPECTED_LIMITS
from boxside.core.values.chart import Chart, Role, Steps, number_axis
from boxside.core.values.errors import EntryError
from boxside.core.values.photo_view import Advice, GrowthView, InstarGuess, PaceRow
from boxside.core.values.profile import Profile
from boxside.core.values.stages import Stage
from boxside.store import reading

TOGETHER_DAYS = 7
"""Boxes of a cohort measured within a week stand for one state of it; common practice, no source."""
MOST_EARLIER = 3
N_STEPS = 120
NOTHING = "measure a photo with the card, or enter lengths by hand"


@dataclass(frozen=True, slots=True)
class _Subject:
    """What is asked about: its title, cohorts, species' numbers, measurings and their ages."""

    title: str
    cohorts: tuple[str, ...]
    profile: Profile
    rows: tuple[Measuring, ...]
    ages: Ages | None
    box_id: str = ""

    @property
    def latest(self) -> tuple[Measuring, ...]:
        """The measurings that stand for now."""
        last = self.rows[-1].day
        since = last if self.box_id else last - timedelta(days=TOGETHER_DAYS)
        return tuple(row for row in self.rows if row.day >= since)

    @property
    def now_mm(self) -> list[float]:
        """The lengths that stand for now."""
        return [length for row in self.latest for length in row.lengths_mm]


def growth_view(services: Services, box_id: str = "", cohort: str = "") -> GrowthView:
    """Return sizes over time and what follows from them, for the larvae of a box or for a cohort.

    Raises
    ------
    EntryError : unless exactly one of the two is named and there is one
    """
    if bool(box_id) == bool(cohort):
        raise EntryError("Name a box or a cohort. Nothing was changed.")
    subject = _of_box(services, box_id) if box_id else _of_cohort(services, cohort)
    if not subject.rows:
        return GrowthView(subject.title, _empty_chart(subject), box_id=box_id, cohort=cohort)
    earlier = _earlier(services, subject)
    guesses, note = _instars(subject)
    return GrowthView(
        title=subject.title,
        chart=_chart(
            subject, {name: rows for _, name, rows, _ in earlier}, {name: ages for _, name, _, ages in earlier}
        ),
        numbers=(
            *words.sizes(subject.now_mm, subject.latest[0].day, subject.rows[-1].day),
            *words.rates(subject.rows, subject.latest, subject.box_id),
            *_expected(subject),
        ),
        advice=_advice(subject),
        instars=guesses,
        instar_note=note,
        earlier=tuple(row for item in earlier if (row := _pace(subject, *item)) is not None),
        notes=words.notes(subject.ages is not None and subject.ages.is_hatching),
        box_id=box_id,
        cohort=cohort,
    )


def _of_box(services: Services, box_id: str) -> _Subject:
    box = box_of_id(services, box_id)
    lines = reading.lines(services.store, [box_id])[box_id]
    cohorts = tuple(dict.fromkeys(line.cohort for line, _ in lines if line.stage is Stage.LARVA and line.cohort))
    own = profile(services, species_of(services, box_facts(services, [box_id])[box_id]))
    rows = of_box(services, box_id, cohorts)
    return _Subject(box.shown, cohorts, own, tuple(rows), ages_of(services, cohorts, rows), box_id)


def _of_cohort(services: Services, cohort: str) -> _Subject:
    if reading.entity(services.store, "cohort", cohort) is None:
        raise EntryError("There is no such cohort. Nothing was changed.")
    rows = of_cohort(services, cohort)
    own = profile(services, _species_of_cohort(services, cohort))
    name = cohort_name(services, cohort)
    return _Subject(name, (cohort,), own, tuple(rows), ages_of(services, [cohort], rows))


def _species_of_cohort(services: Services, cohort: str) -> str:
    entity = reading.entity(services.store, "cohort", cohort)
    said = entity.data.get("species") if entity else None
    return said if isinstance(said, str) else setting(services, "species")


def frame_of(own: Profile) -> Frame:
    """Return the sizes between which a species' larvae grow, from its profile."""
    mature = own.ranges["mature_length_mm"]
    return Frame(
        own.number("hatchling_length_mm"),
        (mature.low, mature.high),
        (own.ranges["larva"].low, own.ranges["larva"].high),
        max(own.days("instars.female"), own.days("instars.male")),
    )


# ---- the chart --------------------------------------------------------------------------------------


def _empty_chart(subject: _Subject) -> Chart:
    top = subject.profile.ranges["mature_length_mm"].high
    axes = number_axis("age", "d", 0.0, 365.0), number_axis("length", "mm", 0.0, top)
    return Chart(f"Sizes, {subject.title}", *axes, (), nothing=NOTHING)


def _chart(subject: _Subject, earlier: dict[str, list[Measuring]], their_ages: dict[str, Ages]) -> Chart:
    ages = subject.ages
    if ages is None:
        return _empty_chart(subject)
    days = {subject.title: _days(subject.rows, ages)}
    for name, rows in earlier.items():
        days[name if name not in days else f"{name} (earlier)"] = _days(rows, their_ages[name])
    chart = size_chart(days, f"Sizes, {subject.title}")
    if not ages.is_hatching:
        said = f"days since {ages.zero.isoformat()}"
        return replace(chart, x=replace(chart.x, label=said, unit=""))
    band = _expected_band(subject, chart.x.maximum)
    top = max(chart.y.maximum, *band.high)
    return replace(chart, y=number_axis("length", "mm", 0.0, top), series=(band, *chart.series))


def _days(rows: Sequence[Measuring], ages: Ages) -> tuple[SizeDay, ...]:
    return sizes_by_day([Body(ages.of(row.day), length) for row in rows for length in row.lengths_mm])


def _expected_band(subject: _Subject, last: float) -> Steps:
    """Return what the profile expects as a line with its band, in steps too fine to be seen."""
    frame = frame_of(subject.profile)
    x = tuple(last * k / N_STEPS for k in range(N_STEPS))
    ends = [expected_length_mm(frame, at) for at in x]
    middle = tuple((low * high) ** 0.5 for low, high in ends)
    low, high = tuple(low for low, _ in ends), tuple(high for _, high in ends)
    return Steps("expected", Role.QUIET, x, middle, last, low, high)


# ---- what follows -----------------------------------------------------------------------------------


def _expected(subject: _Subject) -> tuple[tuple[str, str], ...]:
    """Return what the profile lets expect at the age of the last measuring."""
    ages = subject.ages
    if ages is None or not ages.is_hatching:
        return ()
    age = ages.of(subject.rows[-1].day)
    low, high = expected_length_mm(frame_of(subject.profile), age)
    return (("Expected", words.expected(age, (low, high), subject.now_mm)),)


def _advice(subject: _Subject) -> tuple[Advice, ...]:
    found = []
    lengths = subject.now_mm
    spread = size_spread(lengths)
    if subject.box_id and spread.grade_by_size:
        found.append(Advice("grade", "Grade by size", spread.reason))
    if subject.box_id and spread.runts:
        found.append(
            Advice("runts", words.runts(len(spread.runts)), words.runts_why([lengths[i] for i in spread.runts]))
        )
    mature = subject.profile.ranges["mature_length_mm"]
    near = near_mature(lengths, mature.low, mature.high)
    if near.expect_pupation:
        found.append(Advice("pupation", "Expect pupation", words.pupation(near, subject.profile)))
    return tuple(found)


def _instars(subject: _Subject) -> tuple[tuple[InstarGuess, ...], str]:
    """Return the guess by the profile, and what the sizes themselves show."""
    lengths = subject.now_mm
    guess = guess_instars(frame_of(subject.profile), lengths)
    chosen = guess.most_probable()
    rows = []
    for k in range(len(guess.starts_mm) - 1):
        share = sum(row[k] for row in guess.probability) / len(lengths)
        typical = (guess.starts_mm[k] * guess.starts_mm[k + 1]) ** 0.5
        if share >= 0.005 or k + 1 in chosen:
            rows.append(InstarGuess(k + 1, chosen.count(k + 1), share, typical))
    split = instars_of(lengths)
    told = words.cannot_tell(split) if isinstance(split, CannotTell) else words.groups(split)
    return tuple(rows), told


Earlier = tuple[str, str, list[Measuring], Ages]


def _earlier(services: Services, subject: _Subject) -> list[Earlier]:
    """Return the keeper's cohorts of the same species that hatched before, the newest of them first."""
    ages = subject.ages
    if ages is None or not ages.is_hatching:
        return []
    found: list[Earlier] = []
    for cohort in measured_cohorts(services):
        if cohort.id in subject.cohorts or _other_species(services, cohort.id, subject.profile):
            continue
        rows = of_cohort(services, cohort.id)
        own = ages_of(services, [cohort.id], rows)
        if rows and own is not None and own.is_hatching and own.zero < ages.zero:
            found.append((cohort.id, cohort.shown, rows, own))
    return sorted(found, key=lambda item: item[3].zero, reverse=True)[:MOST_EARLIER]


def _other_species(services: Services, cohort: str, own: Profile) -> bool:
    return profile(services, _species_of_cohort(services, cohort)).species != own.species


def _pace(subject: _Subject, cohort: str, name: str, rows: list[Measuring], their: Ages) -> PaceRow | None:
    if subject.ages is None:
        return None
    now = Measured(subject.ages.of(subject.rows[-1].day), tuple(subject.now_mm))
    past = [Measured(day.day, day.lengths_mm) for day in _days(rows, their)]
    found = compare_at_age(now, past)
    if found is None:
        return PaceRow(cohort, name, "", 0.0, None, f"{name} was not measured near that age.")
    interval = found.ratio.interval
    ends = None if interval is None else (interval.low, interval.high)
    return PaceRow(cohort, name, str(found.pace), found.ratio.value, ends, f"{name}: {found.reason}")


def boxes_of(services: Services, rows: Collection[Measuring]) -> tuple[str, ...]:
    """Return the codes of the boxes where larvae were measured, in order."""
    return tuple(dict.fromkeys(box_label(services, row.box) for row in rows))


__all__ = ["EXPECTED_LIMITS", "boxes_of", "frame_of", "growth_view"]
