"""Photo, Growth and the card on the real log: a rendered photo measured, corrected, booked and taken back by taps."""

from __future__ import annotations

import importlib
import json
import math
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from boxside.core.measure import calibrate, card_geometry
from boxside.core.measure.plane import to_mm, to_px
from tests.core.measure.render import Scene, render
from tests.ui.photo_hand import standing, touch
from tests.ui.test_real_log import kinds, real, services  # noqa: F401  fixtures

pytestmark = pytest.mark.screen
SEED = 2


@cache
def scene() -> Scene:
    """Return a small photo of the small card with five animals."""
    return render(SEED, "isolated", mp=0.8, plain=True, variant="pocket")


@pytest.fixture(scope="module")
def photo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("photos") / "tray.jpg"
    Image.fromarray(scene().rgb).save(path, quality=95)
    return path


@pytest.fixture
def larvae(real: Any) -> str:  # noqa: F811
    """Stand on the box of the demo with the most larvae; returns its id."""
    from boxside.actions.change_stage import stage_view
    from boxside.actions.show_shelf import shelf_view

    services = real.services  # noqa: F811
    rows = shelf_view(services, limit=99).rows

    def n_larvae(box_id: str) -> int:
        return sum(group.n for group in stage_view(services, box_id).groups if group.stage == "larva")

    best = max(rows, key=lambda row: n_larvae(row.box_id))
    real.shell.go("box", box_id=best.box_id, back_to="shelf")
    real.settle()
    return str(best.box_id)


def measure(driver: Any, path: Path) -> None:
    """Go from the box to Photo by a tap, and choose that photo."""
    driver.services.device.photos.chooser = lambda then: then(str(path))
    driver.page.measure(None)
    driver.settle()
    driver.tap("Choose")


def events(services: Any, box_id: str) -> list[Any]:  # noqa: F811
    """Return the events of a box that stand, oldest first, as they are in the log."""
    rows = services.store.rows(
        "SELECT kind, fields FROM event WHERE subject_id = ? AND kind IN ('photo', 'measured', 'count') "
        "AND id NOT IN (SELECT voids FROM event WHERE voids IS NOT NULL) ORDER BY row",
        (box_id,),
    )
    return [(kind, json.loads(fields)) for kind, fields in rows]


def test_a_photo_is_measured_corrected_booked_and_taken_back(real: Any, larvae: str, photo: Path) -> None:  # noqa: F811
    before = events(real.services, larvae)
    truth = sorted(larva.length for larva in scene().larvae)
    measure(real, photo)
    assert events(real.services, larvae) == before, "measuring saves nothing"
    rows = real.page.view.bodies
    assert sorted(row.body.length_mm for row in rows) == pytest.approx(truth, rel=0.06)
    assert f"{len(truth)} animals" in real.words()

    longest = max(rows, key=lambda row: row.body.length_mm)
    shortest = min(rows, key=lambda row: row.body.length_mm)
    touch(real, at_middle(longest))
    assert longest.id not in standing(real)
    assert f"{len(truth) - 1} animals" in real.words()
    real.tap("Add")
    touch(real, longest.midline_px[0], longest.midline_px[-1])
    added = real.page.touching.edits.rows[-1]
    assert added.body.length_mm == pytest.approx(longest.body.length_mm, rel=0.05)
    assert "Added" in real.words()
    real.tap("Drop")
    touch(real, at_middle(shortest))
    real.tap("Undo")
    assert shortest.id in standing(real)

    real.tap("Accept")
    real.tap("Lengths and the count")
    real.tap("No, some may hide")
    assert f"{len(truth)} lengths booked." in real.words()
    real.tap("Done")
    assert real.shell.here == "box"
    new = events(real.services, larvae)[len(before) :]
    assert [kind for kind, _ in new] == ["photo", "measured", "count"]
    (_, kept), (_, booked), (_, counted) = new
    assert booked["photo"] == counted["photo"] == kept["sha256"]
    assert (real.services.device.data_dir / "photos" / kept["sha256"][:2] / f"{kept['sha256']}.jpg").exists()
    assert sorted(row["length_mm"] for row in booked["bodies"]) == pytest.approx(truth, rel=0.06)
    assert [row.get("flags") for row in booked["bodies"]].count("by_hand") == 1
    assert counted["n"] == len(truth)
    assert counted["complete"] is False
    assert (booked["scale"], booked["bar_mm"], booked["stage"]) == ("card", 50.0, "larva")

    real.tap("Undo")
    assert events(real.services, larvae) == before
    assert kinds(real.services, larvae)[0] != "measured"


