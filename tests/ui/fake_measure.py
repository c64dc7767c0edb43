"""Measured photos of the invented colony: views as the actions would return them, and what was called.

`services.settings["photo"]` chooses what measuring finds: full (the usual), nothing, crowded, or the key of a refusal.
"""

from __future__ import annotations

import io
import math
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image, ImageDraw

from boxside.actions import measure_words as words
from boxside.core.measure.card import CHECK_BAR_MM, card_geometry
from boxside.core.measure.refusals import refuse
from boxside.core.values.body import Body, BodyStatus, Calibration, Count, Flag, Point
from boxside.core.values.chart import Chart, Dots, QuartileBox, Role, Steps, number_axis
from boxside.core.values.errors import EntryError
from boxside.core.values.photo_view import (
    Advice,
    BodyRow,
    CardView,
    Frame,
    GrowthView,
    InstarGuess,
    MeasureDone,
    MeasureView,
    PaceRow,
)
from boxside.core.values.season import CountResult, Flow
from boxside.core.values.views import Saved, Undo
from tests.ui.fake_colony import Services, fail_if_told

PX_PER_MM = 8.0
SIZE = (720, 520)
FRAME = Frame(*SIZE, PX_PER_MM, (0.0, 0.0))
# Head, tail, half width, all in mm of the window.
LARVAE = (
    ((8, 8), (20, 12), 1.6), ((30, 6), (44, 9), 1.9), ((60, 9), (70, 20), 1.5), ((12, 26), (14, 38), 1.4),
    ((34, 24), (47, 33), 1.7), ((66, 30), (78, 28), 1.6), ((10, 52), (24, 54), 1.8), ((44, 48), (47, 61), 1.6),
    ((64, 46), (76, 56), 1.9),
)  # fmt: skip
CLUMP, DOUBTFUL = 4, 7


def body_between(first: Point, second: Point, half_mm: float = 1.6, number: int = 0) -> Body:
    """Return a straight body with its tips at two places, in mm."""
    length = math.dist(first, second)
    ux, uy = (second[0] - first[0]) / length, (second[1] - first[1]) / length
    line = tuple((first[0] + ux * length * t / 8, first[1] + uy * length * t / 8) for t in range(9))
    side = [half_mm * math.sin(math.pi * (t + 0.7) / 9.4) for t in range(9)]
    left = [(x - uy * w, y + ux * w) for (x, y), w in zip(line, side, strict=True)]
    right = [(x + uy * w, y - ux * w) for (x, y), w in zip(line, side, strict=True)]
    status, flags = BodyStatus.MEASURED, ()
    if number == DOUBTFUL:
        status, flags = BodyStatus.DOUBTFUL, (Flag.CURLED, Flag.PALE)
    found = Body(
        status, flags, length, length * 0.012, 2 * half_mm, 0.06, half_mm * 0.7, 0.04, line, (*left, *right[::-1])
    )
    if number == CLUMP:
        return replace(found, status=BodyStatus.REFUSED, flags=(Flag.CLUMP,), length_mm=None, width_mm=None,
                       head_width_mm=None, n_low=2, n_best=2, n_high=3)  # fmt: skip
    return found


@cache
def picture(is_window: bool = True) -> bytes:
    """Return a drawn window with its larvae as PNG: pale paper, green moss, dark bodies, some of every colour."""
    across, down = np.meshgrid(np.arange(SIZE[0]), np.arange(SIZE[1]))
    grain = 8 * np.sin(across / 7.0) * np.cos(down / 11.0)
    ground = np.stack([232 + grain, 226 + grain, 205 + grain - across / 30], axis=-1).clip(0, 255).astype(np.uint8)
    image = Image.fromarray(ground)
    draw = ImageDraw.Draw(image)
    draw.ellipse((560, 330, 720, 520), fill=(96, 142, 74))
    for first, second, half in LARVAE:
        body = body_between(first, second, half)
        draw.polygon([FRAME.to_px(at) for at in body.outline_mm], fill=(38, 33, 29))
    if not is_window:
        draw.rectangle((40, 470, 240, 500), fill=(200, 60, 40))
    kept = io.BytesIO()
    image.save(kept, "PNG")
    return kept.getvalue()


def calibration(how: str = "card") -> Calibration:
    """Return a scale from the card, or from two taps."""
    error = 0.0022 if how == "card" else 0.021
    return Calibration(
        how, "a6" if how == "card" else "", (0.0, 0.0, 90.0, 65.0), (8.0, 0, 0, 0, 8.0, 0, 0, 0, 1.0), (360.0, 260.0),
        440.0, 0.0, (520, 720), 1 / PX_PER_MM, error, 4.0 if how == "card" else None, None, 0.02, None,
    )  # fmt: skip


def _rows(bodies: dict[str, Body]) -> tuple[BodyRow, ...]:
    return tuple(
        BodyRow(
            one, number, body, words.size_text(body), words.detail_text(body), words.why_text(body),
            tuple(FRAME.to_px(at) for at in body.midline_mm), tuple(FRAME.to_px(at) for at in body.outline_mm),
        )
        for number, (one, body) in enumerate(bodies.items(), 1)
    )  # fmt: skip


