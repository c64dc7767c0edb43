"""The staged app with the phone's packages only, under `python -OO`; run by `check.py` in a process of its own.

`python -OO imports.py STAGE NAME...` imports every module of the app and prints what it imported from where.
"""

from __future__ import annotations

import importlib
import importlib.abc
import importlib.machinery
import json
import os
import pkgutil
import sys
from collections.abc import Sequence
from types import ModuleType


class OnlyThese(importlib.abc.MetaPathFinder):
    """Hides every package that a phone does not have."""

    def __init__(self, names: set[str]) -> None:
        self.names = names | set(sys.stdlib_module_names) | {"boxside", "main"}
        self.asked: set[str] = set()

    def find_spec(
        self, name: str, path: Sequence[str] | None, target: ModuleType | None = None
    ) -> importlib.machinery.ModuleSpec | None:
        """Refuse what is not on the phone; leave the rest to the other finders."""
        top = name.partition(".")[0]
        # How this Python was built; every Python has one of its own name.
        if top not in self.names and not top.startswith("_sysconfigdata"):
            self.asked.add(top)
            raise ModuleNotFoundError(f"{top} is not on the phone", name=name)
        return None


def main() -> int:
    """Import everything; the exit status is 1 where a module asks for what is not there."""
    folder, names = sys.argv[1], set(sys.argv[2:])
    sys.path.insert(0, folder)
    os.environ.update(KIVY_NO_ARGS="1", KIVY_NO_CONFIG="1", KIVY_NO_FILELOG="1", KIVY_LOG_MODE="PYTHON")
    finder = OnlyThese(names)
    sys.meta_path.insert(0, finder)
    import boxside

    failed, n = {}, 0
    for found in pkgutil.walk_packages(boxside.__path__, "boxside."):
        try:
            importlib.import_module(found.name)
            n += 1
        except ModuleNotFoundError as error:
            failed[found.name] = str(error)
    print(
        json.dumps({"imported": n, "failed": failed, "optional": sorted(finder.asked), "optimize": sys.flags.optimize})
    )
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
