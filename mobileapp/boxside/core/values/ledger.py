"""The ledger's words: a line of animals, the accounts outside, and a posting between them."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from boxside.core.values.stages import Sex, Stage

PRESENT = ""


class Account(StrEnum):
    """Where animals come from or go to outside the boxes."""

    FOUNDERS = "founders"
    RECEIVED = "received"
    LAID = "laid"
    SURPLUS = "surplus"
    REVISED = "revised"
    GIVEN_AWAY = "given_away"
    ESCAPED = "escaped"
    DEAD = "dead"
    UNACCOUNTED = "unaccounted"


IN_ACCOUNTS = frozenset({Account.FOUNDERS, Account.RECEIVED, Account.LAID, Account.SURPLUS, Account.REVISED})
OUT_ACCOUNTS = frozenset({Account.GIVEN_AWAY, Account.ESCAPED})


@dataclass(frozen=True, slots=True, order=True)
class Line:
    """Animals that are told apart only by number: box, cohort, stage, instar (0 unknown), sex.

    Ids are empty where nobody can know them, as for animals found in a box that should be empty.
    """

    box: str
    cohort: str
    stage: Stage
    instar: int = 0
    sex: Sex = Sex.UNKNOWN


@dataclass(frozen=True, slots=True)
class Posting:
    """A change of one account of one line; the deltas of an event's postings add up to zero.

    `account` is empty for animals in the box, else the name of the account outside.
    """

    line: Line
    account: str
    delta: int
