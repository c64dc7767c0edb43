"""Rows as CSV that a person opens in a spreadsheet, and back to what machines read.

Spreadsheets turn cells into formulas, numbers and dates by looking at them, quotes or not. So a text that begins like
a formula, or that could be taken for a number or a date, gets an apostrophe in front; so does one that begins with an
apostrophe, which makes it reversible: one apostrophe at the front of a cell is never part of the text.

References
----------
OWASP 2023, CSV Injection (the signs = + - @, tab and carriage return, and their full-width forms).
Ziemann M., Eren Y., El-Osta A. 2016, Gene name errors are widespread in the scientific literature, Genome Biology
17:177 (names that spreadsheets turn into dates and numbers).
"""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence

from boxside.core.tables.csv_text import LINE_END, cell_text, csv_record, writable_text

BOM = "\ufeff"
SEPARATORS = {".": ",", ",": ";"}
"""The separator of cells by the decimal sign: a spreadsheet that reads 2,5 as a number expects semicolons."""
_MARK = "'"
_FORMULA = frozenset("=+-@＝＋－＠")
_NUMBERS = re.compile(r"[\s\d.,:;/+\-%$€£¥()'°]*\d[\s\d.,:;/+\-%$€£¥()'°eE]*")
_TIMES = re.compile(r"\d{1,2}([:.]\d{1,2}){0,2}\s*[ap](\.?m\.?)?", re.IGNORECASE)
_MONTHS = (
    "jan|january|januar|janv|ene|gen|feb|february|februar|févr|fév|mar|march|mär|märz|mrz|mars|apr|april|avr|abr|may|"
    "mai|mei|mag|jun|june|juni|juin|giu|jul|july|juli|juil|lug|aug|august|août|ago|agosto|sep|sept|september|set|oct|"
    "october|okt|oktober|ott|nov|november|dec|december|dez|dezember|déc|dic"
)
_DATES = re.compile(
    rf"(\d{{1,4}}[\s./,-]*)?({_MONTHS})\.?[\s./,-]*\d*([\s./,-]+\d+)?",
    re.IGNORECASE,
)
_WORDS = frozenset({"true", "false", "wahr", "falsch"})
_ISO = re.compile(r"\d{4}-\d\d-\d\d(T\d\d:\d\d:\d\d(\.\d+)?([+-]\d\d:\d\d|Z)?)?")
_WRITTEN_NUMBER = re.compile(r"-?\d+([.,]\d+)?(e[+-]?\d+)?")


def spreadsheet_cell(value: object, decimal: str, is_text: bool = True) -> str:
    """Return one value as a spreadsheet may be given it.

    Parameters
    ----------
    decimal : the decimal sign of its numbers
    is_text : whether the column holds text; moments and days in a column of such stay as they are

    Examples
    --------
    >>> spreadsheet_cell("=1+1", "."), spreadsheet_cell("-2", "."), spreadsheet_cell(-2.5, ",")
    ("'=1+1", "'-2", '-2,5')
    """
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        return writable_text(cell_text(value))
    if isinstance(value, str):
        kept = not is_text and _ISO.fullmatch(value) is not None
        return writable_text(value) if kept else _defused(writable_text(value))
    text = cell_text(value)
    return text if decimal == "." else text.replace(".", decimal)


def spreadsheet_text(rows: Iterable[Sequence[object]], types: Sequence[str], decimal: str) -> Iterator[str]:
    """Yield the records of a table, a byte order mark before the first.

    Parameters
    ----------
    rows : the header, then the rows
    types : the declared type of each column
    decimal : "." or ","
    """
    texts = [kind not in ("date", "datetime") for kind in types]
    buffer = io.StringIO(newline="")
    buffer.write(BOM)
    writer = csv.writer(buffer, delimiter=SEPARATORS[decimal], lineterminator=LINE_END)
    for row in rows:
        writer.writerow([spreadsheet_cell(value, decimal, is_text) for value, is_text in zip(row, texts, strict=True)])
        yield buffer.getvalue()
        buffer.seek(0)
        buffer.truncate()


def machine_cell(text: str, decimal: str) -> str:
    """Return a spreadsheet's cell as it stands in the tables for machines.

    Examples
    --------
    >>> machine_cell("'=1+1", ","), machine_cell("-2,5", ","), machine_cell("''twas", ",")
    ('=1+1', '-2.5', "'twas")
    """
    if text.startswith(_MARK):
        return text[1:]
    if decimal != "." and _WRITTEN_NUMBER.fullmatch(text):
        return text.replace(decimal, ".")
    return text


def machine_text(lines: Iterable[str], decimal: str) -> Iterator[str]:
    """Yield a table for spreadsheets as the table for machines, byte for byte what that flavour writes.

    Parameters
    ----------
    lines : the file's lines with their line ends, as from a file opened with newline=""
    """
    for nth, row in enumerate(csv.reader(lines, delimiter=SEPARATORS[decimal], strict=True)):
        first = row[0].removeprefix(BOM) if nth == 0 and row else ""
        cells = [first, *row[1:]] if nth == 0 else row
        yield csv_record(machine_cell(text, decimal) for text in cells)


def _defused(text: str) -> str:
    """Return a text so that no spreadsheet takes it for anything else."""
    bare = text.lstrip()
    while bare and unicodedata.category(bare[0]) in ("Cc", "Cf", "Zs", "Zl", "Zp", "Mn"):
        bare = bare[1:].lstrip()
    if not bare:
        return text
    is_other = bare[0] in _FORMULA or text.startswith(_MARK) or _is_mistakable(bare.strip())
    return _MARK + text if is_other else text


def _is_mistakable(text: str) -> bool:
    if len(text) > 40:
        return text.lstrip("(").isdigit()
    if text.lower() in _WORDS:
        return True
    is_other = any(form.fullmatch(text) for form in (_NUMBERS, _TIMES, _DATES))
    return is_other and any(sign.isdigit() for sign in text)
