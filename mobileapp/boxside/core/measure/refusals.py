"""Why a photo is not measured, in words: what is wrong, and what to do about it."""

from __future__ import annotations

from boxside.core.values.body import Refusal

_WORDS: dict[str, tuple[str, str]] = {
    "unreadable": (
        "This is not a picture that can be read.",
        "Take the photo again, or choose a JPEG or PNG file.",
    ),
    "tiny": (
        "The picture is too small to be measured.",
        "Use the photo as the camera took it, not a thumbnail.",
    ),
    "no_card": (
        "The measuring card was not found.",
        "Lay the card flat with all four black squares in view, in even light, and take the photo again.",
    ),
    "hidden_marker": (
        "A black square of the card is hidden, wet or cut off.",
        "Uncover and wipe all four squares, keep them inside the photo, and take it again.",
    ),
    "tilt": (
        "The camera is held too far from upright.",
        "Hold the camera flat above the card and take the photo again.",
    ),
    "blur": (
        "The photo is blurred.",
        "Rest the hands, wait for the camera to focus on the card, and take it again.",
    ),
    "small": (
        "The card is too small in the photo.",
        "Go closer until the card fills most of the picture.",
    ),
    "distortion": (
        "The lens bends straight lines too much to measure.",
        "Use the main camera instead of the wide one, with the card in the middle, and take it again.",
    ),
    "bent": (
        "The card does not fit its printed size: it is bent, or a part is covered.",
        "Lay the card flat, uncover its squares, and take the photo again.",
    ),
    "glare": (
        "A reflection hides a part of an animal.",
        "Move the lamp or shade the box, and take the photo again.",
    ),
    "overfull": (
        "There are too many animals in the window to tell them apart.",
        "Photograph them in smaller groups.",
    ),
    "cancelled": ("Measuring was stopped.", "Nothing was saved. Start it again when you like."),
    "taps": (
        "The two taps do not give a scale.",
        "Tap the two ends of a known length that spans much of the photo.",
    ),
    "print_scale": (
        "The measured check line cannot be right.",
        "Measure the printed line again; it should be near 50 mm.",
    ),
    "no_opencv": (
        "Measuring from photos is not available on this device.",
        "Lengths can still be entered by hand.",
    ),
}

REASONS = tuple(_WORDS)
"""All reasons for which a photo may be refused."""


def refuse(reason: str) -> Refusal:
    """Return the refusal of that reason.

    Raises
    ------
    KeyError
        For a reason that is not in `REASONS`.
    """
    what, do = _WORDS[reason]
    return Refusal(reason, what, do)
