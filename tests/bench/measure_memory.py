"""The most memory that measuring held beyond the decoded photo: python -m tests.bench.measure_memory PHOTO."""

from __future__ import annotations

import sys

import numpy as np

from tests.bench.memory import peak_kb
from tests.bench.row_measure import by_app, decoded


def main(place: str) -> None:
    """Decode a photo, measure it, print how many kB the measuring added."""
    picture = decoded(np.fromfile(place, np.uint8))
    before = peak_kb()
    by_app(picture)
    print(peak_kb() - before)


if __name__ == "__main__":
    main(*sys.argv[1:])
