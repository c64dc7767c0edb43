"""The stage life table: how many enter each stage, what share gets through, and killing powers that add."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

LIMITS = (
    "Stages follow one another: an animal that enters one has got through all before it.",
    "Killing powers add up; percentages lost do not.",
)


@dataclass(frozen=True, slots=True)
class StageLine:
    """One stage: numbers entering and dying, share surviving, share dying, and the killing power.

    `k` is -ln(survival), infinite where nobody got through. `entering_per_first` is lx: those entering
    for each one that entered the first stage.
    """

    stage: str
    n_entering: float
    n_dying: float
    survival: float
    mortality: float
    k: float
    entering_per_first: float


@dataclass(frozen=True, slots=True)
class StageTable:
    """All stages in order, with the survival and killing power of the whole."""

    lines: tuple[StageLine, ...]
    survival: float
    k: float
    limits: tuple[str, ...] = LIMITS

    @property
    def k_log10(self) -> float:
        """The total killing power on decimal logarithms, as older tables print it."""
        return self.k / math.log(10.0)

    @property
    def key_stage(self) -> str:
        """The stage with the greatest killing power: where most is to be won."""
        return max(self.lines, key=lambda line: line.k).stage


def stage_table(stages: Sequence[str], entering: Sequence[float], n_through: float) -> StageTable:
    """Return the stage life table from the numbers that enter each stage.

    Parameters
    ----------
    stages : names in order of life
    entering : how many entered each, not rising, all above zero
    n_through : how many got through the last

    Raises
    ------
    ValueError : if there is no stage, lengths differ, a number rises, or one that enters is not above zero

    Notes
    -----
    k is natural here; Varley and Gradwell used decimal logarithms (see `k_log10`).

    References
    ----------
    Varley G.C., Gradwell G.R. 1960, Key factors in population studies, J. Anim. Ecol. 29:399-401
    (from memory); checked against a gypsy moth table after Campbell 1981.
    """
    numbers = [*entering, n_through]
    if not stages or len(stages) != len(entering):
        raise ValueError("a stage table needs one number entering for each stage")
    if min(entering) <= 0 or n_through < 0 or any(b > a for a, b in pairwise(numbers)):
        raise ValueError("numbers entering must be above zero and cannot rise from stage to stage")
    steps = zip(stages, pairwise(numbers), strict=True)
    lines = tuple(_line(name, n_in, n_out, numbers[0]) for name, (n_in, n_out) in steps)
    return StageTable(lines, n_through / numbers[0], math.fsum(line.k for line in lines))


def table_of_shares(stages: Sequence[str], survival: Sequence[float], n_first: float = 1.0) -> StageTable:
    """Return the stage life table from shares that survive each stage, as known from different cohorts.

    Stages after one that nobody survives are left out: nobody enters them.

    Raises
    ------
    ValueError : if lengths differ or a share is not between 0 and 1
    """
    if len(stages) != len(survival) or any(not 0.0 <= share <= 1.0 for share in survival):
        raise ValueError("a stage table needs one share from 0 to 1 for each stage")
    entering, names, n = [], [], n_first
    for name, share in zip(stages, survival, strict=True):
        if n <= 0:
            break
        names.append(name)
        entering.append(n)
        n *= share
    return stage_table(names, entering, n)


def _line(stage: str, n_in: float, n_out: float, n_first: float) -> StageLine:
    share = n_out / n_in
    k = -math.log(share) if share > 0 else math.inf
    return StageLine(stage, n_in, n_in - n_out, share, 1.0 - share, abs(k), n_in / n_first)
