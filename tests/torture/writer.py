"""A process that forks writers: each saves and acknowledges until it is killed."""

from __future__ import annotations

import os
import random
import sys
from pathlib import Path

from boxside.store import open_store, saving
from tests.torture.deeds import Keeper, vocabulary


def say(what: str) -> None:
    """Write one line to the pipe at once; so short a line is never torn."""
    os.write(1, f"{what}\n".encode())


def save_until_killed(folder: Path, writer: int) -> None:
    """Save one event after another and acknowledge each; ends only by being killed."""
    store = open_store(folder, VOCABULARY)
    keeper = Keeper(random.Random(writer), device=f"phone {writer}", photo_in=folder)
    is_new = store.row("SELECT 1 FROM event LIMIT 1") is None
    for event in keeper.deeds(begin=is_new):
        with saving(store) as log:
            log.append(event)
        say(f"saved {event.id}")
        keeper.logged.append(event)
        store.checkpoint()


def main() -> None:
    """Fork a writer for each line `number folder`, and say how it ended."""
    for line in sys.stdin:
        number, _, folder = line.strip().partition(" ")
        child = os.fork()
        if child == 0:
            save_until_killed(Path(folder), int(number))
        say(f"writer {child}")
        _, status = os.waitpid(child, 0)
        say(f"ended {os.waitstatus_to_exitcode(status)}")


VOCABULARY = vocabulary()

if __name__ == "__main__":
    main()
