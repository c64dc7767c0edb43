"""The most memory that an export held at a time: python -m tests.bench.memory FOLDER WORK SMALL LARGE."""

from __future__ import annotations

import re
import sys
from pathlib import Path

from tests.bench.row_export import by_app
from tests.bench.setting import Bench

STATUS = Path("/proc/self/status")


def peak_kb() -> int:
    """Return the high-water mark of this process's own memory; `ru_maxrss` would begin with its parent's."""
    found = re.search(r"^VmHWM:\s+(\d+) kB$", STATUS.read_text(encoding="ascii"), re.MULTILINE)
    if found is None:
        raise RuntimeError("the system does not say how much memory was held")
    return int(found[1])


def main(folder: str, work: str, small: str, large: str) -> None:
    """Export a short log to load everything, then a long one; print how many kB that added."""
    bench = Bench(Path(folder), Path(work), (int(small), int(large)), 1)
    by_app(bench.services(int(small), "warm"), bench.work / "warm")
    services = bench.services(int(large), "cold")
    before = peak_kb()
    by_app(services, bench.work / "cold")
    print(peak_kb() - before)


if __name__ == "__main__":
    main(*sys.argv[1:])
