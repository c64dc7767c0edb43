"""The identity of the headcount, as numbers that can be shown and checked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from boxside.core.values.ledger import IN_ACCOUNTS, OUT_ACCOUNTS, PRESENT, Account, Line


@dataclass(frozen=True, slots=True)
class Totals:
    """Where all animals are: came_in = present + went_out + dead + unaccounted.

    `unaccounted` is negative where a count found more than was expected: an earlier miscount.
    """

    came_in: int
    present: int
    went_out: int
    dead: int
    unaccounted: int

    @property
    def holds(self) -> bool:
        """Whether the identity holds."""
        return self.came_in == self.present + self.went_out + self.dead + self.unaccounted


def totals(balances: Mapping[tuple[Line, str], int]) -> Totals:
    """Return the totals of balances a (line, account), whole colony or any part that you filter."""

    def of(*accounts: str) -> int:
        return sum(n for (_, account), n in balances.items() if account in accounts)

    return Totals(
        came_in=-of(*IN_ACCOUNTS),
        present=of(PRESENT),
        went_out=of(*OUT_ACCOUNTS),
        dead=of(Account.DEAD),
        unaccounted=of(Account.UNACCOUNTED),
    )
