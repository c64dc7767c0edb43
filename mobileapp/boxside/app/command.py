"""The entry of the command line: wiring and commands, never Kivy."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence

from boxside.app import wiring
from boxside.cli import run


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns its exit status.

    The one place that catches what nobody foresaw: the person gets a line, not a traceback, unless
    BOXSIDE_TRACEBACK is set.
    """
    try:
        status = run(sys.argv[1:] if argv is None else argv, wiring.build)
        sys.stdout.flush()
    except BrokenPipeError:
        # Who reads has heard enough (as `head` has): nothing is wrong, and nothing more can be said there.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 1
    except Exception as error:
        if os.environ.get("BOXSIDE_TRACEBACK"):
            raise
        said = " ".join(f"{type(error).__name__}: {error}".split())
        safe = "What was saved before is safe. Set BOXSIDE_TRACEBACK=1 and try again to see where."
        print(f"boxside: something unforeseen went wrong ({said}). {safe}", file=sys.stderr)
        return 1
    return status


if __name__ == "__main__":
    sys.exit(main())
