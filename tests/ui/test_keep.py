"""Export, Keep and Notebook on the invented colony, by touches: what is asked, what is handed on, what is told."""

from __future__ import annotations

import gc
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from boxside.core.values.carry import Flavour, SeasonChoice
from boxside.core.values.errors import StoreError
from boxside.core.values.keeping import Looked
from boxside.core.values.views import Notice
from tests.ui.fake_colony import colony

pytestmark = pytest.mark.screen
ZIP = "/home/keeper/second.zip"


def keep(start: Any, how: str = "fresh", file: str = ZIP) -> Any:
    """Return a driver on the Keep screen."""
    services = colony(24)
    services.settings["keep"], services.device.files.path = how, file
    driver = start(services)
    driver.shell.go("keep")
    driver.settle()
    return driver


def tap_row(driver: Any, title: str) -> None:
    """Do what the row with that title does; it may lie further down."""
    row = next(row for row in driver.page.data if str(row.get("title", "")).startswith(title))
    row["pick"](row["item"])
    driver.settle()


# ---- export ----


def test_what_is_chosen_is_what_is_written(start: Any) -> None:
    driver = start(colony(24))
    driver.shell.go("export", from_day=date(2026, 1, 1), to_day=date(2026, 12, 31), cohort="c2")
    driver.settle()
    assert driver.page._whose() == "Birch 2025"
    for words in ("Which boxes or cohorts", "Some boxes", "B02", "B03", "B02", "B07", "These 2"):
        driver.tap(words)
    for title, answer in (("For what", "For a spreadsheet"), ("Decimal sign", "2,5 in cells")):
        tap_row(driver, title)
        driver.tap(answer)
    for title in ("Photos", "A page to read", "Darwin Core", "Darwin Core"):
        tap_row(driver, title)
    driver.tap("Write the files")
    ((out, choice),) = driver.services.calls("export_chosen")
    assert out == Path("/data/boxside/exports/2026-01-01_2026-12-31-spreadsheet")
    assert choice == SeasonChoice(
        date(2026, 1, 1), date(2026, 12, 31), ("id3", "id7"), (), Flavour.SPREADSHEET, ",", photos=True, report=True
    )
    assert "310 photos. With a page to read." in driver.words()
    driver.tap("Share")
    assert driver.services.calls("share_files") == [(str(out),)]


def test_the_page_of_many_boxes_stays_while_some_are_picked(start: Any) -> None:
    driver = start(colony(24))
    driver.shell.go("export")
    driver.page._ask_boxes()
    driver.settle()
    driver.tap("1 of 3")
    driver.tap("B12")
    assert driver.has("2 of 3")
    driver.tap("This one")
    assert driver.page.choice.boxes == ("id12",)
    driver.page._ask_boxes()
    driver.settle()
    driver.tap("1 of 3")
    driver.tap("B12")
    driver.tap("All of them")
    assert driver.page.choice.is_whole


def test_days_are_chosen_by_season_or_one_by_one(start: Any) -> None:
    driver = start(colony())
    driver.shell.go("export", from_day=date(2026, 3, 31), to_day=date(2026, 12, 31))
    driver.settle()
    driver.tap("Which days")
    for words in ("Other days", "Done", "February", "Done", "Done", "December", "Less", "Done"):
        driver.tap(words)
    assert (driver.page.choice.from_day, driver.page.choice.to_day) == (date(2026, 2, 28), date(2026, 12, 30))
    for words in ("Which days", "Everything"):
        driver.tap(words)
    driver.tap("Write the files")
    assert driver.services.calls("export_chosen") == [(Path("/data/boxside/exports/everything"), SeasonChoice())]


def test_days_the_wrong_way_round_are_turned(start: Any) -> None:
    driver = start(colony())
    driver.shell.go("export")
    driver.page._ask_last(date(2026, 9, 9))
    driver.settle()
    for words in ("Done", "January", "Done"):
        driver.tap(words)
    assert driver.page.choice.from_day < driver.page.choice.to_day == date(2026, 9, 9)


# ---- archives ----


def test_an_archive_is_made_and_shared(start: Any) -> None:
    driver = keep(start)
    driver.tap("Archive now")
    assert "Written and read back: 1,204 events, 310 photos, newest 3 May." in driver.words()
    driver.tap("Share")
    ((path,),) = driver.services.calls("share_files")
    assert path.endswith("boxside-2026-11-25.zip")
    assert driver.shell.here == "keep"


