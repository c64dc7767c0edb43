"""One table from one run: `python -m tests.bench`, with `--quick` for short logs."""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from tests.bench import (
    row_ahead,
    row_due,
    row_export,
    row_growth,
    row_import,
    row_late,
    row_line,
    row_measure,
    row_merge,
    row_save,
    row_stall,
    row_start,
)
from tests.bench.setting import Bench
from tests.bench.table import Row, text_of

ROWS: dict[str, Callable[[Bench], Iterator[Row]]] = {
    "save": row_save.rows,
    "due": row_due.rows,
    "ahead": row_ahead.rows,
    "growth": row_growth.rows,
    "late": row_late.rows,
    "line": row_line.rows,
    "measure": row_measure.rows,
    "export": row_export.rows,
    "import": row_import.rows,
    "merge": row_merge.rows,
    "stall": row_stall.rows,
    "start": row_start.rows,
}
SIZES = (10_000, 100_000, 1_000_000)
QUICK_SIZES = (4_000, 10_000, 20_000)


def main(argv: Sequence[str]) -> int:
    """Print the table; returns 1 where a bar is not held."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("--quick", action="store_true", help="short logs: a look, not a proof")
    parser.add_argument("--rows", default=",".join(ROWS), help=f"some of {','.join(ROWS)}")
    parser.add_argument("--keep", metavar="DIR", type=Path, help="keep the long logs here, for the next run")
    asked = parser.parse_args(argv)
    found: list[Row] = []
    with tempfile.TemporaryDirectory(prefix="boxside-bench-") as place:
        folder = asked.keep or Path(place) / "logs"
        folder.mkdir(parents=True, exist_ok=True)
        for name in asked.rows.split(","):
            work = Path(place) / name
            work.mkdir()
            sizes, n_times = (QUICK_SIZES, 50) if asked.quick else (SIZES, 400)
            for row in ROWS[name](Bench(folder, work, sizes, n_times)):
                found.append(row)
                print(row.what, "done", file=sys.stderr, flush=True)
    print(text_of(found))
    return 0 if all(row.is_held is not False for row in found) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
