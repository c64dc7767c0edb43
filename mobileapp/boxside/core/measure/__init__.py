"""From a photo with the measuring card to bodies with lengths, widths and their errors.

No accuracy is claimed on living larvae. No open photo with larvae measured by hand is known; all figures come
from rendered scenes, analytic shapes, calibration patterns and look-alikes. Larvae stretch and contract from
one photo to the next by more than the errors given here: length is tip to tip as seen, several photos are
better than one.

OpenCV is loaded only when a photo is measured; `is_available` says whether it is there.
"""

from __future__ import annotations

from boxside.core.measure.calibrate import calibrate
from boxside.core.measure.card import Card, card_drawing, card_geometry
from boxside.core.measure.known import calibrate_known
from boxside.core.measure.opencv import is_available
from boxside.core.measure.overlay import overlay
from boxside.core.measure.pdf import card_pdf
from boxside.core.measure.photo import measure_photo, with_body
from boxside.core.measure.rectify import Plane, rectify
from boxside.core.measure.taps import body_by_taps

__all__ = [
    "Card",
    "Plane",
    "body_by_taps",
    "calibrate",
    "calibrate_known",
    "card_drawing",
    "card_geometry",
    "card_pdf",
    "is_available",
    "measure_photo",
    "overlay",
    "rectify",
    "with_body",
]
