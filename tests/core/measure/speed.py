"""Time and memory of measuring one photo: `python -m tests.core.measure.speed [--mp 12] [--repeat 5]`.

The time is given as a ratio to decoding the JPEG plus one threshold pass over it, in the same run, so that it
can be compared between computers. Memory is the growth of the process's peak while measuring.
"""

from __future__ import annotations

import argparse
import resource
import statistics
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[3] / "mobileapp"))

from boxside.core.measure import measure_photo
from tests.core.measure.render import render


@dataclass(frozen=True)
class Speed:
    """Medians over the repeats: seconds for measuring, seconds for decode + threshold; peak growth in MB."""

    mp: int
    measure_s: float
    base_s: float
    memory_mb: float

    @property
    def ratio(self) -> float:
        return self.measure_s / self.base_s


def _peak_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def measure_speed(mp: int, repeat: int = 5, seed: int = 10_001) -> Speed:
    """Return the speed on one rendered photo of 3 or 12 megapixels."""
    data = _photo(mp, seed)
    base, took = [], []
    decoded = _decode(data)
    before = _peak_mb()
    for _ in range(repeat):
        start = time.perf_counter()
        picture = _decode(data)
        grey = cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY)
        cv2.threshold(grey, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
        base.append(time.perf_counter() - start)
        start = time.perf_counter()
        measure_photo(decoded)
        took.append(time.perf_counter() - start)
    return Speed(mp, statistics.median(took), statistics.median(base), _peak_mb() - before)


def _photo(mp: int, seed: int) -> np.ndarray:
    """Return a rendered photo as JPEG; made in a child process, so that its memory does not count."""
    import multiprocessing

    with multiprocessing.get_context("spawn").Pool(1) as pool:
        return pool.apply(_encoded, (mp, seed))


def _encoded(mp: int, seed: int) -> np.ndarray:
    scene = render(seed, "isolated", mp=mp, variant="a6")
    ok, data = cv2.imencode(".jpg", scene.rgb[:, :, ::-1], [cv2.IMWRITE_JPEG_QUALITY, 92])
    if not ok:
        raise RuntimeError("the rendered photo could not be encoded")
    return data


def _decode(data: np.ndarray) -> np.ndarray:
    return cv2.cvtColor(cv2.imdecode(data, cv2.IMREAD_COLOR), cv2.COLOR_BGR2RGB)


def main() -> None:
    """Print time, ratio and memory."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--mp", type=int, action="append", choices=(2, 3, 12))
    parser.add_argument("--repeat", type=int, default=5)
    given = parser.parse_args()
    for mp in given.mp or [12, 3]:
        s = measure_speed(mp, given.repeat)
        bar = 6 if mp == 12 else 10
        held = "held" if s.ratio <= bar and s.memory_mb < 300 else "NOT HELD"
        print(
            f"{mp:2d} MP: {s.measure_s:.3f} s, {s.ratio:.1f} x (decode + threshold {s.base_s:.3f} s), "
            f"+{s.memory_mb:.0f} MB; bar {bar} x and 300 MB: {held}"
        )


if __name__ == "__main__":
    main()
