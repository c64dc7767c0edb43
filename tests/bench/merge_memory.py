"""The most memory that a merge held at a time: python -m tests.bench.merge_memory WORK SMALL LARGE (archives)."""

from __future__ import annotations

import sys
from pathlib import Path

from tests.bench.memory import peak_kb
from tests.bench.row_merge import by_app
from tests.bench.setting import Bench


def main(work: str, small: str, large: str) -> None:
    """Merge a short archive to load everything, then a long one; print how many kB that added."""
    bench = Bench(Path(work), Path(work), (0,), 1)
    by_app(bench, Path(small), Path(work) / "warm")
    before = peak_kb()
    by_app(bench, Path(large), Path(work) / "cold")
    print(peak_kb() - before)


if __name__ == "__main__":
    main(*sys.argv[1:])
