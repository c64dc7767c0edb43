"""The entry of the command line: wiring and commands, never Kivy."""

from __future__ import annotations

import sys
from collections.abc import Sequence

from boxside.app import wiring
from boxside.cli import run


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns its exit status."""
    return run(sys.argv[1:] if argv is None else argv, wiring.build)


if __name__ == "__main__":
    sys.exit(main())
