"""The touch app on the real log: what two taps leave on the disk, and what is told when it cannot be."""

from __future__ import annotations

import os
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


# ---- the flows on the real log ----


def test_all_of_a_box_go_to_a_fresh_one_within_five_taps_and_it_is_confirmed_empty(real: Any, services: Any) -> None:
    """The same words and the same taps as on the invented colony, with what they leave in the log."""
    from boxside.actions.transfer import transfer_view

    box_id = real.page.view.box_id
    before = transfer_view(services, box_id)
    assert before.expected > 1
    n = 0
    for words in ("Other", "Transfer", f"Fresh box {before.next_label}", f"All {before.expected}, counted", "Done"):
        real.tap(words)
        n += 1
    assert n <= 5
    fresh = next(t for t in transfer_view(services, box_id).targets if t.label == before.next_label)
    assert transfer_view(services, fresh.box_id).expected == before.expected
    assert transfer_view(services, box_id).expected == 0
    real.shell.go("box", box_id=box_id)
    real.settle()
    assert any(line.task == "check_old_box" for line in real.page.view.due)
    shown = {row.get("detail") for row in real.page.data}
    assert set(before.checks) & shown
    real.tap("Log")
    real.page.do_act(next(act for act in real.page.view.acts if act.kind == "confirmed_empty"), None)
    real.settle()
    real.tap("Empty")
    assert kinds(services, box_id)[0] in ("confirmed_empty", "box_retired")
    assert "check_old_box" not in {line.task for line in real.page.view.due}


def test_a_transfer_is_undone_as_a_whole(real: Any, services: Any) -> None:
    from boxside.actions.show_shelf import shelf_view
    from boxside.actions.transfer import transfer_view

    box_id = real.page.view.box_id
    before, n_boxes = transfer_view(services, box_id), shelf_view(services).total
    for words in ("Other", "Transfer", f"Fresh box {before.next_label}", f"All {before.expected}, counted", "Undo"):
        real.tap(words)
    assert transfer_view(services, box_id).expected == before.expected
    assert shelf_view(services).total == n_boxes


def test_what_cannot_be_is_refused_by_the_real_rules_and_taken_as_a_correction(real: Any, services: Any) -> None:
    """The offer hangs on the words of the refusal: this fails if they change."""
    from boxside.core.values.views import Act

    box_id = real.page.view.box_id
    before = kinds(services, box_id)
    real.page.do_act(Act("Pupated", "pupa", kind="pupated"), None)
    real.settle()
    if real.has("Keypad"):
        real.tap("Keypad")
    real.type("999")
    real.tap("Done")
    real.tap("Cannot tell")
    assert "Not saved" in real.words()
    assert kinds(services, box_id) == before
    real.tap("Log it as a correction")
    assert "booked before it" in real.words()
    assert kinds(services, box_id)[0] == "pupated"
    assert len(kinds(services, box_id)) > len(before) + 1


def test_a_count_is_judged_by_the_real_ledger(real: Any, services: Any) -> None:
    from boxside.actions.transfer import transfer_view

    expected = transfer_view(services, real.page.view.box_id).expected
    real.tap("Count")
    real.type("1")
    real.tap("Done")
    real.tap("Yes, all of them")
    assert f"Expected: {expected}" in real.words()
    assert f"Unaccounted: {expected - 1}" in real.words()


def test_every_act_of_every_kind_of_box_can_be_followed_to_its_end(real: Any, services: Any) -> None:
    """Each button of the log page, for one box of each stage there is: logged or refused, never a dead end."""
    from boxside.actions.show_shelf import shelf_view

    seen: set[str] = set()
    followed = 0
    for row in shelf_view(services, limit=99).rows:
        real.shell.go("box", box_id=row.box_id, part="log")
        real.settle()
        for act, _, _ in list(real.page.acts):
            if act.command in ("look", "photo") or (act.kind or act.command) in seen:
                continue
            seen.add(act.kind or act.command)
            real.page.do_act(act, None)
            real.settle()
            follow(real, act.label)
            followed += 1
    assert {"marked", "moulted", "pupated", "sexed", "died", "weighed"} <= seen
    assert followed >= 25


def follow(real: Any, label: str) -> None:
    """Answer what is asked until nothing is."""
    for _ in range(12):
        if real.shell.sheet is None:
            return
        answer_sheet(real)
    raise AssertionError(f"{label} does not end: {real.words()}")


def test_the_season_of_the_demo_is_shown_section_by_section_and_exported(real: Any, services: Any) -> None:
    real.tap("Season")
    assert real.page.n_sections >= 3
    titles = set()
    for at in range(int(real.page.n_sections)):
        real.page.show_section(at)
        real.settle()
        assert real.page.chart is not None or real.page.numbers
        titles.add(real.page.heading)
    assert len(titles) == real.page.n_sections
    real.page.export()
    real.settle()
    (folder,) = (Path(services.device.data_dir) / "exports").iterdir()
    assert (folder / "datapackage.json").exists()
    assert str(folder) in real.words()


def test_an_entry_of_the_real_log_is_moved_to_yesterday(real: Any, services: Any) -> None:
    from boxside.actions.show_box import box_view

    box_id = real.page.view.box_id
    real.tap("Misted")
    real.shell.bar.hush()
    real.shell.go("box", box_id=box_id, part="past")
    real.settle()
    real.page.open_entry(real.page.view.history[0])
    real.settle()
    for words in ("Correct", "When:", "Day and time", "Yesterday", "Done", "Done", "Save"):
        real.tap(words)
    moved = next(row for row in box_view(services, box_id, 50).history if row.kind == "misted" and not row.struck)
    assert moved.when.startswith("yesterday")


def spoil(services: Any) -> None:
    """Change what is in a row behind the log's back."""
    services.store.run("DROP TRIGGER event_stays")
    services.store.run("UPDATE event SET note = 'rotten' WHERE row = 100")


def test_a_damaged_log_is_repaired_behind_the_first_box_and_told_in_words(real: Any, services: Any) -> None:
    real.app.look_after()
    real.settle()
    assert "damaged" not in real.words()
    assert real.shell.sheet is None
    spoil(services)
    services.store.set_meta("looked_on", "")
    real.app.look_after()
    real.settle()
    assert "The log was damaged on the disk and has been repaired." in real.words()
    if folder := os.environ.get("BOXSIDE_PICTURES"):
        real.app.root_window.screenshot(name=f"{folder}/repaired.png")
    real.tap("Close")
    real.shell.bar.hush()
    real.settle()
    box_id = real.page.view.box_id
    before = kinds(services, box_id).count("fed")
    real.tap("Fed")
    assert kinds(services, box_id).count("fed") == before + 1


def test_an_archive_that_is_too_old_is_said_once_nothing_else_is_said(real: Any, services: Any) -> None:
    real.tap("Fed")
    real.app.look_after()
    real.settle()
    assert "No archive" not in real.words(), "the undo stays"
    assert real.has("Undo")
    real.shell.bar.hush()
    real.app._say_quietly(services_notice(services))
    real.settle()
    assert "No archive yet." in real.words()
    assert real.shell.sheet is None


def services_notice(services: Any) -> Any:
    """Return what is to be said of the archive that is missing."""
    from boxside.actions.keep_archives import old_notice

    return old_notice(services)
