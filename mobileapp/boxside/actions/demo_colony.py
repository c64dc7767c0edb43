"""The invented colony in a log: written as a keeper would have, day by day, in one transaction."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path
from zoneinfo import ZoneInfo

from boxside.actions.context import today
from boxside.actions.demo_climate import surroundings
from boxside.actions.demo_story import Deed, story
from boxside.actions.services import Services
from boxside.actions.stamping import new_id, stamped
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft
from boxside.core.values.moments import local_ms
from boxside.core.values.vocabulary import Vocabulary
from boxside.device import export_folder
from boxside.device.fake import FakeClock, SeededChance
from boxside.store import open_store, reading, saving
from boxside.store.connection import FILE_NAME

MARK = "demo"
_MARK_FILE = "this-is-the-demo-colony.txt"
_FIRST_YEAR = 1973  # ids carry no moment before 1970, and the story begins up to three years back


def make_room(data: Path, out: Path) -> None:
    """Make a folder ready for the demo: an earlier demo goes, a real log stays and is never touched.

    Parameters
    ----------
    data : where the demo's log goes
    out : where its season will be written, which may hold nobody's files either

    Raises
    ------
    EntryError : if the folder holds a log that is not a demo, or the other one files that are not ours;
        nothing was changed
    """
    is_there = (data / FILE_NAME).exists()
    if is_there and not _is_demo(data):
        raise EntryError(f"{data} holds a real log. Nothing was changed. Give the demo another folder.")
    export_folder.prepare(out, [path.name for path in out.glob("*.csv")])
    if is_there:
        for path in data.glob(f"{FILE_NAME}*"):
            path.unlink()
        # Copies of the earlier demo too: they would be taken for copies of the new one.
        for folder in ("photos", "snapshots", "aside"):
            shutil.rmtree(data / folder, ignore_errors=True)
    data.mkdir(parents=True, exist_ok=True)
    (data / _MARK_FILE).write_text("An invented colony. `boxside demo` may replace it at any time.\n", encoding="utf-8")


def _is_demo(data: Path) -> bool:
    """Return whether the log itself says that it is a demo, or holds nothing; a file beside it may be stale."""
    store = open_store(data, Vocabulary({}))
    try:
        return bool(store.meta(MARK)) or reading.is_empty(store)
    finally:
        store.close()


def fill(services: Services) -> int:
    """Write two seasons up to today into an empty log; return how many events that were."""
    day = today(services)
    if day.year < _FIRST_YEAR:
        raise EntryError(f"The demo's seasons need a day from {_FIRST_YEAR} on. Nothing was changed.")
    zone = services.clock.zone_name()
    clock = FakeClock(0, zone)
    device = replace(services.device, clock=clock, chance=SeededChance(f"colony {day}"))
    then = Services(services.store, device, services.catalog)
    now_ms = services.clock.now_ms()
    ids: dict[str, str] = {}
    visits: dict[tuple[str, int], str] = {}
    n = 0
    with saving(services.store) as log:
        for deed in (*surroundings(day), *story(day)):
            clock.at_ms = local_ms(deed.day, deed.minute, ZoneInfo(zone))
            if clock.at_ms > now_ms:
                continue
            log.append(stamped(then, log, _draft(then, deed, ids, visits)))
            n += 1
        log.store.set_meta(MARK, day.isoformat())
    services.store.checkpoint()
    return n


_NAMING = ("cohort", "mother", "to_box", "from_box", "area")


def _draft(services: Services, deed: Deed, ids: dict[str, str], visits: dict[tuple[str, int], str]) -> Draft:
    """Return the draft of a deed, with ids in place of the story's own names."""
    now_ms = services.clock.now_ms()
    fields = dict(deed.fields)
    for key in _NAMING:
        if isinstance(name := fields.get(key), str):
            fields[key] = ids.setdefault(name, new_id(services, now_ms))
    if isinstance(parents := fields.get("parents"), list):
        fields["parents"] = [{**p, "cohort": ids[str(p["cohort"])]} for p in parents if isinstance(p, dict)]
    # The colony and a kind of prey are their own names; everything else has an id.
    named = {"colony": "colony", "prey": deed.subject}.get(deed.subject_type, "")
    subject = named or ids.setdefault(deed.subject, new_id(services, now_ms))
    visit = visits.setdefault((deed.subject, deed.day.toordinal()), new_id(services, now_ms))
    return Draft(deed.kind, deed.subject_type, subject, fields, at_ms=now_ms, visit=visit, note=deed.note)
