"""Rows as CSV text for machines.

References
----------
Shafranovich Y. 2005, RFC 4180: Common Format and MIME Type for Comma-Separated Values (CSV) Files.
"""

from __future__ import annotations

import csv
import io
import itertools
import json
import re
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime

LINE_END = "\r\n"
_QUOTED = ('"', ",", "\r", "\n")
# What the csv module writes exactly as `cell` does; everything else is turned into text first.
_PLAIN = frozenset({str, int, float, type(None)})
_PAGE = 256
_ESCAPE = "\ufffd"
# What text in UTF-8 cannot carry (lone surrogates), what readers stop at (NUL), and the escape's own sign.
_UNWRITABLE = re.compile("[\0\ufffd\ud800-\udfff]")
_ESCAPED = re.compile("\ufffd([0-9a-f]{4})")


def cell(value: object) -> str:
    """Return one value as text: nothing as empty, booleans true/false, dates ISO 8601, lists as JSON.

    Lone surrogates, which UTF-8 cannot carry, and NUL, which readers stop at, become the replacement sign and
    their number, so that `original_text` brings them back.
    """
    return writable_text(cell_text(value))


def cell_text(value: object) -> str:
    """Return one value as text that may hold signs which no file can carry; see `writable_text`."""
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
        return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    return str(value)


def writable_text(text: str) -> str:
    r"""Return a text with U+FFFD and four hexadecimal digits in place of each sign that a file cannot carry.

    Those are NUL, lone surrogates and, so that it can be reversed, U+FFFD itself.

    Examples
    --------
    >>> writable_text("a\0b") == "a\ufffd0000b"
    True
    """
    if text.isascii() and "\0" not in text:
        return text
    return _UNWRITABLE.sub(lambda found: f"{_ESCAPE}{ord(found[0]):04x}", text)


def original_text(cell: str) -> str:
    r"""Return the text that `writable_text` was given.

    Examples
    --------
    >>> original_text(writable_text("\ud800 \0 \ufffd")) == "\ud800 \0 \ufffd"
    True
    """
    return _ESCAPED.sub(lambda found: chr(int(found[1], 16)), cell) if _ESCAPE in cell else cell


def csv_line(values: Iterable[object]) -> str:
    r"""Return one record with its line end.

    Examples
    --------
    >>> csv_line(["B07", None, 3, True, 'so called "moss", wet'])
    'B07,,3,true,"so called ""moss"", wet"\r\n'
    """
    return csv_record(cell(value) for value in values)


def csv_record(cells: Iterable[str]) -> str:
    """Return one record of cells that are written already, with its line end."""
    return ",".join(_quoted(text) for text in cells) + LINE_END


def csv_text(rows: Iterable[Sequence[object]]) -> Iterator[str]:
    """Yield the records of rows as text, some hundred at a time; the same text as `csv_line` row by row.

    Rows of two columns or more; no more than a page of them is held.
    """
    waiting = iter(rows)
    while page := list(itertools.islice(waiting, _PAGE)):
        yield _page(page)


def _page(page: list[Sequence[object]]) -> str:
    """Write a page by the csv module, which is fast; a page with signs that no file can carry cell by cell."""
    buffer = io.StringIO(newline="")
    csv.writer(buffer, lineterminator=LINE_END).writerows(
        row if _PLAIN.issuperset(map(type, row)) else [cell_text(value) for value in row] for row in page
    )
    text = buffer.getvalue()
    if text.isascii() and "\0" not in text:
        return text
    return text if _is_writable(text) else "".join(csv_line(row) for row in page)


def _is_writable(text: str) -> bool:
    if "\0" in text or _ESCAPE in text:
        return False
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return True


def _quoted(text: str) -> str:
    if any(sign in text for sign in _QUOTED):
        return '"' + text.replace('"', '""') + '"'
    return text
