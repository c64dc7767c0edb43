"""Whether males and females will be adult together, and what a cooler or warmer place would change."""

from __future__ import annotations

from typing import Any

from boxside.actions.overlap import pair_text
from boxside.core.values.ahead import OverlapView, PairOverlap, Treated
from boxside.ui.widgets.figures import part_row
from boxside.ui.widgets.reading import read
from boxside.ui.widgets.rows import RowData, paragraph
from boxside.ui.words import say


def tell_overlap(shell: Any, view: OverlapView) -> None:
    """Show every pair of cohorts."""

    def make(width: float) -> list[RowData]:
        rows = [data for pair in view.pairs for data in _pair(width, pair)]
        alone = [say("overlap_alone", who=", ".join(view.unpaired))] if view.unpaired else []
        none = [] if view.pairs else [say("overlap_none")]
        return [*rows, *(paragraph(width, text) for text in (*none, *alone, *view.notes))]

    read(shell, say("overlap"), make)


def _pair(width: float, pair: PairOverlap) -> list[RowData]:
    rows = [paragraph(width, pair_text(pair), f"{pair.males} × {pair.females}")]
    rows += [part_row(width, treated.label, _met(treated)) for treated in pair.treated]
    return [*rows, *([paragraph(width, pair.note)] if pair.note else [])]


def _met(treated: Treated) -> str:
    low, likely, high = (round(100 * share) for share in treated.met_frac)
    return say("met", likely=likely, low=low, high=high)


__all__ = ["tell_overlap"]
