"""A photo measured, and what a keeper changes about it before it is booked: nothing here is saved."""

from __future__ import annotations

import hashlib
import math
import re
from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from pathlib import Path

from boxside.actions import measure_words as words
from boxside.actions.card import bar_mm, print_scale
from boxside.actions.services import Services
from boxside.core.measure import (
    Plane,
    body_by_taps,
    calibrate_known,
    is_available,
    measure_photo,
    overlay,
    rectify,
    with_body,
)
from boxside.core.measure.photo import count_of
from boxside.core.measure.plane import to_px
from boxside.core.measure.refusals import refuse
from boxside.core.values.body import Body, Calibration, Count, Point, Refusal, Result
from boxside.core.values.errors import DeviceError, EntryError
from boxside.core.values.photo_view import BodyRow, Frame, MeasureView
from boxside.device.arrays import Pixels, array_of, png_of, read_array, repacked, shrunk
from boxside.device.written import write_file
from boxside.store import photos

Progress = Callable[[str, float], object]
"""Told what is being done, in words, and the share that is done, 0 to 1."""
Cancel = Callable[[], bool]
"""Asked between the steps whether to stop."""
Known = tuple[float, float, float, float, float]
"""x1, y1, x2, y2 in pixels of the upright photo, and their distance in mm."""

LONGEST_SHOWN_PX = 1600
LEAST_BODY_MM = 0.5
_STEPS = {"card": "Looking for the card", "plane": "Straightening the window", "bodies": "Measuring"}
_SCALE_HELPS = frozenset({"no_card", "hidden_marker", "bent", "print_scale", "taps"})
_DIGEST = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True, eq=False)
class Work:
    """What the actions need again: the upright photo, its bytes as kept, the plane, and the bodies by their ids.

    `picture` and `frame` are what is shown; they stay the same while bodies come and go.
    """

    pixels: Pixels
    data: bytes
    plane: Plane | None
    result: Result
    ids: tuple[int, ...]
    next_id: int
    bar_mm: float
    known: Known | None
    picture: bytes
    frame: Frame


def measure(
    services: Services,
    source: str,
    box_id: str = "",
    progress: Progress | None = None,
    cancel: Cancel | None = None,
    known: Known | None = None,
) -> MeasureView:
    """Measure a photo.

    Parameters
    ----------
    source : the sha256 of a photo that is kept, or the path of a file
    box_id : the box that shows on it, where it may be booked: the photo is then measured as it would be kept
    progress, cancel : told and asked between the steps
    known : two points a known distance apart, in place of the card

    Returns
    -------
    The view; a photo that is not measured says why and what to do.

    Raises
    ------
    DeviceError : for a file that is no readable photo; nothing was saved
    """
    pixels, data = _read(services, source, is_kept=bool(box_id))
    return _measured(services, pixels, data, box_id, (progress, cancel), known)


def _read(services: Services, source: str, is_kept: bool) -> tuple[Pixels, bytes]:
    """Return the photo's pixels, and its bytes as they are or would be kept."""
    if _DIGEST.fullmatch(source):
        path = photos.path_of(services.device.data_dir, source)
        try:
            data = path.read_bytes()
        except OSError as error:
            raise DeviceError(f"The kept photo is not there ({error.strerror}). Nothing was saved.") from error
        return array_of(data), data
    if not is_kept:
        return read_array(Path(source)), b""
    data = services.device.photos.read(Path(source)).data
    return array_of(data, Path(source).name), data


def _measured(
    services: Services,
    pixels: Pixels,
    data: bytes,
    box_id: str,
    watch: tuple[Progress | None, Cancel | None],
    known: Known | None,
) -> MeasureView:
    scale = _known_scale(pixels, known)
    if isinstance(scale, Refusal):
        result = Result(scale, None, Count(0, 0, 0), ())
    else:
        result = measure_photo(pixels, print_scale=print_scale(services), calibration=scale, progress=_watched(*watch))
    plane = None if result.refused or result.calibration is None else rectify(pixels, result.calibration)
    n = len(result.bodies)
    ids = tuple(range(1, n + 1))
    work = Work(pixels, data, plane, result, ids, n + 1, bar_mm(services), known, *_picture(pixels, plane))
    return _view(work, box_id)


