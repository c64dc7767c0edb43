"""Survival and length of each stage, from cohorts that are counted at intervals."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from boxside.core.survival.inspections import Between
from boxside.core.survival.interval_curve import (
    IntervalCurve,
    QuantileRange,
    interval_curve,
    interval_quantile,
)
from boxside.core.survival.proportions import wilson
from boxside.core.survival.stage_table import StageTable, table_of_shares
from boxside.core.values.estimates import FEW_DEATHS, BetaBelief, Estimate
from boxside.core.values.stages import Stage

LIMITS = (
    "Animals still in the stage, given away or escaped are left out of its survival: while many are, it leans"
    " towards fates that come early.",
    "The length is that of animals that get through; deaths count as if they could have got through later.",
    "Start and end of a stage are both known only between inspections; their doubts are added, which widens the range.",
)


class Fate(StrEnum):
    """How animals left a stage, as far as is known."""

    MOVED_ON = "moved_on"
    DIED = "died"
    UNACCOUNTED = "unaccounted"
    REMOVED = "removed"
    PRESENT = "present"


class Missing(StrEnum):
    """What unaccounted animals are taken for: all dead, or all alive somewhere (censored)."""

    DEAD = "dead"
    CENSORED = "censored"


@dataclass(frozen=True, slots=True)
class Span:
    """The half-open interval (after, by] of days in which something happened."""

    after: float
    by: float


@dataclass(frozen=True, slots=True)
class Stay:
    """`n` animals of a cohort in one stage: when they entered, when and how they left.

    Days are on one scale. For PRESENT and REMOVED, `left.after` is when they were last seen in the stage.
    """

    cohort: str
    stage: Stage
    entered: Span
    left: Span
    fate: Fate
    n: int = 1


@dataclass(frozen=True, slots=True)
class StageLength:
    """How long a stage takes: lower quartile, median and upper quartile in days, each as an interval."""

    lower: QuantileRange
    median: QuantileRange
    upper: QuantileRange
    curve: IntervalCurve


@dataclass(frozen=True, slots=True)
class StageSurvival:
    """What one stage does to those that enter it.

    `survival` is the share that got through of those whose fate is known, with Wilson's interval, and
    `belief` the same as a Beta; both None while no fate is known, and for adults, which all die. `length`
    is None until one has got through; that of adults is their life, ended by death. `n_open` counts animals
    whose fate in the stage is not known. `k` is -ln(survival).
    """

    stage: Stage
    missing: Missing
    n_entered: int
    n_through: int
    n_dead: int
    n_open: int
    survival: Estimate | None
    belief: BetaBelief | None
    k: float | None
    length: StageLength | None
    limits: tuple[str, ...] = LIMITS

    @property
    def show_counts_not_curve(self) -> bool:
        """Whether there are too few deaths for more than counts (common practice, no source)."""
        return self.n_dead < FEW_DEATHS


def stage_survival(stays: Sequence[Stay], missing: Missing, level: float = 0.95) -> tuple[StageSurvival, ...]:
    """Return survival and length of every stage that has animals, in order of life.

    Parameters
    ----------
    stays : what became of the animals of one or more cohorts, stage by stage
    missing : whether unaccounted animals are dead or censored; report both, the truth lies between
    level : confidence of the intervals

    Raises
    ------
    ValueError : if a count is negative, or a stage is left before it is entered
    """
    for stay in stays:
        _check(stay)
    present = {stay.stage for stay in stays if stay.n > 0}
    return tuple(
        _one_stage(stage, [s for s in stays if s.stage is stage and s.n > 0], missing, level)
        for stage in Stage
        if stage in present
    )


def both_ways(stays: Sequence[Stay], level: float = 0.95) -> dict[Missing, tuple[StageSurvival, ...]]:
    """Return `stage_survival` with unaccounted animals taken as dead, and as censored."""
    return {missing: stage_survival(stays, missing, level) for missing in Missing}


def life_table_of_stages(stages: Sequence[StageSurvival]) -> StageTable | None:
    """Return the stage life table of stages with a known survival; None if there is none.

    Notes
    -----
    Adults are left out: they do not go on to a further stage. Stages may come from different cohorts, so
    the total is a forecast for a cohort that fares alike in each, not the record of one.
    """
    known = [(s.stage.value, s.survival.value) for s in stages if s.survival is not None]
    return table_of_shares([name for name, _ in known], [share for _, share in known]) if known else None


def _check(stay: Stay) -> None:
    if stay.n < 0:
        raise ValueError("a stay cannot have a negative number of animals")
    spans = (stay.entered, stay.left)
    if any(span.by < span.after for span in spans) or stay.left.by < stay.entered.after:
        raise ValueError(f"a {stay.stage} of cohort {stay.cohort!r} would leave before it enters")


def _count(stays: Sequence[Stay], *fates: Fate) -> int:
    return sum(stay.n for stay in stays if stay.fate in fates)


def _one_stage(stage: Stage, stays: Sequence[Stay], missing: Missing, level: float) -> StageSurvival:
    dead_fates = (Fate.DIED, Fate.UNACCOUNTED) if missing is Missing.DEAD else (Fate.DIED,)
    n_through, n_dead = _count(stays, Fate.MOVED_ON), _count(stays, *dead_fates)
    n_entered, n_known = _count(stays, *Fate), n_through + n_dead
    has_share = n_known > 0 and stage is not Stage.ADULT
    survival = wilson(n_through, n_known, level) if has_share else None
    return StageSurvival(
        stage=stage, missing=missing, n_entered=n_entered, n_through=n_through, n_dead=n_dead,
        n_open=n_entered - n_known, survival=survival,
        belief=BetaBelief.of_count(n_through, n_known) if has_share else None, k=_killing_power(survival),
        length=_length(stays, dead_fates if stage is Stage.ADULT else (Fate.MOVED_ON,)),
    )  # fmt: skip


def _killing_power(survival: Estimate | None) -> float | None:
    if survival is None:
        return None
    return abs(math.log(survival.value)) if survival.value > 0 else math.inf


def _length(stays: Sequence[Stay], ends: Sequence[Fate]) -> StageLength | None:
    if not _count(stays, *ends):
        return None
    curve = interval_curve([_duration(stay, stay.fate in ends) for stay in stays])
    lower, median, upper = (interval_quantile(curve, share) for share in (0.25, 0.5, 0.75))
    return StageLength(lower, median, upper, curve)


def _duration(stay: Stay, ended: bool) -> Between:
    """Return the days in the stage: between shortest and longest possible, or at least the shortest."""
    shortest = max(0.0, stay.left.after - stay.entered.by)
    longest = stay.left.by - stay.entered.after if ended else math.inf
    return Between(shortest, longest, stay.n)
