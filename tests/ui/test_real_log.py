"""The touch app on the real log: what two taps leave on the disk, and what is told when it cannot be."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests.ui.conftest import DEMO_DAY
from tests.ui.fake_colony import Haptics, Light

pytestmark = pytest.mark.screen


@pytest.fixture
def services(demo: Path) -> Iterator[Any]:
    """Return real services on a demo colony, on a fixed evening, with haptics that remember."""
    from boxside.app import wiring

    made = wiring.build(demo, on=DEMO_DAY)
    made = replace(made, device=replace(made.device, haptics=Haptics(), light=Light()))
    yield made
    made.store.close()


@pytest.fixture
def real(window: Any, services: Any) -> Iterator[Any]:
    """Return a driver of the app with the real actions and no thread."""
    from boxside.app.desk import InlineDesk
    from boxside.app.frame import BoxsideApp
    from boxside.device.folders import bundled
    from tests.ui.driver import Driver
    from tests.ui.scenes import shown

    with shown(BoxsideApp(services, bundled("assets"), InlineDesk(services))) as app:
        yield Driver(app)


def kinds(services: Any, box_id: str) -> list[str]:
    """Return the kinds in a box's history that stand, the newest first."""
    from boxside.actions.show_box import box_view

    return [row.kind for row in box_view(services, box_id, 5000).history if not row.struck and row.kind != "void"]


def test_two_taps_leave_a_feeding_and_the_next_box(real: Any, services: Any) -> None:
    box_id = real.page.view.box_id
    before = kinds(services, box_id).count("fed")
    real.tap("Fed")
    assert kinds(services, box_id).count("fed") == before + 1
    assert services.device.haptics.felt == ["confirm"]
    real.tap("Next")
    assert real.page.view.box_id != box_id


def test_undo_on_the_toast_takes_the_feeding_back(real: Any, services: Any) -> None:
    box_id = real.page.view.box_id
    before = kinds(services, box_id)
    real.tap("Fed")
    real.tap("Undo")
    assert kinds(services, box_id) == before
    assert "Taken back" in real.words()
    assert real.page.view.box_id == box_id


def test_every_button_of_the_round_can_be_followed_to_its_end(real: Any, services: Any) -> None:
    """Each act of each due box is tapped and answered until it is logged; none is a dead end."""
    logged = 0
    for act in (*real.page.view.main, *real.page.view.more, *real.page.view.signs):
        if act.command in ("next", "look", "photo"):
            continue
        real.page.do_act(act, None)
        real.settle()
        for _ in range(12):
            if real.shell.sheet is None:
                break
            answer_sheet(real)
        assert real.shell.sheet is None, act.label
        logged += real.shell.bar.is_toast
        real.shell.bar.hush()
    assert logged >= 8


def answer_sheet(driver: Any) -> None:
    """Answer whatever is asked with what lies nearest."""
    sheet = driver.shell.sheet
    if hasattr(sheet, "by_keypad") and sheet.by_keypad:
        sheet._pad.value = "1"
    named = [target for target in driver.targets() if getattr(target, "text", "")]
    done = [target for target in named if target.text in ("Done", "Skip", "Find")]
    driver.tap((done or named)[0])


def test_a_disk_that_refuses_is_told_and_the_entry_kept(real: Any, services: Any) -> None:
    from boxside.core.values.errors import StoreError

    true_act = real.shell.acts.find("log_event")

    def refuses(*_: Any) -> None:
        raise StoreError("The disk is full. Nothing was saved. Free some room, then try again.")

    real.shell.acts._found["log_event"] = refuses
    before = kinds(services, real.page.view.box_id)
    real.tap("Fed")
    assert "Not saved" in real.words()
    assert kinds(services, real.page.view.box_id) == before
    real.shell.acts._found["log_event"] = true_act
    real.tap("Try again")
    assert kinds(services, real.page.view.box_id) == ["fed", *before]


def test_every_screen_shows_the_real_colony(real: Any) -> None:
    real.tap("Shelf")
    assert len(real.page.data) >= 10
    shown = next(target for target in real.targets() if getattr(target, "mark", ""))
    real.tap(shown)
    for part in ("Log", "Past", "Now"):
        real.tap(part)
    real.tap("More")
    real.tap("Settings")
    assert "Nudges" in [row.get("title") for row in real.page.data]


def test_a_shelf_is_entered_and_its_boxes_are_there(real: Any, services: Any) -> None:
    from boxside.actions.show_shelf import shelf_view

    before = shelf_view(services).total
    real.shell.go("occupied")
    real.settle()
    real.tap("First box")
    real.tap("Larvae")
    real.type("20")
    real.tap("Done")
    real.tap("4")
    real.tap("Today")
    real.tap("Same again")
    real.tap("Save all")
    assert shelf_view(services).total == before + 2
