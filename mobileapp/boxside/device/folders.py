"""Where the app's own data stands: `shared/` and `assets/` in a wheel, a clone or the phone's stage."""

from __future__ import annotations

from pathlib import Path

from boxside.core.values.errors import DeviceError

_PACKAGE = Path(__file__).resolve().parents[1]


def bundled(name: str) -> Path:
    """Return the folder `shared` or `assets`, wherever this copy of Boxside was put.

    Raises
    ------
    DeviceError : if it is in none of the places
    """
    places = (_PACKAGE / "_bundle" / name, _PACKAGE.parent / name, _PACKAGE.parent.parent / name)
    for place in places:
        if place.is_dir():
            return place
    looked = ", ".join(str(place) for place in places)
    raise DeviceError(f"The folder {name} is missing; looked in {looked}. Install Boxside again.")
