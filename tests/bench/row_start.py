"""From the start of the process to the first due box on the screen, against a bare window that says hello."""

from __future__ import annotations

import json
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from tests.bench.logs import kept
from tests.bench.setting import Bench
from tests.bench.table import Row, not_run, size_text, time_text

BAR = "<= 2x"
N_STARTS = 7
_ROOT = Path(__file__).parents[2]
_OURS = (
    "-c",
    "import sys; from boxside.app.phone import run; run(['--data', sys.argv[1], '--probe', sys.argv[2]])",
)
_HELLO = (str(Path(__file__).with_name("hello.py")),)


def rows(bench: Bench) -> Iterator[Row]:
    """Yield the start on the longest log."""
    n = bench.sizes[-1]
    what = f"start to the first due box, {size_text(n)} events"
    data = bench.work / "start"
    now_ms = time.time_ns() // 1_000_000
    source = kept(bench.folder, n, bench.parts, now_ms - now_ms % 86_400_000)
    shutil.copytree(source, data)
    try:
        _, box = _begun((*_OURS, str(data)))
        _begun(_HELLO)
    except (subprocess.CalledProcessError, FileNotFoundError) as error:
        said = getattr(error, "stderr", "") or str(error)
        yield not_run(what, said.strip().splitlines()[-1][:100], BAR)
        return
    floors, times = [], []
    for _ in range(N_STARTS):
        floors.append(_begun(_HELLO)[0])
        times.append(_begun((*_OURS, str(data)))[0])
    if not box:
        raise AssertionError("no box was due")
    floor_s, time_s = statistics.median(floors), statistics.median(times)
    yield Row(what, time_text(floor_s), time_text(time_s), time_s / floor_s, BAR, time_s <= 2 * floor_s)


def _begun(program: tuple[str, ...]) -> tuple[float, str]:
    """Start a process; return the seconds until its first picture, and which box it showed."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "shown.json"
        place = {**os.environ, "PYTHONPATH": str(_ROOT / "mobileapp")}
        began = time.clock_gettime(time.CLOCK_MONOTONIC)
        subprocess.run(
            [sys.executable, *program, str(file)], env=place, check=True, capture_output=True, text=True,
            timeout=120,
        )  # fmt: skip
        shown = json.loads(file.read_text(encoding="utf-8"))
    return shown["first_box_at_s"] - began, shown.get("box", "")
