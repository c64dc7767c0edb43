"""card, measure, growth from a shell: shapes of the JSON, refusals with status 0, bad options with status 2."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from boxside.core.measure import card_geometry
from tests.actions.photo_scenes import lengths, scene, write_scene
from tests.cli.conftest import Shell

BODY = {
    "number", "status", "flags", "length_mm", "length_se_mm", "width_mm", "width_se_mm", "head_width_mm", "n",
    "midline_mm", "outline_mm",
}  # fmt: skip


def lines(out: str) -> list[dict[str, Any]]:
    return [json.loads(line) for line in out.splitlines()]


# ---- card -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("size", "width", "height"), [("a6", 148.0, 105.0), ("card", 85.6, 54.0)])
def test_the_card_says_where_its_window_and_markers_lie(shell: Shell, size: str, width: float, height: float) -> None:
    """A6 is 105 x 148 mm (ISO 216), a bank card 85.60 x 53.98 mm (ISO/IEC 7810, ID-1); ours is cut to 54."""
    data = shell.ok("card", "--json", "--size", size).data
    assert (data["size"], data["card_mm"]) == (size, {"width": width, "height": height})
    window = data["window_mm"]
    assert 0 < window["left"] < window["right"] < width
    assert 0 < window["top"] < window["bottom"] < height
    assert window["right"] - window["left"] == pytest.approx(window["width"])
    assert len({marker["id"] for marker in data["markers"]}) == 4
    for marker in data["markers"]:
        assert len(marker["corners_mm"]) == 4
    assert data["check_bar_mm"]["length"] == 50.0
    assert shell.kept()["files"] == []


def test_the_card_is_a_page_at_true_scale(shell: Shell, tmp_path: Path) -> None:
    """The page is A4 in points, and a filled rectangle on it is 50.0 mm wide: 141.7323 points."""
    shell.ok("card", "--out", str(tmp_path / "card.pdf"))
    page = (tmp_path / "card.pdf").read_bytes()
    assert page.startswith(b"%PDF-1.4")
    assert b"/MediaBox [0 0 595.2756 841.8898]" in page
    widths = [float(line.split()[4]) for line in page.split(b"\n") if line.endswith(b" re f")]
    assert pytest.approx(min(widths, key=lambda w: abs(w - 141.7323)), abs=1e-3) == 50.0 * 72 / 25.4


def test_what_the_check_line_measures_is_kept_and_used(shell: Shell, tmp_path: Path) -> None:
    path = str(write_scene(tmp_path / "a.jpg"))
    before = lines(shell.ok("measure", path, "--json").out)[0]
    assert "49 mm" in shell.ok("card", "--bar-mm", "49").out
    assert shell.ok("card", "--json").data["check_bar_mm"]["measured"] == 49.0
    after = lines(shell.ok("measure", path, "--json").out)[0]
    longest = [max(body["length_mm"] for body in photo["bodies"]) for photo in (before, after)]
    assert longest[1] == pytest.approx(longest[0] * 0.98, rel=0.01)


@pytest.mark.parametrize(
    "words",
    [(), ("--size", "a4", "--json"), ("--bar-mm", "70"), ("--bar-mm", "wide"), ("--out", "/nowhere/at/all.pdf"),
     ("--out", ".")],
)  # fmt: skip
def test_a_card_that_cannot_be_made_is_refused_in_one_line(shell: Shell, words: tuple[str, ...]) -> None:
    answer = shell("card", *words)
    assert (answer.status, answer.out) == (2, "")
    assert answer.err.count("\n") == 1


# ---- measure ----------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Photos that nobody changes."""
    folder = tmp_path_factory.mktemp("photos")
    write_scene(folder / "good.jpg")
    write_scene(folder / "tilted.jpg", 40, bad="tilt")
    Image.fromarray(scene().rgb[500:800, 500:900]).save(folder / "cardless.png")
    (folder / "broken.jpg").write_bytes((folder / "good.jpg").read_bytes()[:40_000])
    (folder / "text.jpg").write_text("no photo", encoding="utf-8")
    return folder