def _view(box_id: str, bodies: dict[str, Body], how: str) -> MeasureView:
    all_of_it = tuple(bodies.values())
    count = Count(*(sum(getattr(body, n) for body in all_of_it) for n in ("n_best", "n_low", "n_high")))
    return MeasureView(
        "f" * 64, box_id, picture(), FRAME, _rows(bodies), count, words.count_text(count),
        words.scale_text(calibration(how)), words.summary_text(all_of_it), limits=words.LIMITS,
        work=(dict(bodies), how),
    )  # fmt: skip


def refused_view(box_id: str, reason: str) -> MeasureView:
    """Return a photo that is refused for a reason."""
    why = refuse(reason)
    frame = Frame(*SIZE, 0.0, (0.0, 0.0), 4.0)
    return MeasureView(
        "f" * 64, box_id, picture(False), frame, (), Count(0, 0, 0), "", "", "", reason, words.refusal_notice(why),
        reason in ("no_card", "taps"), words.LIMITS, work=({}, ""),
    )  # fmt: skip


def _larvae(which: str) -> dict[str, Body]:
    if which == "nothing":
        return {}
    found = [body_between(a, b, half, number) for number, (a, b, half) in enumerate(LARVAE)]
    if which == "crowded":
        found += [body_between((4 + 6 * (i % 14), 4 + 15 * (i // 14)), (8 + 6 * (i % 14), 9 + 15 * (i // 14)), 0.8)
                  for i in range(56)]  # fmt: skip
    return {str(number): body for number, body in enumerate(found, 1)}


def measure(
    services: Services, source: str, box_id: str = "", progress: Any = None, cancel: Any = None, known: Any = None
) -> MeasureView:
    """Measure what the settings choose."""
    services.asked.append(("measure", (source, box_id)))
    fail_if_told(services)
    for share, what in ((0.0, "Looking for the card"), (0.6, "Measuring")):
        progress(what, share)
        if cancel():
            return refused_view(box_id, "cancelled")
    which = services.settings.get("photo", "full")
    if which in ("full", "nothing", "crowded"):
        return _view(box_id, _larvae(which), "card")
    return refused_view(box_id, which)


def calibrate_by_taps(
    services: Services, view: MeasureView, first: Point, second: Point, mm: float, progress: Any, cancel: Any
) -> MeasureView:
    """Measure by two taps."""
    services.asked.append(("calibrate_by_taps", (first, second, mm)))
    if math.dist(first, second) < 30:
        return refused_view(view.box_id, "taps")
    return _view(view.box_id, _larvae("full"), "taps")


def drop_bodies(services: Services, view: MeasureView, body_ids: Any) -> MeasureView:
    """Leave bodies out."""
    bodies, how = view.work  # type: ignore[misc]
    return _view(view.box_id, {one: body for one, body in bodies.items() if one not in body_ids}, how)


def add_body(services: Services, view: MeasureView, first: Point, second: Point) -> MeasureView:
    """Add a body by its two tips."""
    services.asked.append(("add_body", (first, second)))
    tips = FRAME.to_mm(first), FRAME.to_mm(second)
    if math.dist(*tips) < 0.5:
        raise EntryError("The two taps lie too close together. Nothing was changed. Tap both tips of the animal.")
    bodies, how = view.work  # type: ignore[misc]
    added = replace(body_between(*tips), flags=(Flag.BY_HAND,))
    return _view(view.box_id, {**bodies, str(1 + max(map(int, bodies), default=0)): added}, how)


def move_end(services: Services, view: MeasureView, body_id: str, end: int, to: Point) -> MeasureView:
    """Move an end of a body."""
    services.asked.append(("move_end", (body_id, end, to)))
    bodies, how = view.work  # type: ignore[misc]
    line = bodies[body_id].midline_mm
    tips = (FRAME.to_mm(to), line[-1]) if end == 0 else (line[0], FRAME.to_mm(to))
    return _view(view.box_id, {**bodies, body_id: replace(body_between(*tips), flags=(Flag.BY_HAND,))}, how)


def _flow(services: Services, label: str, *events: str) -> Flow:
    return Flow(Saved(events[0], Undo(events[0], label), None), events)


def accept(
    services: Services, view: MeasureView, also_count: bool, complete: bool, cohort: str, stage: str, visit: str
) -> MeasureDone:
    """Book a photo."""
    fail_if_told(services)
    services.asked.append(("accept", ([row.id for row in view.bodies], also_count, complete)))
    services.asked.append(("accept_whose", (cohort, stage)))
    n = sum(1 for row in view.bodies if row.body.length_mm is not None)
    events = ("m1", "m2", "m3") if also_count else ("m1", "m2")
    flow = _flow(services, f"B01: {n} lengths", *events)
    if not also_count:
        return MeasureDone(flow, "m2", n, f"{n} lengths booked.")
    missing = 38 - view.count.best if complete else 0
    sentence = f"{view.count.best} counted, {missing} unaccounted." if complete else f"At least {view.count.low}."
    counted = CountResult(
        flow.saved, 38, view.count.best, missing, complete, sentence, "explained" if complete else "lower_bound",
        ("Under the lining", "In the old shells"),
    )  # fmt: skip
    return MeasureDone(flow, "m2", n, f"{n} lengths booked. {sentence}", counted)


def accept_lengths(services: Services, box_id: str, lengths_mm: Any, visit: str) -> MeasureDone:
    """Book lengths measured by hand."""
    fail_if_told(services)
    services.asked.append(("accept_lengths", (box_id, tuple(lengths_mm))))
    return MeasureDone(_flow(services, f"{len(lengths_mm)} lengths", "m1"), "m1", len(lengths_mm), "Booked.")


# ---- the card -----------------------------------------------------------------------------------------


def card_view(services: Services, size: str) -> CardView:
    """Return the card as it is, with the line that was entered."""
    card = card_geometry("a6" if size == "a6" else "pocket")
    bar = float(services.settings.get("bar", 50.0))
    return CardView(
        size, card.size_mm, card.window_mm, (), card.bar_mm, CHECK_BAR_MM, bar, (210.0, 297.0), (20.0, 20.0)
    )


def save_card(services: Services, size: str) -> Path:
    """Say where the card is."""
    fail_if_told(services)
    services.asked.append(("save_card", size))
    return Path(f"/data/boxside/exports/measuring-card-{size}.pdf")


def set_bar_mm(services: Services, measured_mm: float) -> None:
    """Keep the length of the check line."""
    services.settings["bar"] = measured_mm


# ---- growth -------------------------------------------------------------------------------------------


def _chart(has_points: bool) -> Chart:
    x_axis, y_axis = number_axis("age", "d", 0.0, 140.0), number_axis("length", "mm", 0.0, 24.0)
    if not has_points:
        return Chart(
            "Sizes, B02", x_axis, y_axis, (), nothing="measure a photo with the card, or enter lengths by hand"
        )
    rng = np.random.default_rng(4)
    days = (8.0, 42.0, 90.0, 126.0)
    sizes = [np.sort(rng.normal(2.5 + 0.09 * day, 0.2 + 0.01 * day, 20)) for day in days]
    boxes = tuple(
        QuartileBox(day, *np.quantile(size, (0.25, 0.5, 0.75)).tolist()) for day, size in zip(days, sizes, strict=True)
    )
    x = tuple(day for day in days for _ in range(20))
    dots = Dots("Alder 2026", Role.LARVA, x, tuple(float(v) for size in sizes for v in size), boxes)
    earlier = Dots("Birch 2025", Role.PAST, (10.0, 60.0, 61.0, 120.0), (2.6, 7.0, 8.4, 12.1))
    at = tuple(float(day) for day in range(0, 140, 5))
    low, high = tuple(2.2 + 0.07 * day for day in at), tuple(2.8 + 0.12 * day for day in at)
    band = Steps("expected", Role.QUIET, at, tuple(2.5 + 0.095 * day for day in at), 140.0, low, high)
    return Chart("Sizes, B01", x_axis, y_axis, (band, earlier, dots))


def growth_view(services: Services, box_id: str = "", cohort: str = "") -> GrowthView:
    """Return sizes over time, or nothing yet."""
    if services.settings.get("growth") == "nothing":
        return GrowthView("B02", _chart(False), box_id=box_id)
    numbers = (
        ("Measured", "20 on 2026-11-20"), ("Median", "13.8 mm (12.1 to 15.4)"), ("Quartiles", "12.6 to 14.9 mm"),
        ("Growth per day", "0.09 mm ± 0.01 since 2026-10-15"), ("Growth per moult", "× 1.31 ± 0.06"),
        ("Expected", "at 126 days 11.0 to 17.9 mm; the median lies within it"),
    )  # fmt: skip
    advice = (
        Advice("grade", "Grade by size", "The largest are 2.1 times as long as the smallest: small ones get eaten."),
        Advice("runts", "2 runts", "7.2 and 7.9 mm, far below the others: look whether they feed."),
        Advice("pupation", "Expect pupation", "3 of 20 are near the mature length of 17 mm: moss and dry ground help."),
    )
    guesses = (InstarGuess(4, 13, 0.61, 12.4), InstarGuess(5, 7, 0.37, 16.3))
    earlier = (PaceRow("c2", "Birch 2025", "ahead", 1.14, (1.05, 1.22), "Birch 2025: 14 % longer now (5 to 22 %)."),)
    notes = ("Length is tip to tip as seen: larvae stretch and contract by more than the error of a photo.",)
    note = "The sizes alone show two groups that differ by a factor of 1.3."
    return GrowthView("B01", _chart(True), numbers, advice, guesses, note, earlier, notes, box_id)


NAMES = (
    "accept", "accept_lengths", "add_body", "calibrate_by_taps", "card_view", "drop_bodies", "growth_view", "measure",
    "move_end", "save_card", "set_bar_mm",
)  # fmt: skip
MEASURE_ACTIONS: dict[str, Any] = {name: globals()[name] for name in NAMES}

__all__ = ["FRAME", "LARVAE", "MEASURE_ACTIONS", "picture", "refused_view"]
