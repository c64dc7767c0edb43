"""Photos beside the log: named by what they hold, without the camera's notes, or not kept at all."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest
from PIL import Image

from boxside.actions import keep_photo, show_box, void_event
from boxside.core.values.errors import BoxsideError, DeviceError, EntryError
from tests.actions.keeping import Keeper
from tests.actions.photos import GPS_IFD, write_photo


def kept_files(keeper: Keeper) -> list[Path]:
    return sorted(path for path in (keeper.services.device.data_dir / "photos").rglob("*") if path.is_file())


@pytest.fixture
def at_box(keeper: Keeper) -> Keeper:
    keeper.add("B01", n=30)
    return keeper


def test_a_photo_is_named_by_its_sha256_and_shown_at_its_box(at_box: Keeper, tmp_path: Path) -> None:
    saved = keep_photo.keep_photo(at_box.services, at_box.id("B01"), str(write_photo(tmp_path / "a.jpg")))
    (file,) = kept_files(at_box)
    assert hashlib.sha256(file.read_bytes()).hexdigest() == file.stem
    assert show_box.box_view(at_box.services, at_box.id("B01")).photos == (str(file),)
    assert saved.undo is not None
    assert saved.undo.label == "Photo"


def test_what_the_camera_noted_is_gone_and_the_photo_stands_upright(at_box: Keeper, tmp_path: Path) -> None:
    source = write_photo(tmp_path / "a.jpg")
    with Image.open(source) as before:
        assert before.size == (40, 20)
        assert before.getexif().get_ifd(GPS_IFD), "the control: the source says where it was taken"
    keep_photo.keep_photo(at_box.services, at_box.id("B01"), str(source))
    (file,) = kept_files(at_box)
    with Image.open(file) as after:
        assert after.size == (20, 40)
        assert dict(after.getexif()) == {}
        red, green, blue = after.convert("RGB").getpixel((10, 3))  # type: ignore[misc]
        assert min(red, green, blue) > 180, "the light left end of the source is on top now"
    for secret in (b"Exif", b"GPS", b"Test camera"):
        assert secret not in file.read_bytes()


def test_the_source_is_left_alone(at_box: Keeper, tmp_path: Path) -> None:
    source = write_photo(tmp_path / "a.jpg")
    before = source.read_bytes()
    keep_photo.keep_photo(at_box.services, at_box.id("B01"), str(source))
    assert source.read_bytes() == before


def test_the_same_photo_twice_is_one_file_and_two_entries(at_box: Keeper, tmp_path: Path) -> None:
    source = str(write_photo(tmp_path / "a.jpg"))
    for _ in range(2):
        keep_photo.keep_photo(at_box.services, at_box.id("B01"), source)
    assert len(kept_files(at_box)) == 1
    rows = show_box.box_view(at_box.services, at_box.id("B01")).history
    assert [row.kind for row in rows[:2]] == ["photo", "photo"]


def test_a_photo_that_was_taken_back_is_no_longer_shown_but_stays_on_the_disk(at_box: Keeper, tmp_path: Path) -> None:
    saved = keep_photo.keep_photo(at_box.services, at_box.id("B01"), str(write_photo(tmp_path / "a.jpg")))
    void_event.void_event(at_box.services, saved.event_id)
    assert show_box.box_view(at_box.services, at_box.id("B01")).photos == ()
    assert len(kept_files(at_box)) == 1


def test_a_photo_joins_the_visit_it_is_taken_in(at_box: Keeper, tmp_path: Path) -> None:
    at_box.wait(60)
    visit = at_box.round(box_id=at_box.id("B01")).visit
    at_box.log("B01", "misted", visit=visit)
    keep_photo.keep_photo(at_box.services, at_box.id("B01"), str(write_photo(tmp_path / "a.jpg")), visit)
    rows = show_box.box_view(at_box.services, at_box.id("B01")).history
    assert {row.visit for row in rows[:2]} == {visit}


def broken(path: Path, how: str) -> Path:
    if how == "missing":
        return path
    if how == "a folder":
        path.mkdir()
    elif how == "empty":
        path.write_bytes(b"")
    elif how == "text":
        path.write_text("no photo", encoding="utf-8")
    else:
        whole = write_photo(path).read_bytes()
        path.write_bytes(whole[: len(whole) * 2 // 3])
    return path


@pytest.mark.parametrize("how", ["missing", "a folder", "empty", "text", "truncated"])
def test_what_is_no_whole_photo_is_not_kept(at_box: Keeper, tmp_path: Path, how: str) -> None:
    before = at_box.kept()
    with pytest.raises(DeviceError, match=r"a\.jpg cannot be read as a photo"):
        keep_photo.keep_photo(at_box.services, at_box.id("B01"), str(broken(tmp_path / "a.jpg", how)))
    assert at_box.kept() == before
    assert kept_files(at_box) == []


def test_at_a_box_that_is_not_there_nothing_is_kept(at_box: Keeper, tmp_path: Path) -> None:
    before = at_box.kept()
    with pytest.raises(EntryError, match="no such box"):
        keep_photo.keep_photo(at_box.services, "nothing", str(write_photo(tmp_path / "a.jpg")))
    assert at_box.kept() == before
    assert kept_files(at_box) == []


def test_nothing_is_logged_at_boxes_that_are_not_there(at_box: Keeper) -> None:
    from boxside.actions import log_event
    from boxside.core.values.event import Draft

    before = at_box.kept()
    for draft in (Draft("misted", "box", "nothing"), Draft("temperature", "area", "nowhere", {"now_c": 20})):
        with pytest.raises(BoxsideError, match="no such"):
            log_event.log_event(at_box.services, draft)
    assert at_box.kept() == before
