"""Old notebooks as CSV: what signs they use, which column is probably what; nothing is decided behind the keeper.

A notebook is whatever somebody once typed. The guesses here fill in a form; the keeper sees and changes them.
"""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Iterable, Mapping, Sequence

ROLES = ("date", "time", "box", "kind", "amount", "note", "by")
_SEPARATORS = (",", ";", "\t", "|")
_LOOKED_AT = 200
_HEADINGS = {
    "date": ("date", "day", "datum", "tag", "when"),
    "time": ("time", "hour", "clock", "zeit", "uhrzeit"),
    "box": ("box", "container", "tub", "code", "lid", "behälter", "dose"),
    "kind": ("kind", "event", "what", "act", "action", "activity", "type", "entry", "was"),
    "amount": ("amount", "n", "number", "count", "how many", "quantity", "qty", "anzahl", "menge"),
    "note": ("note", "notes", "comment", "comments", "remark", "remarks", "notiz", "bemerkung"),
    "by": ("by", "who", "keeper", "initials", "wer"),
}


def notebook_separator(text: str) -> str:
    """Return the sign between the cells of a text: the one that cuts most lines into equally many cells, at least two.

    Examples
    --------
    >>> notebook_separator("date;box\\n1,5;B07\\n")
    ';'
    """
    best, most = ",", (0, 0)
    for sign in _SEPARATORS:
        widths = [len(cells) for _, cells in notebook_lines(text, sign, _LOOKED_AT) if any(cells)]
        usual = max(set(widths), key=widths.count, default=0)
        if usual > 1 and (widths.count(usual), usual) > most:
            best, most = sign, (widths.count(usual), usual)
    return best


def notebook_lines(text: str, separator: str, most: int | None = None) -> list[tuple[int, list[str]]]:
    """Return the lines of a text as (number of the line it begins on, from 1; cells).

    Raises
    ------
    ValueError : naming the line at which the text cannot be cut into cells
    """
    reader = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), delimiter=separator)
    found: list[tuple[int, list[str]]] = []
    began = 1
    try:
        for cells in reader:
            found.append((began, cells))
            began = reader.line_num + 1
            if most is not None and len(found) >= most:
                break
    except csv.Error as error:
        raise ValueError(f"line {began} cannot be cut into cells ({error})") from error
    return found


def column_roles(header: Sequence[str]) -> tuple[tuple[str, int], ...]:
    """Return the columns whose headings name a role, each role and column at most once.

    Examples
    --------
    >>> column_roles(["Date", "Box no.", "What", "n"])
    (('date', 0), ('box', 1), ('kind', 2), ('amount', 3))
    """
    taken: dict[str, int] = {}
    for role, names in _HEADINGS.items():
        for exact in (True, False):
            for column, heading in enumerate(header):
                said = heading.strip().casefold()
                words = re.split(r"[^\w]+", said)
                is_it = said in names if exact else any(name in words for name in names)
                if is_it and role not in taken and column not in taken.values():
                    taken[role] = column
    return tuple(taken.items())


def notebook_decimal(cells: Iterable[str]) -> str:
    """Return the decimal sign that more of these cells write; a point where neither does."""
    commas = points = 0
    for cell in cells:
        commas += bool(re.fullmatch(r"\s*-?\d+,\d+\s*", cell))
        points += bool(re.fullmatch(r"\s*-?\d+\.\d+\s*", cell))
    return "," if commas > points else "."


def number_of(cell: str, decimal: str) -> float | None:
    """Return the number that a cell writes, or None where it is none.

    Examples
    --------
    >>> number_of(" 2,5 ", ","), number_of("2,5", "."), number_of("1_0", ".")
    (2.5, None, None)
    """
    bare = cell.strip()
    other = "." if decimal == "," else ","
    if other in bare or "_" in bare:
        return None
    try:
        number = float(bare.replace(decimal, "."))
    except ValueError:
        return None
    return number if math.isfinite(number) else None


def kinds_of_words(words: Iterable[str], known: Mapping[str, str]) -> dict[str, str]:
    """Return for each word of a notebook the kind whose name or label it is; the others are left out.

    Parameters
    ----------
    known : names and labels of kinds, case-folded, with the kind's name
    """
    found = {}
    for word in words:
        folded = " ".join(word.casefold().replace("_", " ").split())
        if folded in known:
            found[word] = known[folded]
    return found