def _known_scale(pixels: Pixels, known: Known | None) -> Calibration | Refusal | None:
    """Return the scale of two points, why they give none, or None without them."""
    if known is None:
        return None
    if not is_available():
        return refuse("no_opencv")
    rows, cols = pixels.shape[:2]
    x1, y1, x2, y2, mm = known
    if not all(0 <= x <= cols and 0 <= y <= rows for x, y in ((x1, y1), (x2, y2))):
        return refuse("taps")
    return calibrate_known(pixels, (x1, y1), (x2, y2), mm)


def drawn(view: MeasureView) -> bytes:
    """Return a view's picture as PNG with outlines, midlines and lengths drawn on it; as it is without a scale."""
    work = _work(view)
    return png_of(overlay(work.plane, work.result.bodies)) if work.plane is not None else view.picture


def write_picture(view: MeasureView, path: str) -> None:
    """Write a view's picture with its bodies drawn on it as PNG or JPEG, by the ending of the name.

    Raises
    ------
    EntryError : where it cannot be written
    """
    write_file(Path(path), repacked(drawn(view), Path(path).suffix.lower()))


def _watched(progress: Progress | None, cancel: Cancel | None) -> Callable[[str, float], bool]:
    def carry_on(what: str, share: float) -> bool:
        if progress is not None:
            progress(_STEPS.get(what, what), share)
        return cancel is None or not cancel()

    return carry_on


def calibrate_by_taps(
    services: Services,
    view: MeasureView,
    first: Point,
    second: Point,
    mm: float,
    progress: Progress | None = None,
    cancel: Cancel | None = None,
) -> MeasureView:
    """Measure the photo again by two taps on its picture that lie a known distance apart.

    Raises
    ------
    EntryError : if there is no picture to tap, or the distance is not above zero
    """
    work, frame = _work(view), view.frame
    if frame is None:
        raise EntryError("There is no picture to tap. Nothing was changed. Take the photo again.")
    if not (math.isfinite(mm) and 0 < mm <= 1000):
        raise EntryError(f"{mm:g} mm is no length to measure by. Nothing was changed.")
    (x1, y1), (x2, y2) = (_photo_px(work, frame, at) for at in (first, second))
    known = (x1, y1, x2, y2, mm)
    return _measured(services, work.pixels, work.data, view.box_id, (progress, cancel), known)


def _photo_px(work: Work, frame: Frame, at: Point) -> Point:
    """Return the pixel of the upright photo at a position on its picture."""
    cal = work.result.calibration
    if not frame.has_scale or cal is None:
        return frame.to_photo(at)
    import numpy as np

    ((x, y),) = to_px(cal, np.array([frame.to_mm(at)]))
    return float(x), float(y)


def drop_body(services: Services, view: MeasureView, body_id: str) -> MeasureView:
    """Leave out a body that is none, such as a crumb.

    Raises
    ------
    EntryError : if there is no such body
    """
    return drop_bodies(services, view, (body_id,))


def drop_bodies(services: Services, view: MeasureView, body_ids: Collection[str]) -> MeasureView:
    """Leave out several bodies at once; the view as it is where none is named.

    Raises
    ------
    EntryError : if one of them is not there
    """
    del services
    work = _work(view)
    gone = {_place(work, body_id) for body_id in body_ids}
    if not gone:
        return view
    bodies = tuple(body for k, body in enumerate(work.result.bodies) if k not in gone)
    result = replace(work.result, bodies=bodies, count=count_of(bodies))
    ids = tuple(one for k, one in enumerate(work.ids) if k not in gone)
    return _view(replace(work, result=result, ids=ids), view.box_id)


