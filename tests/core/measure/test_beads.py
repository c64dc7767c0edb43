"""Scenes drawn in another way than the constants were set on: lengths and counts hold there too."""

import numpy as np
import pytest

from boxside.core.measure import measure_photo
from boxside.core.values.body import BodyStatus
from tests.core.measure.beads import beads


@pytest.mark.parametrize("seed", [0, 3])
def test_chains_of_beads_are_counted_and_measured(seed):
    photo, animals = beads(seed)
    result = measure_photo(photo)
    assert result.refused is None
    assert result.count.best == len(animals)
    for one in animals:
        middle = one.line.mean(axis=0)
        body = min(result.bodies, key=lambda b: np.hypot(*(np.mean(b.midline_mm, axis=0) - middle)))
        assert body.status is BodyStatus.MEASURED
        assert body.length_mm == pytest.approx(one.length, rel=0.03)
        assert body.width_mm == pytest.approx(one.width, rel=0.06)
