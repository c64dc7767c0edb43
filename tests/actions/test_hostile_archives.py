"""Hostile archives: refused with one clear reason, nothing outside the folder for them, nothing half taken in."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from unittest import mock

import pytest

from boxside.actions import merge_archive
from boxside.catalog.catalog import Catalog
from boxside.core.archive import EVENTS, MANIFEST, Member
from boxside.core.values.errors import DataError
from boxside.device.archive_reading import OpenArchive
from tests.actions.carrying import listed, put_together
from tests.torture.archives import Found, Target, run, target


@pytest.fixture(scope="module")
def at(tmp_path_factory: pytest.TempPathFactory, catalog: Catalog) -> Iterator[Target]:
    """A log, and a second one's archive to twist."""
    made = target(tmp_path_factory.mktemp("hostile"), catalog)
    yield made
    made.services.store.close()


def refused(at: Target, path: Path, reason: str) -> None:
    before = at.state()
    for offer in (merge_archive.preview_merge, merge_archive.merge_archive):
        with pytest.raises(DataError, match=reason) as said:
            offer(at.services, path)
        assert "Nothing was changed" in str(said.value)
        assert at.state() == before


def zipped(path: Path, write: Callable[[zipfile.ZipFile], None]) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as file:
        write(file)
    return path


def test_the_archive_that_is_twisted_is_good(at: Target) -> None:
    """Otherwise every refusal would prove nothing."""
    path = put_together(at.folder / "good.zip", at.files)
    assert merge_archive.preview_merge(at.services, path).n_new_events > 3
    path.unlink()


@pytest.mark.parametrize(
    ("name", "reason"),
    [
        ("../outside.txt", "leads out of the archive"),
        ("photos/../../outside.txt", "leads out of the archive"),
        ("/tmp/outside.txt", "is an absolute path"),
        ("C:\\outside.txt", "is an absolute path"),
        ("..\\outside.txt", "leads out of the archive"),
        ("more.txt", "is no file of an archive"),
        ("copies/", "is no file of an archive"),
        ("copies/more.toml", "is there but not listed"),
    ],
)
def test_names_that_lead_elsewhere(at: Target, name: str, reason: str) -> None:
    refused(at, put_together(at.folder / "bad.zip", {**at.files, name: b"x"}), reason)
    assert not (at.folder.parent / "outside.txt").exists()
    assert not Path("/tmp/outside.txt").exists()


def test_a_link(at: Target) -> None:
    def write(file: zipfile.ZipFile) -> None:
        for name, data in at.files.items():
            info = zipfile.ZipInfo(name)
            if name == "README.txt":
                info.external_attr = 0o120777 << 16
            file.writestr(info, data)

    refused(at, zipped(at.folder / "bad.zip", write), "is a link or no plain file")


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_name_that_is_there_twice(at: Target) -> None:
    def write(file: zipfile.ZipFile) -> None:
        for name, data in [*at.files.items(), (EVENTS, b"")]:
            file.writestr(name, data)

    refused(at, zipped(at.folder / "bad.zip", write), "is there twice")


def test_bombs(at: Target) -> None:
    files = listed({**at.files, "copies/bomb.toml": bytes(3_900_000)})
    refused(at, put_together(at.folder / "bad.zip", files), "would burst when unpacked")


def test_a_length_that_the_zip_lies_about(at: Target) -> None:
    """The bytes are counted while they are unpacked, whatever the zip's own list says."""
    path = put_together(at.folder / "bad.zip", at.files)
    data = bytearray(path.read_bytes())
    place = data.rfind(b"PK\x01\x02", 0, data.rfind(EVENTS.encode()))
    length = len(at.files[EVENTS])
    assert int.from_bytes(data[place + 24 : place + 28], "little") == length
    said = json.loads(at.files[MANIFEST])
    for member in said["members"]:
        if member["path"] == EVENTS:
            member["bytes"] = length - 3
    files = {**at.files, MANIFEST: json.dumps(said).encode()}
    path = put_together(at.folder / "bad.zip", files)
    data = bytearray(path.read_bytes())
    place = data.rfind(b"PK\x01\x02", 0, data.rfind(EVENTS.encode()))
    data[place + 24 : place + 28] = (length - 3).to_bytes(4, "little")
    path.write_bytes(data)
    refused(at, path, r"cannot be read|is longer than|sha256 differs")


@pytest.mark.parametrize(
    ("said", "reason"),
    [
        ({"version": 99}, "of format 99, which a newer Boxside has written; update"),
        ({"version": "1"}, "names no format"),
        ({"format": "zip"}, "is not that of a Boxside archive"),
        ({"photos": 7}, "counts other photos than it lists"),
    ],
)
def test_a_manifest_that_does_not_hold(at: Target, said: dict[str, object], reason: str) -> None:
    refused(at, put_together(at.folder / "bad.zip", listed(at.files, **said)), reason)


def test_no_zip_at_all(at: Target) -> None:
    for content in (b"", b"PK", b"no zip", b"PK\x05\x06" + bytes(18)):
        (at.folder / "bad.zip").write_bytes(content)
        refused(at, at.folder / "bad.zip", "no zip that can be read|manifest")


def test_a_changed_line_under_the_old_digest_and_that_the_digest_is_what_sees_it(at: Target) -> None:
    changed = {**at.files, EVENTS: at.files[EVENTS].replace(b'"amount":2', b'"amount":3')}
    assert changed != at.files
    path = put_together(at.folder / "bad.zip", changed)
    refused(at, path, "is not what was written: its sha256 differs")

    def unproved(self: OpenArchive, member: Member) -> Iterator[bytes]:
        yield from self._unpacked(member.path)

    # The control: without the digest the changed line would be taken in.
    with mock.patch.object(OpenArchive, "pieces", unproved):
        assert merge_archive.preview_merge(at.services, path).n_new_events > 3


@pytest.mark.parametrize("content", ["half", "png", "huge", "none"])
def test_photos_that_are_none(at: Target, content: str) -> None:
    import hashlib

    from PIL import Image

    name, picture = next((name, data) for name, data in at.files.items() if name.endswith(".jpg"))
    other = io.BytesIO()
    Image.new("RGB", (9, 9)).save(other, "PNG")
    start = picture.find(b"\xff\xc0") + 5
    huge = picture[:start] + b"\xff\xdc\xff\xdc" + picture[start + 4 :]
    bad = {"half": picture[: len(picture) // 2], "png": other.getvalue(), "huge": huge, "none": b"no photo"}[content]
    digest = hashlib.sha256(bad).hexdigest()
    files = {path: data for path, data in at.files.items() if path != name}
    files[f"photos/{digest[:2]}/{digest}.jpg"] = bad
    path = put_together(at.folder / "bad.zip", listed(files))
    refused(at, path, r"is no whole photo|megapixels")


def test_a_few_hundred_archives_twisted_at_random(at: Target) -> None:
    """The short run of `python -m tests.torture.archives`."""
    found = Found()
    run(150, 7, at, found)
    assert found.wrong == []
    assert len(found.reasons) > 12
    assert found.taken > 3
