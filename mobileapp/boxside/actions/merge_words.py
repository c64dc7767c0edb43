"""What a merge brings and meets, in words."""

from __future__ import annotations

from collections.abc import Iterator

from boxside.actions.archive_events import contents_of, count_text, ms_text
from boxside.actions.services import Services
from boxside.actions.wording import event_label
from boxside.core.values.keeping import Conflict, ConflictKind, Contents, MergePreview
from boxside.core.values.views import Notice
from boxside.device.archive_reading import OpenArchive
from boxside.store import merging, reading
from boxside.store.merging import United

_NAMED = 20
# Two phones' clocks are seldom nearer than that.
_AHEAD_MS = 120_000


def preview_of(
    services: Services, archive: OpenArchive, found: United, before: dict[str, tuple[str, str]], n_photos: int
) -> MergePreview:
    """Return what a union brought, inside the transaction in which it was made.

    Parameters
    ----------
    before : the boxes that shared their code with another before it, as `merging.shown_otherwise` tells them
    """
    contents = contents_of(archive)
    others = [*_futures(services, found), *_labels(services, before)]
    conflicts = [*_clashes(services, found), *others]
    return MergePreview(
        path=str(archive.path),
        text=_text(services, contents, found.n_new, n_photos),
        contents=contents,
        n_new_events=found.n_new,
        n_known_events=found.n_known,
        n_new_photos=n_photos,
        conflicts=tuple(conflicts[:_NAMED]),
        n_conflicts=found.n_clashes + len(others),
        stops=_stops(found),
    )


def _text(services: Services, contents: Contents, n_events: int, n_photos: int) -> str:
    """Return what is new of an archive: `3 of 1,204 events and 1 of 310 photos are new, newest 3 May`."""
    said = f"{n_events:,} of {count_text(contents.n_events, 'event')}"
    if contents.n_photos:
        said += f" and {n_photos:,} of {count_text(contents.n_photos, 'photo')}"
    newest = "" if contents.newest_ms is None else f", newest {ms_text(services, contents.newest_ms)}"
    return f"{said} are new{newest}"


def _clashes(services: Services, found: United) -> Iterator[Conflict]:
    for name in found.clashes:
        event = reading.event(services.store, name)
        what = f"{event_label(services, event)}, {ms_text(services, event.at_ms)}" if event else "entry"
        yield Conflict(
            ConflictKind.SAME_ID,
            f"{what}: the archive says something else under the same id ({name})",
            "One of the two was changed outside Boxside. Nothing can be merged until that is settled.",
        )


def _labels(services: Services, before: dict[str, tuple[str, str]]) -> Iterator[Conflict]:
    for name, (label, shown) in sorted(merging.shown_otherwise(services.store).items(), key=lambda item: item[1]):
        if before.get(name) != (label, shown):
            yield Conflict(
                ConflictKind.LABEL,
                f"two open boxes are called {label}: both stay, one is shown as {shown}",
                f"Write a new code on the lid of {shown} and change it there.",
            )


def _futures(services: Services, found: United) -> Iterator[Conflict]:
    if n := merging.later_than(services.store, found.first_row, services.clock.now_ms() + _AHEAD_MS):
        yield Conflict(
            ConflictKind.FUTURE,
            f"{count_text(n, 'event')} lie in the future by this clock",
            "They are kept as they are. Check the clocks of both devices.",
        )


def _stops(found: United) -> Notice | None:
    if not found.n_clashes:
        return None
    n = count_text(found.n_clashes, "entry")
    return Notice(
        f"{n} of the archive {'has' if found.n_clashes == 1 else 'have'} the id of another here: {found.clashes[0]}.",
        "Nothing was changed.",
        "Ask for the archive again, or have both logs checked: `boxside check`.",
        bad=True,
    )