def test_a_photo_is_one_line_of_json(shell: Shell, folder: Path) -> None:
    answer = shell.ok("measure", str(folder / "good.jpg"), "--json")
    (photo,) = lines(answer.out)
    truth = lengths()
    assert photo["refused"] is None
    assert photo["photo"] == str(folder / "good.jpg")
    assert photo["scale"]["mm_per_px"] > 0
    assert 0 < photo["scale"]["mm_per_px_se"] < 0.01 * photo["scale"]["mm_per_px"]
    assert photo["scale"]["tilt_deg"] == pytest.approx(scene().facts["tilt"], abs=2)
    assert photo["count"]["low"] <= photo["count"]["best"] == len(truth) <= photo["count"]["high"]
    assert sorted(body["length_mm"] for body in photo["bodies"]) == pytest.approx(truth, rel=0.04)
    left, top, right, bottom = card_geometry(scene().variant).window_mm
    for body in photo["bodies"]:
        assert set(body) == BODY
        assert body["status"] in ("measured", "doubtful", "refused")
        line = np.array(body["midline_mm"])
        assert np.hypot(*np.diff(line, axis=0).T).sum() == pytest.approx(body["length_mm"], rel=0.02)
        for x, y in body["outline_mm"]:
            assert left - 1 < x < right + 1
            assert top - 1 < y < bottom + 1


def test_a_body_lies_where_it_was_laid_on_the_card(shell: Shell, folder: Path) -> None:
    """Card coordinates: the ends of the longest midline are those of the longest animal of the scene."""
    (photo,) = lines(shell.ok("measure", str(folder / "good.jpg"), "--json").out)
    body = max(photo["bodies"], key=lambda body: body["length_mm"])
    animal = max(scene().larvae, key=lambda larva: larva.length)
    seen, true = np.array(body["midline_mm"])[[0, -1]], animal.line[[0, -1]]
    assert min(np.abs(seen - true).max(), np.abs(seen[::-1] - true).max()) < 0.5


def test_each_photo_has_its_line_and_refusals_end_with_status_0(shell: Shell, folder: Path) -> None:
    names = ["tilted.jpg", "broken.jpg", "text.jpg", "cardless.png", "good.jpg"]
    found = lines(shell.ok("measure", *(str(folder / name) for name in names), "--json").out)
    assert [Path(photo["photo"]).name for photo in found] == names
    reasons = [photo["refused"] for photo in found]
    assert reasons[0] in ("tilt", "small", "no_card")
    assert reasons[1:] == ["unreadable", "unreadable", "no_card", None]
    for photo in found[:4]:
        assert photo["bodies"] == []
        assert photo["count"] == {"best": None, "low": None, "high": None}
        assert photo["say"]
    keys = {"photo", "refused", "say", "scale", "count", "bodies"}
    assert [set(photo) for photo in found] == [keys] * len(names)


def test_in_words_it_says_the_same(shell: Shell, folder: Path) -> None:
    answer = shell.ok("measure", str(folder / "good.jpg"), str(folder / "tilted.jpg"), str(folder / "text.jpg"))
    assert f"good.jpg: {len(lengths())} animals" in answer.out
    assert " mm a pixel" in answer.out
    assert "tilted.jpg: not measured. " in answer.out
    assert "text.jpg: not measured. text.jpg cannot be read as a photo" in answer.out


@pytest.mark.parametrize("how", ["turned", "grey", "deep", "alpha"])
def test_photos_of_every_make_are_measured_alike(shell: Shell, tmp_path: Path, how: str) -> None:
    rgb = scene().rgb
    image = Image.fromarray(rgb)
    path = tmp_path / "a.png"
    if how == "turned":
        notes = Image.Exif()
        notes[0x0112] = 6
        image.transpose(Image.Transpose.ROTATE_90).save(path, exif=notes)
    elif how == "grey":
        image.convert("L").save(path)
    elif how == "deep":
        Image.fromarray(np.asarray(image.convert("L")).astype(np.uint16) * 257).save(path)
    else:
        image.putalpha(255)
        image.save(path)
    (photo,) = lines(shell.ok("measure", str(path), "--json").out)
    assert photo["refused"] is None
    assert max(body["length_mm"] for body in photo["bodies"]) == pytest.approx(max(lengths()), rel=0.04)


@pytest.mark.parametrize("ending", ["png", "jpg"])
def test_the_overlay_is_a_picture_of_the_window(shell: Shell, folder: Path, tmp_path: Path, ending: str) -> None:
    shell.ok("measure", str(folder / "good.jpg"), "--overlay", str(tmp_path / f"o.{ending}"))
    left, top, right, bottom = card_geometry(scene().variant).window_mm
    with Image.open(tmp_path / f"o.{ending}") as image:
        image.load()
        assert image.format == {"png": "PNG", "jpg": "JPEG"}[ending]
        assert image.width / image.height == pytest.approx((right - left) / (bottom - top), rel=0.02)


