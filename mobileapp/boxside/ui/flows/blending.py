"""Cohorts of a box that can no longer be told apart: which of them become one blend."""

from __future__ import annotations

from boxside.core.values.season import StageView
from boxside.ui.flows.groups import pick_several
from boxside.ui.flows.stop import Stop
from boxside.ui.words import say

LEAST = 2


def blend(stop: Stop) -> None:
    """Ask which cohorts were mixed; all of them are taken unless some are left out."""
    stop.ask("stage_view", stop.box_id, then=lambda view: _which(stop, view))


def _which(stop: Stop, view: StageView) -> None:
    names = {group.cohort: group.cohort_name for group in view.groups if group.cohort}

    def picked(cohorts: tuple[str, ...]) -> None:
        stop.keep("blend", (stop.box_id, cohorts, "", "", stop.visit, stop.passed), stop.kept)

    pick_several(stop, say("blend_which"), list(names.items()), LEAST, picked, tuple(names))


__all__ = ["blend"]
