"""SQLite's file format read page by page, for logs whose tree is broken: every row that a leaf still holds.

References
----------
Hipp D. R. and the SQLite developers, "Database File Format", sections 1.6 (b-tree pages), 2.1 (records) and
4.1 (write-ahead log). sqlite.org/fileformat2.html
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

Value = None | int | float | str | bytes
_TABLE_LEAF = 0x0D
_USUAL_SIZE = 4096
_SIZES = frozenset(1 << n for n in range(9, 17))
_WAL_HEADER, _FRAME_HEADER = 32, 24
_MOST_WAL_BYTES = 64_000_000


@dataclass(slots=True)
class Pages:
    """The pages of one database file, as the write-ahead file has left them."""

    file: BinaryIO
    size: int
    n_pages: int
    newer: dict[int, bytes]

    def page(self, number: int) -> bytes:
        """Return a page by its number, counted from 1; empty where there is none."""
        if number in self.newer:
            return self.newer[number]
        if not 0 < number <= self.n_pages:
            return b""
        self.file.seek((number - 1) * self.size)
        return self.file.read(self.size)

    def rows(self, n_columns: int) -> Iterator[tuple[int, list[Value]]]:
        """Yield (row number, values) of every record with that many columns that any leaf page still holds."""
        for number in range(1, max([self.n_pages, *self.newer]) + 1):
            page = self.page(number)
            start = 100 if number == 1 else 0
            if len(page) == self.size and page[start] == _TABLE_LEAF:
                yield from self.cells(page, start, n_columns)

    def cells(self, page: bytes, start: int, n_columns: int) -> Iterator[tuple[int, list[Value]]]:
        """Yield the readable records of one leaf page."""
        n_cells = int.from_bytes(page[start + 3 : start + 5], "big")
        for nth in range(min(n_cells, self.size // 4)):
            at = start + 8 + 2 * nth
            offset = int.from_bytes(page[at : at + 2], "big")
            try:
                record = self.cell(page, offset, n_columns)
            except (IndexError, ValueError, struct.error):
                continue
            if record is not None:
                yield record

    def cell(self, page: bytes, offset: int, n_columns: int) -> tuple[int, list[Value]] | None:
        """Return the record of one cell; None where it has another number of columns."""
        n_bytes, offset = _varint(page, offset)
        row, offset = _varint(page, offset)
        header = _header(page, offset)
        if len(header) != n_columns or n_bytes > self.n_pages * self.size + len(self.newer) * self.size:
            return None
        return row, _values(self.payload(page, offset, n_bytes), header)

    def payload(self, page: bytes, offset: int, n_bytes: int) -> bytes:
        """Return a cell's whole payload, what is on overflow pages included."""
        most = self.size - 35
        if n_bytes <= most:
            return page[offset : offset + n_bytes]
        least = (self.size - 12) * 32 // 255 - 23
        here = least + (n_bytes - least) % (self.size - 4)
        here = here if here <= most else least
        parts, left = [page[offset : offset + here]], n_bytes - here
        number = int.from_bytes(page[offset + here : offset + here + 4], "big")
        while left > 0:
            more = self.page(number)
            if not more:
                raise ValueError("an overflow page is missing")
            parts.append(more[4 : 4 + left])
            left -= self.size - 4
            number = int.from_bytes(more[:4], "big")
        return b"".join(parts)