def at_middle(row: Any) -> tuple[float, float]:
    return tuple(row.midline_px[len(row.midline_px) // 2])


def test_booked_sizes_are_on_growth_and_the_kept_photo_can_be_measured_again(
    real: Any,  # noqa: F811
    larvae: str,
    photo: Path,
) -> None:
    measure(real, photo)
    n = len(real.page.view.bodies)
    digest = real.page.view.sha256
    real.tap("Accept")
    real.tap(f"{n} lengths")
    real.page.see_growth(None)
    real.settle()
    assert ("Measured", f"{n} on 2026-11-25") in real.page.view.numbers
    assert real.page.view.chart.series
    real.tap("Back")
    real.page.enlarge(next(path for path in real.page.view.photos if digest in str(path)))
    real.settle()
    real.tap("Measure")
    assert real.page.view.sha256 == digest, "the kept photo is measured as it is, not packed anew"
    assert len(real.page.view.bodies) == n
    real.tap("Accept")
    real.tap(f"{n} lengths")
    assert "booked before" in real.words()


def test_without_opencv_the_photo_is_kept_for_a_build_that_has_it(
    real: Any,  # noqa: F811
    larvae: str,
    photo: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    whole = importlib.import_module("boxside.core.measure.photo")
    monkeypatch.setattr(whole, "is_available", lambda: False)
    before = events(real.services, larvae)
    measure(real, photo)
    assert "larger build" in real.words()
    assert "The photo is kept." in real.words()
    assert [kind for kind, _ in events(real.services, larvae)[len(before) :]] == ["photo"]


def test_the_card_is_written_and_its_line_kept_in_the_log(real: Any) -> None:  # noqa: F811
    real.tap("More")
    real.tap("Settings")
    real.page.open_card(None)
    real.settle()
    real.tap("Card, A6")
    path = Path(real.services.device.data_dir) / "exports" / "measuring-card-a6.pdf"
    assert str(path) in real.words()
    assert path.read_bytes().startswith(b"%PDF-")
    real.tap("Close")
    real.page.ask_bar(None)
    real.settle()
    real.type("49.4")
    real.tap("Done")
    from boxside.actions.card import bar_mm, print_scale

    assert bar_mm(real.services) == pytest.approx(49.4)
    assert print_scale(real.services) == pytest.approx(0.988)
    assert real.page.bar_mm == pytest.approx(49.4)


def test_a_known_length_measures_a_photo_whose_card_is_cut_off(real: Any, larvae: str, tmp_path: Path) -> None:  # noqa: F811
    """The inside of the card's window alone: two taps on places whose distance the whole photo tells."""
    truth, path = scene(), tmp_path / "inside.png"
    cal, inside, corner = inside_of_window(truth)
    Image.fromarray(inside).save(path)
    measure(real, path)
    assert "The measuring card was not found." in real.words()
    assert not real.has("Accept")
    real.tap("Known length")
    rows, cols = inside.shape[:2]
    left, right = (0.1 * cols, 0.5 * rows), (0.9 * cols, 0.5 * rows)
    touch(real, left, right)
    real.tap("How long is it?")
    ends_mm = to_mm(cal, np.array([left, right]) + corner)
    real.type(f"{math.dist(*ends_mm):.1f}")
    real.tap("Done")
    lengths = sorted(row.body.length_mm for row in real.page.view.bodies if row.body.length_mm is not None)
    assert lengths[-1] == pytest.approx(max(larva.length for larva in truth.larvae), rel=0.08)
    assert "two taps on a known length" in real.page.view.scale_text
    error = [row.body.length_se_mm / row.body.length_mm for row in real.page.view.bodies if row.body.length_mm]
    assert min(error) > 0.02, "a scale from taps is stated with its larger error"


def inside_of_window(truth: Scene) -> tuple[Any, Any, tuple[int, int]]:
    """Return the whole photo's scale, the photo cut to the inside of the card's window, and where it was cut."""
    cal = calibrate(truth.rgb)
    left, top, right, bottom = card_geometry(truth.variant).window_mm
    corners = to_px(cal, np.array([(left, top), (right, top), (left, bottom), (right, bottom)]))
    (x0, y0), (x1, y1) = corners.min(axis=0).astype(int) + 12, corners.max(axis=0).astype(int) - 12
    return cal, np.ascontiguousarray(truth.rgb[y0:y1, x0:x1]), (int(x0), int(y0))
