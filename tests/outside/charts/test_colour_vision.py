"""Colours that stand together, as people with each kind of colour vision see them."""

from __future__ import annotations

import tomllib
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest

from boxside.core.charts import CHART_PALETTES

CHECKS = tomllib.loads((Path(__file__).parents[3] / "shared/checks/charts.toml").read_text("utf8"))
TOGETHER = (("main", "other", "past", "quiet"), ("good", "warn", "bad"), ("egg", "larva", "prepupa", "pupa", "adult"))
KINDS = CHECKS["colour_vision"]["matrices"]


def linear(code: str) -> np.ndarray:
    """Return linear RGB, 0 to 1 (IEC 61966-2-1)."""
    share = np.array([int(code[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    return np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)


def lab(rgb: np.ndarray) -> np.ndarray:
    """Return CIE L*a*b* of linear sRGB, white D65 (CIE 15)."""
    to_xyz = np.array(CHECKS["lab"]["rgb_to_xyz"])
    x, y, z = (
        np.cbrt(v) if v > 216 / 24389 else (24389 / 27 * v + 16) / 116 for v in to_xyz @ rgb / to_xyz.sum(axis=1)
    )
    return np.array([116 * y - 16, 500 * (x - y), 200 * (y - z)])


def seen_apart(one: str, other: str, matrix: np.ndarray) -> float:
    """Return how far two colours are apart in L*a*b* (CIE 1976) for an eye."""
    seen = (lab(np.clip(matrix @ linear(code), 0, 1)) for code in (one, other))
    return float(np.linalg.norm(np.subtract(*seen)))


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("theme", ["day", "dim"])
def test_colours_that_stand_together_stay_apart_for_eyes_of_machado_2009(theme, kind):
    matrix, palette = np.array(KINDS[kind]), CHART_PALETTES[theme]
    least = CHECKS["colour_vision"]["just_noticeable"] * CHECKS["colour_vision"]["times"]
    for group in TOGETHER:
        for one, other in combinations(group, 2):
            assert seen_apart(palette[one], palette[other], matrix) >= least, (one, other)


def test_white_is_white_to_every_eye():
    """Rows of each matrix add up to 1: what has no colour gets none (Machado et al. 2009)."""
    for kind, matrix in KINDS.items():
        assert np.sum(matrix, axis=1) == pytest.approx(1.0, abs=2e-6), kind


def test_the_check_sees_a_pair_that_falls_together():
    """Pure red and a green of equal lightness to a deuteranope."""
    deutan = np.array(KINDS["deuteranopia"])
    assert seen_apart("#c04a1c", "#6e7a1c", deutan) < 15 < seen_apart("#c04a1c", "#6e7a1c", np.eye(3))
