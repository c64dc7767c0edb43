"""How long the screen is deaf while an archive is looked through and merged and somebody taps at random."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

from tests.bench.logs import kept
from tests.bench.row_merge import archive
from tests.bench.setting import Bench
from tests.bench.table import Row, not_run, size_text, time_text

BAR = "< 100 ms"
BAR_S = 0.1
_ROOT = Path(__file__).parents[2]


def rows(bench: Bench) -> Iterator[Row]:
    """Yield the worst frame of a look and of a merge, of the longest log into the shortest."""
    n_ours, n_theirs = bench.sizes[0], bench.sizes[-1]
    what = f"worst stall of the screen, {{}} {size_text(n_theirs)} events"
    data, out = bench.work / "stalled", bench.work / "stall.json"
    shutil.copytree(kept(bench.folder, n_ours, bench.parts), data)
    source = archive(bench, n_theirs)
    try:
        told = _measured(data, source, out)
    except (subprocess.CalledProcessError, FileNotFoundError) as error:
        said = getattr(error, "stderr", "") or str(error)
        yield not_run(what.format("merging"), said.strip().splitlines()[-1][:100], BAR)
        return
    if not str(told["said"]).startswith("Merged: "):
        raise AssertionError(f"nothing was merged: {told['said']}")
    floor_s = told["idle"]["worst_s"]
    for name in ("looking", "merging"):
        worst_s = told[name]["worst_s"]
        label = what.format({"looking": "looking through", "merging": "merging"}[name])
        yield Row(label, time_text(floor_s), time_text(worst_s), worst_s / floor_s, BAR, worst_s < BAR_S)


def _measured(data: Path, source: Path, out: Path) -> dict[str, dict[str, float]]:
    place = {**os.environ, "PYTHONPATH": os.pathsep.join((str(_ROOT / "mobileapp"), str(_ROOT)))}
    program = [sys.executable, "-m", "tests.bench.stalling", str(data), str(source), str(out)]
    subprocess.run(program, env=place, cwd=_ROOT, check=True, capture_output=True, text=True, timeout=7200)
    found: dict[str, dict[str, float]] = json.loads(out.read_text(encoding="utf-8"))
    return found


__all__ = ["rows"]
