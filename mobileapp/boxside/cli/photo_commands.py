"""card, measure, growth: what photos say."""

from __future__ import annotations

import argparse
import json
import math
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from boxside.actions.entry import box_named, named_entity
from boxside.cli.options import Command, Context
from boxside.core.values.errors import DeviceError, EntryError

if TYPE_CHECKING:
    from boxside.core.values.photo_view import CardView, MeasureDone, MeasureView

PICTURES = (".png", ".jpg", ".jpeg")


def _card_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--out", metavar="FILE", help="the PDF to write")
    parser.add_argument("--size", choices=["a6", "card"], default="a6", help="A6 paper, or a bank card's size")
    parser.add_argument(
        "--bar-mm", type=float, metavar="MM", help="what the printed 50 mm line measures: kept for photos"
    )


def _card(context: Context) -> int:
    from boxside.actions import card

    asked, services = context.asked, context.services()
    if not (asked.out or asked.json or asked.bar_mm is not None):
        raise EntryError(
            "Say with --out where the card goes, or ask for its measures with --json. Nothing was written."
        )
    if asked.bar_mm is not None:
        card.set_bar_mm(services, asked.bar_mm)
    view = card.write_card(services, asked.out, asked.size) if asked.out else card.card_view(services, asked.size)
    said = [f"Written: {asked.out}. Print it at 100 %, measure the 50 mm line, and enter what you find with --bar-mm."]
    kept = [f"Photos are measured by a check line of {view.bar_measured_mm:g} mm from now on."]
    context.say("\n".join((said if asked.out else []) + (kept if asked.bar_mm is not None else [])), _card_data(view))
    return 0


def _card_data(view: CardView) -> dict[str, object]:
    left, top, right, bottom = view.window_mm
    return {
        "size": view.size,
        "card_mm": {"width": view.size_mm[0], "height": view.size_mm[1]},
        "window_mm": {"left": left, "top": top, "right": right, "bottom": bottom,
                      "width": right - left, "height": bottom - top},
        "markers": [{"id": name, "corners_mm": [list(at) for at in corners]} for name, corners in view.markers],
        "check_bar_mm": {"x": view.bar_mm[0], "y": view.bar_mm[1], "length": view.bar_length_mm,
                         "measured": view.bar_measured_mm},
        "page_mm": {"width": view.page_mm[0], "height": view.page_mm[1],
                    "card_left": view.on_page_mm[0], "card_top": view.on_page_mm[1]},
    }  # fmt: skip


def _measure_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("photos", nargs="+", metavar="PHOTO", help="photos with the card in them")
    parser.add_argument("--overlay", metavar="FILE", help="write the window with what was measured drawn on it")
    parser.add_argument("--known-mm", metavar="X1,Y1,X2,Y2,MM",
                        help="without a card: two pixels of the upright photo, and their distance in mm")  # fmt: skip
    parser.add_argument("--box", metavar="BOX", help="book what is measured at this box")
    parser.add_argument("--count", action="store_true", help="with --box: book the count as well, as seen")
    parser.add_argument("--complete", action="store_true", help="with --count: every animal of the box is on the photo")


def _measure(context: Context) -> int:
    from boxside.actions.measure_photo import Known

    asked = context.asked
    _check_measure(asked)
    known: Known | None = _known(asked.known_mm)
    box = box_named(context.services(), asked.box).id if asked.box else ""
    for path in asked.photos:
        _one(context, path, box, known)
    return 0


def _check_measure(asked: argparse.Namespace) -> None:
    """Refuse options that do not fit before anything is measured."""
    for path in asked.photos:
        if not Path(path).exists():
            raise EntryError(f"There is no photo {path}. Nothing was measured.")
    if len(asked.photos) > 1 and (asked.overlay or asked.known_mm or asked.count):
        raise EntryError("--overlay, --known-mm and --count are for one photo. Nothing was measured.")
    if asked.overlay and Path(asked.overlay).suffix.lower() not in PICTURES:
        raise EntryError(f"--overlay: give a name that ends in {' or '.join(PICTURES)}. Nothing was measured.")
    if asked.overlay and not Path(asked.overlay).parent.is_dir():
        raise EntryError(f"--overlay: there is no folder {Path(asked.overlay).parent}. Nothing was measured.")
    if (asked.count and not asked.box) or (asked.complete and not asked.count):
        raise EntryError("--count goes with --box, and --complete with --count. Nothing was measured.")


