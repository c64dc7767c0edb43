"""An exported log taken in again: shown first, every reason by line, all of it or nothing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from boxside.actions.archive_events import count_text
from boxside.actions.context import zone_of
from boxside.actions.keep_snapshots import take_snapshot
from boxside.actions.services import Services
from boxside.core.archive import event_of_values, misfit
from boxside.core.tables import Form, form_of, numbered_events
from boxside.core.values.carry import EventsDone, EventsView
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Event
from boxside.core.values.moments import day_of
from boxside.core.values.views import Notice
from boxside.device.text_lines import first_line, text_lines
from boxside.store import merging, reading, saving, trying

TABLE = "events.csv"
_NAMED = 50
_NO_TABLE = "is no exported table of events. Nothing was imported."


@dataclass(slots=True)
class _Seen:
    """What a table turned out to hold."""

    problems: list[tuple[int, str]] = field(default_factory=list)
    n_problems: int = 0
    kinds: Counter[str] = field(default_factory=Counter)
    photos: set[str] = field(default_factory=set)
    first_ms: int | None = None
    last_ms: int | None = None

    def refuse(self, line: int, reason: str) -> None:
        """Note why a line cannot be taken."""
        self.n_problems += 1
        if len(self.problems) < _NAMED:
            self.problems.append((line, reason))

    def count(self, event: Event) -> None:
        """Note an event that can be taken."""
        self.kinds[event.kind] += 1
        self.first_ms = event.at_ms if self.first_ms is None else min(self.first_ms, event.at_ms)
        self.last_ms = event.at_ms if self.last_ms is None else max(self.last_ms, event.at_ms)
        if event.kind == "photo":
            self.photos.add(str(event.fields.get("sha256")))


def is_events_table(path: Path) -> bool:
    """Return whether a file, or the table in a folder, is an exported table of events."""
    place = table_in(path)
    return place.is_file() and form_of(first_line(place)) is not None


def table_in(path: Path) -> Path:
    """Return the table of events that a path means: the file, or the one in the folder or beside the descriptor."""
    if path.is_dir():
        return path / TABLE
    return path.with_name(TABLE) if path.suffix == ".json" else path


def preview_events(services: Services, path: Path) -> EventsView:
    """Return what an exported log would bring; nothing is kept.

    Raises
    ------
    EntryError : if there is no such table
    StoreError : if the log cannot be written, so that nothing could be imported
    """
    place, form = _opened(path)
    seen = _Seen()
    with trying(services.store) as log:
        found = merging.unite(log.store, _events(services, place, form, seen))
    _note_clashes(place, form, found, seen)
    return _view(services, place, found, seen)


def import_events(services: Services, path: Path) -> EventsDone:
    """Take in the events of an exported log that are not here yet; all of them or none.

    Ids, moments and numbers stay as they were, so that an export of what came in is the same again. Photos are not
    in tables: an archive carries them.

    Raises
    ------
    EntryError : if there is no such table, with the line and the reason if anything in it cannot be taken, or if
        there is nothing new in it; nothing was imported
    StoreError : if the disk refuses; nothing was imported
    """
    place, form = _opened(path)
    copy = "" if reading.is_empty(services.store) else take_snapshot(services, "import").path.name
    seen = _Seen()
    with saving(services.store) as log:
        found = merging.merge(log.store, _events(services, place, form, seen))
        _note_clashes(place, form, found, seen)
        _refuse(place, found, seen)
        text = f"{count_text(found.n_new, 'event')} of {place.name}"
        if copy:
            merging.note_undo(log.store, copy, text)
    services.store.checkpoint()
    undo = merging.undoable(services.store)
    safe = "It can be taken back as one step until something is logged or handed on." if undo else ""
    return EventsDone(found.n_new, Notice(f"Imported: {text}.{_photos_text(seen)}", safe), undo.text if undo else "")


def _opened(path: Path) -> tuple[Path, Form]:
    place = table_in(path)
    if not place.is_file():
        raise EntryError(f"There is no file {place}. Nothing was imported.")
    form = form_of(first_line(place))
    if form is None:
        raise EntryError(f"{place} {_NO_TABLE} Assign its columns, if it is a notebook.")
    return place, form


def _events(services: Services, place: Path, form: Form, seen: _Seen) -> Iterator[Event]:
    """Yield the events that are fit for a log; the others are noted with their line."""
    vocabulary = services.catalog.vocabulary
    for line, found in numbered_events(text_lines(place), form):
        if isinstance(found, str):
            seen.refuse(line, found)
            continue
        try:
            # The same door as for an archive: what passes it can be kept, folded and written again.
            event = event_of_values(found.values, found.fields_text.encode("utf-8"))
        except ValueError as error:
            seen.refuse(line, f"It {error}.")
            continue
        if reason := misfit(event, vocabulary):
            seen.refuse(line, f"{reason[:200]}.")
            continue
        seen.count(event)
        yield event


def _note_clashes(place: Path, form: Form, found: merging.United, seen: _Seen) -> None:
    """Name the lines whose id stands for something else, in the log or further up in the table."""
    if not found.n_clashes:
        return
    named = set(found.clashes)
    lines = {
        said.values["id"]: line
        for line, said in numbered_events(text_lines(place), form)
        if not isinstance(said, str) and said.values["id"] in named
    }
    for name in found.clashes:
        seen.refuse(lines.get(name, 1), f"The id {name} stands for another entry already.")
    seen.n_problems += found.n_clashes - len(found.clashes)


def _refuse(place: Path, found: merging.United, seen: _Seen) -> None:
    if seen.problems:
        line, reason = min(seen.problems)
        more = seen.n_problems - 1
        also = f" {more} more line{'s' if more > 1 else ''} cannot be taken either." if more else ""
        raise EntryError(f"{place.name}, line {line}: {reason}{also} Nothing was imported.")
    if not found.n_new:
        raise EntryError(f"{place.name}: all {found.n_known} events are in the log already. Nothing was imported.")


def _view(services: Services, place: Path, found: merging.United, seen: _Seen) -> EventsView:
    zone = zone_of(services)
    kinds = services.catalog.vocabulary.kinds
    known = f"; {found.n_known:,} are in the log already" if found.n_known else ""
    return EventsView(
        path=str(place),
        n_new=found.n_new,
        n_known=found.n_known,
        first_on=None if seen.first_ms is None else day_of(seen.first_ms, zone),
        last_on=None if seen.last_ms is None else day_of(seen.last_ms, zone),
        kinds=tuple((kinds[name].said if name in kinds else name, n) for name, n in seen.kinds.most_common()),
        problems=tuple(sorted(seen.problems)),
        sentence=f"{count_text(found.n_new, 'event')} would be imported{known}.{_photos_text(seen)}",
        n_problems=seen.n_problems,
        n_photos=len(seen.photos),
    )


def _photos_text(seen: _Seen) -> str:
    n = len(seen.photos)
    return f" {count_text(n, 'photo')} that it names {'is' if n == 1 else 'are'} not in tables: an archive has them." \
        if n else ""  # fmt: skip
