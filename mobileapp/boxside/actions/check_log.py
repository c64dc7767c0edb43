"""Whether everything is what was written: the file, every row, what follows from them, photos, copies set aside."""

from __future__ import annotations

from boxside.actions.archive_events import count_text
from boxside.actions.services import Services
from boxside.core.values.keeping import CheckLine, CheckReport
from boxside.core.values.views import Notice
from boxside.store import checking, photos, snapshots
from boxside.store.connection import SQLITE_ERRORS

_NAMED = 5


def check_log(services: Services) -> CheckReport:
    """Read everything and say what of it is not what was written; nothing is changed."""
    lines = [_structure(services), *_rows(services), _state(services), _photos(services), _snapshots(services)]
    bad = [line for line in lines if line.n_bad]
    return CheckReport(not bad, tuple(lines), _notice(lines, bad))


def log_fault(services: Services) -> str:
    """Return what is wrong with the log itself, in a few words; empty where every row is what was written."""
    store = services.store
    return checking.structure_fault(store) or checking.rows_fault(store.path) or checking.notes_fault(store)


def _notice(lines: list[CheckLine], bad: list[CheckLine]) -> Notice:
    if not bad:
        n = next(line.n for line in lines if line.what == "entries")
        return Notice(f"All is what was written: {count_text(n, 'entry')} and what follows from them.")
    named = "; ".join(f"{line.what}: {line.detail}" for line in bad)
    log_is_bad = any(line.what in ("file", "entries", "state") for line in bad)
    do = "`boxside repair` takes the newest copy that is whole and reads what is newer out of the damaged file."
    other = "Photos come back from an archive that has them: `boxside merge ARCHIVE`; damaged copies go with a repair."
    return Notice(
        f"Not everything is what was written. {named}.", "Nothing was changed.", do if log_is_bad else other, True
    )


def _structure(services: Services) -> CheckLine:
    fault = checking.structure_fault(services.store) or checking.notes_fault(services.store)
    return CheckLine("file", 1, int(bool(fault)), " ".join(fault.split())[:200])


def _rows(services: Services) -> list[CheckLine]:
    try:
        found = checking.check_rows(services.store.path)
    except SQLITE_ERRORS as error:
        return [CheckLine("entries", 0, 1, f"cannot be read ({error})")]
    parts = [f"{count_text(found.n_bad, 'entry')} changed: {', '.join(found.bad[:_NAMED])}"] if found.n_bad else []
    parts += [f"{count_text(found.n_gone, 'entry')} gone"] if found.n_gone else []
    return [CheckLine("entries", found.n, found.n_bad + found.n_gone, "; ".join(parts))]


def _state(services: Services) -> CheckLine:
    """A log that cannot be written is not derived again; its rows are what counts."""
    if services.store.why_read_only:
        return CheckLine("state", 0, 0, "not checked: the log cannot be written now")
    try:
        follows = checking.state_follows(services.store)
    except SQLITE_ERRORS as error:
        return CheckLine("state", 1, 1, f"cannot be derived ({error})")
    return CheckLine("state", 1, int(not follows), "" if follows else "does not follow from the entries")


def _photos(services: Services) -> CheckLine:
    try:
        named = photos.named(services.store)
    except SQLITE_ERRORS as error:
        return CheckLine("photos", 0, 1, f"cannot be listed ({error})")
    faults = [(one, fault) for one in named if (fault := photos.fault(services.device.data_dir, one))]
    detail = ", ".join(f"{sha256[:12]} {fault}" for sha256, fault in faults[:_NAMED])
    return CheckLine("photos", len(named), len(faults), detail)


def _snapshots(services: Services) -> CheckLine:
    found = snapshots.snapshots(services.device.data_dir)
    bad = [one.path.name for one in found if not one.is_whole()]
    return CheckLine("copies", len(found), len(bad), ", ".join(f"{name[:24]} changed" for name in bad))