def _known(text: str | None) -> tuple[float, float, float, float, float] | None:
    if text is None:
        return None
    try:
        x1, y1, x2, y2, mm = (float(part) for part in text.split(","))
    except ValueError as error:
        raise EntryError(f"--known-mm: {text!r} is not X1,Y1,X2,Y2,MM. Nothing was measured.") from error
    if not all(math.isfinite(v) for v in (x1, y1, x2, y2)) or not 0 < mm <= 1000 or (x1, y1) == (x2, y2):
        raise EntryError(f"--known-mm: {text!r} gives no length. Nothing was measured.")
    return x1, y1, x2, y2, mm


def _one(context: Context, path: str, box: str, known: tuple[float, float, float, float, float] | None) -> None:
    from boxside.actions import accept_measure, measure_photo

    asked, services = context.asked, context.services()
    try:
        view = measure_photo.measure(services, path, box, known=known)
    except DeviceError as error:
        _say_unreadable(context, path, str(error))
        return
    if asked.overlay and view.refused:
        print("boxside: no overlay was written: the photo was not measured.", file=sys.stderr)
    elif asked.overlay:
        measure_photo.write_picture(view, asked.overlay)
    done = accept_measure.accept(services, view, asked.count, asked.complete) if box and view.can_accept else None
    _say(context, path, view, done)


def _say_unreadable(context: Context, path: str, said: str) -> None:
    nothing: dict[str, object] = {
        "photo": path, "refused": "unreadable", "say": said, "scale": None,
        "count": {"best": None, "low": None, "high": None}, "bodies": [],
    }  # fmt: skip
    print(json.dumps(nothing, ensure_ascii=False) if context.asked.json else f"{path}: not measured. {said}")
    sys.stdout.flush()


def _say(context: Context, path: str, view: MeasureView, done: MeasureDone | None) -> None:
    if context.asked.json:
        from boxside.actions.measure_json import measure_json

        booked = {"events": list(done.flow.events)} if done else {}
        print(json.dumps({"photo": path, **measure_json(view), **booked}, ensure_ascii=False))
    else:
        print("\n".join(_lines(path, view, done)))
    sys.stdout.flush()


def _lines(path: str, view: MeasureView, done: MeasureDone | None) -> list[str]:
    if view.notice is not None:
        return [f"{path}: not measured. {view.notice.what} {view.notice.do}"]
    rows = [
        f"  {row.number:3d}  {'  '.join(part for part in (row.size, row.detail, row.why) if part)}"
        for row in view.bodies
    ]
    return [f"{path}: {view.count_text}. {view.summary}", f"  {view.scale_text}", *rows,
            *([f"Saved: {done.sentence}"] if done else [])]  # fmt: skip


def _growth_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("box", nargs="?", metavar="BOX", help="the code on the lid")
    parser.add_argument("--cohort", metavar="NAME", help="a cohort instead of a box")


def _growth(context: Context) -> int:
    from boxside.actions.growth_view import growth_view
    from boxside.actions.measure_json import growth_json

    asked, services = context.asked, context.services()
    if bool(asked.box) == bool(asked.cohort):
        raise EntryError("Name a box, or a cohort with --cohort. Nothing was changed.")
    box = box_named(services, asked.box).id if asked.box else ""
    cohort = named_entity(services, "cohort", asked.cohort) if asked.cohort else ""
    view = growth_view(services, box, cohort)
    lines = [view.title, *(f"  {what}: {said}" for what, said in view.numbers)]
    lines += [f"  Nothing yet: {view.chart.nothing}."] if not view.numbers else []
    lines += [f"  Instar {g.instar}: {g.n} probably, {g.share:.0%} of them" for g in view.instars]
    lines += [f"  {view.instar_note}"] if view.instar_note else []
    lines += [f"  {row.sentence}" for row in view.earlier]
    lines += [f"  {advice.what}: {advice.why}" for advice in view.advice]
    context.say("\n".join(lines), growth_json(view))
    return 0


CARD = Command("write the measuring card as a PDF at true scale, or its measures as JSON", _card, _card_options)
MEASURE = Command("count and measure the animals on photos of the card", _measure, _measure_options)
GROWTH = Command("sizes over time of a box or a cohort, instars, and what to do about them", _growth, _growth_options)
