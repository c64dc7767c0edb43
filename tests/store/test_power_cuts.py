"""Power cuts: what was acknowledged outlives them, and nothing is there by half.

`BOXSIDE_CUTS` sets how many; `python -m tests.torture` runs as many as wanted.
"""

from __future__ import annotations

import os

from tests.store.logs import VOCABULARY
from tests.torture.cuts import FULL, OFF, cut_power

N_CUTS = int(os.environ.get("BOXSIDE_CUTS", "300"))
N_CONTROL = 100


def test_no_acknowledged_save_is_lost_or_halved_by_a_power_cut() -> None:
    found = cut_power(N_CUTS, seed=1, level=FULL, vocabulary=VOCABULARY)
    assert found.n == N_CUTS
    assert (found.lost, found.half) == (0, 0)


def test_without_syncs_most_cuts_lose_something() -> None:
    """The control: these cuts do see what is lost."""
    found = cut_power(N_CONTROL, seed=1, level=OFF, vocabulary=VOCABULARY)
    assert found.lost > N_CONTROL / 2
