"""A count at any time, complete or not, and what it says of the animals that should be there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from boxside.actions.context import profile
from boxside.actions.facts import box_facts, species_of
from boxside.actions.fresh_box import is_old_label
from boxside.actions.groups import box_of_id, stages_of, vents_of
from boxside.actions.log_event import log_all, saved
from boxside.actions.loss_note import beliefs_of, expected_before, judged
from boxside.actions.services import Services
from boxside.actions.wording import stage_words
from boxside.core.ledger.judge import look_where
from boxside.core.values.event import Draft, Event, Json
from boxside.core.values.ledger import Line
from boxside.core.values.season import CountDraft, CountResult
from boxside.core.values.stages import Stage
from boxside.core.values.views import Saved
from boxside.store import reading

FOUND = "Book those that turn up as found again: they go back into the box."


def count_box(services: Services, draft: CountDraft, passed: tuple[str, ...] = ()) -> CountResult:
    """Log a count and hold it against what was expected.

    Raises
    ------
    EntryError : if there is no such box, or the number makes no sense; nothing was saved
    """
    box_of_id(services, draft.box_id)
    fields: dict[str, Json] = {
        "n": draft.n, "complete": draft.complete, "low": draft.low, "high": draft.high, "method": draft.method,
        "photo": draft.photo or None, "cohort": draft.cohort or None, "stage": draft.stage or None,
        "instar": draft.instar or None, "sex": draft.sex or None,
    }  # fmt: skip
    made = Draft(
        "count", "box", draft.box_id, fields, at_ms=draft.at_ms, visit=draft.visit or None, note=draft.note or None
    )
    (event,) = log_all(services, [made])
    return result_of(services, event, draft.n, draft.complete, saved(services, event, passed, was_due=False))


def confirm_empty(
    services: Services, box_id: str, retire: bool | None = None, visit: str = "", passed: tuple[str, ...] = ()
) -> CountResult:
    """Log that an old box was searched and is empty; what was still expected in it is unaccounted from now on.

    Parameters
    ----------
    retire : take it off the shelf as well; None does so where a fresh box has taken over its code
    """
    box_of_id(services, box_id)
    drafts = [Draft("confirmed_empty", "box", box_id, visit=visit or None)]
    if retire is True or (retire is None and _has_no_code(services, box_id)):
        drafts.append(Draft("box_retired", "box", box_id, {"retired": True}, visit=visit or None))
    event = log_all(services, drafts)[0]
    return result_of(services, event, 0, True, saved(services, event, passed, was_due=False))


def result_of(services: Services, event: Event, counted: int, complete: bool, done: Saved) -> CountResult:
    """Return what a count that was just logged says."""
    lines = expected_before(services, event)
    expected = sum(lines.values())
    verdict, sentence, p_value = _said(services, event, lines, counted, complete)
    checks: tuple[str, ...] = ()
    if verdict in ("more_than_explained", "explained"):
        checks = (*look_where(_stages(lines), vents_of(box_of_id(services, event.subject_id)),
                              _came_from(services, event.subject_id)), FOUND)  # fmt: skip
    return CountResult(done, expected, counted, expected - counted, complete, verdict, sentence, checks, p_value)


def _said(
    services: Services, event: Event, lines: Mapping[Line, int], counted: int, complete: bool
) -> tuple[str, str, float | None]:
    """Return the verdict, the sentence and the chance of a count."""
    expected = sum(lines.values())
    what = _words(lines, expected)
    if counted > expected:
        more = counted - expected
        tail = "an earlier count was too low, or some came in unseen. They are booked as found"
        return "surplus", f"{counted} counted, {more} more than the {expected} expected: {tail}.", None
    if not complete:
        return (
            "lower_bound",
            f"{counted} seen of {what} expected: at least so many are there. Nothing is missing yet.",
            None,
        )
    facts = box_facts(services, [event.subject_id])[event.subject_id]
    own = profile(services, species_of(services, facts))
    found = judged(services, event, counted, own, beliefs_of(services))
    if found is None:
        return "complete", f"All {what} are there." if expected != 1 else "The one expected is there.", None
    verdict = "estimate" if found.is_estimate else "more_than_explained" if found.is_more else "explained"
    end = " Look for an escape now." if found.is_more else ""
    return verdict, f"{found.sentence}.{end}", found.p_value


def _words(lines: Mapping[Line, int], n: int) -> str:
    stages = {line.stage for line in lines}
    return stage_words(next(iter(stages)), n) if len(stages) == 1 else f"{n} animals"


def _stages(lines: Mapping[Line, int]) -> Sequence[Stage]:
    return stages_of([(line, n) for line, n in lines.items()])


def _came_from(services: Services, box_id: str) -> str:
    """Return the code of the box whose animals came here last, while it is open and not confirmed empty."""
    for event, struck in reading.history(services.store, "box", box_id, 60):
        if event.kind == "transfer" and struck is None and event.fields.get("to_box") == box_id:
            old = reading.entity(services.store, "box", event.subject_id)
            newest = {
                i.kind: i.at_ms for i in reading.newest(services.store, "box", [event.subject_id])[event.subject_id]
            }
            is_checked = newest.get("confirmed_empty", -1) >= event.at_ms
            return old.shown if old and old.open and not is_checked else ""
    return ""


def _has_no_code(services: Services, box_id: str) -> bool:
    """Return whether a box gave its code to the fresh one that took its place."""
    return is_old_label(box_of_id(services, box_id).label)
