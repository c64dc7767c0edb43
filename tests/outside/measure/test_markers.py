"""Our marker reader against cv2.aruco, on drawn cards and on real photos."""

import tomllib
from pathlib import Path

import cv2
import numpy as np
import pytest

from boxside.core.measure import card_geometry, card_pdf
from boxside.core.measure.card import BITS, CODES, VARIANTS
from boxside.core.measure.fit import fit_card
from boxside.core.measure.markers import find_markers
from boxside.core.measure.plane import project, unbend
from tests.core.measure.render import render
from tests.outside.measure.photos import photo

CHECKS = tomllib.loads((Path(__file__).parents[3] / "shared/checks/measure.toml").read_text())
aruco = pytest.importorskip("cv2.aruco")


def dictionary_codes(name, bits):
    """A dictionary of cv2.aruco as our code table."""
    book = aruco.getPredefinedDictionary(getattr(aruco, name))
    out = {}
    for marker in range(book.bytesList.shape[0]):
        cell = 10
        image = aruco.generateImageMarker(book, marker, (bits + 2) * cell, borderBits=1)
        grid = image[cell // 2 :: cell, cell // 2 :: cell][1:-1, 1:-1] > 127
        out[marker] = int("".join("1" if b else "0" for b in grid.ravel()), 2)
    return out


def aruco_corners(grey, name):
    detector = aruco.ArucoDetector(aruco.getPredefinedDictionary(getattr(aruco, name)), aruco.DetectorParameters())
    corners, ids, _ = detector.detectMarkers(grey)
    return {} if ids is None else {int(i): c[0] for i, c in zip(ids.ravel(), corners, strict=True)}


def test_the_cards_bits_match_garrido_jurado_2014():
    book = dictionary_codes("DICT_4X4_50", BITS)
    assert {k: book[k] for k in CODES} == CODES


@pytest.mark.parametrize("seed", [2, 6, 11])
def test_our_reader_finds_what_aruco_finds_on_rendered_cards_as_garrido_jurado_2014(seed):
    grey = cv2.cvtColor(render(seed, "isolated", paper=9.0).rgb, cv2.COLOR_RGB2GRAY)
    theirs = {k: c for k, c in aruco_corners(grey, "DICT_4X4_50").items() if k in CODES}
    ours = find_markers(grey, CODES)
    assert set(ours) == set(theirs)
    assert len(ours) == 4
    for marker, corners in theirs.items():
        assert np.hypot(*(ours[marker].corners_px - corners).T).max() < 2.5


def test_the_loose_markers_match_opencv_doc_2022():
    grey = cv2.cvtColor(photo("markers/singlemarkersoriginal.jpg"), cv2.COLOR_RGB2GRAY)
    found = find_markers(grey, dictionary_codes("DICT_6X6_250", 6), bits=6, wrong_bits=2)
    assert sorted(found) == CHECKS["loose_markers"]["ids"]


def test_the_marker_sheet_matches_opencv_doc_2022():
    check = CHECKS["marker_sheet"]
    grey = cv2.cvtColor(photo("markers/choriginal.jpg"), cv2.COLOR_RGB2GRAY)
    theirs = aruco_corners(grey, "DICT_6X6_250")
    found = find_markers(grey, dictionary_codes("DICT_6X6_250", 6), bits=6, wrong_bits=2)
    assert len(theirs) == check["markers"]
    assert set(theirs) <= set(found)
    centres = np.array([found[k].corners_px.mean(axis=0) for k in range(check["markers"])])
    places = np.array([sheet_place(k) for k in range(check["markers"])]) * check["square_mm"]
    outer = [0, 1, 15, 16]
    onto, _ = cv2.findHomography(centres[outer], places[outer])
    seen = project(onto, centres)
    pairs = [(i, j) for i in range(17) for j in range(i) if not {i, j} <= set(outer)]
    true = np.array([np.hypot(*(places[i] - places[j])) for i, j in pairs])
    got = np.array([np.hypot(*(seen[i] - seen[j])) for i, j in pairs])
    assert np.sqrt(np.mean((got / true - 1) ** 2)) < check["rms_frac"]


def sheet_place(k):
    """The square (column, row) of a marker on a sheet of 5 x 7 squares whose white ones carry markers."""
    row, rest = 0, k
    while True:
        columns = [c for c in range(5) if (row + c) % 2 == 1]
        if rest < len(columns):
            return columns[rest], row
        rest -= len(columns)
        row += 1


@pytest.mark.parametrize("number", [1, 3, 5, 8, 12])
def test_the_lens_term_straightens_the_chessboard_of_opencv_doc_2022(number):
    grey = cv2.cvtColor(photo(f"markers/left{number:02d}.jpg"), cv2.COLOR_RGB2GRAY)
    ok, corners = cv2.findChessboardCorners(grey, (9, 6))
    assert ok
    corners = cv2.cornerSubPix(grey, corners, (5, 5), (-1, -1), (3, 40, 1e-3)).reshape(-1, 2).astype(float)
    grid = np.stack(np.meshgrid(np.arange(9.0), np.arange(6.0)), axis=-1).reshape(-1, 2)
    centre, radius = np.array([(grey.shape[1] - 1) / 2, (grey.shape[0] - 1) / 2]), np.hypot(*grey.shape) / 2
    squares = [[0, 2, 20, 18], [6, 8, 26, 24], [33, 35, 53, 51], [27, 29, 47, 45]]
    used = np.concatenate(squares)
    fit = fit_card(grid[used], corners[used], centre, float(radius))
    back = project(np.linalg.inv(fit.matrix), unbend(corners, centre, float(radius), fit.radial))
    plain, _ = cv2.findHomography(corners[[0, 8, 53, 45]], grid[[0, 8, 53, 45]])
    error = np.sqrt(np.mean((back - grid) ** 2))
    assert error < 0.7 * np.sqrt(np.mean((project(plain, corners) - grid) ** 2))
    assert error < 0.05


@pytest.mark.parametrize("variant", VARIANTS)
def test_the_printed_page_is_read_back_at_its_true_scale_by_aruco_as_garrido_jurado_2014(variant):
    per_mm = 6.0
    grey = painted(card_pdf(variant), per_mm)
    found = aruco_corners(grey, "DICT_4X4_50")
    for marker in card_geometry(variant).markers:
        want = (np.array(marker.corners_mm) + 20.0) * per_mm - 0.5
        assert np.abs(found[marker.id] - want).max() < 1.5


def painted(data, per_mm):
    """The page's rectangles painted: a reader of the two operators that the page uses, nothing more."""
    import re

    page = np.full((round(297 * per_mm), round(210 * per_mm)), 255, np.uint8)
    unit = per_mm * 25.4 / 72
    for shade, x, y, w, h in re.findall(r"(\S+) g (\S+) (\S+) (\S+) (\S+) re f", data.decode("latin-1")):
        left, low = float(x) * unit, 297 * per_mm - float(y) * unit
        top, right = low - float(h) * unit, left + float(w) * unit
        page[round(top) : max(round(low), round(top) + 1), round(left) : max(round(right), round(left) + 1)] = round(
            float(shade) * 255
        )
    return page
