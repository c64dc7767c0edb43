"""Killed while saving: what was acknowledged is in the log, whole, and its photo too.

`BOXSIDE_KILLS` sets how many kills; `python -m tests.torture` runs as many as wanted.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from tests.torture.kills import kill_often

N_KILLS = int(os.environ.get("BOXSIDE_KILLS", "200"))


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has neither fork nor SIGKILL")
def test_no_acknowledged_save_is_lost_to_a_kill(tmp_path: Path) -> None:
    found = kill_often(tmp_path, N_KILLS, seed=1)
    assert found.n == N_KILLS
    assert found.acknowledged > N_KILLS
    assert (found.lost, found.half, found.short_photos) == (0, 0, 0)
