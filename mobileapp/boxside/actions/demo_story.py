"""Two believable seasons of an invented colony of common glow-worms, deterministic for a given day.

All of it is made up: names, numbers and dates. The year runs as it does in the trade: larvae are fed from
March to November and rest in the cool over winter, but for some boxes that are kept warm and fed on; pupae
and adults come in June and July, eggs hatch in August.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

from boxside.actions.demo_lengths import lengths_measured
from boxside.core.values.event import Json

_BANDS = {1: 7, 2: 7, 3: 13, 4: 14, 5: 22, 6: 24}
_MOULT_AFTER = {1: 45, 2: 90, 3: 170, 4: 260, 5: 400}
_EVENING = 18 * 60
_DARK = 22 * 60
# Somewhere in the middle of Europe: only sunset follows from it.
_PLACE = {"latitude": "50", "longitude": "10"}


@dataclass(frozen=True, slots=True)
class Deed:
    """One thing the invented keeper did: when, what, at which box or cohort of the story."""

    day: date
    minute: int
    kind: str
    subject_type: str
    subject: str
    fields: Mapping[str, Json] = field(default_factory=dict)
    note: str | None = None


@dataclass(slots=True)
class Box:
    """One box of the story as it goes along."""

    code: str
    cohort: str
    n: int
    instar: int
    stage: str = "larva"
    fed: date = date.min
    misted: date = date.min
    renewed: date = date.min
    lined: date = date.min
    counted: date = date.min
    meal_in: bool = False
    days: int = 0
    dams: int = 0
    sires: tuple[str, int] = ("", 0)
    resting: bool = False


@dataclass(slots=True)
class Shelf:
    """The story's shelf: its boxes by code, what has happened so far, and its own chance."""

    chance: random.Random
    boxes: dict[str, Box] = field(default_factory=dict)
    deeds: list[Deed] = field(default_factory=list)
    minute: int = _EVENING
    quarantined: list[str] = field(default_factory=list)

    def do(self, day: date, kind: str, box: str, fields: Mapping[str, Json] | None = None, note: str = "") -> None:
        """Note a deed at a box, some minutes after the one before."""
        self.minute += self.chance.choice((1, 1, 2))
        self.deeds.append(Deed(day, min(self.minute, 1435), kind, "box", box, fields or {}, note or None))


def story(today: date) -> Iterator[Deed]:
    """Return what happened up to and including `today`, in order."""
    start = date(today.year - 2 - (today < date(today.year, 8, 20)), 8, 10)
    shelf = Shelf(random.Random(f"an invented colony {today.isoformat()}"))
    _begin(shelf, start)
    for n in range(1, (today - start).days + 1):
        day = start + timedelta(days=n)
        shelf.minute = _EVENING + shelf.chance.randrange(20)
        _season(shelf, day, start)
        for box in list(shelf.boxes.values()):
            if box.n > 0:
                _day_of_box(shelf, box, day, away=_is_left(box, day, today))
        _night(shelf, day)
    yield from shelf.deeds


def _is_left(box: Box, day: date, today: date) -> bool:
    """Leave every third box alone in the last days, so that the round of today has work in it."""
    return (today - day).days < 8 and int(box.code[1:]) % 3 == 0


def _begin(shelf: Shelf, day: date) -> None:
    """Make 24 boxes and fill the first of them: three hatched clutches, and a few grown larvae."""
    areas: dict[str, dict[str, Json]] = {
        "shelf": {"name": "Shelf", "cool": False, "usual_c": 20.0},
        "cool room": {"name": "Cool room", "cool": True, "usual_c": 6.0},
    }
    for area, said in areas.items():
        shelf.deeds.append(Deed(day, 600, "area_made", "area", area, said))
    for n in range(1, 25):
        fields: dict[str, Json] = {
            "label": f"B{n:02d}",
            "area": "shelf",
            "position": f"{(n - 1) // 8 + 1}.{(n - 1) % 8 + 1}",
            "substrate": "cloth" if n % 4 else "paper",
            "vents": "gauze" if n % 5 == 0 else "holes",
        }
        shelf.deeds.append(Deed(day, 610 + n, "box_made", "box", f"B{n:02d}", fields))
    for key, value in _PLACE.items():
        shelf.deeds.append(Deed(day, 600, "setting_changed", "colony", "colony", {"key": key, "value": value}))
    year = day.year
    for nth, letter in enumerate("ABC"):
        _cohort(shelf, day, f"{year} {letter}", "founders", "larva")
        for code in (f"B{2 * nth + 1:02d}", f"B{2 * nth + 2:02d}"):
            _stock(shelf, day, code, f"{year} {letter}", 34 + shelf.chance.randrange(12), 1)
    _cohort(shelf, day, f"{year} D", "received", "larva")
    for code in ("B07", "B08", "B09"):
        _stock(shelf, day, code, f"{year} D", 9 + shelf.chance.randrange(4), 5)
        shelf.do(day, "quarantine_began", code, {"until": (day + timedelta(days=30)).isoformat()})
        shelf.quarantined.append(code)