def open_pages(file: BinaryIO, wal: Path | None = None) -> Pages:
    """Return the pages of a database file, read with its write-ahead file where there is one."""
    head = file.read(100)
    size = int.from_bytes(head[16:18], "big") if len(head) >= 18 else 0
    size = 65536 if size == 1 else size
    # Where the first page is lost, so is the size; every log of ours has SQLite's usual one.
    size = size if size in _SIZES and head.startswith(b"SQLite format 3\0") else _USUAL_SIZE
    file.seek(0, 2)
    return Pages(file, size, file.tell() // size, committed(wal, size) if wal is not None else {})


def committed(wal: Path, size: int) -> dict[int, bytes]:
    """Return the newest version of each page in a write-ahead file, up to its last commit.

    Checksums are not asked for: whoever reads a row proves it by the row's own digest. Frames are known by
    the mark of the file's beginning, or, where that is not what was written, by that of the first frame.
    """
    found: dict[int, bytes] = {}
    pending: dict[int, bytes] = {}
    data = wal.read_bytes()
    step = _FRAME_HEADER + size
    frames = [data[at : at + step] for at in range(_WAL_HEADER, len(data) - step + 1, step)]
    salts = {frame[8:16] for frame in frames}
    salt = data[16:24] if data[16:24] in salts else frames[0][8:16] if frames else b""
    for frame in frames:
        if frame[8:16] == salt:
            pending[int.from_bytes(frame[:4], "big")] = frame[_FRAME_HEADER:]
            if frame[4:8] != b"\0\0\0\0":
                found.update(pending)
                pending.clear()
    return found


def broken_inside(log: Path, wal: Path) -> bool:
    """Return whether saves that were acknowledged lie behind a frame that is not what was written.

    SQLite takes a frame whose checksum fails for the torn end of the last save, and forgets all behind it.
    But no save begins before the one before it was synced: where whole saves follow, the frame has rotted.
    A file of more than 64 MB is not looked through: only a merge makes one, and folds it in at once.
    """
    if not _WAL_HEADER + _FRAME_HEADER <= wal.stat().st_size <= _MOST_WAL_BYTES:
        return False
    data = wal.read_bytes()
    magic, _, size = struct.unpack(">III", data[:12])
    order = ">" if magic & 1 else "<"
    sums = _checksum(data[:24], (0, 0), order)
    if magic & ~1 != 0x377F0682 or sums != struct.unpack(">II", data[24:32]):
        return _not_folded_in(log, wal)
    return _lost_behind(data, _FRAME_HEADER + (65536 if size == 1 else size), sums, order)


def _not_folded_in(log: Path, wal: Path) -> bool:
    """Return whether a write-ahead file without a readable beginning holds pages that the log does not.

    Where the power went as the file was begun anew, all that stands behind the beginning has been folded in.
    """
    with log.open("rb") as file:
        pages = open_pages(file)
        return any(pages.page(number) != page for number, page in committed(wal, pages.size).items())


def _lost_behind(data: bytes, step: int, sums: tuple[int, int], order: str) -> bool:
    """Return whether whole saves follow the first frame that is not what was written."""
    salt = data[16:24]
    needed, found = 0, 0
    for at in range(_WAL_HEADER, len(data) - step + 1, step):
        frame = data[at : at + step]
        is_commit = frame[4:8] != b"\0\0\0\0"
        if needed:
            found += is_commit and frame[8:16] == salt
            continue
        sums = _checksum(frame[24:], _checksum(frame[:8], sums, order), order)
        if frame[8:16] != salt or sums != struct.unpack(">II", frame[16:24]):
            # The last save may be torn, and its own end may have come to the disk before the rest of it.
            needed = 1 if is_commit else 2
    return 0 < needed <= found


def _checksum(data: bytes, sums: tuple[int, int], order: str) -> tuple[int, int]:
    first, second = sums
    words = iter(struct.unpack(f"{order}{len(data) // 4}I", data))
    for word, other in zip(words, words, strict=True):
        first = (first + word + second) & 0xFFFFFFFF
        second = (second + other + first) & 0xFFFFFFFF
    return first, second


def _varint(data: bytes, offset: int) -> tuple[int, int]:
    value = 0
    for nth in range(8):
        byte = data[offset + nth]
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            return value, offset + nth + 1
    return value << 8 | data[offset + 8], offset + 9


def _header(page: bytes, offset: int) -> list[int]:
    """Return a record's column types; the header is short enough to stand on the leaf page itself."""
    length, at = _varint(page, offset)
    end = offset + length
    types: list[int] = []
    while at < end and len(types) < 64:
        kind, at = _varint(page, at)
        types.append(kind)
    return types


_LENGTHS = (0, 1, 2, 3, 4, 6, 8, 8, 0, 0)


def _values(payload: bytes, types: list[int]) -> list[Value]:
    length, _ = _varint(payload, 0)
    at, values = length, []
    for kind in types:
        size = _LENGTHS[kind] if kind < 10 else (kind - 12) // 2
        part = payload[at : at + size]
        if len(part) != size or kind in (10, 11):
            raise ValueError("a value is cut short")
        values.append(_value(kind, part))
        at += size
    return values


def _value(kind: int, part: bytes) -> Value:
    if kind == 0:
        return None
    if kind >= 12:
        return part if kind % 2 == 0 else part.decode("utf-8")
    if kind == 7:
        found: float = struct.unpack(">d", part)[0]
        return found
    return int.from_bytes(part, "big", signed=True) if kind < 7 else kind - 8
