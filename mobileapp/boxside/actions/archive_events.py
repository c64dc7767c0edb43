"""The events of an archive, each checked against the vocabulary before it comes near a log."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from boxside.actions.context import today
from boxside.actions.services import Services
from boxside.actions.wording import day_text
from boxside.core.archive import EVENTS, event_of_line, misfit
from boxside.core.values.event import Event
from boxside.core.values.keeping import Contents
from boxside.core.values.moments import day_of
from boxside.core.values.vocabulary import Vocabulary
from boxside.device.archive_reading import OpenArchive


def events_of(archive: OpenArchive, vocabulary: Vocabulary) -> Iterator[Event]:
    """Yield the events of an archive, by id.

    Raises
    ------
    DataError : at the first line that is no event, does not fit its kind or is out of order, and at the end
        where the numbers of the manifest do not hold
    """
    last, number, newest = "", 0, None
    for number, line in enumerate(archive.lines(), start=1):
        try:
            event = event_of_line(line)
        except ValueError as error:
            raise archive.wrong(f"{EVENTS}, line {number}", str(error)) from error
        if reason := misfit(event, vocabulary):
            raise archive.wrong(f"{EVENTS}, line {number}", f"{reason}; a newer Boxside may have written it")
        if event.id <= last:
            raise archive.wrong(f"{EVENTS}, line {number}", "is out of order, or has an id that was there already")
        last = event.id
        newest = event.at_ms if newest is None else max(newest, event.at_ms)
        yield event
    said = archive.manifest
    if (number, newest) != (said.n_events, said.newest_ms):
        raise archive.wrong(EVENTS, f"holds {number} events up to {newest}, and other numbers are in the manifest")


def contents_of(archive: OpenArchive) -> Contents:
    """Return what an archive says that it holds."""
    said = archive.manifest
    return Contents(said.n_events, said.n_photos, said.n_boxes, said.newest_ms, said.n_missing)


def contents_text(services: Services, contents: Contents) -> str:
    """Return what an archive holds in a line: `1,204 events, 310 photos, newest 3 May`."""
    parts = [count_text(contents.n_events, "event"), count_text(contents.n_photos, "photo")]
    if contents.newest_ms is not None:
        parts.append(f"newest {ms_text(services, contents.newest_ms)}")
    return ", ".join(parts)


def count_text(n: int, what: str) -> str:
    """Return `1 event`, `1,204 events`; what ends in y becomes ies."""
    many = f"{what[:-1]}ies" if what.endswith("y") else "boxes" if what == "box" else f"{what}s"
    return f"{n:,} {what if n == 1 else many}"


def ms_text(services: Services, ms: int) -> str:
    """Return the keeper's day of an instant, with its year where that is not this one."""
    from boxside.actions.context import zone_of

    day: date = day_of(ms, zone_of(services))
    return day_text(day, today(services))