def _cohort(
    shelf: Shelf, day: date, name: str, origin: str, stage: str, more: Mapping[str, Json] | None = None
) -> None:
    fields: dict[str, Json] = {"name": name, "origin": origin, "species": "lampyris_noctiluca", "stage": stage}
    fields |= more or {}
    shelf.deeds.append(Deed(day, 640, "cohort_started", "cohort", name, fields))


def _stock(shelf: Shelf, day: date, code: str, cohort: str, n: int, instar: int) -> None:
    fields: dict[str, Json] = {"cohort": cohort, "n": n, "stage": "larva", "instar": instar, "quality": "counted"}
    shelf.do(day, "stocked", code, fields)
    shelf.boxes[code] = Box(code, cohort, n, instar, "larva", day, day, day, day, day)
    shelf.do(day, "fed", code, {"prey": "garden snail", "amount": 2})


_PUPATING = 4  # boxes a year
_SUMMER = ((6, 10), (6, 19), (6, 25), (7, 28), (7, 31), (8, 4))


def _season(shelf: Shelf, day: date, start: date) -> None:
    """Let the year turn: rest, waking, splitting, pupation, pairing, eggs, hatch."""
    if (day - start).days == 30:
        for code in shelf.quarantined:
            shelf.do(day, "quarantine_ended", code)
    if (day.month, day.day) == (10, 8) and day.year == start.year:
        _split(shelf, day)
    if turn := _turns().get((day.month, day.day)):
        turn(shelf, day)


def _turns() -> dict[tuple[int, int], Callable[[Shelf, date], None]]:
    """Return what happens on which day of every year."""
    fixed = {(11, 28): _rest, (3, 5): _wake, (6, 6): _pupate, (6, 20): _pair}
    return {**dict.fromkeys(_SUMMER, _summer), **fixed}


def _rest(shelf: Shelf, day: date) -> None:
    """Move two thirds of the boxes to the cool for the winter."""
    for box in shelf.boxes.values():
        if box.n > 0 and int(box.code[1:]) % 6 > 1:
            box.resting = True
            shelf.do(day, "rest_began", box.code, {"until": date(day.year + 1, 3, 5).isoformat()})
            shelf.do(day, "box_changed", box.code, {"area": "cool room"})


def _wake(shelf: Shelf, day: date) -> None:
    """Bring them back."""
    for box in shelf.boxes.values():
        if box.resting:
            box.resting = False
            shelf.do(day, "rest_ended", box.code)
            shelf.do(day, "box_changed", box.code, {"area": "shelf"})


def _split(shelf: Shelf, day: date) -> None:
    """Move half of each full box to a fresh one."""
    free = [f"B{n:02d}" for n in range(10, 19)]
    for box in [b for b in shelf.boxes.values() if b.n > 24][: len(free)]:
        code, n = free.pop(0), box.n // 2
        shelf.do(day, "transfer", box.code, {"to_box": code, "n": n})
        shelf.do(day, "substrate_renewed", code)
        shelf.boxes[code] = Box(code, box.cohort, n, box.instar, "larva", box.fed, day, day, day, day)
        shelf.boxes[code].days = box.days
        box.n -= n


def _pupate(shelf: Shelf, day: date) -> None:
    """Let the oldest grown larvae become prepupae and pupae; sexes are seen in the pupa."""
    grown = [box for box in shelf.boxes.values() if box.stage == "larva" and box.instar >= 5 and box.n > 3]
    for box in sorted(grown, key=lambda box: (-box.instar, -box.days, box.code))[:_PUPATING]:
        shelf.do(day, "prepupa", box.code, {"n": box.n})
        box.stage = "prepupa"


