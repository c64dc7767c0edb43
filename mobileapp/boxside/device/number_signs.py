"""How this device writes numbers."""

from __future__ import annotations

import locale


def decimal_sign() -> str:
    """Return the decimal sign of the language that the device is set to: "." or ",".

    A device that does not say, as Android to Python, writes a point.
    """
    before = locale.setlocale(locale.LC_NUMERIC)
    try:
        locale.setlocale(locale.LC_NUMERIC, "")
        return "," if locale.localeconv()["decimal_point"] == "," else "."
    except locale.Error:
        return "."
    finally:
        locale.setlocale(locale.LC_NUMERIC, before)
