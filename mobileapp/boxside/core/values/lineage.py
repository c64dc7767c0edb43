"""The line: cohorts with their parents, animals to breed from, and what to pair.

A cohort is a node of the line. Its members are alike in what is known of their parents, so that everything
about relatedness is the mean over members (`boxside.core.breeding`).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from boxside.core.values.stages import Sex


class CohortKind(StrEnum):
    """How a cohort came to be."""

    FOUNDERS = "founders"
    OFFSPRING = "offspring"
    BLEND = "blend"
    GROUP = "group"
    INDIVIDUAL = "individual"


DRAWN_KINDS = frozenset({CohortKind.GROUP, CohortKind.INDIVIDUAL})
EVERY_MALE = 0


@dataclass(frozen=True, slots=True)
class Source:
    """Animals that came from one cohort.

    Parameters
    ----------
    cohort : id of the cohort
    weight : share of the offspring (or of the blend) that is theirs, or the chance that it was this cohort;
        any positive scale, None to follow `n` (or, without `n`, alike for all sources)
    n : how many animals, 0 where only the chance is known
    among : while parents stay with their own cohort, how many it had with them at breeding; 0 once they are out
        of it; None for the usual: out of a cohort, in for a group or an individual, which *is* its members
    """

    cohort: str
    weight: float | None = None
    n: int = 0
    among: int | None = None


@dataclass(frozen=True, slots=True)
class Parents:
    """The dams, or the sires, of a cohort.

    Parameters
    ----------
    sources : the cohorts they came from
    n : how many in all; 0 where every source says its own number
    family_shares : share of the offspring from each parent in the order of the sources; empty for equal families
    """

    sources: tuple[Source, ...]
    n: int = 0
    family_shares: tuple[float, ...] = ()

    @property
    def counted(self) -> bool:
        """Whether it is known how many came from each source (not only with what chance)."""
        return bool(self.sources) and all(source.n > 0 for source in self.sources)

    @property
    def n_parents(self) -> int:
        """How many parents of this sex."""
        return sum(source.n for source in self.sources) if self.counted else self.n


@dataclass(frozen=True, slots=True)
class Cohort:
    """A node of the line.

    Parameters
    ----------
    id : id of the cohort
    kind : founders, offspring of a breeding group, blend of cohorts, or a group or individual drawn from one
    dams, sires : parents of offspring
    parts : what a blend was mixed from; the one cohort that a group or individual was drawn from
    size : members at the start, 0 unknown
    born_on : day of birth (of laying, of catching for founders), None unknown
    males_per_clutch : how many sires share one clutch, usually 1; EVERY_MALE if each egg may have any of them
    within, inbreeding : kinship of two founders of this cohort, and their inbreeding: 0 unless known better
    related : kinship of these founders to other founders, (cohort id, kinship): none unless known better
    """

    id: str
    kind: CohortKind
    dams: Parents | None = None
    sires: Parents | None = None
    parts: tuple[Source, ...] = ()
    size: int = 0
    born_on: date | None = None
    males_per_clutch: int = 1
    within: float = 0.0
    inbreeding: float = 0.0
    related: tuple[tuple[str, float], ...] = ()

    @property
    def sources(self) -> tuple[Source, ...]:
        """Every cohort that this one descends from or was taken from, directly."""
        dams = self.dams.sources if self.dams else ()
        sires = self.sires.sources if self.sires else ()
        return dams + sires + self.parts


@dataclass(frozen=True, slots=True)
class Living:
    """Animals of a cohort alive now; `unsexed` are larvae and others whose sex is not known."""

    cohort: str
    males: int = 0
    females: int = 0
    unsexed: int = 0

    @property
    def n(self) -> int:
        """All of them."""
        return self.males + self.females + self.unsexed


@dataclass(frozen=True, slots=True)
class Window:
    """Days from the first to the last, both included, on which adults can mate."""

    first: date
    last: date

    def overlap(self, other: Window) -> Window | None:
        """Return the days that both have in common, None if there are none."""
        first, last = max(self.first, other.first), min(self.last, other.last)
        return Window(first, last) if first <= last else None


@dataclass(frozen=True, slots=True)
class Available:
    """Animals of one cohort and sex that can be bred from; `window` None means at any time."""

    cohort: str
    sex: Sex
    n: int
    window: Window | None = None


@dataclass(frozen=True, slots=True)
class PairingRequest:
    """What the keeper asks of a season's pairings.

    Parameters
    ----------
    n_families : at least so many females lay
    most_families : at most so many, 0 for exactly `n_families`
    clutches_per_male : how many females one male may be put with
    max_kinship : closer relatives are not paired
    standing : animals that stay in the line without breeding now, such as larvae that will be adult later
    standing_frac : their share of the next pool, from 0 to below 1; the offspring make up the rest
    """

    n_families: int
    most_families: int = 0
    clutches_per_male: int = 1
    max_kinship: float = 1.0
    standing: tuple[Living, ...] = ()
    standing_frac: float = 0.0


@dataclass(frozen=True, slots=True)
class PairReason:
    """Why a pairing stands in the plan: the rule, the number it rests on, one plain sentence."""

    rule: str
    value: float
    text: str


@dataclass(frozen=True, slots=True)
class Pairing:
    """Males of one cohort with females of another; one female is one family.

    `kinship` is the expected inbreeding of the offspring, `window` the days on which both are adult (None:
    any).
    """

    males: str
    females: str
    n_males: int
    n_females: int
    kinship: float
    window: Window | None = None
    reasons: tuple[PairReason, ...] = ()


@dataclass(frozen=True, slots=True)
class Alternative:
    """The next best choice if one family of a planned pairing cannot be had.

    `lost` is what it costs in mean kinship of the next generation (which is gene diversity, in the same
    unit); 0 is a tie. `males` and `females` are empty where no other pairing is possible: then `lost` counts
    a plan with one family fewer.
    """

    instead_of: tuple[str, str]
    males: str
    females: str
    lost: float
    text: str


@dataclass(frozen=True, slots=True)
class Share:
    """What one cohort gives to the next generation: `best` in the ideal plan, `planned` with whole "
    "animals."""

    cohort: str
    sex: Sex
    best: float
    planned: float


@dataclass(frozen=True, slots=True)
class PairingPlan:
    """Pairings of the season, with what they achieve and what the ideal would.

    `mean_kinship` is that of the next pool (offspring, with the standing animals where any were named) from
    these whole animals, `best_mean_kinship` the optimum with fractional families (never above it),
    `kkt_residual` how far that optimum is from satisfying its conditions.
    """

    pairings: tuple[Pairing, ...]
    n_families: int
    mean_kinship: float
    best_mean_kinship: float
    kkt_residual: float
    shares: tuple[Share, ...] = ()
    alternatives: tuple[Alternative, ...] = ()
    warnings: tuple[str, ...] = field(default=())

    @property
    def gene_diversity(self) -> float:
        """Expected heterozygosity of the next pool relative to the founders' source."""
        return 1.0 - self.mean_kinship
