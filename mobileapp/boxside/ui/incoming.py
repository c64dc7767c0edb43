"""A file brought in: an archive is merged, an exported log taken in, an old notebook gets a page of its own."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from boxside.core.values.carry import EventsDone, EventsView
from boxside.ui.archives import Archives
from boxside.ui.widgets.figures import part_row
from boxside.ui.widgets.reading import read
from boxside.ui.widgets.rows import RowData, head, paragraph
from boxside.ui.words import say, say_n
from boxside.ui.working import work

MOST_KINDS, MOST_PROBLEMS = 12, 50


class Incoming:
    """One file on its way in; what it is decides about the way."""

    def __init__(self, archives: Archives) -> None:
        self.archives = archives
        self.shell = archives.shell

    def begin(self) -> None:
        """Have a file chosen."""
        self.archives.choose(self.look)

    def look(self, path: str) -> None:
        """Find out what a file is, and go its way."""
        ways: dict[str, Callable[[str], None]] = {
            "archive": self.archives.look_to_merge, "events": self._look_at_events,
            "notebook": lambda path: self.shell.go("notebook", path=path),
        }  # fmt: skip
        self.shell.ask("which_file", path, then=lambda kind: ways[kind](path))

    def _look_at_events(self, path: str) -> None:
        work(self.shell, "preview_events", Path(path), title=say("looking_through"), then=self.show_events)

    def show_events(self, view: EventsView) -> None:
        """Show what an exported log would bring."""
        read(
            self.shell, say("import_title"), lambda width: events_rows(width, view),
            yes=say("import_it") if view.ready else "", yes_icon="save", then=lambda: self._take_in(view.path),
        )  # fmt: skip

    def _take_in(self, path: str) -> None:
        work(self.shell, "import_events", Path(path), title=say("importing"), then=self._taken_in)

    def _taken_in(self, done: EventsDone) -> None:
        self.shell.services.device.haptics.confirm()
        self.archives.after()
        self.archives.tell_done(done.notice, done.undo)


def problem_rows(width: float, problems: tuple[tuple[int, str], ...], n_problems: int) -> list[RowData]:
    """Return why lines cannot be taken; with any of them none is."""
    if not problems:
        return []
    shown = problems[:MOST_PROBLEMS]
    rows = [paragraph(width, say("cannot_import"), say_n("n_problems", n_problems), "late")]
    rows += [paragraph(width, reason, say("line_n", n=line), "dot") for line, reason in shown]
    more = n_problems - len(shown)
    return [*rows, *([paragraph(width, say("more_problems", n=more))] if more > 0 else [])]


def events_rows(width: float, view: EventsView) -> list[RowData]:
    """Return what an exported log would bring."""
    rows = problem_rows(width, view.problems, view.n_problems)
    rows.append(paragraph(width, view.path, icon="note"))
    rows.append(paragraph(width, view.sentence, icon="info"))
    if view.first_on is not None and view.last_on is not None:
        rows.append(paragraph(width, say("days_from_to", first=view.first_on, last=view.last_on), icon="today"))
    if view.kinds:
        rows.append(head(width, say("kinds_in_it")))
    rows += [part_row(width, label, f"{n:,}") for label, n in view.kinds[:MOST_KINDS]]
    rest = sum(n for _, n in view.kinds[MOST_KINDS:])
    return [*rows, *([part_row(width, say("kinds_rest"), f"{rest:,}")] if rest else [])]


__all__ = ["Incoming", "events_rows", "problem_rows"]
