"""The sides of a drawn body, with and without a shadow beside it that is as sharp as the body."""

import cv2
import numpy as np
import pytest

from boxside.core.measure.flanks import out_of_shade

BODY, SHADE, BLUR = 0.8, 0.45, 1.5
HALF = 20.0
LINE = np.stack([np.linspace(60, 300, 49), np.full(49, 200.0)], axis=1)


def drawn(shade_px, soft=BLUR):
    """A bar 40 px wide about y = 200 with a shadow below it, blurred as a photo is."""
    rows = np.arange(400)[:, None] * np.ones((1, 360))
    depth = np.where(np.abs(rows - 200) < HALF, BODY, 0.0)
    depth = np.where((rows >= 200 + HALF) & (rows < 200 + HALF + shade_px), SHADE, depth)
    return cv2.GaussianBlur(depth.astype(np.float32), (0, 0), soft)


def test_a_shadow_taken_in_on_one_side_is_left_out():
    shade = 14.0
    # The midline of body and shadow together, and the half widths there.
    line = LINE + np.array([0.0, shade / 2])
    sides = np.full(49, HALF + shade / 2), np.full(49, HALF + shade / 2)
    lit, doubtful = out_of_shade(drawn(shade), line, sides, BLUR)
    assert lit is not None
    assert not doubtful
    assert float(np.median(lit[0] + lit[1])) == pytest.approx(2 * HALF, abs=1.5)


@pytest.mark.parametrize("soft", [1.0, 2.0, 3.0])
def test_a_body_without_a_shadow_keeps_its_sides(soft):
    lit, doubtful = out_of_shade(drawn(0.0, soft), LINE, (np.full(49, HALF), np.full(49, HALF)), soft)
    assert lit is None
    assert not doubtful


def test_pale_spots_in_rows_are_no_edge_of_the_body():
    depth = drawn(0.0)
    for x in range(70, 300, 24):
        for y in (187, 213):
            cv2.circle(depth, (x, y), 4, 0.3, -1, cv2.LINE_AA)
    lit, _ = out_of_shade(depth, LINE, (np.full(49, HALF), np.full(49, HALF)), BLUR)
    assert lit is None


def test_a_side_with_a_far_weaker_edge_and_none_within_is_doubted():
    rows = np.arange(400)[:, None] * np.ones((1, 360))
    fading = np.clip((200 + HALF + 14 - rows) / 48, 0, 1) * BODY
    depth = np.where(rows < 200 - HALF, 0.0, np.where(rows < 186, BODY, fading)).astype(np.float32)
    soft = cv2.GaussianBlur(depth, (0, 0), BLUR)
    lit, doubtful = out_of_shade(soft, LINE, (np.full(49, HALF), np.full(49, HALF)), BLUR)
    assert lit is None
    assert doubtful
