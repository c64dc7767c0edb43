"""The round, driven by touches: what a tap does, when it is confirmed, how it is taken back."""

from __future__ import annotations

from typing import Any

import pytest

from tests.ui.fake_colony import colony, log_event

pytestmark = pytest.mark.screen


class HeldDesk:
    """A desk that runs what it was asked for only when told to, as a slow disk would."""

    def __init__(self, services: Any) -> None:
        from boxside.app.desk import InlineDesk

        self.inner = InlineDesk(services)
        self.held: list[Any] = []
        self.is_holding = False

    def ask(self, action: Any, *args: Any, then: Any, failed: Any) -> None:
        def run() -> None:
            self.inner.ask(action, *args, then=then, failed=failed)

        if self.is_holding:
            self.held.append(run)
        else:
            run()

    def release(self) -> None:
        self.is_holding = False
        for run in self.held:
            run()
        self.held.clear()

    def close(self) -> None:
        """Nothing to stop."""


def test_one_tap_logs_the_feeding_of_the_box_that_shows(start: Any) -> None:
    driver = start(colony())
    driver.tap("Fed")
    (draft,) = driver.services.drafts
    assert (draft.kind, draft.subject_type, draft.subject_id) == ("fed", "box", "id1")
    assert draft.visit == "visit-id1"


def test_tick_and_haptic_come_only_after_the_save(start: Any) -> None:
    services = colony()
    desk = HeldDesk(services)
    driver = start(services, desk=desk)
    desk.is_holding = True
    button = driver.find("Fed")
    driver.tap("Fed")
    assert button.state == "pending"
    assert services.device.haptics.felt == []
    assert not driver.shell.bar.is_toast
    desk.release()
    assert button.state == "done"
    assert services.device.haptics.felt == ["confirm"]
    assert driver.shell.bar.is_toast


def test_a_finished_box_gives_way_to_the_next_by_itself(start: Any) -> None:
    from boxside.app.pictures import wait

    driver = start(colony())
    driver.tap("Fed")
    assert driver.page.code == "B01"
    wait(lambda: driver.page.code == "B02")


def test_another_act_at_a_finished_box_keeps_it(start: Any) -> None:
    from kivy.clock import Clock

    driver = start(colony())
    driver.tap("Fed")
    assert driver.page._leaving is not None
    driver.tap("Misted")
    assert [draft.kind for draft in driver.services.drafts] == ["fed", "misted"]
    assert driver.page._leaving is None
    assert driver.page.code == "B01"
    assert not [event for event in Clock.get_events() if event.timeout == 0.9 and event.is_triggered]


def test_undo_takes_back_what_the_toast_names(start: Any) -> None:
    driver = start(colony())
    driver.tap("Misted")
    assert "B01: misted" in driver.words()
    driver.tap("Undo")
    assert driver.services.voided == ["n1"]
    assert driver.services.drafts == []
    assert not driver.has("Undo")


def test_toast_goes_after_ten_seconds_and_the_places_come_back(start: Any) -> None:
    from kivy.clock import Clock

    driver = start(colony())
    driver.tap("Misted")
    (timer,) = [event for event in Clock.get_events() if event.timeout == 10.0]
    assert not driver.has("Season")
    timer.get_callback()(0)
    assert driver.has("Season")


def test_several_acts_at_one_box_are_one_visit(start: Any) -> None:
    driver = start(colony())
    for words in ("Meal out", "Misted"):
        driver.tap(words)
    assert {draft.visit for draft in driver.services.drafts} == {"visit-id1"}


def test_next_passes_a_box_over_without_logging(start: Any) -> None:
    driver = start(colony())
    driver.tap("Next")
    assert driver.page.code == "B02"
    assert driver.services.drafts == []


def test_passed_boxes_come_back_on_request(start: Any) -> None:
    driver = start(colony())
    for _ in range(3):
        driver.tap("Next")
    assert "Nothing is due" in driver.words()
    driver.tap("Show passed boxes again")
    assert driver.page.code == "B01"


