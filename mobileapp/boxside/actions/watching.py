"""How far a long piece of work is, and whether whoever waits for it wants it to stop."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TypeVar

from boxside.core.values.errors import EntryError

T = TypeVar("T")
# The first sentence by which a screen tells it from a failure.
STOPPED = "Stopped."


class StoppedError(EntryError):
    """The work was asked to stop, and did so before anything was changed."""


@dataclass(slots=True)
class Watch:
    """Written by the thread that works, read by the one that shows it; `is_stopped` goes the other way.

    `done` of `total` of `part` (entries, photos, ...) are through; a `total` of 0 is one that is not known, and
    an empty `part` is work that cannot be counted.
    """

    part: str = ""
    done: int = 0
    total: int = 0
    is_stopped: bool = False

    def begin(self, part: str = "", total: int = 0) -> None:
        """Begin with another part of the work."""
        self.part, self.done, self.total = part, 0, total

    def check(self) -> None:
        """Go on, unless it is to stop.

        Raises
        ------
        StoppedError : if so
        """
        if self.is_stopped:
            raise StoppedError(f"{STOPPED} Nothing was changed.")


def watched(watch: Watch | None, items: Iterable[T], part: str, total: int = 0) -> Iterator[T]:
    """Yield the items and keep count of them, as long as nobody wants it to stop; None for nobody who watches.

    Raises
    ------
    StoppedError : between two items, if it is to stop
    """
    if watch is None:
        yield from items
        return
    watch.begin(part, total)
    for item in items:
        watch.check()
        yield item
        watch.done += 1
    watch.begin()
    watch.check()


__all__ = ["STOPPED", "StoppedError", "Watch", "watched"]
