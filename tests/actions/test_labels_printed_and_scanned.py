"""Labels: what is printed is read again from a photo of the page, and leads to its box."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from boxside.actions.print_labels import labels_bytes, modules_of
from boxside.actions.scan_label import codes_in, scan_label
from boxside.core.values.errors import EntryError
from boxside.device import fake
from tests.actions.keeping import Keeper
from tests.core.tables.test_sheet_pdf import objects, pages_of

cv2 = pytest.importorskip("cv2", reason="OpenCV is not installed here")

PAGE_PT = (595, 842)
DPI = 200


def drawn(pdf: bytes, page: int = 0) -> np.ndarray:
    """A page as a picture: the filled rectangles of its content, drawn here; its text is left out."""
    contents = [body for body in objects(pdf).values() if b"stream\n" in body]
    scale = DPI / 72
    picture = np.full((round(PAGE_PT[1] * scale), round(PAGE_PT[0] * scale)), 255, np.uint8)
    number = rb"(-?[\d.]+)"
    for found in re.finditer(rb"%s %s %s %s re f" % (number, number, number, number), contents[page]):
        x, y, w, h = (float(one) * scale for one in found.groups())
        top = picture.shape[0] - y - h
        picture[round(top) : round(top + h), round(x) : round(x + w)] = 0
    return picture


def photo_of(label: np.ndarray, rnd: np.random.Generator) -> np.ndarray:
    """A label as a phone sees it in a dim room: from aside, uneven light, noise, a little blur."""
    height, width = label.shape
    corners = np.float32([[0, 0], [width, 0], [width, height], [0, height]])
    seen = corners + rnd.uniform(0, 0.08 * min(label.shape), corners.shape).astype(np.float32) + 60
    turn = cv2.getPerspectiveTransform(corners, seen.astype(np.float32))
    picture = cv2.warpPerspective(label, turn, (width + 160, height + 160), borderValue=200).astype(float)
    picture *= np.linspace(0.35, 0.7, picture.shape[1])
    picture = cv2.GaussianBlur(picture, (0, 0), 1.0) + rnd.normal(0, 5, picture.shape)
    return np.clip(picture, 0, 255).astype(np.uint8)


def jpeg(picture: np.ndarray) -> bytes:
    is_done, data = cv2.imencode(".jpg", picture)
    assert is_done
    return bytes(data)


def nth_label(page: np.ndarray, n: int) -> np.ndarray:
    """Cut the n-th label out of a page."""
    mm = DPI / 25.4
    left, top = (12 + 62 * (n % 3)) * mm, (18 + 29 * (n // 3)) * mm
    offset = page.shape[0] - 842 * DPI / 72
    return page[round(top + offset) : round(top + 29 * mm), round(left) : round(left + 62 * mm)]


def with_boxes(keeper: Keeper, *codes: str) -> None:
    for code in codes:
        keeper.add(code, n=3, instar=1, fed="today")


def test_every_label_of_a_printed_page_is_read_from_a_photo_of_it(keeper: Keeper) -> None:
    codes = [f"B{n:02d}" for n in range(1, 13)] + ["A", "SHELF 2-A", "longest code"]
    with_boxes(keeper, *codes)
    pdf = labels_bytes(keeper.services)
    page, rnd = drawn(pdf), np.random.default_rng(4)
    texts = [text for text in pages_of(pdf)[0] if text]
    assert sorted(texts) == sorted(codes)
    read = [codes_in(jpeg(photo_of(nth_label(page, n), rnd))) for n in range(len(codes))]
    assert read == [{text} for text in texts]


def test_a_third_of_a_dirty_symbol_is_made_up_for(keeper: Keeper) -> None:
    with_boxes(keeper, "B01")
    label = nth_label(drawn(labels_bytes(keeper.services)), 0).copy()
    side = round(25 * DPI / 25.4)
    middle = label.shape[1] - side // 2 - round(2 * DPI / 25.4)
    label[label.shape[0] // 2 - 14 : label.shape[0] // 2 + 14, middle - 14 : middle + 14] = 128
    assert codes_in(jpeg(label)) == {"B01"}


def test_a_scanned_label_leads_to_its_box(keeper: Keeper, tmp_path: Path) -> None:
    with_boxes(keeper, "B01", "B02")
    page = drawn(labels_bytes(keeper.services))
    for n in range(2):
        path = tmp_path / f"{n}.jpg"
        path.write_bytes(jpeg(nth_label(page, n)))
        box = scan_label(keeper.services, str(path))
        assert keeper.services.store.row("SELECT label FROM entity WHERE id = ?", (box,)) == (f"B0{n + 1}",)


@pytest.mark.parametrize(
    ("what", "said"),
    [("blank", "No label is seen"), ("other", "No open box has the code"), ("two", "labels of B01 and B02")],
)
def test_a_photo_that_leads_nowhere_is_refused(keeper: Keeper, tmp_path: Path, what: str, said: str) -> None:
    with_boxes(keeper, "B01", "B02")
    page = drawn(labels_bytes(keeper.services))
    pictures: dict[str, Any] = {
        "blank": np.full((400, 400), 255, np.uint8),
        "other": symbol("X99"),
        "two": np.hstack([nth_label(page, 0), nth_label(page, 1)]),
    }
    (tmp_path / "photo.jpg").write_bytes(jpeg(pictures[what]))
    with pytest.raises(EntryError, match=said):
        scan_label(keeper.services, str(tmp_path / "photo.jpg"))


def symbol(code: str) -> np.ndarray:
    """A symbol alone, with its quiet zone."""
    modules = np.array(modules_of(code))
    return np.kron(np.pad(np.where(modules, 0, 255), 4, constant_values=255), np.ones((10, 10))).astype(np.uint8)


def test_more_boxes_than_a_page_holds_go_on_to_the_next(keeper: Keeper) -> None:
    codes = [f"B{n:02d}" for n in range(1, 30)]
    with_boxes(keeper, *codes)
    assert [len([text for text in page if text]) for page in pages_of(labels_bytes(keeper.services))] == [27, 2]


def test_named_boxes_only_and_none_at_all(keeper: Keeper) -> None:
    with pytest.raises(EntryError, match="There is no box yet"):
        labels_bytes(keeper.services)
    with_boxes(keeper, "B01", "B02")
    assert pages_of(labels_bytes(keeper.services, ["B02"])) == [["B02"]]
    with pytest.raises(EntryError, match="no box 'B09'"):
        labels_bytes(keeper.services, ["B09"])
    assert isinstance(keeper.services.device.photos, fake.FakePhotos)
