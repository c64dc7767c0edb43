"""What is due at a box: decided once, with its reasons as data, so that every reader says the same."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a task is due when it is.

    `rule` names the rule, `event` the id of the observation it rests on (None for a bare rule),
    `days` what it adds to (or, negative, takes from) the due day, `text` says it in one plain sentence.
    """

    rule: str
    event: str | None
    days: int
    text: str


@dataclass(frozen=True, slots=True)
class Due:
    """A task at a box with the days between which it is best done.

    `on` is the day it is due, `earliest` the first day on which doing it makes sense, `latest` the day
    after which it is late; `urgency` ranks tasks due on one day (higher first, young cohorts first).
    """

    box: str
    task: str
    earliest: date
    on: date
    latest: date
    reasons: tuple[Reason, ...] = field(default=())
    urgency: int = 0
