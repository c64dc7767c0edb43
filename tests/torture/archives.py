"""Hostile archives: zips twisted in every way, each refused with one reason and nothing left behind, or harmless.

By hand: `python -m tests.torture.archives --examples 20000` prints how many were tried and what was said.
"""

from __future__ import annotations

import argparse
import io
import json
import struct
import sys
import tempfile
import zipfile
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import hypothesis.strategies as st
from hypothesis import HealthCheck, Phase, Verbosity, given, settings

from boxside.actions import keep_photo, make_archive, merge_archive
from boxside.actions.add_box import add_box
from boxside.actions.log_event import log_event
from boxside.actions.services import Services
from boxside.catalog.catalog import Catalog
from boxside.core.archive import EVENTS, MANIFEST
from boxside.core.values.errors import DataError, EntryError
from boxside.core.values.event import Draft
from boxside.core.values.views import NewBox
from boxside.device import fake
from boxside.store import open_store
from boxside.store.rebuild import state_digest
from tests.actions.carrying import Files, files_of, listed
from tests.actions.photos import write_photo
from tests.bench.logs import NOW_MS, catalog

Twist = Callable[[st.DataObject, Files], Files]
Spoil = Callable[[st.DataObject, bytes], bytes]


@dataclass(slots=True)
class Found:
    """What came of all archives: refused and why, taken in, and anything that must never happen."""

    n: int = 0
    reasons: Counter[str] = field(default_factory=Counter)
    taken: int = 0
    wrong: list[str] = field(default_factory=list)


# ---------------------------------------------------------------- what is done to an archive's files


def _name(data: st.DataObject, files: Files) -> Files:
    bad = data.draw(st.sampled_from([
        "../out.txt", "/tmp/out.txt", "..\\out.txt", "C:\\out.txt", "photos/../../out.txt", "events.jsonl/", "x" * 300,
        "copies/../../../out.toml", "photos/ab/cd.jpg", "\u202eevents.jsonl", "nul\0.txt", "manifest.JSON",
    ]))  # fmt: skip
    more = {**files, bad: b"out"}
    return listed(more) if data.draw(st.booleans()) else more


def _json(data: st.DataObject, files: Files) -> Files:
    """Put any JSON in the place of any entry of any event."""
    lines = [json.loads(line) for line in files[EVENTS].splitlines()]
    value = data.draw(st.sampled_from([
        None, True, -1, 1.5, 1 << 70, 1e300, "", "x", "\ud800", "=1+1", "\ufeff", "a\0b", "x" * 5000, [], {}, [[1]],
        {"n": {"n": 1}}, "../x", float("nan"), float("-inf"),
    ]))  # fmt: skip
    event = data.draw(st.sampled_from(lines))
    name = data.draw(st.sampled_from([*event, "more", ""]))
    into = event["fields"] if name == "fields" and event["fields"] and data.draw(st.booleans()) else event
    into[data.draw(st.sampled_from([*into])) if into is event["fields"] else name] = value
    return listed({**files, EVENTS: "".join(json.dumps(line) + "\n" for line in lines).encode()})


def _lines(data: st.DataObject, files: Files) -> Files:
    """Shuffle, drop, repeat lines, or put something that is no line between them."""
    lines = files[EVENTS].splitlines()
    at = data.draw(st.integers(0, len(lines) - 1))
    what = data.draw(st.sampled_from(["swap", "repeat", "blank", "deep", "binary", "bom", "cut", "crlf"]))
    put = {"repeat": lines[at], "blank": b"", "deep": b"[" * 50_000 + b"]" * 50_000, "binary": b"\xff\x00\xfe"}
    if what in put:
        lines.insert(at, put[what])
    elif what == "swap":
        lines[at], lines[-1] = lines[-1], lines[at]
    text = b"".join(line + (b"\r\n" if what == "crlf" else b"\n") for line in lines)
    text = b"\xef\xbb\xbf" + text if what == "bom" else text[:-5] if what == "cut" else text
    return listed({**files, EVENTS: text})