def _summer(shelf: Shelf, day: date) -> None:
    """Carry pupae, adults and eggs through the few weeks of summer."""
    steps = {"prepupa": _to_pupae, "pupa": _to_adults, "adult": _to_eggs, "egg": _hatch}
    for box in list(shelf.boxes.values()):
        if box.stage in steps and box.n > 0:
            steps[box.stage](shelf, box, day)


def _to_pupae(shelf: Shelf, box: Box, day: date) -> None:
    females = (box.n + 1) // 2
    shelf.do(day, "pupated", box.code, {"n": box.n})
    shelf.do(day, "sexed", box.code, {"n_female": females, "n_male": box.n - females})
    box.stage = "pupa"


def _to_adults(shelf: Shelf, box: Box, day: date) -> None:
    females = (box.n + 1) // 2
    for sex, n in (("female", females), ("male", box.n - females)):
        if n:
            shelf.do(day, "emerged", box.code, {"n": n, "to_sex": sex})
    box.stage, box.dams, box.sires = "adult", females, (box.cohort, box.n - females)


def _night(shelf: Shelf, day: date) -> None:
    """Watch the females of the season's few evenings: who glows from when, and that some have stopped before bed."""
    evening = random.Random(f"evening {day.isoformat()}")
    minute = _DARK + evening.randrange(10)
    for box in shelf.boxes.values():
        if box.stage != "adult" or box.n < 1 or evening.random() < 0.2:
            continue
        minute += 1 + evening.randrange(3)
        n = 1 + evening.randrange(max(1, box.n // 2))
        shelf.deeds.append(Deed(day, minute, "glowing", "box", box.code, {"n": n}))
        if evening.random() < 0.5:
            shelf.deeds.append(Deed(day, minute + 45, "glow_ended", "box", box.code))


def _pair(shelf: Shelf, day: date) -> None:
    """Let the males of two boxes change places, so that nobody pairs within the own box.

    What was received from outside stays apart.
    """
    adults = [b for b in shelf.boxes.values() if b.stage == "adult" and b.n > 1 and not b.cohort.endswith(" D")]
    for here, there in zip(adults[::2], adults[1::2], strict=False):
        males = {box.code: box.n // 2 for box in (here, there)}
        for to, come_from in ((here, there), (there, here)):
            fields: dict[str, Json] = {
                "from_box": come_from.code, "n": males[come_from.code], "introduced_sex": "male",
                "cohort": come_from.cohort,
            }  # fmt: skip
            shelf.do(day, "introduced", to.code, fields)
        here.sires, there.sires = there.sires, here.sires
        here.n += males[there.code] - males[here.code]
        there.n += males[here.code] - males[there.code]


def _to_eggs(shelf: Shelf, box: Box, day: date) -> None:
    """One clutch a box: a new cohort; the spent adults die."""
    name = f"{day.year} {box.cohort.split()[1][0]}{box.code[1:]}"
    sire, males = box.sires
    parents: list[Json] = [
        {"cohort": box.cohort, "sex": "female", "n": box.dams, "weight": box.dams},
        {"cohort": sire, "sex": "male", "n": males, "weight": males},
    ]
    _cohort(shelf, day, name, "laid", "egg", {"parents": parents, "n_dams": box.dams, "n_sires": max(1, males)})
    eggs = 60 + shelf.chance.randrange(30)
    laid: dict[str, Json] = {"cohort": name, "n": eggs, "quality": "estimated", "mother": box.cohort}
    shelf.do(day, "laid", box.code, laid | {"low": eggs - 15, "high": eggs + 15})
    shelf.do(day, "died", box.code, {"n": box.n, "stage": "adult", "cause": "age"})
    box.stage, box.cohort, box.n, box.instar, box.days = "egg", name, eggs, 0, 0


def _hatch(shelf: Shelf, box: Box, day: date) -> None:
    """Most eggs hatch over some days; what is left is taken out in the end."""
    if day.month == 7:
        n = box.n // 3
        shelf.do(day, "hatched", box.code, {"n": n, "quality": "estimated"})
        _first_meal(shelf, box, day)
        return
    left = box.n - 2 * (box.n // 3)
    shelf.do(day, "hatched", box.code, {"n": left - 6, "quality": "estimated"})
    shelf.do(day, "unhatched", box.code, {"n": 6})
    larvae = box.n - 6
    box.stage, box.n, box.instar, box.days = "larva", larvae, 1, 0
    box.counted = day
    _first_meal(shelf, box, day)
    free = next((f"B{n:02d}" for n in range(1, 25) if shelf.boxes.get(f"B{n:02d}", Box("", "", 0, 1)).n == 0), "")
    if free:
        half = larvae // 2
        shelf.do(day, "transfer", box.code, {"to_box": free, "n": half})
        shelf.do(day, "substrate_renewed", free)
        shelf.boxes[free] = Box(free, box.cohort, half, 1, "larva", day, day, day, day, day)
        box.n -= half


def _first_meal(shelf: Shelf, box: Box, day: date) -> None:
    shelf.do(day, "fed", box.code, {"prey": "young garden snail"})
    box.fed, box.meal_in = day, True


def _day_of_box(shelf: Shelf, box: Box, day: date, away: bool) -> None:
    """Do what one box needs on one day."""
    box.days += 0 if box.resting else 1
    if box.stage == "larva":
        _grow(shelf, box, day)
    if away:
        return
    if box.meal_in and (day - box.fed).days >= 2 + shelf.chance.randrange(2):
        shelf.do(day, "meal_taken_out", box.code)
        box.meal_in = False
    wait = _BANDS.get(box.instar, 24) + shelf.chance.choice((-1, 0, 0, 1, 2))
    if box.stage == "larva" and not box.resting and (day - box.fed).days >= wait:
        _feed(shelf, box, day)
    if (day - box.misted).days >= (4 if box.resting else 3):
        shelf.do(day, "misted" if shelf.chance.random() < 0.25 else "looked", box.code)
        box.misted = day
        _see(shelf, box, day)
    if (day - box.renewed).days >= 18 + shelf.chance.randrange(3):
        is_old = (day - box.lined).days >= 50
        shelf.do(day, "substrate_renewed" if is_old else "cleaned", box.code)
        box.renewed = day
        box.lined = day if is_old else box.lined
    if box.stage == "larva" and (day - box.counted).days >= 29 + shelf.chance.randrange(8):
        _count(shelf, box, day)


def _grow(shelf: Shelf, box: Box, day: date) -> None:
    due = _MOULT_AFTER.get(box.instar)
    if due is not None and box.days >= due and not box.resting:
        shelf.do(day, "moulted", box.code, {"to_instar": box.instar + 1})
        box.instar += 1


def _feed(shelf: Shelf, box: Box, day: date) -> None:
    if shelf.chance.random() < 0.12:
        shelf.do(day, "appetite", box.code, {"appetite": "searching"})
    fields: dict[str, Json] = {"prey": "garden snail" if box.instar > 2 else "young garden snail"}
    if shelf.chance.random() < 0.5:
        fields |= {"amount": 1 + box.n // 12, "batch": f"S{day.year % 100}-{(day.month + 1) // 2}"}
    shelf.do(day, "fed", box.code, fields)
    box.fed, box.meal_in = day, True


def _see(shelf: Shelf, box: Box, day: date) -> None:
    chance = shelf.chance.random()
    if chance < 0.03:
        shelf.do(day, "condensation", box.code, {"level": "droplets"})
        shelf.do(day, "aired", box.code)
    elif chance < 0.045 and box.stage == "larva":
        shelf.do(day, "appetite", box.code, {"appetite": "plump"})
    elif chance < 0.055:
        shelf.do(day, "pest_seen", box.code, {"what": "mould"})
        shelf.do(day, "substrate_renewed", box.code)
        box.renewed = day


def _count(shelf: Shelf, box: Box, day: date) -> None:
    """Count, with the losses that young larvae above all have."""
    rate = 0.05 if box.instar <= 2 else 0.015
    dead = sum(shelf.chance.random() < rate for _ in range(box.n))
    missing = int(shelf.chance.random() < 0.12 and box.n > 6)
    dead = min(dead, max(0, box.n - 2))
    if dead:
        cause = shelf.chance.choice(("unknown", "unknown", "failed_moult", "mould"))
        shelf.do(day, "died", box.code, {"n": dead, "cause": cause})
    box.n -= dead + missing
    shelf.do(day, "count", box.code, {"n": box.n, "complete": True, "method": "hand"})
    if day.month % 2 == 0 and box.n > 0:
        fields = lengths_measured(box.code, box.cohort, day, box.instar, box.n)
        shelf.deeds.append(Deed(day, min(shelf.minute, 1435), "measured", "box", box.code, fields))
    box.counted = day
