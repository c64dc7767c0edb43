"""Whether larvae are near the size at which their species pupates."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from boxside.core.growth.student import positive

LIMITS = (
    "Size allows pupation, season and temperature decide it: a full-grown larva may wait until spring.",
    "Males pupate smaller than females.",
)


@dataclass(frozen=True, slots=True)
class NearMature:
    """How many larvae are full grown or nearly so.

    `n_mature` have reached the least mature size, `n_near` are within reach of it (mature ones counted);
    `near` are their places in the list given. `reason` says it in one sentence.
    """

    n: int
    n_near: int
    n_mature: int
    near: tuple[int, ...]
    expect_pupation: bool
    reason: str
    limits: tuple[str, ...] = LIMITS


def near_mature(
    lengths_mm: Sequence[float], mature_low_mm: float, mature_high_mm: float, near_frac: float = 0.9
) -> NearMature:
    """Return whether to expect pupation, against the mature size of the species' profile.

    Parameters
    ----------
    lengths_mm : length of each larva
    mature_low_mm, mature_high_mm : least and greatest length of mature larvae, from the profile
    near_frac : share of the least mature length from which a larva counts as near (0.9 is common practice,
        no source)

    Raises
    ------
    ValueError : if there is no larva, a length is not above zero, the mature sizes are not in order, or
        near_frac is not between 0 and 1
    """
    values = positive(lengths_mm, "lengths")
    if not 0.0 < mature_low_mm <= mature_high_mm:
        raise ValueError(f"mature size runs from {mature_low_mm} to {mature_high_mm} mm: not in order")
    if not 0.0 < near_frac <= 1.0:
        raise ValueError(f"near_frac lies between 0 and 1, got {near_frac}")
    near = tuple(i for i, length in enumerate(values.tolist()) if length >= near_frac * mature_low_mm)
    n_mature = int((values >= mature_low_mm).sum())
    return NearMature(
        n=values.size, n_near=len(near), n_mature=n_mature, near=near, expect_pupation=bool(near),
        reason=_reason(values.size, len(near), float(values.max()), (mature_low_mm, mature_high_mm)),
    )  # fmt: skip


def _reason(n: int, n_near: int, longest_mm: float, mature_mm: tuple[float, float]) -> str:
    size = f"{mature_mm[0]:g} to {mature_mm[1]:g} mm"
    if n_near == 0:
        return f"The longest of {n} measures {longest_mm:.1f} mm; mature larvae measure {size}."
    return f"{n_near} of {n} are at or near mature size ({size}): expect pupation."
