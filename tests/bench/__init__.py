"""What things cost, each against a floor that is measured in the same run: `python -m tests.bench`."""

import sys
from importlib.util import find_spec
from pathlib import Path

if find_spec("boxside") is None:
    # From a clone without an installed Boxside.
    sys.path.insert(0, str(Path(__file__).parents[2] / "mobileapp"))
