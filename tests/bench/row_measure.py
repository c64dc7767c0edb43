"""Measuring a photo, against decoding it and one threshold pass; and the memory that this takes."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from boxside.core.measure import measure_photo
from boxside.core.values.body import Result
from tests.bench.setting import Bench
from tests.bench.table import Row, not_run, time_text
from tests.bench.timing import in_turns
from tests.core.measure.render import render

SEED = 10_001
BARS = {3: 10.0, 12: 6.0}
"""Megapixels, and how many times the floor measuring may take."""
BAR_MB = 300
_ROOT = Path(__file__).parents[2]


def photo(folder: Path, mp: int) -> Path:
    """Return a JPEG of a rendered scene of isolated animals on the larger card, kept from run to run."""
    place = folder / f"photo-{mp}.jpg"
    if not place.exists():
        scene = render(SEED, "isolated", mp=mp, variant="a6")
        if not cv2.imwrite(str(place), scene.rgb[:, :, ::-1], [cv2.IMWRITE_JPEG_QUALITY, 92]):
            raise RuntimeError(f"{place} could not be written")
    return place


def decoded(data: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return the picture in a JPEG, (rows, cols, 3) RGB."""
    return np.asarray(cv2.cvtColor(cv2.imdecode(data, cv2.IMREAD_COLOR), cv2.COLOR_BGR2RGB), np.uint8)


def by_hand(data: NDArray[np.uint8]) -> None:
    """Decode and part light from dark once: what no program that looks at the photo can do without."""
    grey = cv2.cvtColor(decoded(data), cv2.COLOR_RGB2GRAY)
    cv2.threshold(grey, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)


def by_app(picture: NDArray[np.uint8]) -> Result:
    """Measure a decoded photo as the app does; raises where nothing was measured."""
    found = measure_photo(picture)
    if found.refused is not None or not any(body.length_mm for body in found.bodies):
        raise AssertionError(f"nothing was measured: {found.refused}")
    return found


def rows(bench: Bench) -> Iterator[Row]:
    """Yield time against its floor, and memory, for a small and a large photo."""
    for mp, bar in BARS.items():
        place = photo(bench.folder, mp)
        data = np.fromfile(place, np.uint8)
        picture = decoded(data)
        n_times = max(bench.n_times // 40, 5)
        floor_s, time_s = in_turns((lambda d=data: by_hand(d), lambda p=picture: by_app(p)), n_times)
        shown, ratio = (time_text(floor_s), time_text(time_s)), time_s / floor_s
        yield Row(f"measuring a photo of {mp} MP", *shown, ratio, f"<= {bar:.0f}x", ratio <= bar)
        yield _memory(place, mp)


def _memory(place: Path, mp: int) -> Row:
    """Return by how much the most memory ever held grows while a photo is measured, in a process of its own."""
    what, bar = f"memory that measuring {mp} MP adds", f"< {BAR_MB} MB"
    if not Path("/proc/self/status").exists():
        return not_run(what, "only Linux tells how much memory a process has held", bar)
    paths = {**os.environ, "PYTHONPATH": os.pathsep.join((str(_ROOT / "mobileapp"), str(_ROOT)))}
    asked = [sys.executable, "-m", "tests.bench.measure_memory", str(place)]
    done = subprocess.run(asked, capture_output=True, text=True, check=True, cwd=_ROOT, env=paths)
    added_mb = int(done.stdout) / 1000
    return Row(what, "", f"{added_mb:.0f} MB", None, bar, added_mb < BAR_MB)
