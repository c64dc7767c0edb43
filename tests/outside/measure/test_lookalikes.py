"""Real photos of look-alikes: isopods are found, snail shells are not larvae."""

import tomllib
from pathlib import Path

import numpy as np

from boxside.core.measure import calibrate_known, measure_photo
from tests.outside.measure.photos import photo

CHECKS = tomllib.loads((Path(__file__).parents[3] / "shared/checks/measure.toml").read_text())


def measured(name, px_per_mm):
    rgb = photo(name)
    scale = calibrate_known(rgb, (100, 100), (100 + 100 * px_per_mm, 100), 100.0)
    return measure_photo(rgb, calibration=scale)


def test_isopods_are_found_as_luerig_2021_counts_them():
    check = CHECKS["isopods"]
    result = measured("isopods/isopods.jpg", check["px_per_mm"])
    assert result.refused is None
    truth = np.array(check["at_px"]) / check["px_per_mm"]
    centres = [np.mean(b.outline_mm, axis=0) for b in result.bodies]
    near = [np.hypot(*(truth - c).T) for c in centres]
    found = {int(np.argmin(d)) for d in near if d.min() < 3.5}
    false = sum(d.min() >= 3.5 for d in near)
    assert len(found) >= check["found_at_least"]
    assert false <= check["false_at_most"]


def test_snail_shells_are_no_larvae_in_the_photo_of_luerig_2021():
    check = CHECKS["snails"]
    result = measured("isopods/snails1.jpg", check["px_per_mm"])
    assert result.refused is None
    assert len(result.bodies) <= check["false_at_most"]