def test_photos_that_an_archive_could_not_hold_are_told(start: Any) -> None:
    driver = keep(start, "old")
    driver.tap("Archive now")
    assert "2 photos could not be put into the archive" in driver.words()
    assert "`boxside" not in driver.words()
    driver.tap("Share or save it")
    driver.tap("Share")
    assert len(driver.services.calls("share_files")) == 1


def test_the_folder_is_chosen_where_the_device_has_folders(start: Any) -> None:
    driver = keep(start)
    driver.tap("Into which folder")
    assert not driver.has("Choose a folder")
    driver.tap("Beside the log")
    assert driver.page.view.folder == "/data/boxside/archives"
    driver.services.device.files.choose_folder = lambda then: then("/media/stick")
    driver.tap("Into which folder")
    driver.tap("Choose a folder")
    assert driver.page.view.folder == "/media/stick"
    driver.tap("Into which folder")
    driver.tap("None by itself")
    assert "None: no archive is made by itself." in driver.words()


def test_a_merge_is_shown_then_done_then_taken_back(start: Any) -> None:
    driver = keep(start)
    tap_row(driver, "Merge an archive")
    assert driver.services.calls("preview_merge") == [Path(ZIP)]
    assert driver.services.calls("merge_archive") == []
    for words in ("38 new entries", "1 new photo", "1,166 entries are here already.", "two open boxes"[1:]):
        assert words in driver.words()
    driver.tap("Merge")
    assert driver.services.calls("merge_archive") == [Path(ZIP)]
    driver.tap("Take it all back")
    assert driver.services.calls("undo_merge") == [()]
    assert "Taken back" in driver.words()


@pytest.mark.parametrize(("file", "words"), [("known.zip", "Nothing new in its entries"), ("clash.zip", "0190b2…90ab")])
def test_what_cannot_be_merged_offers_no_merge(start: Any, file: str, words: str) -> None:
    driver = keep(start, file=f"/home/keeper/{file}")
    tap_row(driver, "Merge an archive")
    assert words in driver.words()
    assert not driver.has("Merge")


def test_a_merge_of_before_is_taken_back_from_its_row(start: Any) -> None:
    driver = keep(start, "old")
    driver.tap("Take the merge back")
    assert driver.services.calls("undo_merge") == [()]


def test_an_archive_that_is_not_what_was_written_is_refused_in_words(start: Any) -> None:
    driver = keep(start)
    driver.services.fail_next = f"{ZIP}: photos/{'ab' * 32}: its sha256 differs. Nothing was changed."
    tap_row(driver, "Merge an archive")
    assert "Nothing was taken in" in driver.words()
    assert "photos/ababab…abab" in driver.words()


def test_a_log_that_is_there_is_not_restored_over_but_merged(start: Any) -> None:
    driver = keep(start)
    tap_row(driver, "Restore an archive")
    assert "There is a log here already." in driver.words()
    assert not driver.has("Restore")
    driver.tap("Merge it")
    assert driver.services.calls("preview_merge") == [Path(ZIP)]
    assert driver.services.calls("restore_archive") == []


def test_the_first_start_restores(start: Any) -> None:
    services = colony(24, is_new=True)
    services.device.files.path = ZIP
    driver = start(services)
    driver.services.theme = "red"
    driver.tap("I have an archive")
    assert "1,204 events, 310 photos, newest 3 May" in driver.words()
    driver.tap("Restore")
    assert services.calls("restore_archive") == [Path(ZIP)]
    assert driver.shell.here == "round"
    assert tuple(driver.app.theme.ink) == (1, 0, 0, 1)
    assert "Restored: 1,204 events" in driver.words()


def test_a_first_start_that_is_left_is_as_before(start: Any) -> None:
    services = colony(24, is_new=True)
    services.device.files.path = ZIP
    driver = start(services)
    driver.tap("I have an archive")
    driver.tap("Close")
    assert driver.shell.here == "start"
    assert driver.has("Demo colony")


# ---- long work ----


class WaitingDesk:
    """Keeps what is asked of one action until told to answer, as a worker would."""

    def __init__(self, services: Any, name: str) -> None:
        from boxside.app.desk import InlineDesk

        self.services, self.name, self.kept, self.inline = services, name, [], InlineDesk(services)

    def ask(self, action: Any, *args: Any, then: Any, failed: Any) -> None:
        self.inline.services = self.services
        if action.__name__ == self.name:
            self.kept.append((args, then, failed))
        else:
            self.inline.ask(action, *args, then=then, failed=failed)

    beside = ask

    def close(self) -> None:
        """Nothing is to be stopped."""


