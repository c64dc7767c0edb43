"""The evening as a screen shows it: which females glow, which males are at hand, what has been tried.

Already in words and in the keeper's zone; numbers are kept beside the words for drawing and sorting.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from boxside.core.values.views import Act, Notice


@dataclass(frozen=True, slots=True)
class GlowSpan:
    """One glow of one evening at one box.

    `on` is the day on which the evening began: the hours after midnight belong to the day before.
    `from_min` and `until_min` are minutes after that evening's sunset, negative before it; None where there is
    no sunset or no place is set, and for `until_min` also while it lasts. `n` is how many glowed, 0 not said;
    `event_id` is what an undo takes back.
    """

    on: date
    from_at: str
    until_at: str
    from_min: float | None
    until_min: float | None
    n: int
    text: str
    event_id: str


@dataclass(frozen=True, slots=True)
class Males:
    """Males of one cohort in a box: how many, since when, and which came with them."""

    cohort_id: str
    cohort: str
    n: int
    since: str
    text: str


@dataclass(frozen=True, slots=True)
class Brood:
    """Adults of one cohort and sex that emerged on one day and may still live.

    `dies_from` and `dies_by` are when such adults usually die; `soon` within the next days, `past` beyond it.
    """

    cohort: str
    sex: str
    n: int
    emerged_on: date
    dies_from: date
    dies_by: date
    soon: bool
    past: bool
    text: str


@dataclass(frozen=True, slots=True)
class Offer:
    """Males in another box that could be brought here, the least related first.

    `kinship` is the expected inbreeding of the offspring, None where it cannot be said.
    """

    box_id: str
    label: str
    cohort_id: str
    cohort: str
    n: int
    kinship: float | None
    text: str


@dataclass(frozen=True, slots=True)
class DuskRow:
    """One box with adult animals, as it stands this evening.

    `state` is glowing, alone (glows, and no male is in the box), paired, laying (eggs since the males came),
    waiting (females that do not glow) or males (males only). `headline` says it in words. `acts` are what can be
    logged here, the likeliest first: those with an empty `asks` and no `command` need one tap; the commands introduce,
    separate and lay open a form. `evenings` are the last glows, newest first; `offers` are males for these females;
    `parted` says when a pairing of these females was ended.
    """

    box_id: str
    label: str
    headline: str
    who: str
    state: str
    n_females: int
    n_males: int
    females: tuple[tuple[str, int], ...] = ()
    males: tuple[Males, ...] = ()
    broods: tuple[Brood, ...] = ()
    evenings: tuple[GlowSpan, ...] = ()
    acts: tuple[Act, ...] = ()
    offers: tuple[Offer, ...] = ()
    warnings: tuple[str, ...] = ()
    is_glowing: bool = False
    parted: str = ""


@dataclass(frozen=True, slots=True)
class SunLine:
    """Sunset and the end of dusk on the evening shown: clock times, minutes after sunset now.

    The texts say why there is none: no place set, or the sun does not set.
    """

    text: str
    sunset: str = ""
    dark: str = ""
    now_min: float | None = None


@dataclass(frozen=True, slots=True)
class DuskView:
    """All boxes with adults on one evening: those that need something first.

    `on` is the day the evening began. `alone` names boxes whose females glow without a male anywhere near,
    `idle` those whose males have no female; `advice` is what could be brought together, in sentences.
    """

    on: date
    sun: SunLine
    rows: tuple[DuskRow, ...]
    alone: tuple[str, ...] = ()
    idle: tuple[str, ...] = ()
    advice: tuple[str, ...] = ()
    empty: str = ""
    notice: Notice | None = None


@dataclass(frozen=True, slots=True)
class Candidate:
    """Animals that may be parents of a clutch: cohort, sex, how many, and why they are thought of."""

    cohort_id: str
    cohort: str
    sex: str
    n: int
    why: str = ""


@dataclass(frozen=True, slots=True)
class MatingGroup:
    """Females and males that were together in one box, from when until when, with the clutches laid there.

    `until` is None while they are together; `clutches` holds (cohort id, name, whose it is thought to be).
    """

    box_id: str
    label: str
    since: date
    until: date | None
    females: tuple[Candidate, ...]
    males: tuple[Candidate, ...]
    clutches: tuple[tuple[str, str, str], ...]
    text: str
