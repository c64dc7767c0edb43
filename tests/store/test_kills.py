"""Killed while saving: what was acknowledged is in the log, whole, and its photo too.

`BOXSIDE_KILLS` sets how many kills; `python -m tests.torture` runs as many as wanted.
"""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

import pytest

from tests.torture.kills import kill_often

N_KILLS = int(os.environ.get("BOXSIDE_KILLS", "200"))


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has neither fork nor SIGKILL")
def test_no_acknowledged_save_is_lost_to_a_kill() -> None:
    """What a killed process had written stays with the system, so the disk need not be waited for."""
    memory = Path("/dev/shm")
    with tempfile.TemporaryDirectory(dir=memory if memory.is_dir() else None) as folder:
        found = kill_often(Path(folder), N_KILLS, seed=1)
    assert found.n == N_KILLS
    assert found.acknowledged > N_KILLS
    assert (found.lost, found.half, found.short_photos) == (0, 0, 0)