def test_long_work_is_followed_and_stopped(start: Any) -> None:
    services = colony(24)
    driver = start(services, desk=WaitingDesk(services, "archive_now"))
    driver.shell.go("keep")
    driver.settle()
    driver.tap("Archive now")
    sheet = driver.shell.sheet
    ((watch,), _, failed) = driver.app.desk.kept[0]
    assert sheet.opacity == 0
    # A collection goes through all widgets, and the screen stands still for it.
    assert not gc.isenabled()
    watch.begin("entries written", 1_000_000)
    watch.done = 412_300
    sheet.show()
    sheet.look()
    driver.settle()
    assert "412,300 of 1,000,000 entries written" in driver.words()
    assert not watch.is_stopped
    driver.tap("Stop")
    assert watch.is_stopped
    assert "Stopping …" in driver.words()
    assert driver.shell.sheet is sheet
    failed(Notice("Stopped.", do="Nothing was changed.", bad=True))
    assert gc.isenabled()
    driver.settle()
    assert "Stopped" in driver.words()
    driver.tap("Close")
    assert driver.shell.sheet is None


def test_touches_are_held_back_while_work_goes_on_and_the_way_back_asks_it_to_stop(start: Any) -> None:
    services = colony(24)
    driver = start(services, desk=WaitingDesk(services, "archive_now"))
    driver.shell.go("keep")
    driver.settle()
    button = driver.find("Archive now")
    driver.tap(button)
    driver.tap(button)
    assert len(driver.app.desk.kept) == 1
    driver.shell.back()
    ((watch,), _, failed) = driver.app.desk.kept[0]
    assert watch.is_stopped
    failed(Notice("The disk is full.", do="Free some space.", bad=True))
    driver.settle()
    assert "The disk is full." in driver.words()


def test_what_must_not_be_cut_short_cannot_be_stopped(start: Any) -> None:
    services = colony(24)
    driver = start(services, desk=WaitingDesk(services, "export_chosen"))
    driver.shell.go("export")
    driver.settle()
    driver.tap("Write the files")
    driver.shell.sheet.show()
    driver.settle()
    assert not driver.has("Stop") or driver.find("Stop").disabled
    driver.shell.back()
    assert not driver.app.desk.kept[0][0][-1].is_stopped


# ---- check, repair, copies ----


def test_a_sound_log_is_said_to_be_so(start: Any) -> None:
    driver = keep(start)
    tap_row(driver, "Check everything")
    assert "All is well" in driver.words()
    assert not driver.has("Repair")


def test_what_is_damaged_is_named_and_repaired(start: Any) -> None:
    driver = keep(start, "old")
    tap_row(driver, "Check everything")
    assert "2 are not what was written. 2 entries changed: 0190b2…90ab, 0190b2…90ac" in driver.words()
    driver.tap("Repair")
    assert driver.services.calls("repair_log") == [()]
    assert "was repaired" in driver.words()


def test_copies_are_listed(start: Any) -> None:
    driver = keep(start)
    tap_row(driver, "3 copies set aside")
    for words in ("24 November, 20:10", "before a merge, 4.2 MB"):
        assert words in driver.words()


# ---- notebooks and exported logs ----


def test_a_notebook_is_told_what_it_says_then_taken_in_and_back(start: Any) -> None:
    driver = keep(start, file="/home/keeper/old.csv")
    tap_row(driver, "Import a notebook")
    assert driver.shell.here == "notebook"
    assert "What was done where it says “wet”, “holiday”?" in driver.words()
    assert not driver.has("Import 2 lines")
    for word, answer in (("“wet”", "Misted"), ("“holiday”", "Pass such lines over")):
        tap_row(driver, word)
        driver.tap(answer)
    assert "There is no box 'B31'." in driver.words()
    driver.tap("Make boxes that are not there")
    driver.tap("Import 2 lines")
    ((path, mapping),) = driver.services.calls("import_notebook")
    assert path == Path("/home/keeper/old.csv")
    assert dict(mapping.kinds) == {"fed": "fed", "wet": "misted", "holiday": ""}
    assert mapping.make_boxes
    driver.tap("Take it all back")
    assert driver.services.voided == ["i0", "i1", "i2"]
    assert driver.page.flow is None


