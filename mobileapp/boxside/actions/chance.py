"""Chance that repeats: the same question to the same log is answered from the same futures."""

from __future__ import annotations

import hashlib

import numpy as np


def chance_for(*parts: object) -> np.random.Generator:
    """Return a generator seeded by what a forecast rests on, so that a run repeats and unrelated entries do
    not stir it."""
    text = "|".join(str(part) for part in parts)
    return np.random.default_rng(int.from_bytes(hashlib.sha256(text.encode()).digest()[:8], "big"))
