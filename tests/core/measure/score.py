"""Score the photo measuring on rendered scenes: `python -m tests.core.measure.score [--seeds N] [--from K]`.

Constants were set on seeds below 1000; a score says something on seeds that were never looked at, so it
starts at 10000. Every bar of the design's table that rendered scenes can show is printed with what was
reached and whether it holds.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[3] / "mobileapp"))

from boxside.core.measure import measure_photo
from boxside.core.values.body import Body, BodyStatus, Flag, Result
from tests.core.measure.render import Scene, render

KINDS = ("isolated", "small", "curled", "touching", "crossing", "ring")
BAD = ("blur", "tilt", "hidden", "small", "glare", "distortion")


@dataclass
class Row:
    """One true animal and what became of it; error, z and half width are relative, None where no length."""

    kind: str
    length: float
    width: float
    error: float | None = None
    z: float | None = None
    half: float | None = None
    width_error: float | None = None
    flagged: bool = False


@dataclass
class Tally:
    rows: list[Row] = field(default_factory=list)
    exact: dict[str, list[bool]] = field(default_factory=dict)
    merges: int = 0
    ranges: list[bool] = field(default_factory=list)
    refused_good: list[str] = field(default_factory=list)
    good: int = 0
    bad: dict[str, list[bool]] = field(default_factory=dict)


def matched(scene: Scene, result: Result) -> dict[int, Body]:
    """Return the measured body of each true animal, nearest midlines first."""
    pairs = []
    for i, animal in enumerate(scene.larvae):
        for j, body in enumerate(result.bodies):
            if body.length_mm is None:
                continue
            line = np.array(body.midline_mm)
            there = np.mean([np.hypot(*(animal.line - q).T).min() for q in line])
            back = np.mean([np.hypot(*(line - q).T).min() for q in animal.line[::8]])
            if there + back < 1.2 * animal.width + 1:
                pairs.append((there + back, i, j))
    out: dict[int, Body] = {}
    used: set[int] = set()
    for _, i, j in sorted(pairs):
        if i not in out and j not in used:
            out[i] = result.bodies[j]
            used.add(j)
    return out


def _row(animal, body: Body | None) -> Row:
    row = Row(animal.kind, animal.length, animal.width)
    if body is None or body.length_mm is None:
        return row
    row.flagged = body.status is not BodyStatus.MEASURED
    row.error = body.length_mm / animal.length - 1
    row.z = (body.length_mm - animal.length) / body.length_se_mm
    row.half = 1.96 * body.length_se_mm / body.length_mm
    row.width_error = body.width_mm / animal.width - 1
    return row


def add(tally: Tally, scene: Scene, result: Result) -> None:
    """Count one good photo."""
    tally.good += 1
    if result.refused is not None:
        tally.refused_good.append(result.refused.reason)
        return
    kind = "isolated" if scene.kind == "small" else scene.kind
    n = len(scene.larvae)
    if scene.kind != "crossing":
        tally.exact.setdefault(kind, []).append(result.count.best == n)
    else:
        tally.ranges.append(result.count.low <= n <= result.count.high)
    found = matched(scene, result)
    for i, animal in enumerate(scene.larvae):
        row = _row(animal, found.get(i))
        tally.rows.append(row)
        if row.error is not None and not row.flagged and row.error > 0.25:
            tally.merges += 1


def _rms(values: list[float]) -> float:
    return float(np.sqrt(np.mean(np.square(values)))) if values else float("nan")


def _picked(tally: Tally, kind: str, low: float, high: float) -> list[Row]:
    return [r for r in tally.rows if r.kind == kind and low <= r.length < high]


def _used(rows: list[Row]) -> list[Row]:
    return [r for r in rows if r.error is not None and not r.flagged]


def report(tally: Tally) -> list[tuple[str, str, str, bool]]:
    """Return (what, reached, bar, held) for every bar."""
    out: list[tuple[str, str, str, bool]] = []

    def line(what: str, value: float, bar: str, held: bool, form: str = "{:.2%}") -> None:
        out.append((what, form.format(value), bar, bool(held)))

    big = _used(_picked(tally, "isolated", 6, 99))
    errors = [r.error for r in big]
    line("isolated >= 6 mm, length RMS", _rms(errors), "<= 1.0 %", _rms(errors) <= 0.01)
    worst = max(map(abs, errors), default=float("nan"))
    line("isolated >= 6 mm, length max", worst, "<= 4 %", worst <= 0.04)
    small = [r.error for r in _used(_picked(tally, "isolated", 3, 6))]
    line("isolated 3-6 mm, length RMS", _rms(small), "<= 2 %", _rms(small) <= 0.02)
    bias = float(np.mean(small)) if small else float("nan")
    line("isolated 3-6 mm, length bias", bias, "<= 0.5 %", abs(bias) <= 0.005)
    wide = [r.width_error for r in _used(_picked(tally, "isolated", 10, 99))]
    line("isolated >= 10 mm, width RMS", _rms(wide), "<= 2 %", _rms(wide) <= 0.02)
    thin = [r.width_error for r in _used(_picked(tally, "isolated", 3, 6))]
    line("isolated 3-6 mm, width RMS", _rms(thin), "<= 5 %", _rms(thin) <= 0.05)
    curled = [r.error for r in _used(_picked(tally, "curled", 0, 99))]
    line("curled, length RMS", _rms(curled), "<= 1.5 %", _rms(curled) <= 0.015)
    touching = [r.error for r in _used(_picked(tally, "touching", 0, 99))]
    line("touching, unflagged, length RMS", _rms(touching), "<= 3 %", _rms(touching) <= 0.03)
    line("unflagged merges", tally.merges, "0", tally.merges == 0, "{:.0f}")
    for kind, bar in (("isolated", 0.99), ("curled", 0.98), ("touching", 0.92), ("ring", 0.98)):
        share = float(np.mean(tally.exact.get(kind, [False])))
        line(f"count exact, {kind}", share, f">= {bar:.0%}", share >= bar)
    for kind, bar in (("isolated", 0.97), ("curled", 0.9), ("touching", 0.7)):
        rows = _picked(tally, kind, 0, 99)
        share = len(_used(rows)) / max(len(rows), 1)
        line(f"yield, {kind}", share, f">= {bar:.0%}", share >= bar)
        inside = [abs(r.z) < 1.96 for r in _used(rows)]
        share = float(np.mean(inside)) if inside else float("nan")
        line(f"truth in the 95 % interval, {kind}", share, "93-97 %", 0.93 <= share <= 0.97)
    half = float(np.median([r.half for r in big])) if big else float("nan")
    line("median half width, isolated >= 6 mm", half, "<= 3 %", half <= 0.03)
    share = float(np.mean(tally.ranges)) if tally.ranges else float("nan")
    line("crossing: count range holds the truth", share, ">= 95 %", share >= 0.95)
    for kind in BAD:
        share = float(np.mean(tally.bad.get(kind, [False])))
        line(f"refused, {kind}", share, ">= 98 %", share >= 0.98)
    share = len(tally.refused_good) / max(tally.good, 1)
    line("good photos refused", share, "<= 2 %", share <= 0.02)
    return out


def ring_has_no_length(result: Result) -> bool:
    """Return whether no closed ring carries a length."""
    return all(b.length_mm is None for b in result.bodies if Flag.CLOSED in b.flags)


def score(first: int, seeds: int, bad_seeds: int) -> Tally:
    """Return the tally over seeds first, first + 1, ... of every kind."""
    tally = Tally()
    for seed in range(first, first + seeds):
        for kind in KINDS:
            scene = render(seed, kind)
            add(tally, scene, measure_photo(scene.rgb))
    for seed in range(first, first + bad_seeds):
        for bad in BAD:
            scene = render(seed, "isolated", bad=bad)
            tally.bad.setdefault(bad, []).append(measure_photo(scene.rgb).refused is not None)
    return tally


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=40, help="scenes of each kind")
    parser.add_argument("--bad", type=int, default=None, help="scenes of each kind to refuse (default: half)")
    parser.add_argument("--from", dest="first", type=int, default=10000, help="first seed")
    given = parser.parse_args()
    tally = score(given.first, given.seeds, given.seeds // 2 if given.bad is None else given.bad)
    for what, reached, bar, held in report(tally):
        print(f"{what:42s} {reached:>9s}   bar {bar:10s} {'held' if held else 'NOT HELD'}")
    print("good photos refused because of:", sorted(tally.refused_good))


if __name__ == "__main__":
    main()
