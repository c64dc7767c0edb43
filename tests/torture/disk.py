"""A disk whose power can be cut: what was written but not synced is lost, torn or out of order.

It stands below SQLite as a VFS of apsw. The files themselves are real, so that locks and shared memory
work; beside them the disk keeps what would be there after a cut.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import apsw

SECTOR = 512


@dataclass(slots=True)
class Kept:
    """One file as the platter has it: what is safe (None: not even its name), and what is still on its way."""

    safe: bytes | None = None
    pending: list[tuple[str, int, bytes]] = field(default_factory=list)

    def sync(self) -> None:
        """Make everything that is on its way safe."""
        content = bytearray(self.safe or b"")
        for op in self.pending:
            _apply(content, *op)
        self.safe = bytes(content)
        self.pending.clear()

    def after_cut(self, chance: random.Random) -> bytes | None:
        """Return what a cut leaves: some of what was on its way, in any order, with torn sectors."""
        content = bytearray(self.safe or b"")
        mood = chance.choice(("nothing", "first", "some", "all"))
        if mood == "nothing" or (self.safe is None and not self.pending):
            return self.safe
        ops = list(self.pending)
        if mood == "first":
            ops = ops[: chance.randint(0, len(ops))]
        elif mood == "some":
            ops = [op for op in ops if chance.random() < 0.5]
            chance.shuffle(ops)
        for what, offset, data in ops:
            torn = what == "write" and mood != "all" and chance.random() < 0.3
            kept = SECTOR * chance.randint(0, len(data) // SECTOR) if torn else len(data)
            _apply(content, what, offset, data[:kept] if what == "write" else data)
        return bytes(content)


def _apply(content: bytearray, what: str, offset: int, data: bytes) -> None:
    if what == "truncate":
        del content[offset:]
        content.extend(bytes(offset - len(content)))
        return
    if len(content) < offset:
        content.extend(bytes(offset - len(content)))
    content[offset : offset + len(data)] = data


class Disk(apsw.VFS):
    """A disk that can be photographed at any moment as it would be after a cut, and that can refuse.

    `on_op` is called before every write, truncation, sync and removal, with its number; it may take a
    photograph or raise what the disk is to answer with.
    """

    def __init__(self, name: str, on_op: Callable[[int, str], None] | None = None) -> None:
        self.on_op = on_op
        self.n_ops = 0
        self.calls: Counter[str] = Counter()
        self.files: dict[str, Kept] = {}
        self.removed: dict[str, bytes] = {}
        self.vfs_name = name
        super().__init__(name, "")

    def xOpen(self, name: Any, flags: list[int]) -> apsw.VFSFile:
        """Open a file and keep account of it."""
        path = name.filename() if isinstance(name, apsw.URIFilename) else name
        return _File(self, path, name, flags)

    def xDelete(self, filename: str, syncdir: bool) -> None:
        """Remove a file; without a sync of the folder a cut may bring it back."""
        self.op("delete")
        super().xDelete(filename, syncdir)
        kept = self.files.pop(filename, None)
        self.removed.pop(filename, None)
        if kept is not None and kept.safe is not None and not syncdir:
            self.removed[filename] = kept.safe

    def op(self, what: str) -> None:
        """Count an operation and let the test have its say."""
        self.n_ops += 1
        self.calls[what] += 1
        if self.on_op is not None:
            self.on_op(self.n_ops, what)

    def photograph(self, folder: Path, chance: random.Random) -> None:
        """Write the files into a folder as they would be if the power were cut now."""
        folder.mkdir(parents=True)
        for path, kept in self.files.items():
            content = kept.after_cut(chance)
            if content is not None:
                (folder / Path(path).name).write_bytes(content)
        for path, content in self.removed.items():
            if path not in self.files and chance.random() < 0.5:
                (folder / Path(path).name).write_bytes(content)


class _File(apsw.VFSFile):
    def __init__(self, disk: Disk, path: str | None, name: Any, flags: list[int]) -> None:
        self.disk = disk
        self.kind = Path(path).name if path else ""
        self.kept = disk.files.setdefault(path, Kept()) if path else Kept()
        super().__init__("", name, flags)

    def xWrite(self, data: bytes, offset: int) -> None:
        self.disk.op(f"write {self.kind}")
        self.kept.pending.append(("write", offset, bytes(data)))
        super().xWrite(data, offset)

    def xTruncate(self, size: int) -> None:
        self.disk.op(f"truncate {self.kind}")
        self.kept.pending.append(("truncate", size, b""))
        super().xTruncate(size)

    def xSync(self, flags: int) -> None:
        # The real disk is not waited for: what is safe is kept account of here.
        self.disk.op(f"sync {self.kind}")
        if self.kept.safe is None:
            # SQLite's own VFS syncs the folder with the first sync of a new journal or write-ahead file.
            self.disk.removed.clear()
        self.kept.sync()
