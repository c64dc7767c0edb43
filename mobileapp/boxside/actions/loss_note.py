"""Whether the animals missing at a complete count are more than the stage's survival explains."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from boxside.actions.context import profile
from boxside.actions.corrections import in_scope
from boxside.actions.services import Services
from boxside.actions.wording import stage_words
from boxside.core.ledger import order_key
from boxside.core.ledger.judge import loss_sentence, stage_beliefs
from boxside.core.survival import LossVerdict, judge_loss
from boxside.core.values.estimates import BetaBelief
from boxside.core.values.event import Event, Json
from boxside.core.values.ledger import Line
from boxside.core.values.moments import DAY_MS
from boxside.core.values.profile import Profile
from boxside.core.values.stages import Sex, Stage
from boxside.core.values.vocabulary import Witness
from boxside.store import reading
from boxside.store.intervals import Census, arrivals, booked_by, last_census, stage_sums
from boxside.store.ledger import Place, place_of, present_before
from boxside.store.reading import Newest

_COUNTED = "counted"


@dataclass(frozen=True, slots=True)
class Judged:
    """A complete count held against survival; `is_estimate` where the number before was never counted."""

    expected: int
    counted: int
    days: int
    sentence: str
    is_more: bool
    is_estimate: bool
    p_value: float | None = None


def census_kinds(services: Services) -> list[str]:
    """Return the kinds that may count all animals of a box."""
    kinds = services.catalog.vocabulary.kinds.values()
    return [kind.name for kind in kinds if kind.witness is Witness.ALL_COUNTED]


def expected_before(services: Services, event: Event) -> dict[Line, int]:
    """Return the animals that a count should have found, line by line."""
    place = place_of(order_key(event, services.catalog.vocabulary.get(event.kind)))
    before = present_before(services.store, event.subject_id, place)
    return {line: n for line, n in before.items() if n > 0 and in_scope(line, event.fields)}


def judged(
    services: Services, event: Event, counted: int, own: Profile, beliefs: Mapping[Stage, BetaBelief]
) -> Judged | None:
    """Return what a complete count says of the animals missing; None where none is missing.

    Notes
    -----
    Days run from the last complete count of the box or, where animals have come in since, from the oldest
    arrival. With several stages in the box the one with the lowest survival is taken for all of them, so that
    nothing is called an escape that deaths might explain.
    """
    lines = expected_before(services, event)
    expected = sum(lines.values())
    if expected <= counted:
        return None
    place = place_of(order_key(event, services.catalog.vocabulary.get(event.kind)))
    since_ms, is_estimate = _since(services, event.subject_id, place)
    days = max(0.5, (event.at_ms - since_ms) / DAY_MS)
    what = _what(lines)
    if is_estimate:
        said = f"{expected} {what} were booked by estimate and {counted} were counted: the number is now a counted one"
        return Judged(expected, counted, round(days), said, False, True)
    shares = [(beliefs[stage], days / _usual_days(own, lines, stage)) for stage in {line.stage for line in lines}]
    belief, share = min(shares, key=lambda pair: pair[0].mean ** pair[1])
    found = judge_loss(expected, counted, belief, share)
    is_more = found.verdict is LossVerdict.MORE_THAN_EXPLAINED
    said = loss_sentence(what, expected, counted, round(days), expected - found.least, found.p_value, is_more)
    return Judged(expected, counted, round(days), said, is_more, False, found.p_value)


def beliefs_of(services: Services) -> dict[Stage, BetaBelief]:
    """Return what is believed about the survival of each stage in this colony."""
    return stage_beliefs(stage_sums(services.store))


def loss_notes(services: Services, newest: Mapping[str, Sequence[Newest]], species: str = "") -> dict[str, str]:
    """Return a sentence for each box whose latest complete count lacks more than survival explains.

    Parameters
    ----------
    newest : the newest entries of each box

    Notes
    -----
    One statement for all boxes; only those with a loss at their latest count are judged one by one.
    """
    counts = {item.event: box for box, items in newest.items() for item in items if _is_full(item)}
    if not counts:
        return {}
    lost = {event: n for event, n in booked_by(services.store, list(counts), "unaccounted").items() if n > 0}
    if not lost:
        return {}
    beliefs, own = beliefs_of(services), profile(services, species)
    notes = {}
    for event_id in lost:
        event = reading.event(services.store, event_id)
        counted = event.fields.get("n") if event else None
        if event is None or not isinstance(counted, int):
            continue
        found = judged(services, event, counted, own, beliefs)
        if found is not None and found.is_more:
            notes[counts[event_id]] = found.sentence
    return notes


def _is_full(item: Newest) -> bool:
    return item.kind == "count" and item.fields.get("complete") is not False


def _since(services: Services, box: str, place: Place) -> tuple[int, bool]:
    """Return since when the animals could go missing, and whether their number was only an estimate then."""
    full = last_census(services.store, box, place, census_kinds(services))
    came = arrivals(services.store, box, full.place if full else None, place)
    was_empty = full is not None and _found(full) == 0
    if full is not None and not (was_empty and came):
        return full.at_ms, any(_is_guess(kind, fields) for _, kind, fields in came)
    is_guess = any(_is_guess(kind, fields) for _, kind, fields in came)
    return (came[0][0] if came else place[2]), is_guess


def _found(full: Census) -> int:
    n = full.fields.get("n")
    return n if isinstance(n, int) else 0


def _is_guess(kind: str, fields: Mapping[str, Json]) -> bool:
    """Return whether animals came into a box by an estimate: as stocked, laid, hatched, or moved uncounted."""
    if fields.get("counted") is False:
        return True
    return kind in ("stocked", "cohort_started", "laid", "hatched") and fields.get("quality") != _COUNTED


def _usual_days(own: Profile, lines: Iterable[Line], stage: Stage) -> float:
    sexes = {line.sex for line in lines if line.stage is stage}
    low, high = own.duration_days(stage, next(iter(sexes)) if len(sexes) == 1 else Sex.UNKNOWN)
    return max(1.0, (low + high) / 2)


def _what(lines: Mapping[Line, int]) -> str:
    stages = {line.stage for line in lines}
    return stage_words(next(iter(stages)), 2).partition(" ")[2] if len(stages) == 1 else "animals"
