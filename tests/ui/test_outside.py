"""What goes through other apps: photos taken or chosen, labels printed and scanned, files shared and saved."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from boxside.core.values.errors import DeviceError
from boxside.core.values.views import Notice
from tests.ui.fake_colony import colony

pytestmark = pytest.mark.screen


@pytest.fixture
def phone(start: Any) -> Any:
    """The app on a phone that has a camera."""
    services = colony(24)
    services.device.photos.has_camera = True
    services.device.photos.path, services.device.photos.taken = "/gallery/1.jpg", "/camera/1.jpg"
    return start(services)


def test_a_photo_is_taken_or_chosen(phone: Any) -> None:
    for way, path in (("Take a photo", "/camera/1.jpg"), ("Choose a photo", "/gallery/1.jpg")):
        phone.shell.add_photo("id1", "", None, lambda _: None)
        phone.settle()
        phone.tap(way)
        assert phone.services.photos[-1] == path


def test_a_camera_that_is_refused_leaves_the_gallery(phone: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(_: Any, then: Any) -> None:
        raise DeviceError("No camera app on this phone takes a photo for Boxside.")

    monkeypatch.setattr(type(phone.services.device.photos), "take", refused)
    phone.shell.add_photo("id1", "", None, lambda _: None)
    phone.settle()
    phone.tap("Take a photo")
    assert "No camera app" in phone.words()
    phone.tap("Close")
    phone.shell.add_photo("id1", "", None, lambda _: None)
    phone.settle()
    phone.tap("Choose a photo")
    assert phone.services.photos == ["/gallery/1.jpg"]


def test_a_scanned_label_opens_its_box(phone: Any) -> None:
    phone.tap("Shelf")
    phone.tap("Scan")
    phone.tap("Take a photo")
    assert phone.services.calls("scan_label") == ["/camera/1.jpg"]
    assert (phone.shell.here, phone.page.title) == ("box", "B03")
    phone.shell.back()
    assert phone.shell.here == "shelf"


def test_a_photo_without_a_label_is_said_and_tried_again(phone: Any) -> None:
    phone.tap("Shelf")
    phone.tap("Scan")
    phone.services.fail_next = "No label is seen in the photo. Nothing was changed. Go closer, and hold still."
    phone.tap("Choose a photo")
    assert "No label is seen" in phone.words()
    phone.tap("Try again")
    phone.tap("Take a photo")
    assert phone.shell.here == "box"


def test_where_labels_cannot_be_read_no_photo_is_asked_for(phone: Any) -> None:
    phone.tap("Shelf")
    phone.services.fail_next = "Labels cannot be read here: this build has no OpenCV. Nothing was changed."
    phone.tap("Scan")
    assert "no OpenCV" in phone.words()
    assert not phone.has("Take a photo")


def test_labels_are_written_then_shared(phone: Any) -> None:
    phone.shell.go("settings")
    phone.page.choose_labels(None)
    phone.settle()
    phone.tap("All boxes")
    assert "/data/boxside/exports/labels.pdf" in phone.words()
    phone.tap("Share")
    assert phone.services.calls("save_labels") == [()]
    assert phone.services.calls("share_files") == [("/data/boxside/exports/labels.pdf",)]
    assert phone.shell.sheet is None


def test_the_label_of_one_box_is_saved_elsewhere(phone: Any) -> None:
    phone.shell.go("settings")
    phone.page.choose_labels(None)
    phone.settle()
    phone.tap("One box")
    phone.type("07")
    phone.tap("Find")
    phone.tap("B07")
    phone.tap("Save elsewhere")
    assert phone.services.calls("save_labels") == [("B07",)]
    assert phone.services.device.files.saved == [("/data/boxside/exports/labels.pdf", "labels.pdf")]
    assert "/elsewhere/labels.pdf" in phone.words()


def test_a_season_is_saved_as_one_file(phone: Any) -> None:
    phone.tap("Season")
    phone.page.export()
    phone.settle()
    phone.tap("Save elsewhere")
    ((path, name),) = phone.services.device.files.saved
    assert (path, name) == ("/data/boxside/exports/2026-01-01_2026-11-25.zip", "2026-01-01_2026-11-25.zip")


def test_a_desktop_offers_no_share_sheet(start: Any) -> None:
    services = colony(24)
    services.device.files.has_share = False
    desktop = start(services)
    desktop.tap("Season")
    desktop.page.export()
    desktop.settle()
    assert desktop.has("Save elsewhere")
    assert not desktop.has("Share")


def test_a_folder_is_chosen_to_save_in(start: Any, tmp_path: Path) -> None:
    from boxside.app.chooser import FolderChooser

    (tmp_path / "stick").mkdir()
    (tmp_path / "notes.txt").write_text("x", encoding="utf-8")
    driver, got = start(colony()), []
    FolderChooser(driver.shell, tmp_path)(got.append)
    driver.settle()
    assert not driver.has("notes.txt")
    driver.tap("stick")
    driver.tap("Save here")
    assert got == [str(tmp_path / "stick")]


def test_what_is_told_waits_until_nothing_is_asked(start: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    from boxside.app import frame

    monkeypatch.setattr(frame, "WAIT_S", 0.0)
    driver = start(colony())
    driver.shell.open_choices("A question", [("a", "An answer", "")], lambda _: None)
    driver.app.tell_later(Notice("B01 is due."))
    driver.settle()
    assert driver.has("An answer")
    driver.tap("An answer")
    driver.settle()
    assert "B01 is due." in driver.words()


def test_a_photo_that_came_while_the_app_was_gone_finds_its_box(start: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    services = colony(24)
    monkeypatch.setattr(type(services.device.photos), "left_over", lambda _: "/camera/late.jpg", raising=False)
    driver = start(services)
    driver.settle()
    assert "Photo of which?" in driver.words()
    driver.type("07")
    driver.tap("Find")
    driver.tap("B07")
    assert services.photos == ["/camera/late.jpg"]
    assert driver.shell.here == "round"
