"""The long runs: `python -m tests.torture --cuts 100000 --kills 100000`."""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from tests.torture.cuts import FULL, NORMAL, OFF, Cuts, cut_power
from tests.torture.deeds import vocabulary
from tests.torture.kills import kill_often

_LEVELS = {"FULL": FULL, "NORMAL": NORMAL, "OFF": OFF}


def main(argv: Sequence[str]) -> int:
    """Run what was asked for; returns 1 where something was lost that must not be, or a control saw nothing."""
    parser = argparse.ArgumentParser(prog="python -m tests.torture", description=__doc__)
    parser.add_argument("--cuts", type=int, default=1000, help="power cuts with synchronous=FULL, as the app has it")
    parser.add_argument("--control", type=int, default=300, help="power cuts with NORMAL and with OFF, which must lose")
    parser.add_argument("--kills", type=int, default=1000, help="writers killed while they save")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args(argv)
    ways = [("FULL", asked.cuts), ("NORMAL", asked.control), ("OFF", asked.control)]
    found = {way: _cuts(way, n, asked.seed) for way, n in ways if n}
    is_good = all(cuts.lost == cuts.half == 0 for way, cuts in found.items() if way == "FULL")
    is_good = is_good and all(cuts.lost > cuts.n / 2 for way, cuts in found.items() if way == "OFF")
    if asked.kills:
        with tempfile.TemporaryDirectory() as folder:
            kills = kill_often(Path(folder), asked.kills, asked.seed)
        print(
            f"kill -9: {kills.n} kills, {kills.acknowledged} saves acknowledged, {kills.lost} lost, {kills.half} half, "
            f"{kills.short_photos} short photos, {kills.swept} files swept"
        )
        is_good = is_good and kills.lost == kills.half == kills.short_photos == 0
    return 0 if is_good else 1


def _cuts(way: str, n: int, seed: int) -> Cuts:
    cuts = cut_power(n, seed, _LEVELS[way], vocabulary())
    share = 100 * cuts.lost / cuts.n
    print(
        f"power cuts, synchronous={way}: {cuts.n} cuts, {cuts.lost} lost ({share:.1f} %), {cuts.half} half", flush=True
    )
    return cuts


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
