"""Whether one shape looks like one animal: the limits, and the reasons where it does not.

The limits come from elongate larvae (3 to 10 times as long as wide) and isopods; they are common practice,
no source, and were set on rendered scenes that no bar is judged by.
"""

from __future__ import annotations

from boxside.core.measure.shape import Shape

LEAST_ASPECT = 2.45
MOST_ASPECT = 10.5
LEAST_OVERLAP = 0.875
EDGE_PX = 0.6
"""How much of an outline's pixels is uncertain: a thin body's overlap is less for that alone."""
SURE_OVERLAP = 0.9
LEAST_WAIST = 0.78
MOST_KINK = 2.2
SOME_KINK = 1.15
"""The most where the overlap is poor, too."""
MOST_NOTCH_RAD = 1.05
MOST_BESIDE = 0.5
"""A whole animal a fifth as wide would have about as much area, over half the width squared of this one."""
LONG_ASPECT, LONG_NOTCH_RAD, NOTCH_PER_ASPECT = 6.2, 0.6, 0.25


def faults(shape: Shape | None, notch_rad: float = 0.0) -> tuple[str, ...]:
    """Return what speaks against a shape being one whole animal; empty where nothing does.

    Parameters
    ----------
    shape : as fitted to the mask, None where that failed
    notch_rad : how sharply the mask's outline turns inwards at its sharpest place
    """
    if shape is None:
        return ("none",)
    checks = (
        ("overlap", shape.overlap < LEAST_OVERLAP - EDGE_PX / max(shape.width, 6.0)),
        ("beside", shape.beside > MOST_BESIDE),
        ("waist", shape.waist < LEAST_WAIST),
        ("short", shape.aspect < LEAST_ASPECT),
        ("long", shape.aspect > MOST_ASPECT),
        ("kink", shape.kink > (MOST_KINK if shape.overlap > SURE_OVERLAP else SOME_KINK)),
        ("notch", notch_rad > most_notch_rad(shape.aspect)),
    )
    return tuple(name for name, bad in checks if bad)


def most_notch_rad(aspect: float) -> float:
    """Return the sharpest notch that an animal of such length over width may have.

    What is longer than most single animals may be two that meet at their tips: less of a notch shows them.
    """
    return float(max(LONG_NOTCH_RAD, MOST_NOTCH_RAD - NOTCH_PER_ASPECT * max(aspect - LONG_ASPECT, 0.0)))


def likeness(shape: Shape | None) -> float:
    """Return 0..1, how much a shape looks like one animal."""
    if shape is None:
        return 0.0
    over = min(max((shape.overlap - 0.6) / 0.35, 0.0), 1.0)
    waist = min(max((shape.waist - 0.5) / 0.4, 0.0), 1.0)
    aspect = min(max((shape.aspect - 1.6) / 1.2, 0.0), 1.0) * min(max((13 - shape.aspect) / 3, 0.0), 1.0)
    kink = min(max((4.0 - shape.kink) / 3.0, 0.0), 1.0)
    return over * waist * aspect * kink