def test_columns_are_assigned_by_tapping(start: Any) -> None:
    driver = start(colony())
    driver.shell.go("notebook", path="/home/keeper/bare.csv")
    driver.settle()
    assert driver.page.view.mapping.columns == (("date", 0), ("box", 1))
    for title, role in (("Done: Not used", "What was done"), ("Remarks", "Note"), ("When: Date", "Not used")):
        tap_row(driver, title)
        driver.tap(role)
    assert driver.page.view.mapping.columns == (("box", 1), ("kind", 2), ("note", 4))
    tap_row(driver, "How many: Not used")
    driver.tap("Note")
    assert driver.page.view.mapping.columns == (("box", 1), ("kind", 2), ("note", 3))


def test_what_was_done_on_every_line_is_said_once(start: Any) -> None:
    driver = start(colony())
    driver.shell.go("notebook", path="/home/keeper/bare.csv")
    driver.settle()
    tap_row(driver, "Done on every line")
    driver.tap("Misted")
    assert driver.page.view.mapping.kind == "misted"
    assert driver.page.view.question == ""


def test_a_notebook_that_cannot_be_read_leads_back(start: Any) -> None:
    driver = keep(start, file="/home/keeper/old.csv")
    driver.services.fail_next = "old.csv is no text file. Nothing was imported. Save the notebook as CSV."
    tap_row(driver, "Import a notebook")
    assert driver.shell.here == "keep"
    assert "old.csv is no text file." in driver.words()


def test_an_exported_log_is_shown_then_taken_in_and_back(start: Any) -> None:
    driver = keep(start, file="/home/keeper/events.csv")
    tap_row(driver, "Import a notebook")
    assert "1,200 events would be imported" in driver.words()
    driver.tap("Import")
    assert driver.services.calls("import_events") == [Path("/home/keeper/events.csv")]
    driver.tap("Take it all back")
    assert driver.services.calls("undo_merge") == [()]


def test_an_archive_is_merged_wherever_it_is_brought_in(start: Any) -> None:
    driver = keep(start)
    tap_row(driver, "Import a notebook")
    assert driver.services.calls("preview_merge") == [Path(ZIP)]


def test_a_log_with_lines_that_cannot_be_taken_is_not(start: Any) -> None:
    driver = keep(start, file="/home/keeper/events-wrong.csv")
    tap_row(driver, "Import a notebook")
    assert "8 lines cannot be taken" in driver.words()
    assert not driver.has("Import")


# ---- what is told without being asked ----


def test_an_archive_that_is_too_old_is_a_line_on_more_and_no_sheet(start: Any) -> None:
    services = colony(24)
    services.settings["keep"] = "old"
    driver = start(services)
    driver.tap("More")
    assert driver.shell.sheet is None
    driver.tap("Last archive: 3 May")
    assert driver.shell.here == "keep"
    services.settings["keep"] = "fresh"
    driver.tap("More")
    assert not any(target.text.startswith("Last archive") for target in driver.targets() if hasattr(target, "text"))


def test_what_was_found_at_start_waits_until_nothing_is_asked(start: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    from boxside.app import frame

    monkeypatch.setattr(frame, "WAIT_S", 0.0)
    driver = start(colony())
    driver.shell.open_choices("A question", [("a", "An answer", "")], lambda _: None)
    driver.app._looked(Looked("2 entries are not what was written"))
    driver.settle()
    assert driver.has("An answer")
    driver.tap("An answer")
    driver.settle()
    assert driver.services.calls("repair_damaged") == ["2 entries are not what was written"]
    assert "The log was damaged on the disk" in driver.words()


def test_an_old_archive_is_no_sheet_under_a_thumb(start: Any) -> None:
    driver = start(colony())
    driver.app._looked(Looked("", (Notice("The last archive is of 3 May.", "Everything is on this device."),)))
    driver.settle()
    assert driver.shell.sheet is None


def test_a_chooser_that_fails_is_told(start: Any) -> None:
    driver = keep(start)

    def refused(_: Any) -> None:
        raise StoreError("The folder cannot be read. Nothing was changed.")

    driver.services.device.files.choose = refused
    tap_row(driver, "Merge an archive")
    assert "The folder cannot be read." in driver.words()
