"""Males before females: will they meet as adults, and what would a cooler or warmer shelf change?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from boxside.actions.ahead import Outlook, outlook_of
from boxside.actions.chance import chance_for
from boxside.actions.context import today
from boxside.actions.services import Services
from boxside.actions.stage_groups import Group
from boxside.core.development import Meeting, Pupae, Started, Treatment, meetings
from boxside.core.values.ahead import OverlapView, PairOverlap, Treated
from boxside.core.values.forecast import DaysBand
from boxside.core.values.stages import Sex, Stage

# As far as a cooler or warmer place in a home commonly is (common practice, no source).
SHIFT_C = 3.0
_TREATMENTS = (
    ("as they are", Treatment()),
    (f"males {SHIFT_C:g} °C cooler", Treatment(males_c=-SHIFT_C)),
    (f"females {SHIFT_C:g} °C warmer", Treatment(females_c=SHIFT_C)),
    ("both of these", Treatment(males_c=-SHIFT_C, females_c=SHIFT_C)),
)
_DRAWS = 200
# More pupae of a sex than this say nothing more about its spread.
_MOST = 40
_MOST_PAIRS = 36


@dataclass(frozen=True, slots=True)
class _Side:
    """One sex of one cohort as pupae, over all boxes of an area."""

    cohort: str
    name: str
    species: str
    area: str
    n: int
    started: Started


def overlap_view(services: Services) -> OverlapView:
    """Return, for every pair of cohorts with male and female pupae, how well their adult lives meet.

    Cohorts of two species are not paired. Adults that are there already are not part of it.
    """
    now = outlook_of(services)
    males, females = _sides(now.groups, Sex.MALE), _sides(now.groups, Sex.FEMALE)
    fitting = [(m, f) for m in males for f in females if m.species == f.species]
    pairs = [_pair(services, now, m, f) for m, f in fitting[:_MOST_PAIRS]]
    paired = {side for pair in fitting for side in pair}
    unpaired = [side.name for side in (*males, *females) if side not in paired]
    unsexed = sum(g.n for g in now.groups if g.stage is Stage.PUPA and g.sex is Sex.UNKNOWN)
    notes = ["Each is seen in the same possible futures. What cooling costs the pupae is not known and not counted."]
    if len(fitting) > _MOST_PAIRS:
        notes.append(f"{len(fitting)} pairs are possible; {_MOST_PAIRS} are shown.")
    if unsexed:
        notes.append(f"{unsexed} pupae are not sexed yet and are left out.")
    return OverlapView(tuple(pairs), tuple(dict.fromkeys(unpaired)), tuple(notes))


def _sides(groups: Sequence[Group], sex: Sex) -> tuple[_Side, ...]:
    sides: dict[tuple[str, str], _Side] = {}
    for group in groups:
        if group.stage is not Stage.PUPA or group.sex is not sex or group.started is None:
            continue
        key = (group.cohort, group.area)
        n = group.n + (sides[key].n if key in sides else 0)
        sides[key] = _Side(group.cohort, group.name, group.species, group.area, n, group.started)
    return tuple(sides.values())


def _pair(services: Services, now: Outlook, males: _Side, females: _Side) -> PairOverlap:
    as_of = max(today(services), males.started.to_on, females.started.to_on)
    rng = chance_for("overlap", males, females, as_of)
    climate = now.needs.record(females.area).climate
    both = _pupae(now, males, Sex.MALE), _pupae(now, females, Sex.FEMALE)
    in_days = all(one.need.curve is None for one in both)
    treatments = _TREATMENTS[:1] if in_days else _TREATMENTS
    found = meetings(*both, climate, as_of, [treatment for _, treatment in treatments], rng, _DRAWS)
    rows = [_treated(label, meeting) for (label, _), meeting in zip(treatments, found, strict=True)]
    return PairOverlap(
        males=males.name,
        females=females.name,
        n_males=males.n,
        n_females=females.n,
        as_is=rows[0],
        treated=tuple(rows[1:]),
        note=_NO_WARMTH if in_days else "",
    )


_NO_WARMTH = (
    "No temperature sum is known for these pupae, so what cooling or warming would do cannot be reckoned: cooler is "
    "slower, by how much is open."
)


def _pupae(now: Outlook, side: _Side, sex: Sex) -> Pupae:
    span = now.needs.profile(side.species).ranges[f"adult.{sex}"]
    need = now.needs.of(side.species, Stage.PUPA, sex, side.area)
    return Pupae(min(side.n, _MOST), side.started, need, DaysBand(max(span.low, 0.5), max(span.high, 0.5), span.source))


def _treated(label: str, meeting: Meeting) -> Treated:
    met, lag = meeting.met_frac, meeting.lag_days
    return Treated(
        label,
        meeting.treatment.males_c,
        meeting.treatment.females_c,
        (met.low, met.likely, met.high),
        (lag.low, lag.likely, lag.high),
    )


def pair_text(pair: PairOverlap) -> str:
    """Return one pair in words."""
    low, likely, high = pair.as_is.met_frac
    lag = pair.as_is.lag_days[1]
    when = f"{abs(lag):.0f} days {'after' if lag >= 0 else 'before'} the males"
    return (
        f"{pair.n_males} males of {pair.males} and {pair.n_females} females of {pair.females}: females come {when}; "
        f"{100 * likely:.0f} % of them meet a living male ({100 * low:.0f} to {100 * high:.0f} %)."
    )
