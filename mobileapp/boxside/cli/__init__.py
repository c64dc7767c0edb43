"""The same actions from a shell; only here anything is printed."""

from __future__ import annotations

import sys
from collections.abc import Sequence

from boxside.cli.commands import COMMANDS
from boxside.cli.options import Build, Context, parser
from boxside.core.values.errors import BoxsideError, DataError, EntryError

BAD_INPUT = 2
FAILED = 1
# Whoever logs only from a shell has a copy set aside by these.
WRITES = frozenset(("log", "undo", "add", "founders", "parents", "temperatures", "measure"))


def run(argv: Sequence[str], build: Build) -> int:
    """Run one command and return its exit status: 0 done, 2 bad input, 1 anything else that went wrong."""
    context: Context | None = None
    try:
        asked, rest = parser(COMMANDS).parse_known_args(list(argv))
        context = Context(asked, rest, build)
        if rest and not COMMANDS[asked.command].takes_fields:
            raise EntryError(f"{' '.join(rest)!r} is not understood here; see `boxside {asked.command} --help`.")
        status = COMMANDS[asked.command].run(context)
    except BoxsideError as error:
        print(f"boxside: {' '.join(str(error).split())}", file=sys.stderr)
        return BAD_INPUT if isinstance(error, EntryError) and not isinstance(error, DataError) else FAILED
    else:
        if asked.command in WRITES:
            context.keep_copy()
        return status
    finally:
        if context is not None:
            context.close()


__all__ = ["run"]
