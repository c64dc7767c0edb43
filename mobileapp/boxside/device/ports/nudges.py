"""Nudges: a message outside the app, at once or as a plan that comes with the app closed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol


@dataclass(frozen=True, slots=True)
class Delivery:
    """Whether a message was handed over, and if not, why and what to do."""

    handed_over: bool
    why: str = ""
    do: str = ""


class Nudges(Protocol):
    """Posts messages. A platform never pretends: what may be lost is reported as not handed over."""

    def post(self, title: str, lines: Sequence[str]) -> Delivery:
        """Show a message now, in place of the one shown before."""
        ...

    def arm(self, plan_json: str) -> Delivery:
        """Take a plan of dated digests (see `shared/nudge-plan.schema.json`), in place of the one before."""
        ...
