"""Looks whether everything is what was written, and repairs what is not."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from boxside.core.values.keeping import CheckLine, CheckReport, Repaired
from boxside.ui.archives import shortened
from boxside.ui.widgets.reading import read
from boxside.ui.widgets.rows import RowData, paragraph
from boxside.ui.words import say, say_n
from boxside.ui.working import work

# What a repair can make whole; photos come back only from an archive that has them.
REPAIRABLE = ("file", "entries", "state", "copies")
STEP = 1000


class LookingThrough:
    """One look through the log; `after` is called once something was repaired."""

    def __init__(self, shell: Any, after: Callable[[], None]) -> None:
        self.shell = shell
        self.after = after

    def check(self) -> None:
        """Read everything, then say what of it is what was written."""
        work(self.shell, "check_log", title=say("looking_through"), then=self.show)

    def show(self, report: CheckReport) -> None:
        """Show what was found, with the repair where one is of use."""
        can_repair = any(line.n_bad and line.what in REPAIRABLE for line in report.lines)
        title = say("check_sound" if report.is_sound else "check_bad")
        read(
            self.shell, title, lambda width: check_rows(width, report), yes=say("repair") if can_repair else "",
            yes_icon="retry", then=self.repair,
        )  # fmt: skip

    def repair(self) -> None:
        """Repair what can be, then say what was done; once begun it is done to its end."""
        self.shell.ask("repair_log", then=self._repaired)

    def _repaired(self, done: Repaired) -> None:
        self.after()
        self.shell.show(done.notice)


def check_rows(width: float, report: CheckReport) -> list[RowData]:
    """Return what was looked through, part by part, what is bad first, and what to do about it."""
    bad = {line.what for line in report.lines if line.n_bad}
    lines = sorted(report.lines, key=lambda line: not line.n_bad)
    rows = [paragraph(width, _words(line), _title(line), "late" if line.n_bad else "check") for line in lines]
    if bad & set(REPAIRABLE):
        rows.append(paragraph(width, say("repair_hint"), icon="info"))
    if "photos" in bad:
        rows.append(paragraph(width, say("photos_hint"), icon="info"))
    return rows


def _title(line: CheckLine) -> str:
    name = say(f"checked_{line.what}")
    return f"{name}: {line.n:,}" if line.n > 1 else name


def _words(line: CheckLine) -> str:
    if line.n_bad:
        return f"{say_n('n_not_as_written', line.n_bad)} {shortened(line.detail)}".strip()
    return line.detail or say("as_written")


def size_words(n_bytes: int) -> str:
    """Return a size in words: `31 kB`, `4.2 MB`."""
    if n_bytes < STEP * STEP:
        return f"{max(1, round(n_bytes / STEP))} kB"
    return f"{n_bytes / STEP / STEP:,.1f} MB"


__all__ = ["LookingThrough", "check_rows", "size_words"]