def add_body(services: Services, view: MeasureView, first: Point, second: Point) -> MeasureView:
    """Add an animal that was overlooked, by two taps on its tips.

    Raises
    ------
    EntryError : if the photo has no scale, or the taps lie too close together
    """
    del services
    work = _work(view)
    result = with_body(work.result, _tapped(view, work, first, second))
    ids = (*work.ids, work.next_id)
    return _view(replace(work, result=result, ids=ids, next_id=work.next_id + 1), view.box_id)


def move_end(services: Services, view: MeasureView, body_id: str, end: int, to: Point) -> MeasureView:
    """Move one end of a body (0 the first of its midline, 1 the last) and measure it again.

    Raises
    ------
    EntryError : if there is no such body or end, or its ends would lie too close together
    """
    del services
    work = _work(view)
    place = _place(work, body_id)
    line = view.bodies[place].midline_px
    if end not in (0, 1) or len(line) < 2:
        raise EntryError("That end cannot be moved. Nothing was changed. Leave the body out and add it by two taps.")
    tips = (to, line[-1]) if end == 0 else (line[0], to)
    result = with_body(work.result, _tapped(view, work, *tips), replacing=place)
    return _view(replace(work, result=result), view.box_id)


def _tapped(view: MeasureView, work: Work, first: Point, second: Point) -> Body:
    cal, frame = work.result.calibration, view.frame
    if work.plane is None or cal is None or frame is None:
        raise EntryError("This photo has no scale. Nothing was changed. Tap the ends of a known length first.")
    tips = frame.to_mm(first), frame.to_mm(second)
    if math.dist(*tips) < LEAST_BODY_MM:
        raise EntryError("The two taps lie too close together. Nothing was changed. Tap both tips of the animal.")
    return body_by_taps(work.plane, cal, *tips)


def _work(view: MeasureView) -> Work:
    if not isinstance(view.work, Work):
        raise EntryError("There is no measured photo here. Nothing was changed. Measure one first.")
    return view.work


def _place(work: Work, body_id: str) -> int:
    if not body_id.isdecimal() or int(body_id) not in work.ids:
        raise EntryError("There is no such animal on this photo. Nothing was changed.")
    return work.ids.index(int(body_id))


def _view(work: Work, box_id: str) -> MeasureView:
    result = work.result
    cal, plane, frame = result.calibration, work.plane, work.frame
    refusal = result.refused
    rows = tuple(
        _row(frame, one, n, body) for n, (one, body) in enumerate(zip(work.ids, result.bodies, strict=True), 1)
    )
    return MeasureView(
        sha256=hashlib.sha256(work.data).hexdigest() if work.data else "",
        box_id=box_id,
        picture=work.picture,
        frame=frame,
        bodies=rows if plane is not None else (),
        count=result.count,
        count_text="" if refusal else words.count_text(result.count),
        scale_text=words.scale_text(cal) if cal is not None else "",
        summary="" if refusal else words.summary_text(result.bodies),
        refused=refusal.reason if refusal else "",
        notice=words.refusal_notice(refusal) if refusal else None,
        can_calibrate=refusal is not None and refusal.reason in _SCALE_HELPS,
        limits=words.LIMITS,
        result=result,
        work=work,
    )


def _picture(pixels: Pixels, plane: Plane | None) -> tuple[bytes, Frame]:
    """Return what is shown: the window from straight above, else the photo itself."""
    if plane is not None:
        rows, cols = plane.rgb.shape[:2]
        return png_of(plane.rgb), Frame(cols, rows, plane.px_per_mm, plane.origin_mm)
    small = shrunk(pixels, LONGEST_SHOWN_PX)
    rows, cols = small.shape[:2]
    return png_of(small), Frame(cols, rows, 0.0, (0.0, 0.0), pixels.shape[1] / cols)


def _row(frame: Frame, one: int, number: int, body: Body) -> BodyRow:
    return BodyRow(
        id=str(one),
        number=number,
        body=body,
        size=words.size_text(body),
        detail=words.detail_text(body),
        why=words.why_text(body),
        midline_px=tuple(frame.to_px(at) for at in body.midline_mm),
        outline_px=tuple(frame.to_px(at) for at in body.outline_mm),
    )
