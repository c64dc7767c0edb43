"""Photo, driven by touches: what is refused and why, a known length, what is under way, where photos come from."""

from __future__ import annotations

import threading
from typing import Any

import pytest

from tests.ui.fake_colony import colony
from tests.ui.photo_hand import measured, middle, standing, touch

pytestmark = pytest.mark.screen
ALL = [str(number) for number in range(1, 10)]


# ---- refused ----


@pytest.mark.parametrize("reason", ["blur", "tilt", "small", "glare", "hidden_marker", "distortion", "overfull"])
def test_a_refused_photo_says_why_and_what_to_do_and_shows_no_number(start: Any, reason: str) -> None:
    from boxside.core.measure.refusals import refuse

    services = colony()
    services.settings["photo"] = reason
    driver = measured(start(services))
    said = driver.words()
    assert refuse(reason).what in said
    assert refuse(reason).do in said
    assert "Nothing was saved." in said
    assert not any(char.isdigit() for char in said.replace("B01", ""))
    assert not driver.has("Accept")
    driver.tap("Keep it")
    assert services.photos == ["/home/keeper/tray.jpg"]


def test_where_opencv_is_missing_the_photo_is_kept_and_the_larger_build_named(start: Any) -> None:
    services = colony()
    services.settings["photo"] = "no_opencv"
    driver = measured(start(services))
    assert services.photos == ["/home/keeper/tray.jpg"]
    for text in ("Measuring needs OpenCV", "The photo is kept.", "larger build", "measured later"):
        assert text in driver.words()
    assert "Nothing was saved" not in driver.words()
    driver.tap("Enter lengths")
    driver.type("12")
    driver.tap("Done")
    driver.tap("No more")
    assert services.calls("accept_lengths") == [("id1", (12.0,))]


def test_a_photo_that_could_not_be_kept_says_so(start: Any) -> None:
    services = colony()
    services.settings["photo"] = "no_opencv"

    def refuses(*_: Any) -> None:
        from boxside.core.values.errors import StoreError

        raise StoreError("The disk is full. Nothing was saved. Free some room, then try again.")

    driver = measured(start(services, keep_photo=refuses))
    assert "Not saved" in driver.words()
    driver.shell.back()
    driver.settle()
    assert "The photo is kept" not in driver.words()


# ---- a known length in place of the card ----


def test_two_taps_on_a_known_length_measure_a_photo_without_the_card(start: Any) -> None:
    services = colony()
    services.settings["photo"] = "no_card"
    driver = measured(start(services))
    driver.tap("Known length")
    assert not driver.has("How long is it?")
    touch(driver, (40.0, 470.0))
    driver.tap("Closer")
    touch(driver, (120.0, 485.0))
    assert driver.page.picture.sight.is_whole, "both ends are shown before the length is asked for"
    touch(driver, (238.0, 485.0))
    driver.tap("How long is it?")
    assert "3 to 6 %" in driver.words()
    driver.type("25")
    driver.tap("Done")
    ((first, second, mm),) = services.calls("calibrate_by_taps")
    assert first == pytest.approx((40.0, 470.0), abs=2.5)
    assert second == pytest.approx((238.0, 485.0), abs=2.5), "a third tap corrects the nearer end"
    assert mm == 25
    driver.tap("Sizes")
    said = "\n".join(str(row.get("detail")) for row in driver.shell.sheet.data)
    assert "two taps on a known length" in said
    assert "± 4.1 %" in said


def test_the_way_back_from_the_taps_leads_to_the_reason(start: Any) -> None:
    services = colony()
    services.settings["photo"] = "no_card"
    driver = measured(start(services))
    driver.tap("Known length")
    driver.tap("Back")
    assert "The measuring card was not found." in driver.words()
    driver.tap("Back")
    assert driver.shell.here == "box"


# ---- while it is measured ----


class SlowDesk:
    """A desk whose worker measures only when told to; everything else is done at once."""

    def __init__(self, services: Any) -> None:
        from boxside.app.desk import InlineDesk

        self.inner, self.held = InlineDesk(services), []

    def ask(self, action: Any, *args: Any, then: Any, failed: Any) -> None:
        if getattr(action, "__name__", "") == "measure":
            self.held.append((action, args, then, failed))
        else:
            self.inner.ask(action, *args, then=then, failed=failed)

    def close(self) -> None:
        """Nothing to stop."""


