"""A measured photo booked: the photo, one row of scalars a body and, if wanted, the count; all or nothing."""

from __future__ import annotations

import math
from collections.abc import Sequence

from boxside import __version__
from boxside.actions.count_box import result_of
from boxside.actions.entry import check_subject
from boxside.actions.groups import box_of_id
from boxside.actions.log_event import log_all, saved
from boxside.actions.measure_photo import Work
from boxside.actions.services import Services
from boxside.actions.stamping import new_id
from boxside.core.values.body import Body, Point
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft, Event, Json
from boxside.core.values.photo_view import MeasureDone, MeasureView
from boxside.core.values.season import CountResult, Flow
from boxside.core.values.stages import Stage
from boxside.store import photos, reading
from boxside.store.of_kind import standing_of_kind

ALGORITHM = f"{__version__}/1"
"""The app's version and the revision of the measuring; raise the latter with every change of its numbers."""
SHORTEST_MM, LONGEST_MM = 0.3, 200.0


def accept(
    services: Services,
    view: MeasureView,
    also_count: bool = False,
    complete: bool = False,
    cohort: str = "",
    stage: str = "",
    visit: str = "",
) -> MeasureDone:
    """Book what a photo of a box shows.

    Parameters
    ----------
    view : as `measure` and the changes to it returned it
    also_count : log a count that names the same photo
    complete : every animal of the box lies on the photo. An incomplete count books the least number that the
        photo can mean, since it says how many there are at least.
    cohort, stage : whose sizes they are; empty where the box itself says so

    Raises
    ------
    EntryError : if the photo is refused, shows no animal, or was booked before; nothing was saved
    StoreError : if the disk refuses
    """
    work = view.work
    if not isinstance(work, Work) or not view.can_accept:
        raise EntryError("This photo has nothing to book. Nothing was saved. Take it again, or add animals by hand.")
    box_id, digest = view.box_id, view.sha256
    box_of_id(services, box_id)
    check_subject(services, services.catalog.vocabulary.kinds["measured"], "box", box_id)
    if _stands(services, "measured", box_id, "photo", digest):
        raise EntryError("This photo was booked before. Nothing was saved. Take that entry back first.")
    photos.keep(services.device.data_dir, work.data)
    stop = visit or new_id(services, services.clock.now_ms())
    whose = _whose(services, box_id, cohort, stage)
    drafts = [Draft("measured", "box", box_id, {**_scale(work), **whose, "photo": digest,
                    "bodies": [row_of(row.body) for row in view.bodies]}, visit=stop)]  # fmt: skip
    if not _stands(services, "photo", box_id, "sha256", digest):
        drafts.insert(0, Draft("photo", "box", box_id, {"sha256": digest}, visit=stop))
    if also_count:
        drafts.append(Draft("count", "box", box_id, _count_fields(view, complete, whose), visit=stop))
    return _done(services, log_all(services, drafts))


def accept_lengths(services: Services, box_id: str, lengths_mm: Sequence[float], visit: str = "") -> MeasureDone:
    """Book lengths that were measured by hand, in mm.

    Raises
    ------
    EntryError : if there is none, or one that no larva has; nothing was saved
    """
    box_of_id(services, box_id)
    if not lengths_mm:
        raise EntryError("No length was entered. Nothing was saved.")
    for length in lengths_mm:
        if not (math.isfinite(length) and SHORTEST_MM <= length <= LONGEST_MM):
            raise EntryError(f"{length:g} mm is not between {SHORTEST_MM:g} and {LONGEST_MM:g}. Nothing was saved.")
    rows: list[Json] = [{"length_mm": float(length), "status": "measured"} for length in lengths_mm]
    fields: dict[str, Json] = {"scale": "hand", "bodies": rows, **_whose(services, box_id, "", "")}
    return _done(services, log_all(services, [Draft("measured", "box", box_id, fields, visit=visit or None)]))


def row_of(body: Body) -> dict[str, Json]:
    """Return a body as the scalars that are kept: what is unknown is left out."""
    numbers = {
        name: getattr(body, name)
        for name in ("length_mm", "length_se_mm", "width_mm", "width_se_mm", "head_width_mm", "head_width_se_mm")
    }
    row: dict[str, Json] = {name: round(float(value), 4) for name, value in numbers.items() if value is not None}
    row |= {"status": str(body.status), "n_low": body.n_low, "n_best": body.n_best, "n_high": body.n_high}
    if body.flags:
        row["flags"] = " ".join(body.flags)
    if len(body.midline_mm) > 1:
        row |= _ends(body.midline_mm[0], body.midline_mm[-1])
    return row