def test_a_failed_save_says_so_and_keeps_the_entry(start: Any) -> None:
    driver = start(colony())
    driver.services.fail_next = "The disk is full. Free some room."
    driver.tap("Misted")
    assert "Not saved" in driver.words()
    assert "Free some room." in driver.words()
    assert driver.services.device.haptics.felt == ["reject"]
    driver.tap("Try again")
    assert [draft.kind for draft in driver.services.drafts] == ["misted"]
    assert driver.shell.sheet is None


def test_look_offers_the_signs_and_logs_the_one_seen(start: Any) -> None:
    driver = start(colony())
    driver.tap("Look")
    driver.tap("Refused its meal")
    (draft,) = driver.services.drafts
    assert (draft.kind, dict(draft.fields)) == ("appetite", {"appetite": "refused"})


@pytest.mark.parametrize(("words", "days"), [("1 day", 1), ("2 days", 2), ("3 days", 3), ("7 days", 7)])
def test_later_puts_off_every_due_task(start: Any, words: str, days: int) -> None:
    driver = start(colony())
    driver.tap("Other")
    driver.tap("Later")
    driver.tap(words)
    assert [(d.kind, dict(d.fields)) for d in driver.services.drafts] == [
        ("later", {"task": "feed", "days": days}),
        ("later", {"task": "moisture", "days": days}),
    ]


def test_dead_asks_how_many_by_stepper(start: Any) -> None:
    driver = start(colony())
    driver.tap("Dead")
    driver.tap(driver.shell.sheet._steps.ids.stepper.children[0].children[0])
    driver.tap("Done")
    (draft,) = driver.services.drafts
    assert (draft.kind, dict(draft.fields)) == ("died", {"n": 2})


def test_a_blank_count_is_not_taken(start: Any) -> None:
    driver = start(colony())
    driver.tap("Count")
    driver.tap("Done")
    assert "A number from 0 to 100000" in driver.words()
    assert driver.services.drafts == []


def test_photo_is_kept_with_its_visit(start: Any) -> None:
    services = colony()
    services.device.photos.path = "/pictures/a.jpg"
    driver = start(services)
    driver.tap("Other")
    driver.tap("Photo")
    assert services.photos == ["/pictures/a.jpg"]


def test_a_device_without_photos_says_so(start: Any) -> None:
    services = colony()
    services.device.photos = None
    driver = start(services)
    driver.tap("Other")
    driver.tap("Photo")
    assert "no way to choose a photo" in driver.words()


def test_cancel_logs_nothing(start: Any) -> None:
    driver = start(colony())
    driver.tap("Dead")
    driver.tap("Cancel")
    assert driver.services.drafts == []
    assert driver.shell.sheet is None


def test_screen_stays_awake_and_the_order_of_passed_boxes_reaches_the_action(start: Any) -> None:
    seen: list[tuple[str, ...]] = []

    def watched(services: Any, passed: tuple[str, ...] = (), box_id: str = "") -> Any:
        from tests.ui.fake_colony import round_view

        seen.append(passed)
        return round_view(services, passed, box_id)

    driver = start(colony(), round_view=watched)
    driver.tap("Next")
    driver.tap("Next")
    assert driver.services.device.light.awake
    assert seen == [(), ("id1",), ("id1", "id2")]


def test_an_unforeseen_error_is_told_and_nothing_is_lost(start: Any, caplog: Any) -> None:
    calls = []

    def fails_once(services: Any, draft: Any, passed: tuple[str, ...] = ()) -> Any:
        calls.append(draft)
        if len(calls) == 1:
            raise ZeroDivisionError
        return log_event(services, draft, passed)

    driver = start(colony(), log_event=fails_once)
    driver.tap("Misted")
    assert "Not saved" in driver.words()
    driver.tap("Try again")
    assert [draft.kind for draft in driver.services.drafts] == ["misted"]
