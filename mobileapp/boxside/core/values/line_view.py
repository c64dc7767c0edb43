"""The line as a screen shows it: nodes with their places, edges, numbers and sentences.

Places are fractions of the drawing: x from 0 (left) to 1, y from 0 (the founders, on top) to 1 (the youngest).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from boxside.core.values.views import Notice


@dataclass(frozen=True, slots=True)
class LineNode:
    """One cohort in the drawing.

    `kind` is founders, offspring, blend, group or individual; `unknown` marks parents that nobody knows, counted
    as unrelated founders. `n` is its headcount now, `n_eggs` of it eggs; `size` is the square root of the headcount as
    a share of the largest, so that areas compare; 0 for a cohort of which nothing lives.
    """

    id: str
    name: str
    kind: str
    generation: int
    x: float
    y: float
    n: int
    n_eggs: int
    size: float
    unknown: bool
    label: str
    detail: str


@dataclass(frozen=True, slots=True)
class LineEdge:
    """Descent between two nodes; `sex` is female, male or empty (taken or mixed from); `weight` its share.

    `sure` is False where only one of several possible parents.
    """

    parent: str
    child: str
    sex: str
    weight: float
    sure: bool


@dataclass(frozen=True, slots=True)
class CohortRow:
    """One cohort in numbers.

    `inbreeding` is the mean F, `within` the kinship of two of its members, `mean_kinship` that of its members to
    all that live (None while nothing lives). `founder_shares` are (founder's name, share of the genes), the largest
    first. `notes` say what is assumed.
    """

    id: str
    name: str
    kind: str
    generation: int
    born_on: date | None
    n: int
    inbreeding: float
    within: float
    mean_kinship: float | None
    founder_shares: tuple[tuple[str, float], ...]
    parents: str
    text: str
    notes: tuple[str, ...] = ()
    unknown: bool = False


@dataclass(frozen=True, slots=True)
class GenerationRow:
    """Parents of one generation and what they amount to; `size` None where it cannot be said."""

    generation: int
    n_dams: int
    n_sires: int
    size: float | None
    text: str


@dataclass(frozen=True, slots=True)
class Outlook:
    """Gene diversity after some generations of one way of breeding: (generations, share that is left)."""

    name: str
    n_dams: int
    n_sires: int
    newcomers: tuple[int, int]
    left: tuple[tuple[int, float], ...]
    text: str


@dataclass(frozen=True, slots=True)
class LineView:
    """The whole line.

    `size_now` is the effective size of the newest generation, `size_overall` the harmonic mean over all;
    `gene_diversity` is that of the living relative to the founders' source, None while nothing lives.
    `newcomers` says how many unrelated animals would repair the line.
    """

    nodes: tuple[LineNode, ...]
    edges: tuple[LineEdge, ...]
    cohorts: tuple[CohortRow, ...]
    generations: tuple[GenerationRow, ...]
    size_now: float | None
    size_overall: float | None
    gene_diversity: float | None
    mean_kinship: float | None
    founder_genomes: float | None
    outlooks: tuple[Outlook, ...]
    newcomers: tuple[str, ...]
    notes: tuple[str, ...]
    empty: str = ""
    notice: Notice | None = None


@dataclass(frozen=True, slots=True)
class PairRow:
    """Males of one cohort to be put with females of another; `boxes` says where both are now."""

    males_id: str
    males: str
    females_id: str
    females: str
    n_males: int
    n_females: int
    kinship: float
    when: str
    reasons: tuple[tuple[str, float, str], ...]
    boxes: str
    second_best: str = ""


@dataclass(frozen=True, slots=True)
class AdultRow:
    """Adults (or pupae that will be) that the pairings chose from: how many, and when they are adult."""

    cohort_id: str
    cohort: str
    sex: str
    n: int
    first: date
    last: date
    expected: bool
    text: str


@dataclass(frozen=True, slots=True)
class PairingsView:
    """The season's best pairings on a day, with what they achieve.

    `mean_kinship` is that of the offspring, `best_mean_kinship` the optimum with fractional families; both None where
    nothing can be paired: then `empty` says why.
    """

    on: date
    pairs: tuple[PairRow, ...]
    available: tuple[AdultRow, ...]
    mean_kinship: float | None
    best_mean_kinship: float | None
    warnings: tuple[str, ...]
    notes: tuple[str, ...]
    empty: str = ""


@dataclass(frozen=True, slots=True)
class Founding:
    """Founders, or animals received, as a form holds them.

    `related` names (cohort id or name, kinship) of known relations to other founders, `within` the kinship among these;
    `taken_from` is a cohort of the line that received animals belong to, as an archive brought it; `fresh` makes the
    box of that code with them.
    """

    name: str
    n: int
    box: str
    stage: str = "larva"
    on: date | None = None
    instar: int | None = None
    sex: str = ""
    origin: str = "founders"
    place: str = ""
    permit: str = ""
    related: tuple[tuple[str, float], ...] = ()
    within: float = 0.0
    taken_from: str = ""
    note: str = ""
    fresh: bool = False


@dataclass(frozen=True, slots=True)
class Parent:
    """Possible parents as a form holds them: a cohort, its sex, how many, or the chance that it was they."""

    cohort: str
    sex: str
    n: int = 0
    weight: float | None = None
