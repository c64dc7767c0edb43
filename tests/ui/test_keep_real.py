"""Keep and carry on real logs, as on two phones: archived, restored, merged, taken back; an old notebook taken in."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.ui.conftest import DEMO_DAY
from tests.ui.fake_colony import Haptics, Light
from tests.ui.test_keep import tap_row

pytestmark = pytest.mark.screen
START = Callable[..., Any]


@dataclass
class Files:
    """Hands out the file that a test names."""

    path: str = ""
    has_share: bool = False

    def choose(self, then: Any) -> None:
        then(self.path)

    def save_as(self, path: str, name: str, then: Any) -> None:
        then(path)


@pytest.fixture
def phone(window: Any, tmp_path: Path) -> Iterator[START]:
    """Start the app on a data folder, on a day; the phone before is put away first."""
    from boxside.app import wiring
    from boxside.app.desk import InlineDesk
    from boxside.app.frame import BoxsideApp
    from boxside.device.folders import bundled
    from tests.ui.driver import Driver
    from tests.ui.scenes import shown

    stack = ExitStack()

    def run(data: Path, on: date = DEMO_DAY) -> Driver:
        stack.close()
        made = wiring.build(data, on=on)
        stack.callback(made.store.close)
        device = replace(made.device, haptics=Haptics(), light=Light(), files=Files())
        made = replace(made, device=device)
        return Driver(stack.enter_context(shown(BoxsideApp(made, bundled("assets"), InlineDesk(made)))))

    yield run
    stack.close()


def state_of(driver: Any) -> tuple[str, int]:
    """Return the digest of the state and the number of entries."""
    from boxside.store import merging
    from boxside.store.rebuild import state_digest

    store = driver.services.store
    return state_digest(store), merging.last_row(store)


def archive_of(driver: Any) -> str:
    """Make an archive at a tap; return where it is."""
    driver.shell.go("keep")
    driver.settle()
    driver.tap("Archive now")
    (path,) = (Path(driver.services.device.data_dir) / "exports").glob("boxside-*.zip")
    assert "Written and read back:" in driver.words()
    assert str(path) in driver.words()
    driver.tap("Close")
    return str(path)


def test_a_log_moves_to_a_new_phone_and_takes_in_what_the_old_one_logged_meanwhile(
    phone: START, demo: Path, tmp_path: Path
) -> None:
    first = phone(demo)
    whole = state_of(first)
    carried = Path(archive_of(first)).rename(tmp_path / "carried.zip")

    second = phone(tmp_path / "second")
    assert second.shell.here == "start"
    second.services.device.files.path = str(carried)
    second.tap("I have an archive")
    assert f"{whole[1]:,} events" in second.words()
    assert "It was read to its last byte and is whole." in second.words()
    second.tap("Restore")
    assert f"Restored: {whole[1]:,} events" in second.words()
    second.tap("Close")
    assert state_of(second) == whole
    assert second.shell.here == "round"
    second.tap("Fed")
    assert state_of(second)[1] == whole[1] + 1

    first = phone(demo, DEMO_DAY + timedelta(days=1))
    first.tap("Misted")
    first.tap("Look")
    first.tap("All well")
    assert state_of(first)[1] == whole[1] + 2
    later = Path(archive_of(first)).rename(tmp_path / "later.zip")

    second = phone(tmp_path / "second", DEMO_DAY + timedelta(days=1))
    before = state_of(second)
    second.services.device.files.path = str(later)
    second.shell.go("keep")
    second.settle()
    tap_row(second, "Merge an archive")
    assert "2 new entries" in second.words()
    assert state_of(second) == before
    second.tap("Merge")
    assert state_of(second)[1] == before[1] + 2
    second.tap("Take it all back")
    assert "Taken back" in second.words()
    assert state_of(second) == before
    second.tap("Close")
    tap_row(second, "Merge an archive")
    second.tap("Merge")
    second.tap("Close")
    assert state_of(second)[1] == before[1] + 2
    tap_row(second, "Take the merge back")
    assert state_of(second) == before
    second.tap("Close")
    tap_row(second, "Merge an archive")
    second.tap("Merge")
    second.tap("Close")
    tap_row(second, "Merge an archive")
    assert "Nothing new in its entries" in second.words()


def test_an_archive_is_not_restored_over_a_log(phone: START, demo: Path, tmp_path: Path) -> None:
    driver = phone(demo)
    path = archive_of(driver)
    before = state_of(driver)
    driver.services.device.files.path = path
    tap_row(driver, "Restore an archive")
    assert "There is a log here already." in driver.words()
    driver.tap("Merge it")
    assert "Nothing new in its entries" in driver.words()
    assert state_of(driver) == before


def test_a_damaged_archive_is_refused_on_the_first_start(phone: START, tmp_path: Path) -> None:
    driver = phone(tmp_path / "new")
    path = tmp_path / "no.zip"
    path.write_bytes(b"PK\x03\x04 and then nothing")
    driver.services.device.files.path = str(path)
    driver.tap("I have an archive")
    assert "Nothing was taken in" in driver.words()
    driver.tap("Close")
    assert driver.has("Empty shelf")


NOTEBOOK = """Tag;Dose;Was;Zahl;Bemerkung
3.5.2026;N1;Misted;;warm
4.5.2026;N1;wet;;
31.6.2026;N1;Misted;;
"""


def test_an_old_notebook_is_read_column_by_column_and_taken_in(phone: START, demo: Path, tmp_path: Path) -> None:
    path = tmp_path / "old.csv"
    path.write_text(NOTEBOOK, encoding="utf-8")
    driver = phone(demo)
    before = state_of(driver)
    driver.services.device.files.path = str(path)
    driver.shell.go("keep")
    driver.settle()
    tap_row(driver, "Import a notebook")
    for column, role in (("Tag", "Date"), ("Dose", "Box"), ("Was", "What was done"), ("Bemerkung", "Note")):
        if f"{column}: {role}" not in [row.get("title") for row in driver.page.data]:
            tap_row(driver, column)
            driver.tap(role)
    tap_row(driver, "“wet”")
    choose(driver, "Misted")
    if driver.page.view.mapping.order != "dmy":
        tap_row(driver, "Dates are written as")
        driver.tap("Day, month, year")
    tap_row(driver, "Make boxes")
    assert "Line 4" in [row.get("title") for row in driver.page.data]
    assert not driver.page.can_import
    path.write_text(NOTEBOOK.replace("31.6.", "30.4."), encoding="utf-8")
    tap_row(driver, "Dates are written as")
    driver.tap("Day, month, year")
    assert driver.page.view.new_boxes == ("N1",)
    assert state_of(driver) == before
    driver.tap("Import 3 lines")
    assert "Imported: 3 lines of old.csv." in driver.words()
    # Three lines, the box, and how it was read.
    assert state_of(driver)[1] == before[1] + 5
    driver.tap("Take it all back")
    assert driver.page.view.n_new == 3
    assert state_of(driver)[1] == before[1] + 9
    assert driver.page.can_import


def choose(driver: Any, words: str) -> None:
    """Tap an answer, turning the pages until it shows."""
    for _ in range(8):
        if driver.has(words):
            driver.tap(words)
            return
        driver.shell.sheet.ids.grid.turn()
        driver.settle()
    raise AssertionError(f"no answer {words}")


def test_an_exported_season_goes_into_another_log(phone: START, demo: Path, tmp_path: Path) -> None:
    driver = phone(demo)
    n_events = state_of(driver)[1]
    driver.shell.go("export")
    driver.settle()
    driver.tap("Write the files")
    folder = Path(driver.services.device.data_dir) / "exports" / "everything"
    assert str(folder) in driver.words()
    other = phone(tmp_path / "other")
    other.tap("Empty shelf")
    other.services.device.files.path = str(folder / "events.csv")
    other.shell.go("keep")
    other.settle()
    tap_row(other, "Import a notebook")
    other.tap("Import")
    assert "Imported:" in other.words()
    assert state_of(other)[1] == n_events + 1
    other.tap("Take it all back")
    assert state_of(other)[1] == 1


def test_a_demo_log_is_sound_and_says_so(phone: START, demo: Path) -> None:
    driver = phone(demo)
    driver.shell.go("keep")
    driver.settle()
    tap_row(driver, "Check everything")
    assert "All is well" in driver.words()
    assert not driver.has("Repair")


def test_how_often_archives_are_made_is_set_where_it_is_shown(phone: START, demo: Path) -> None:
    driver = phone(demo)
    driver.shell.go("keep")
    driver.settle()
    tap_row(driver, "How often")
    driver.tap("Month")
    assert driver.page.view.every == "Month"
    tap_row(driver, "Into which folder")
    driver.tap("Beside the log")
    assert driver.page.view.folder.endswith("archives")


def test_a_repair_is_told_at_start(phone: START, demo: Path) -> None:
    """One byte of an entry is flipped on the disk: the app says so, and what it did."""
    import sqlite3

    driver = phone(demo)
    n_events = state_of(driver)[1]
    from boxside.actions.keep_snapshots import take_snapshot

    take_snapshot(driver.services, "daily")
    path = driver.services.store.path
    phone(demo.parent / "elsewhere")
    with sqlite3.connect(path) as file:
        for (name,) in file.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            file.execute(f"DROP TRIGGER {name}")
        file.execute("UPDATE event SET at_ms = at_ms + 1 WHERE row = 7")
    file.close()
    driver = phone(demo)
    driver.app.look_after()
    driver.settle()
    assert "repaired" in driver.words()
    assert state_of(driver)[1] == n_events
