"""What a keeper chooses and is shown around exporting, reports, sharing and importing: frozen values.

The actions that take and return them:

- `export_form.export_form(services) -> ExportForm`
- `export_season.export_chosen(services, out: Path, choice: SeasonChoice) -> export_season.Exported`
- `season_report.write_report(services, path: Path, choice: SeasonChoice) -> ReportDone`
- `darwin_core.write_darwin_core(services, path: Path, choice: SeasonChoice) -> ArchiveDone`
- `import_events.preview_events(services, path: Path) -> EventsView`
- `import_events.import_events(services, path: Path) -> EventsDone`; taken back by `merge_archive.undo_merge(services)`
- `import_notebook.notebook_view(services, path: Path, mapping: NotebookMapping | None = None) -> NotebookView`
- `import_notebook.import_notebook(services, path: Path, mapping: NotebookMapping | None = None) -> Flow`

The `Flow` of a notebook is taken back as one step by `undo_flow.undo_flow(services, flow.events)`.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from boxside.core.values.views import Notice


class Flavour(StrEnum):
    """For whom the tables are written: programs that calculate, or a spreadsheet that a person opens."""

    ANALYSIS = "analysis"
    SPREADSHEET = "spreadsheet"


@dataclass(frozen=True, slots=True)
class SeasonChoice:
    """What of the log is exported, and how.

    `from_day` and `to_day` are both included, None leaves an end open. `boxes` or `cohorts`, ids, narrow it; empty
    for all, and never both. `decimal` is the spreadsheet's sign, "." or ","; the separator follows from it. `photos`
    adds the photos of the span, without place; `report` the page with the plots; `darwin_core` the shared archive.
    """

    from_day: date | None = None
    to_day: date | None = None
    boxes: tuple[str, ...] = ()
    cohorts: tuple[str, ...] = ()
    flavour: Flavour = Flavour.ANALYSIS
    decimal: str = "."
    photos: bool = False
    report: bool = False
    darwin_core: bool = False

    @property
    def is_whole(self) -> bool:
        """Whether all boxes and cohorts are meant."""
        return not self.boxes and not self.cohorts


@dataclass(frozen=True, slots=True)
class ExportForm:
    """What the form for an export starts with.

    `seasons` are (name, first day, last day); `boxes` and `cohorts` are (id, label); `flavours` (key, what it is);
    `decimals` (sign, example); `cautions` are said before the files leave the device.
    """

    n_events: int
    n_photos: int
    first_on: date | None
    last_on: date | None
    seasons: tuple[tuple[str, date, date], ...]
    boxes: tuple[tuple[str, str], ...]
    cohorts: tuple[tuple[str, str], ...]
    flavours: tuple[tuple[str, str], ...]
    decimals: tuple[tuple[str, str], ...]
    decimal: str
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ReportDone:
    """A report that was written: where, how large, and the titles of its sections."""

    path: str
    n_bytes: int
    sections: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ArchiveDone:
    """A Darwin Core Archive that was written: where, and how many records each of its tables has."""

    path: str
    n_bytes: int
    rows: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class EventsView:
    """An exported log before it is taken in: nothing is saved.

    `problems` are (line, reason); with any of them nothing can be imported. `n_known` events are in this log
    already and left alone. `kinds` are (label, events) of all; `n_photos` photos are named that do not come along,
    since tables hold none; `sentence` says all in words.
    """

    path: str
    n_new: int
    n_known: int
    first_on: date | None
    last_on: date | None
    kinds: tuple[tuple[str, int], ...]
    problems: tuple[tuple[int, str], ...]
    sentence: str
    n_problems: int = 0
    n_photos: int = 0

    @property
    def ready(self) -> bool:
        """Whether it can be imported as it stands."""
        return not self.problems and self.n_new > 0


@dataclass(frozen=True, slots=True)
class EventsDone:
    """What came of taking in an exported log; `undo` says what can be taken back as one step, empty for nothing."""

    n_new: int
    notice: Notice
    undo: str = ""


@dataclass(frozen=True, slots=True)
class NotebookMapping:
    """Which column of an old notebook means what; columns count from 0.

    `columns` are (role, column): a role is date, time, box, kind, amount, note, by, or `field:NAME` of the kinds' own
    fields. `kind` is the kind of every line where no column says it; `kinds` turn what the notebook writes into kinds,
    as (word, kind), an empty kind passes such lines over. `order` is ymd, dmy or mdy, empty while nobody has said;
    `delimiter` and `decimal` are the file's signs; `make_boxes` makes boxes that are not there yet, and
    lets those that the log has only from later on have been made by their first line.
    """

    columns: tuple[tuple[str, int], ...]
    kind: str = ""
    kinds: tuple[tuple[str, str], ...] = ()
    order: str = "ymd"
    delimiter: str = ","
    decimal: str = "."
    make_boxes: bool = False

    def column(self, role: str) -> int | None:
        """Return the column of a role, or None."""
        return next((column for name, column in self.columns if name == role), None)


@dataclass(frozen=True, slots=True)
class NotebookRow:
    """One line of a notebook as it would be logged, in words; `line` is its number in the file."""

    line: int
    when: str
    box: str
    label: str
    detail: str


@dataclass(frozen=True, slots=True)
class NotebookView:
    """An old notebook before it is taken in: how it would be read and what comes of that; nothing is saved.

    `columns` are the headings, `cells` the first lines as written; `roles` are (role, label) to assign, `kinds`
    (name, label) to choose from, `words` what the notebook writes as kinds, as (word, kind), empty where none fits
    yet. `question` asks for what is still missing; `problems` are (line, reason), with any of them nothing can be
    imported; `sample` holds the first lines as entries. `new_boxes` are codes that would be made, `earlier_boxes`
    those whose making would be dated back; `n_passed` lines are passed over. `n_known` are in the log already, from
    an earlier import of the same lines, and left alone.
    """

    path: str
    columns: tuple[str, ...]
    cells: tuple[tuple[str, ...], ...]
    roles: tuple[tuple[str, str], ...]
    kinds: tuple[tuple[str, str], ...]
    mapping: NotebookMapping
    remembered: bool
    words: tuple[tuple[str, str], ...]
    question: str
    n_rows: int
    n_new: int
    n_known: int
    n_passed: int
    new_boxes: tuple[str, ...]
    sample: tuple[NotebookRow, ...]
    problems: tuple[tuple[int, str], ...]
    n_problems: int = 0
    earlier_boxes: tuple[str, ...] = ()

    @property
    def ready(self) -> bool:
        """Whether it can be imported as it stands."""
        return not self.problems and not self.question and self.n_new > 0
