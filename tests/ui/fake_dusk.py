"""Evenings of the invented colony: views as the actions would return them, and what was called."""

from __future__ import annotations

from datetime import date
from typing import Any

from boxside.core.values.dusk import Brood, Candidate, DuskRow, DuskView, GlowSpan, Males, Offer, SunLine
from boxside.core.values.season import ClutchView, Flow, Parent
from boxside.core.values.views import Act, Saved, Undo
from tests.ui.fake_colony import Services, fail_if_told

ON = date(2026, 6, 20)
GLOW = Act("Glowing", "glow", kind="glowing")
ENDED = Act("Stopped glowing", "glow_off", kind="glow_ended")
BRING = Act("Bring males", "pair", command="introduce")
PART = Act("Part", "separate", command="separate")
LAY = Act("Eggs laid", "egg", command="lay")
SUN = SunLine("Sunset 21:33, dusk ends 22:24; now 38 min after sunset.", "21:33", "22:24", 38.0)
NO_SUN = SunLine("Set latitude and longitude to see times after sunset.")
NOW = GlowSpan(ON, "22:11", "", 38.0, None, 1, "since 22:11, 38 min after sunset", "g1")
BEFORE = GlowSpan(
    date(2026, 6, 19), "22:05", "23:40", 33.0, 128.0, 2, "2 glowed 22:05–23:40, from 33 min after sunset", "g0"
)
OFFERS = (
    Offer("id4", "B04", "c4", "Dogwood 2025", 3, 0.0, "3 males of Dogwood 2025 in B04, kinship 0.000"),
    Offer("id5", "B05", "c1", "Alder 2026", 1, 0.25, "1 male of Alder 2026 in B05, kinship 0.250, with females now"),
)
OLD = "2 females of Birch 2025, emerged 10 Jun, day 10: may die from 18 Jun, by 2 Jul at the latest."


def _brood(text: str, soon: bool = True) -> Brood:
    return Brood("Birch 2025", "female", 2, date(2026, 6, 10), date(2026, 6, 18), date(2026, 7, 2), soon, False, text)


ALONE = DuskRow(
    "id1", "B01", "Glowing since 22:11, 38 min after sunset. No male here.", "2 females of Birch 2025", "alone", 2, 0,
    (("Birch 2025", 2),), (), (_brood(OLD),), (NOW, BEFORE), (BRING, ENDED, LAY), OFFERS, (OLD,), True,
)  # fmt: skip
WAITING = DuskRow(
    "id2", "B02", "1 female without a male. Not seen glowing. Parted yesterday.", "1 female of Alder 2026", "waiting",
    1, 0, (("Alder 2026", 1),), (), (), (), (GLOW, BRING, LAY), OFFERS[:1], (), False, "Parted yesterday",
)  # fmt: skip
PAIRED = DuskRow(
    "id5", "B05", "3 females with 2 males. Last glow yesterday, 2 glowed 22:05–23:40, from 33 min after sunset.",
    "3 females of Birch 2025; 2 males of Dogwood 2025", "paired", 3, 2, (("Birch 2025", 3),),
    (Males("c4", "Dogwood 2025", 2, "18 Jun", "2 males of Dogwood 2025, introduced since 18 Jun"),),
    (_brood(OLD),), (BEFORE,), (LAY, PART, GLOW), (), (OLD,),
)  # fmt: skip
LAYING = DuskRow(
    "id6", "B06", "Eggs laid. 1 female with 1 male.", "1 female of Alder 2026; 1 male of Dogwood 2025", "laying", 1, 1,
    (("Alder 2026", 1),), (Males("c4", "Dogwood 2025", 1, "", "1 male of Dogwood 2025"),), (), (BEFORE,),
    (PART, LAY, GLOW),
)  # fmt: skip
MALES = DuskRow("id4", "B04", "3 males without a female.", "3 males of Dogwood 2025", "males", 0, 3)
ADVICE = (
    "B01 glows without a male: bring 3 males of Dogwood 2025 in B04, kinship 0.000.",
    "Males without a female to go to: B04.",
)
EMPTY = "No adults now. Males usually emerge before females; pupae are on the round."
PARENTS = (
    Candidate("c2", "Birch 2025", "female", 2, "in the box"),
    Candidate("c1", "Alder 2026", "female", 1, "in the box"),
    Candidate("c4", "Dogwood 2025", "male", 3, "with the females since the first of them came"),
)


def dusk_view(services: Services) -> DuskView:
    """Return the evening that `settings["evening"]` names: full, none, or full without a place."""
    which = services.settings.get("evening", "full")
    if which == "none":
        return DuskView(ON, SUN, (), empty=EMPTY)
    sun = NO_SUN if which == "no_place" and "longitude" not in services.settings else SUN
    return DuskView(ON, sun, (ALONE, WAITING, PAIRED, LAYING, MALES), ("B01",), ("B04",), ADVICE)


def _kept(services: Services, name: str, given: Any) -> Saved:
    fail_if_told(services)
    services.asked.append((name, given))
    return Saved("d1", Undo("d1", f"{name}"), None)


def introduce(services: Services, *given: Any) -> Saved:
    """Remember who was brought together."""
    return _kept(services, "introduce", given)


def separate(services: Services, *given: Any) -> Saved:
    """Remember who was parted."""
    return _kept(services, "separate", given)


def possible_parents(services: Services, box: str) -> tuple[Candidate, ...]:
    """Return who may be the parents of eggs in a box: of the last box a single pair."""
    return tuple(c for c in PARENTS if box != "id6" or c.cohort != "Birch 2025")


def clutch_view(services: Services, box_id: str) -> ClutchView:
    """Return what a clutch starts with."""
    dams = (Parent("c2", 2, "Birch 2025"),)
    earlier = (("k1", "2026 E"),) if box_id == "id6" else ()
    return ClutchView(box_id, "B05", "2026 F", dams, (), earlier)


def lay_clutch(services: Services, draft: Any, passed: tuple[str, ...] = ()) -> Flow:
    """Remember a clutch."""
    saved = _kept(services, "lay_clutch", draft)
    return Flow(saved, ("f1", "f2"), () if draft.clutch_id else (("k9", "2026 F"),))


DUSK_ACTIONS: dict[str, Any] = {
    "dusk_view": dusk_view, "introduce": introduce, "separate": separate,
    "possible_parents": possible_parents,
}  # fmt: skip
LAY_ACTIONS: dict[str, Any] = {"clutch_view": clutch_view, "lay_clutch": lay_clutch}

__all__ = ["DUSK_ACTIONS", "LAY_ACTIONS"]
