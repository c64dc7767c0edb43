"""The species profiles against what is published about the animals."""

from __future__ import annotations

import math
import tomllib
from pathlib import Path
from typing import Any

import pytest

from boxside.catalog.species import load_all_species
from boxside.core.values.profile import UNSOURCED, Profile

SHARED = Path(__file__).parents[3] / "shared"
PROFILES = load_all_species(SHARED / "species")
CHECKS = tomllib.loads((SHARED / "checks" / "care-stages.toml").read_text(encoding="utf-8"))["check"]
GENERATION = tomllib.loads((SHARED / "checks" / "care-generation.toml").read_text(encoding="utf-8"))["generation"]


def span(profile: Profile, key: str) -> tuple[float, float, str, str]:
    if key in profile.ranges:
        found = profile.ranges[key]
        return found.low, found.high, found.unit, found.source
    number = profile.quantities[key]
    return number.value, number.value, number.unit, number.source


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: f"{check['species']}-{check['within']}")
def test_profile_spans_what_is_published_matches_novak_2017_wang_2007_hopkins_2015(check: dict[str, Any]) -> None:
    """Every published value lies within the profile's span, in the same unit, and the span says its source."""
    low, high, unit, source = span(PROFILES[check["species"]], check["within"])
    assert unit == check["unit"]
    assert source != UNSOURCED, "a published number stands behind this span: name it"
    for value in check["values"]:
        assert low - check["tolerance"] <= value <= high + check["tolerance"]


@pytest.mark.parametrize(
    "check",
    [
        check
        for check in CHECKS
        if check["species"] == "lampyris_noctiluca" and check["within"].startswith(("pupa", "prepupa"))
    ],
    ids=lambda check: check["within"],
)
def test_pupal_span_is_no_wider_than_the_animals_seen_matches_novak_2017(check: dict[str, Any]) -> None:
    """The ends of the span are the shortest and longest that were seen, not wider."""
    low, high, _, _ = span(PROFILES[check["species"]], check["within"])
    assert (low, high) == (min(check["values"]), max(check["values"]))


def test_generation_of_the_snail_eater_matches_diaphanes_lampyroides_data() -> None:
    """The published stage means add up to the published whole, and the profile's stages span it."""
    means = GENERATION["stage_means_days"]
    assert math.fsum(means) == pytest.approx(GENERATION["sum_of_stage_means_days"], abs=1e-9)
    assert math.fsum(means) == pytest.approx(GENERATION["total_days"], abs=GENERATION["tolerance_days"])
    profile = PROFILES[GENERATION["species"]]
    keys = [key if key in profile.ranges else f"{key}.female" for key in GENERATION["stages"]]
    low, high = (math.fsum(getattr(profile.ranges[key], end) for key in keys) for end in ("low", "high"))
    assert low <= GENERATION["total_days"] - GENERATION["sd_days"]
    assert high >= GENERATION["total_days"] + GENERATION["sd_days"]
