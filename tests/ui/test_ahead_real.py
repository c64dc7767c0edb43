"""Ahead, Prey, Away and Surroundings on the real log: what taps leave on the disk, and what undo takes back."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.ui.test_ahead import reach
from tests.ui.test_real_log import real, services  # noqa: F401  fixtures

pytestmark = pytest.mark.screen


def go(driver: Any, name: str) -> None:
    """Go to a place by taps."""
    driver.tap("More")
    driver.tap(name)


def left(driver: Any, batch: str) -> float:
    """Return how many are left of a batch."""
    return next(held.left for held in driver.page.view.stock if held.batch == batch)


def standing(services: Any) -> int:  # noqa: F811
    """Return how many entries stand."""
    n, voided = services.store.row("SELECT count(*), count(voids) FROM event")
    return int(n) - 2 * int(voided)


def test_every_row_of_the_future_leads_somewhere_and_back(real: Any) -> None:  # noqa: F811
    for name in ("Ahead", "Prey", "Away", "Surroundings"):
        go(real, name)
        here = real.shell.here
        rows = [row for row in real.page.data if row["viewclass"] == "Row"]
        assert len(rows) >= 3
        for row in rows:
            row["pick"](row["item"])
            real.settle()
            if real.shell.sheet is not None:
                assert real.shell.sheet.title or real.shell.sheet.what
                real.shell.back()
            elif real.shell.here != here or real.page.back_to == here:
                real.tap("Back")
            assert real.shell.sheet is None
            real.shell.go(here)


def test_a_count_of_prey_changes_what_is_left_until_it_is_taken_back(real: Any, services: Any) -> None:  # noqa: F811
    go(real, "Prey")
    before, held = standing(services), real.page.view.stock[0]
    real.page.open_stock(held)
    real.settle()
    real.tap("Count again")
    real.type("3")
    real.tap("Done")
    assert left(real, held.batch) == 3
    assert standing(services) == before + 1
    real.tap("Undo")
    assert left(real, held.batch) == held.left
    assert standing(services) == before


def test_a_frosty_night_is_logged_and_taken_back(real: Any, services: Any) -> None:  # noqa: F811
    go(real, "Surroundings")
    area = next(area for area in real.page.view.areas if area.cool)
    real.tap(reach(real, area.name))
    real.tap("Log temperature")
    real.tap("Now")
    for name in ("-", "2", ".", "5"):
        real.tap(next(target for target in real.targets() if getattr(target, "key", "") == name))
    before = standing(services)
    real.tap("Done")
    assert standing(services) == before + 1
    real.tap("Undo")
    assert standing(services) == before


def test_a_new_area_takes_a_box_and_leaves_it_with_undo(real: Any, services: Any) -> None:  # noqa: F811
    go(real, "Surroundings")
    real.tap("Add area")
    real.shell.sheet.ids.entry.text = "Attic"
    for tap in ("Done", "Skip", "Like a room"):
        real.tap(tap)
    real.shell.bar.hush()
    real.tap(reach(real, "Attic"))
    real.tap(reach(real, "Put a box here"))
    real.type("03")
    real.tap("Find")
    real.tap("B03")
    assert real.page.area.n_boxes == 1
    real.tap("Undo")
    assert real.page.area.n_boxes == 0


def test_the_calendar_and_the_page_lie_where_it_says(real: Any, services: Any) -> None:  # noqa: F811
    exports = Path(services.device.data_dir) / "exports"
    go(real, "Ahead")
    real.tap(reach(real, "Calendar file"))
    (calendar,) = exports.iterdir()
    assert str(calendar) in real.words()
    assert calendar.read_bytes().startswith(b"BEGIN:VCALENDAR\r\n")
    real.tap("Close")
    go(real, "Away")
    real.tap(reach(real, "Save the helper"))
    written = sorted(path.suffix for path in exports.iterdir())
    assert written == [".ics", ".pdf", ".txt"]
    assert all(str(path) in real.words() for path in exports.iterdir() if path.suffix != ".ics")


def test_a_loggers_file_is_chosen_among_the_tables_of_a_folder(real: Any, services: Any, tmp_path: Path) -> None:  # noqa: F811
    from boxside.app.chooser import TableChooser

    folder = tmp_path / "from the logger"
    folder.mkdir()
    lines = [f"2026-11-{day:02d} {hour:02d}:00,{-1.5 + hour / 4}" for day in (22, 23, 24) for hour in range(24)]
    (folder / "cellar.csv").write_text("Time,Temp °C\n" + "\n".join(lines) + "\n", encoding="utf-8")
    (folder / "photo.jpg").write_bytes(b"")
    services.device.files.chooser = TableChooser(real.shell, folder)
    go(real, "Surroundings")
    real.tap("Add area")
    real.shell.sheet.ids.entry.text = "Shed"
    for tap in ("Done", "Skip", "Cool"):
        real.tap(tap)
    real.shell.bar.hush()
    real.tap(reach(real, "Shed"))
    real.tap(reach(real, "Import a logger"))
    assert not real.has("photo.jpg")
    real.tap("cellar.csv")
    real.tap("Import")
    assert real.page.area.n_measured == 3
    real.tap("Undo")
    assert real.page.area.n_measured == 0
