"""What a measured photo says, in words: sizes with their 95 % intervals, flags, the scale, the count."""

from __future__ import annotations

import statistics
from collections.abc import Sequence

from boxside.core.values.body import Body, Calibration, Count, Flag, Refusal
from boxside.core.values.views import Notice

SIGMAS_95 = 1.96
LIMITS = (
    "Length is tip to tip as seen: larvae stretch and contract between two photos by more than the error shown. "
    "Several photos are better than one.",
    "Accuracy was tested on rendered scenes and patterns only: no photo with larvae measured by hand is known.",
)
LARGER_BUILD = (
    "Install the larger build (on a desktop: pip install 'boxside[measure]'). Lengths can still be entered by hand."
)
_SIZES = {"a6": "A6", "pocket": "bank-card size"}
_FLAGS = {
    Flag.TOUCHING: "touches another",
    Flag.CURLED: "curled",
    Flag.CLOSED: "curled into a ring",
    Flag.PALE: "pale",
    Flag.AT_EDGE: "at the edge of the window",
    Flag.GLARE: "partly under a reflection",
    Flag.BELOW_FERET: "the outline does not fit",
    Flag.CLUMP: "several animals in one outline",
    Flag.CROSSING: "animals lie across each other",
    Flag.SHAPE: "an unusual shape: look whether it is an animal",
    Flag.SMALL: "small in this photo: go closer",
    Flag.BY_HAND: "pointed out by hand",
}


def with_error(value: float, se: float | None, digits: int = 1) -> str:
    """Return `14.2 ± 0.3` with the 95 % interval's half-width; the value alone where its error is unknown."""
    shown = f"{value:.{digits}f}"
    return shown if se is None else f"{shown} ± {max(SIGMAS_95 * se, 0.5 * 10.0**-digits):.{digits}f}"


def size_text(body: Body) -> str:
    """Return a body's length, or how many animals its outline may be."""
    if body.length_mm is not None:
        return f"{with_error(body.length_mm, body.length_se_mm)} mm"
    if body.n_low != body.n_high:
        return f"{body.n_low} to {body.n_high} animals, no length"
    return "no length"


def detail_text(body: Body) -> str:
    """Return a body's width and head width."""
    parts = []
    if body.width_mm is not None:
        parts.append(f"{with_error(body.width_mm, body.width_se_mm)} mm wide")
    if body.head_width_mm is not None:
        parts.append(f"head {with_error(body.head_width_mm, body.head_width_se_mm, 2)} mm")
    return ", ".join(parts)


def why_text(body: Body) -> str:
    """Return what a body's flags mean, and whether its numbers are doubtful."""
    said = ", ".join(_FLAGS[flag] for flag in body.flags)
    return said if body.status == "measured" or not said else f"{body.status}: {said}"


def count_text(count: Count) -> str:
    """Return `23 animals (22 to 25)`."""
    said = f"{count.best} animal{'' if count.best == 1 else 's'}"
    return said if count.low == count.high else f"{said} ({count.low} to {count.high})"


def scale_text(cal: Calibration) -> str:
    """Return where a scale comes from, how fine it is and how far it may be off."""
    source = f"the {_SIZES.get(cal.card, cal.card)} card" if cal.how == "card" else "two taps on a known length"
    off = SIGMAS_95 * 100 * cal.scale_se_frac
    tilt = "" if cal.tilt_deg is None else f", camera tilted {cal.tilt_deg:.0f}°"
    return f"Scale from {source}: {cal.mm_per_px:.4f} mm a pixel, ± {off:.1f} %{tilt}."


def summary_text(bodies: Sequence[Body]) -> str:
    """Return how many lengths there are, their median and range, and how many bodies have none."""
    lengths = sorted(body.length_mm for body in bodies if body.length_mm is not None)
    without = len(bodies) - len(lengths)
    if not lengths:
        return "No lengths." if bodies else "No animals seen in the window."
    middle = f"median {statistics.median(lengths):.1f} mm ({lengths[0]:.1f} to {lengths[-1]:.1f})"
    if len(lengths) == 1:
        middle = f"{lengths[0]:.1f} mm"
    rest = f"; {without} without a length" if without else ""
    return f"{len(lengths)} length{'' if len(lengths) == 1 else 's'}, {middle}{rest}."


def refusal_notice(refusal: Refusal) -> Notice:
    """Return why a photo is not measured and what to do."""
    if refusal.reason == "no_opencv":
        return Notice("Measuring needs OpenCV, which this build of Boxside lacks.", "Nothing was saved.",
                      LARGER_BUILD, bad=True)  # fmt: skip
    return Notice(refusal.what, "Nothing was saved.", refusal.do, bad=refusal.reason != "cancelled")
