"""The season's pairings: whose males to whose females, how many of each, and why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from boxside.actions.adults import Emerged, expected_broods, living_broods, where
from boxside.actions.context import today
from boxside.actions.line_sound import SoundLine, sound_line
from boxside.actions.services import Services
from boxside.actions.wording import day_text
from boxside.core.breeding import best_pairings
from boxside.core.values.errors import EntryError
from boxside.core.values.line_view import AdultRow, PairingsView, PairRow
from boxside.core.values.lineage import Available, Living, Pairing, PairingPlan, PairingRequest, Window
from boxside.core.values.stages import Sex
from boxside.store import lineage

# Adults of the same weeks: pupae that should emerge within these days are planned with the adults of today.
SAME_WEEKS_DAYS = 21
MOST_FAMILIES = 40


@dataclass(frozen=True, slots=True)
class Wish:
    """What the keeper asks: families at least (0: as many as keep most diversity), clutches that a male may serve."""

    n_families: int = 0
    clutches_per_male: int = 1
    max_kinship: float = 1.0


def pairings_view(services: Services, on: date | None = None, wish: Wish | None = None) -> PairingsView:
    """Return the pairings for the animals that are adult on a day or in the weeks after it.

    Raises
    ------
    EntryError : for a wish that makes no sense, or more families than can be had
    """
    day, asked = on or today(services), wish or Wish()
    _check(asked)
    line = sound_line(services)
    broods = adults_on(services, line, day)
    rows = tuple(_adult_row(line, brood, day) for brood in broods)
    reason = _missing(broods, day)
    if reason:
        return PairingsView(day, (), rows, None, None, (), (), empty=reason)
    available = [_available(line, brood, day) for brood in broods]
    plan = _plan(line, available, asked)
    if plan is None:
        return PairingsView(day, (), rows, None, None, (), (), empty="No males and females are adult together.")
    boxes = where(services, line.heads)
    pairs = tuple(_pair_row(line, plan, pairing, boxes, day) for pairing in plan.pairings)
    return PairingsView(
        day, pairs, rows, plan.mean_kinship, plan.best_mean_kinship, plan.warnings, _notes(line, broods, asked)
    )


def _check(wish: Wish) -> None:
    if wish.n_families < 0:
        raise EntryError(f"{wish.n_families} is no number of families. Nothing was changed.")
    if wish.clutches_per_male < 1:
        raise EntryError(f"A male cannot serve {wish.clutches_per_male} clutches. Nothing was changed. Say 1 or more.")
    if not 0 <= wish.max_kinship <= 1:
        raise EntryError(f"Kinship lies between 0 and 1, not {wish.max_kinship}. Nothing was changed.")


def adults_on(services: Services, line: SoundLine, day: date) -> list[Emerged]:
    """Return the adults of the line that may still live on a day, and the pupae that emerge in the weeks after it."""
    living = living_broods(services, lineage.adult_moves(services.store), line.heads)
    coming = expected_broods(services, line.heads)
    last = day + timedelta(SAME_WEEKS_DAYS)
    found = [brood for brood in [*living, *coming] if brood.dies_by >= day and brood.on <= last]
    return [brood for brood in found if brood.sex is not Sex.UNKNOWN and brood.cohort in line.facts.names]


def _available(line: SoundLine, brood: Emerged, day: date) -> Available:
    return Available(
        line.facts.names[brood.cohort], brood.sex, brood.n, Window(max(brood.on, day), max(brood.dies_by, day))
    )


def _missing(broods: Sequence[Emerged], day: date) -> str:
    missing = [
        word
        for sex, word in ((Sex.FEMALE, "females"), (Sex.MALE, "males"))
        if not any(brood.sex is sex for brood in broods)
    ]
    if not missing:
        return ""
    return f"No {' and no '.join(missing)} are adult on {day} or in the weeks after it, so nothing can be paired."


def _plan(line: SoundLine, available: Sequence[Available], wish: Wish) -> PairingPlan | None:
    """The plan of as many families as keep most diversity; EntryError only for what the keeper asked for."""
    n_females = sum(item.n for item in available if item.sex is Sex.FEMALE)
    n_males = sum(item.n for item in available if item.sex is Sex.MALE) * wish.clutches_per_male
    most = max(1, min(n_females, n_males, MOST_FAMILIES))
    request = PairingRequest(
        n_families=wish.n_families or 1,
        most_families=wish.n_families or most,
        clutches_per_male=wish.clutches_per_male,
        max_kinship=wish.max_kinship,
        standing=_standing(line),
    )
    try:
        return best_pairings(line.known, available, request)
    except EntryError:
        if wish.n_families or wish.max_kinship < 1.0:
            raise
        return None


def _standing(line: SoundLine) -> tuple[Living, ...]:
    """Animals that are not bred from now: what is unsexed, as larvae are."""
    return tuple(Living(item.cohort, unsexed=item.unsexed) for item in line.living if item.unsexed)


def _pair_row(line: SoundLine, plan: PairingPlan, pairing: Pairing, boxes: object, day: date) -> PairRow:
    ids = {name: cohort for cohort, name in line.facts.names.items()}
    males, females = ids[pairing.males], ids[pairing.females]
    there = boxes if isinstance(boxes, dict) else {}
    second = next((a.text for a in plan.alternatives if a.instead_of == (pairing.males, pairing.females)), "")
    return PairRow(
        males_id=males,
        males=pairing.males,
        females_id=females,
        females=pairing.females,
        n_males=pairing.n_males,
        n_females=pairing.n_females,
        kinship=pairing.kinship,
        when=_window_text(pairing.window, day),
        reasons=tuple((reason.rule, reason.value, reason.text) for reason in pairing.reasons),
        boxes=f"males in {_codes(there.get((males, Sex.MALE)))}, females in {_codes(there.get((females, Sex.FEMALE)))}",
        second_best=second,
    )


def _codes(codes: object) -> str:
    return ", ".join(codes) if isinstance(codes, tuple) and codes else "no box"


def _window_text(window: Window | None, day: date) -> str:
    if window is None:
        return "at any time"
    return f"{day_text(window.first, day)} to {day_text(window.last, day)}"


def _adult_row(line: SoundLine, brood: Emerged, day: date) -> AdultRow:
    name = line.facts.names[brood.cohort]
    word = f"{brood.n} {brood.sex.value}{'' if brood.n == 1 else 's'}"
    span = f"{day_text(brood.on, day)} to {day_text(brood.dies_by, day)}"
    text = f"{name}: {word}, {'expected' if brood.expected else 'adult'} {span} at most."
    return AdultRow(brood.cohort, name, brood.sex.value, brood.n, brood.on, brood.dies_by, brood.expected, text)


def _notes(line: SoundLine, broods: Sequence[Emerged], wish: Wish) -> tuple[str, ...]:
    notes = [f"One male serves {wish.clutches_per_male} clutch{'' if wish.clutches_per_male == 1 else 'es'} here."]
    if any(brood.expected for brood in broods):
        notes.append("Pupae are planned for the middle of their usual days; they may emerge earlier or later.")
    if line.facts.unknown:
        notes.append("Unknown parents count as unrelated founders: the true kinship may be higher.")
    return tuple(notes)


def pairings_json(services: Services, on: date | None = None, wish: Wish | None = None) -> dict[str, object]:
    """Return the pairings as plain data, for programs."""
    view = pairings_view(services, on, wish)
    return {
        "on": view.on.isoformat(),
        "pairs": [
            {
                "males": row.males,
                "females": row.females,
                "n_males": row.n_males,
                "n_females": row.n_females,
                "kinship": row.kinship,
                "when": row.when,
                "reasons": [{"rule": rule, "value": _finite(value), "text": text} for rule, value, text in row.reasons],
                "second_best": row.second_best,
            }
            for row in view.pairs
        ],
        "available": [
            {
                "cohort": row.cohort, "sex": row.sex, "n": row.n, "first": row.first.isoformat(),
                "last": row.last.isoformat(), "expected": row.expected,
            }
            for row in view.available
        ],
        "mean_kinship": view.mean_kinship,
        "best_mean_kinship": view.best_mean_kinship,
        "warnings": list(view.warnings),
        "notes": list(view.notes) + ([view.empty] if view.empty else []),
    }  # fmt: skip


def _finite(value: float) -> float | None:
    return value if abs(value) < float("inf") else None


def pairings_text(services: Services, on: date | None = None, wish: Wish | None = None) -> list[str]:
    """Return the pairings in lines of text."""
    view = pairings_view(services, on, wish)
    if view.empty:
        return [view.empty, *(row.text for row in view.available)]
    lines = []
    for row in view.pairs:
        males, females = _many(row.n_males, "male"), _many(row.n_females, "female")
        lines.append(f"{males} of {row.males} with {females} of {row.females}: kinship {row.kinship:.3f}, {row.when}")
        lines.append(f"     {row.boxes}")
        lines += [f"     {text}" for _, _, text in row.reasons]
        lines += [f"     {row.second_best}"] if row.second_best else []
    lines.append(
        f"Mean kinship of the offspring {view.mean_kinship:.4f}; the best possible {view.best_mean_kinship:.4f}."
    )
    return [*lines, *view.warnings, *view.notes]


def _many(n: int, word: str) -> str:
    return f"{n} {word}{'' if n == 1 else 's'}"
