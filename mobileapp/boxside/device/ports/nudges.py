"""Nudges: a message outside the app, at once or as a plan that comes with the app closed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from boxside.core.values.nudge import LaterMove, Posted


@dataclass(frozen=True, slots=True)
class Delivery:
    """Whether a message was handed over, and if not, why and what to do."""

    handed_over: bool
    why: str = ""
    do: str = ""


@dataclass(frozen=True, slots=True)
class NudgeMemory:
    """What the device itself has posted of the last plan, and what the keeper put off with `Later`."""

    posted: tuple[Posted, ...] = ()
    later: tuple[LaterMove, ...] = ()


class Nudges(Protocol):
    """Posts messages. A platform never pretends: what may be lost is reported as not handed over."""

    takes_plans: bool

    def post(self, title: str, lines: Sequence[str]) -> Delivery:
        """Show a message now, in place of the one shown before."""
        ...

    def arm(self, plan_json: str) -> Delivery:
        """Take a plan of dated digests (see `shared/nudge-plan.schema.json`), in place of the one before."""
        ...

    def memory(self) -> NudgeMemory:
        """Return what was posted and put off, so that the next plan goes on from there."""
        ...