def test_of_a_refused_photo_no_overlay_is_written(shell: Shell, folder: Path, tmp_path: Path) -> None:
    answer = shell("measure", str(folder / "tilted.jpg"), "--overlay", str(tmp_path / "o.png"), "--json")
    assert answer.status == 0
    assert "no overlay was written" in answer.err
    assert not (tmp_path / "o.png").exists()


def test_a_known_length_takes_the_place_of_the_card(shell: Shell, folder: Path) -> None:
    """Two corners of one marker, whose side is known: 12 mm on the small card."""
    from boxside.core.measure import calibrate

    cal = calibrate(scene().rgb)
    (x1, y1), (x2, y2) = cal.corners_px[0], cal.corners_px[5]  # type: ignore[union-attr]
    markers = card_geometry(scene().variant).markers
    span = markers[1].corners_mm[1][0] - markers[0].corners_mm[0][0]
    known = f"{x1},{y1},{x2},{y2},{span}"
    (photo,) = lines(shell.ok("measure", str(folder / "good.jpg"), "--known-mm", known, "--json").out)
    assert (photo["refused"], photo["scale"]["from"], photo["scale"]["card"]) == (None, "taps", None)
    assert photo["scale"]["tilt_deg"] is None
    assert photo["scale"]["mm_per_px"] == pytest.approx(cal.mm_per_px, rel=0.03)  # type: ignore[union-attr]
    assert photo["scale"]["mm_per_px_se"] > 0.015 * photo["scale"]["mm_per_px"]


@pytest.mark.parametrize(
    "words",
    [
        (), ("missing.jpg",), ("{good}", "missing.jpg"), ("{good}", "--colour", "red"),
        ("{good}", "--known-mm", "1,2,3"), ("{good}", "--known-mm", "1,2,3,4,x"),
        ("{good}", "--known-mm", "1,2,3,4,-5"),
        ("{good}", "--known-mm", "1,2,1,2,5"), ("{good}", "--known-mm", "1,2,nan,4,5"),
        ("{good}", "{good}", "--known-mm", "1,2,300,4,5"), ("{good}", "{good}", "--overlay", "o.png"),
        ("{good}", "--overlay", "o.txt"), ("{good}", "--overlay", "/nowhere/at/all.png"), ("{good}", "--count"),
        ("{good}", "--box", "B99"), ("{good}", "--box", "B01", "--complete"),
    ],
)  # fmt: skip
def test_options_that_do_not_fit_are_refused_in_one_line(small: Shell, folder: Path, words: tuple[str, ...]) -> None:
    before = small.kept()
    answer = small("measure", *(word.format(good=folder / "good.jpg") for word in words))
    assert (answer.status, answer.out) == (2, "")
    assert answer.err.count("\n") == 1
    assert small.kept() == before


def test_measuring_alone_books_nothing(small: Shell, folder: Path) -> None:
    before = small.kept()
    small.ok("measure", str(folder / "good.jpg"), str(folder / "broken.jpg"))
    assert small.kept() == before


def test_with_a_box_it_is_booked_and_can_be_taken_back(small: Shell, folder: Path) -> None:
    answer = small.ok("measure", str(folder / "good.jpg"), "--box", "B01", "--count", "--json")
    (photo,) = lines(answer.out)
    assert len(photo["events"]) == 3
    kept = small.kept()
    assert len(kept["files"]) == 1
    assert "4 on 2026-05-03" in small.ok("growth", "B01").out
    data = small.ok("growth", "B01", "--json").data
    assert sum(guess["n"] for guess in data["instars"]) == 4
    for kind in ("count", "measured", "photo"):
        assert f"Taken back: {kind}" in small.ok("undo").out
    assert "Nothing yet" in small.ok("growth", "B01").out


def test_a_refused_photo_is_not_booked(small: Shell, folder: Path) -> None:
    before = small.kept()
    for name in ("tilted.jpg", "broken.jpg", "text.jpg"):
        assert small("measure", str(folder / name), "--box", "B01").status == 0
    assert small.kept() == before


def test_growth_of_nothing_in_particular_is_refused(small: Shell) -> None:
    for words in ((), ("B01", "--cohort", "x"), ("--cohort", "nobody"), ("B99",)):
        answer = small("growth", *words)
        assert (answer.status, answer.err.count("\n")) == (2, 1)
