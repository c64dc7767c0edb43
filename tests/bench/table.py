"""The one table of a run: what was measured, its floor, the bar, and whether it is held."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

HEADER = ("what", "floor", "measured", "ratio", "bar", "held")


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table; `is_held` is None where nothing is to be held, or where it could not be run."""

    what: str
    floor: str
    measured: str
    ratio: float | None
    bar: str
    is_held: bool | None

    def cells(self) -> tuple[str, ...]:
        """Return the line as texts."""
        ratio = "" if self.ratio is None else f"{self.ratio:.2f}x"
        held = {True: "yes", False: "NO", None: "-"}[self.is_held]
        return (self.what, self.floor, self.measured, ratio, self.bar, held)


def not_run(what: str, reason: str, bar: str) -> Row:
    """Return the line of what could not be run, with the reason."""
    return Row(what, "", f"not run: {reason}", None, bar, None)


def text_of(rows: Sequence[Row]) -> str:
    """Return the table, columns in line."""
    lines = [HEADER, *(row.cells() for row in rows)]
    widths = [max(len(line[nth]) for line in lines) for nth in range(len(HEADER))]
    shown = ["  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip() for line in lines]
    return "\n".join([shown[0], "  ".join("-" * width for width in widths), *shown[1:]])


def time_text(seconds: float) -> str:
    """Return a time in the unit that fits it."""
    if seconds < 1e-3:
        return f"{seconds * 1e6:.0f} us"
    return f"{seconds * 1e3:.2f} ms" if seconds < 1 else f"{seconds:.2f} s"


def size_text(n: int) -> str:
    """Return a number of events, short."""
    return f"{n // 1_000_000}M" if n % 1_000_000 == 0 else f"{n // 1000}k"