def _ends(first: Point, last: Point) -> dict[str, Json]:
    return {"x1_mm": first[0], "y1_mm": first[1], "x2_mm": last[0], "y2_mm": last[1]}


def _scale(work: Work) -> dict[str, Json]:
    """Return what a photo's scale came from, so that it can be worked out again."""
    cal = work.result.calibration
    said: dict[str, Json] = {"algorithm": ALGORITHM}
    if cal is None:
        return said
    said |= {
        "scale": cal.how, "mm_per_px": round(cal.mm_per_px, 6), "scale_se_pct": round(100 * cal.scale_se_frac, 4),
        "tilt_deg": None if cal.tilt_deg is None else round(cal.tilt_deg, 2),
    }  # fmt: skip
    if cal.how == "card":
        said["bar_mm"] = work.bar_mm
    elif work.known is not None:
        said["known"] = ",".join(f"{number:g}" for number in work.known)
    return said


def _whose(services: Services, box_id: str, cohort: str, stage: str) -> dict[str, Json]:
    """Return stage, cohort and instar of the animals measured, as far as the box itself leaves no doubt."""
    lines = [(line, n) for line, n in reading.lines(services.store, [box_id])[box_id] if line.stage is not Stage.EGG]
    stages = {line.stage for line, _ in lines}
    if not stage:
        stage = Stage.LARVA if not stages or Stage.LARVA in stages else next(iter(stages)) if len(stages) == 1 else ""
    here = [line for line, _ in lines if line.stage == stage and cohort in ("", line.cohort)]
    return {
        "stage": str(stage) or None,
        "cohort": cohort or _only([line.cohort for line in here]),
        "instar": _only([line.instar for line in here]) if stage == Stage.LARVA else None,
    }


def _only(values: Sequence[Json]) -> Json:
    """Return the one value that all share; None where there are several, or it is unknown."""
    return values[0] or None if values and len(set(map(str, values))) == 1 else None


def _count_fields(view: MeasureView, complete: bool, whose: dict[str, Json]) -> dict[str, Json]:
    """Return the fields of a count from a photo."""
    count = view.count
    return {
        "n": count.best if complete else count.low, "complete": complete, "low": count.low, "high": count.high,
        "method": "photo", "photo": view.sha256, "stage": whose["stage"],
    }  # fmt: skip


def _stands(services: Services, kind: str, box_id: str, field: str, digest: str) -> bool:
    """Return whether a standing entry at the box names that photo."""
    return any(e.fields.get(field) == digest for e in standing_of_kind(services.store, "box", box_id, kind))


def _done(services: Services, events: list[Event]) -> MeasureDone:
    measured = next(event for event in events if event.kind == "measured")
    rows = measured.fields.get("bodies")
    n = sum(1 for row in rows if isinstance(row, dict) and "length_mm" in row) if isinstance(rows, list) else 0
    counted = next((event for event in events if event.kind == "count"), None)
    result: CountResult | None = None
    if counted is not None:
        number = counted.fields["n"]
        done = saved(services, counted, (), was_due=False)
        result = result_of(services, counted, int(str(number)), counted.fields["complete"] is True, done)
    flow = Flow(saved(services, measured, (), was_due=False), tuple(event.id for event in events))
    sentence = f"{n} length{'' if n == 1 else 's'} booked."
    return MeasureDone(flow, measured.id, n, f"{sentence} {result.sentence}" if result else sentence, result)


def lengths_of(event: Event, doubtful: bool = False) -> list[float]:
    """Return the lengths of a measuring in mm; those that are doubtful only where asked for."""
    wanted = ("measured", "doubtful") if doubtful else ("measured",)
    return [
        float(str(row["length_mm"])) for row in rows_of(event) if row.get("status") in wanted and "length_mm" in row
    ]


def rows_of(event: Event) -> list[dict[str, Json]]:
    """Return the rows of a measuring, whatever a newer app or an import has put beside them."""
    rows = event.fields.get("bodies")
    return [row for row in rows if isinstance(row, dict)] if isinstance(rows, list) else []


__all__ = ["ALGORITHM", "accept", "accept_lengths", "lengths_of", "row_of", "rows_of"]