@pytest.fixture
def slow(start: Any) -> Any:
    services = colony()
    return measured(start(services, desk=SlowDesk(services)))


def test_progress_shows_and_stop_answers_at_once(slow: Any) -> None:
    action, args, then, failed = slow.app.desk.held[0]
    args[2]("Straightening the window", 0.4)
    slow.page._look()
    assert "Straightening the window" in slow.words()
    assert slow.page.share == pytest.approx(0.4)
    assert not args[3]()
    slow.tap("Stop")
    assert args[3](), "the worker is told to stop"
    assert slow.has("Choose")
    slow.app.desk.inner.ask(action, *args, then=then, failed=failed)
    assert slow.has("Choose"), "what comes late is not shown"
    assert slow.page.view is None


def test_leaving_stops_it(slow: Any) -> None:
    _, args, _, _ = slow.app.desk.held[0]
    slow.page.shell.go("box", box_id="id1")
    assert args[3]()


def test_stopping_a_second_photo_keeps_the_first(slow: Any) -> None:
    action, args, then, failed = slow.app.desk.held.pop()
    slow.app.desk.inner.ask(action, *args, then=then, failed=failed)
    slow.settle()
    touch(slow, middle(1))
    slow.services.device.photos.path = "/home/keeper/other.jpg"
    slow.tap("Another photo")
    slow.tap("Stop")
    assert standing(slow) == ALL[1:]
    assert slow.page._source == "/home/keeper/tray.jpg"
    slow.page.another(None)
    slow.settle()
    slow.tap("Back")
    slow.page.measure(None)
    slow.settle()
    assert standing(slow) == ALL[1:], "leaving while another is measured keeps it too"


def test_measuring_runs_off_the_thread_that_draws(start: Any) -> None:
    from boxside.app.desk import Desk
    from boxside.app.frame import on_ui_thread
    from boxside.app.pictures import wait
    from tests.ui.fake_measure import measure as fake

    threads = []

    def measure(*args: Any) -> Any:
        threads.append(threading.current_thread())
        return fake(*args)

    services = colony()
    desk = Desk(services, on_ui_thread)
    driver = start(services, desk=desk, measure=measure)
    wait(lambda: driver.page is not None)
    driver.shell.go("photo", box_id="id1", title="B01", source="/tmp/a.jpg")
    wait(lambda: driver.page.state == "result")
    assert threads
    assert threads[0] is not threading.main_thread()


def test_a_photo_that_cannot_be_read_is_told(start: Any) -> None:
    services = colony()

    def unreadable(*_: Any) -> None:
        from boxside.core.values.errors import DeviceError

        raise DeviceError("tray.jpg cannot be read as a photo (truncated). Nothing was saved.")

    driver = measured(start(services, measure=unreadable))
    assert "cannot be read as a photo" in driver.words()
    driver.tap("Close")
    assert driver.has("Choose")


# ---- where it comes from ----


def test_a_device_with_a_camera_takes_the_photo(start: Any) -> None:
    services = colony()
    services.device.photos.has_camera = True
    services.device.photos.take = lambda then: then("/tmp/taken.jpg")
    driver = start(services)
    driver.shell.go("photo", box_id="id1", title="B01")
    driver.settle()
    driver.tap("Take")
    assert services.calls("measure") == [("/tmp/taken.jpg", "id1")]
    driver.tap("Another photo")
    driver.tap("Choose")
    assert len(services.calls("measure")) == 2


def test_a_device_without_any_says_so(start: Any) -> None:
    services = colony()
    services.device.photos = None
    driver = start(services)
    driver.shell.go("photo", box_id="id1", title="B01")
    driver.settle()
    driver.tap("Choose")
    assert "no way to choose a photo" in driver.words()


def test_a_kept_photo_is_measured_by_its_digest(start: Any) -> None:
    services = colony(photos=[f"/data/boxside/photos/ab/{'ab' * 32}.jpg"])
    driver = start(services)
    driver.tap("Box")
    driver.page.enlarge(services.photos[0])
    driver.settle()
    driver.tap("Measure")
    assert services.calls("measure") == [("ab" * 32, "id1")]
    driver.tap("Accept")
    assert not driver.has("Only keep the photo")
