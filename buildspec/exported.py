"""Exports the invented colony from a staged app; run by `check.py` in processes of its own, with and without `-OO`.

`python [-OO] exported.py STAGE DATA OUT`
"""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path

DAY = date(2026, 5, 3)


def main() -> int:
    """Fill a log with the demo and export its season."""
    folder, data, out = sys.argv[1:4]
    sys.path.insert(0, folder)
    from boxside.actions import demo_colony, export_season
    from boxside.app import wiring

    services = wiring.build(data, DAY)
    demo_colony.fill(services)
    export_season.export_season(services, Path(out))
    services.store.close()
    print(sys.flags.optimize)
    return 0


if __name__ == "__main__":
    sys.exit(main())
