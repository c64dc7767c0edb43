"""Why a pairing stands in the plan, in plain sentences."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from boxside.core.breeding.choice import Choice, overlap_of
from boxside.core.values.lineage import Available, PairReason

_NEVER = 1e-12
_TIE = 1e-9
# Inbreeding of the offspring of unrelated-born relatives, closest first.
_RELATIVES = (
    (0.25, "brother and sister"),
    (0.125, "half brother and half sister"),
    (0.0625, "first cousins"),
    (0.015625, "second cousins"),
)


def kinship_reason(kinship: float) -> PairReason:
    """Return what this kinship means."""
    if kinship < _NEVER:
        return PairReason("kinship", kinship, "They are not related as far as the line is known.")
    for level, words in _RELATIVES:
        if kinship >= level - _TIE:
            return PairReason(
                "kinship",
                kinship,
                f"Kinship {kinship:.3f}: the offspring are as inbred as of {words}, or more.",
            )
    return PairReason("kinship", kinship, f"Kinship {kinship:.3f}: less than between second cousins.")


def overlap_reason(female: Available, male: Available) -> PairReason:
    """Return on which days both are adult."""
    window = overlap_of(female, male)[1]
    if window is None:
        return PairReason("overlap", np.inf, "No dates are set: they can meet at any time.")
    days = (window.last - window.first).days + 1
    word = "day" if days == 1 else "days"
    text = f"Both are adult from {window.first} to {window.last}, {days} {word}."
    return PairReason("overlap", float(days), text)


def source_reasons(
    choice: Choice, pair: tuple[int, int], n_families: int, elsewhere: Sequence[str]
) -> tuple[PairReason, ...]:
    """Return how precious the two sources are, and what else the males have to do."""
    j, i = pair
    everyone = _mean_to_all(choice)
    n_f = len(choice.females)
    reasons = [
        _rank_reason("females", choice.females[j].cohort, everyone[:n_f], j),
        _rank_reason("males", choice.males[i].cohort, everyone[n_f:], i),
    ]
    if elsewhere:
        text = f"A male of {choice.males[i].cohort} serves here and with females of {', '.join(elsewhere)}."
        reasons.append(PairReason("shared males", float(n_families), text))
    return tuple(reasons)


def _mean_to_all(choice: Choice) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Mean kinship of each source to all that could breed, sources weighted by their animals."""
    n = np.array([item.n for item in choice.females + choice.males], dtype=float)
    every = np.block([[choice.among_females, choice.kinship], [choice.kinship.T, choice.among_males]])
    own = np.concatenate([choice.own_f, choice.own_m])
    mean: np.ndarray[tuple[int, ...], np.dtype[np.float64]] = (every @ n + own - every.diagonal()) / n.sum()
    return mean


def _rank_reason(
    word: str, cohort: str, means: np.ndarray[tuple[int, ...], np.dtype[np.float64]], place: int
) -> PairReason:
    value = float(means[place])
    rank = int((means < value - _NEVER).sum()) + 1
    text = f"{cohort} is number {rank} of {len(means)} sources of {word} by rarity (mean kinship {value:.3f})."
    return PairReason(f"rarity of {word}", value, text)


def alternative_text(instead_of: tuple[str, str], other: tuple[str, str] | None, lost: float) -> str:
    """Return the second choice in words, with what it costs in percentage points of gene diversity."""
    what = f"males of {instead_of[0]} with females of {instead_of[1]}"
    if other is None:
        return f"If one family of {what} fails, nothing can take its place; it costs {_points(lost)}."
    instead = f"males of {other[0]} with females of {other[1]}"
    if abs(lost) <= _TIE:
        return f"Equally good as {what}: {instead}. The closer to hand may be chosen."
    return f"If one family of {what} fails: {instead}, at a cost of {_points(lost)}."


def _points(lost: float) -> str:
    return f"{100 * lost:.2f} percentage points of gene diversity"
