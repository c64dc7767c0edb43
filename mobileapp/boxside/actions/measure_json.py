"""A measured photo, and growth, as plain data for a program."""

from __future__ import annotations

from boxside.core.values.body import Body, Calibration, Point
from boxside.core.values.photo_view import GrowthView, MeasureView


def measure_json(view: MeasureView) -> dict[str, object]:
    """Return a photo's scale, count and bodies; the numbers of one that is refused are None.

    Lengths are mm, positions mm in card coordinates: x to the right, y down, from the card's top-left corner (from
    the photo's where two points gave the scale). `_se_` is one standard error.
    """
    result = view.result
    cal = result.calibration if result else None
    count = view.count
    numbers = (None, None, None) if view.refused else (count.best, count.low, count.high)
    notice = view.notice
    return {
        "refused": view.refused or None,
        "say": f"{notice.what} {notice.do}" if notice else view.summary,
        "scale": _scale(cal) if cal else None,
        "count": dict(zip(("best", "low", "high"), numbers, strict=True)),
        "bodies": [_body(row.number, row.body) for row in view.bodies],
    }


def _scale(cal: Calibration) -> dict[str, object]:
    return {
        "mm_per_px": round(cal.mm_per_px, 7),
        "mm_per_px_se": round(cal.mm_per_px * cal.scale_se_frac, 8),
        "tilt_deg": _rounded(cal.tilt_deg, 2),
        "from": cal.how,
        "card": {"a6": "a6", "pocket": "card"}.get(cal.card),
    }


def _body(number: int, body: Body) -> dict[str, object]:
    return {
        "number": number,
        "status": str(body.status),
        "flags": [str(flag) for flag in body.flags],
        "length_mm": _rounded(body.length_mm),
        "length_se_mm": _rounded(body.length_se_mm),
        "width_mm": _rounded(body.width_mm),
        "width_se_mm": _rounded(body.width_se_mm),
        "head_width_mm": _rounded(body.head_width_mm),
        "n": {"best": body.n_best, "low": body.n_low, "high": body.n_high},
        "midline_mm": _line(body.midline_mm),
        "outline_mm": _line(body.outline_mm),
    }


def _line(points: tuple[Point, ...]) -> list[list[float]]:
    return [[round(float(x), 3), round(float(y), 3)] for x, y in points]


def _rounded(value: float | None, digits: int = 4) -> float | None:
    return None if value is None else round(float(value), digits)


def growth_json(view: GrowthView) -> dict[str, object]:
    """Return growth as plain data: the same words and numbers that a screen shows."""
    return {
        "title": view.title,
        "numbers": dict(view.numbers),
        "instars": [
            {"instar": g.instar, "n": g.n, "share": round(g.share, 4), "typical_mm": round(g.typical_mm, 2)}
            for g in view.instars
        ],
        "instar_note": view.instar_note,
        "earlier": [
            {"cohort": row.name, "pace": row.pace or None, "ratio": _rounded(row.ratio) if row.pace else None,
             "low": row.interval[0] if row.interval else None, "high": row.interval[1] if row.interval else None}
            for row in view.earlier
        ],
        "advice": [{"key": advice.key, "what": advice.what, "why": advice.why} for advice in view.advice],
        "notes": list(view.notes),
    }  # fmt: skip