def _manifest(data: st.DataObject, files: Files) -> Files:
    said = json.loads(files[MANIFEST])
    key = data.draw(st.sampled_from([*said, "more"]))
    said[key] = data.draw(st.sampled_from([None, -1, 10**30, "x", [], {}, True, 2, said["members"] * 2]))
    if isinstance(said["members"], list) and said["members"] and data.draw(st.booleans()):
        said["members"][0][data.draw(st.sampled_from(["path", "bytes", "sha256"]))] = data.draw(
            st.sampled_from([None, "", "../x", 5, "0" * 64, -1])
        )
    return {**files, MANIFEST: json.dumps(said).encode()}


def _photo(data: st.DataObject, files: Files) -> Files:
    """Put what is no whole photo in, under the digest that it has."""
    from hashlib import sha256

    picture = next(data for name, data in files.items() if name.endswith(".jpg"))
    bad = data.draw(st.sampled_from([
        b"", b"no photo", picture[: len(picture) // 2], _png(30_000, 30_000), b"GIF89a" + bytes(40), picture[2:],
        picture.replace(struct.pack(">HH", 40, 20), struct.pack(">HH", 65_000, 65_000)),
    ]))  # fmt: skip
    name = sha256(bad).hexdigest()
    return listed({**files, f"photos/{name[:2]}/{name}.jpg": bad}, photos=2)


def _png(width: int, height: int) -> bytes:
    """Return the beginning of a picture that says that it is huge."""
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + b"IHDR" + head + bytes(60)


def _missing(data: st.DataObject, files: Files) -> Files:
    gone = data.draw(st.sampled_from([*files]))
    return {name: content for name, content in files.items() if name != gone}


def _plain(data: st.DataObject, files: Files) -> Files:
    return files


# ---------------------------------------------------------------- what is done to the zip itself


def _flip(data: st.DataObject, zipped: bytes) -> bytes:
    bad = bytearray(zipped)
    for _ in range(data.draw(st.integers(1, 4))):
        bad[data.draw(st.integers(0, len(bad) - 1))] ^= 1 << data.draw(st.integers(0, 7))
    return bytes(bad)


def _cut(data: st.DataObject, zipped: bytes) -> bytes:
    return zipped[: data.draw(st.integers(0, len(zipped)))]


def _splice(data: st.DataObject, zipped: bytes) -> bytes:
    at, to = data.draw(st.integers(0, len(zipped))), data.draw(st.integers(0, len(zipped)))
    return zipped[:at] + data.draw(st.binary(max_size=40)) + zipped[to:]


def _lengths(data: st.DataObject, zipped: bytes) -> bytes:
    """Lie about a length or an offset in the zip's own list."""
    at = zipped.rfind(b"PK\x01\x02") + data.draw(st.sampled_from([8, 10, 16, 20, 24, 28, 30, 38, 42]))
    return (
        zipped[:at]
        + struct.pack("<I", data.draw(st.sampled_from([0, 1, 5, 1 << 31, (1 << 32) - 1])))
        + zipped[at + 4 :]
    )


def _keep(data: st.DataObject, zipped: bytes) -> bytes:
    return zipped


FILES: tuple[Twist, ...] = (_plain, _name, _json, _json, _lines, _manifest, _photo, _missing)
ZIPS: tuple[Spoil, ...] = (*(_keep,) * 12, _flip, _flip, _cut, _splice, _lengths)


def zipped(data: st.DataObject, files: Files) -> bytes:
    """Return files as a zip, some of it as only a stranger would write it."""
    whole = io.BytesIO()
    way = data.draw(st.sampled_from(["plain"] * 16 + ["twice", "link", "bomb", "stored"]))
    method = zipfile.ZIP_STORED if way == "stored" else zipfile.ZIP_DEFLATED
    with zipfile.ZipFile(whole, "w", method) as file:
        for name, content in files.items():
            info = zipfile.ZipInfo(name)
            info.compress_type = method
            if way == "link" and name == "README.txt":
                info.external_attr, content = 0o120777 << 16, b"/etc/passwd"
            file.writestr(info, content)
        if way == "twice":
            _quietly(file, data.draw(st.sampled_from([*files])), b"other")
        elif way == "bomb":
            _quietly(file, "copies/bomb.toml", bytes(8_000_000))
    return whole.getvalue()


def _quietly(file: zipfile.ZipFile, name: str, content: bytes) -> None:
    """Write a file under a name that is there already, of which zipfile would warn."""
    file.NameToInfo.pop(name, None)
    file.writestr(name, content)


# ---------------------------------------------------------------- the bench


@dataclass(frozen=True, slots=True)
class Target:
    """A log into which archives are merged, an archive to twist, and all files there are around them."""

    services: Services
    folder: Path
    files: Files

    def state(self) -> tuple[Any, ...]:
        """Return everything that must stay: the log, its state, and the files around it but for copies of it."""
        store = self.services.store
        rows = store.rows("SELECT id, digest FROM event ORDER BY id")
        names = sorted(str(path.relative_to(self.folder)) for path in self.folder.rglob("*"))
        return (
            rows,
            state_digest(store),
            [name for name in names if "boxside.db" not in name and "snapshots" not in name],
        )


def target(folder: Path, parts: Catalog | None = None) -> Target:
    """Make two small logs, the second with a photo, and the second's archive."""
    parts = parts or catalog()
    made = []
    for name in ("ours", "theirs"):
        place = folder / name
        services = Services(open_store(place, parts.vocabulary), fake.build(place, NOW_MS, seed=name), parts)
        add_box(services, NewBox("B01", "larva", 30))
        box = services.store.rows("SELECT id FROM entity WHERE type = 'box'")[0][0]
        log_event(services, Draft("fed", "box", box, {"prey": "garden snail", "amount": 2}))
        log_event(services, Draft("died", "box", box, {"n": 1}))
        made.append((services, box))
    theirs, box = made[1]
    keep_photo.keep_photo(theirs, box, str(write_photo(folder / "p.jpg")))
    make_archive.make_archive(theirs, folder / "a.zip")
    theirs.store.close()
    return Target(made[0][0], folder, files_of(folder / "a.zip"))


def attack(at: Target, data: st.DataObject, found: Found) -> None:
    """Twist one archive and offer it: to be read, to be previewed, to be merged."""
    twist, spoil = data.draw(st.sampled_from(FILES)), data.draw(st.sampled_from(ZIPS))
    path = at.folder / "bad.zip"
    path.write_bytes(spoil(data, zipped(data, twist(data, dict(at.files)))))
    before = at.state()
    found.n += 1
    try:
        merge_archive.preview_merge(at.services, path)
    except (DataError, EntryError) as error:
        found.reasons[_kind_of(str(error), path)] += 1
        if at.state() != before:
            found.wrong.append(f"a refused archive left something: {error}")
        if "\n" in str(error) or len(str(error)) > 500:
            found.wrong.append(f"not one clear reason: {error!r}")
        return
    if at.state() != before:
        found.wrong.append("a preview changed something")
    found.taken += 1


def _kind_of(said: str, path: Path) -> str:
    key, _, reason = said.removeprefix(f"{path}: ").partition(": ")
    return " ".join(reason.split()[:4]) or key


def run(examples: int, seed: int, at: Target, found: Found) -> None:
    """Attack with `examples` archives."""
    from hypothesis import seed as seeded

    @seeded(seed)
    @settings(
        max_examples=examples, deadline=None, database=None, suppress_health_check=list(HealthCheck),
        phases=(Phase.generate,), verbosity=Verbosity.quiet,
    )  # fmt: skip
    @given(st.data())
    def one(data: st.DataObject) -> None:
        attack(at, data, found)

    one()


def main(argv: Sequence[str]) -> int:
    """Run and print what came of it; 1 where anything went wrong."""
    parser = argparse.ArgumentParser(prog="python -m tests.torture.archives", description=__doc__)
    parser.add_argument("--examples", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args(argv)
    found = Found()
    with tempfile.TemporaryDirectory(prefix="boxside-archives-") as place:
        at = target(Path(place))
        run(asked.examples, asked.seed, at, found)
        at.services.store.close()
    print(
        f"{found.n} archives tried, {sum(found.reasons.values())} refused, {found.taken} harmless, "
        f"{len(found.wrong)} wrong"
    )
    print("\n".join(f"  {n:6} {reason}" for reason, n in found.reasons.most_common()))
    print("\n".join(found.wrong[:10]))
    return 1 if found.wrong else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
