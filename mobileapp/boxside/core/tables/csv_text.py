"""Rows as CSV text for machines.

References
----------
Shafranovich Y. 2005, RFC 4180: Common Format and MIME Type for Comma-Separated Values (CSV) Files.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import date, datetime

_QUOTED = ('"', ",", "\r", "\n")
_LINE_END = "\r\n"


def cell(value: object) -> str:
    """Return one value as text: nothing as empty, booleans true/false, dates ISO 8601, lists as JSON.

    Lone surrogates, which UTF-8 cannot carry, and NUL, which readers stop at, become the replacement sign.
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return repr(value)
    if isinstance(value, datetime):
        return value.isoformat(timespec="seconds")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, dict | list | tuple):
        text = json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    else:
        text = str(value)
    return text if text.isascii() and "\0" not in text else _writable(text)


def csv_line(values: Iterable[object]) -> str:
    r"""Return one record with its line end.

    Examples
    --------
    >>> csv_line(["B07", None, 3, True, 'so called "moss", wet'])
    'B07,,3,true,"so called ""moss"", wet"\r\n'
    """
    return ",".join(_quoted(cell(value)) for value in values) + _LINE_END


def _quoted(text: str) -> str:
    if any(sign in text for sign in _QUOTED):
        return '"' + text.replace('"', '""') + '"'
    return text


def _writable(text: str) -> str:
    return text.replace("\0", "\ufffd").encode("utf-16", "surrogatepass").decode("utf-16", "replace")
