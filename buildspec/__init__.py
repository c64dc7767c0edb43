"""How Boxside is built for phones, and the checks of it that need no phone."""

import sys
from pathlib import Path

# What is checked is this clone, whether or not some Boxside is installed.
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "mobileapp"))
