"""The nudge plan: dated digests for today and the coming weeks, so that the phone needs no app running.

References
----------
Ancker J. S. et al., 2017, Effects of workload, work complexity, and repeated alerts on alert fatigue, BMC Med
Inform Decis Mak 17:36: acceptance falls by about 30 % with each additional reminder, hence one a day by default.
Fitz N. et al., 2019, Batching smartphone notifications can improve well-being, Comput Hum Behav 101:84-94.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta, tzinfo
from itertools import zip_longest

from boxside.core.care.digest import LAST_LINE, content
from boxside.core.care.posted import day_of_digest, digest_id, forgotten, is_put_off, move_of, times_posted
from boxside.core.care.wall import WallTime, asked_time, lapse_minute, local_text, slot_time
from boxside.core.values.moments import day_of, iso_text
from boxside.core.values.nudge import MAX_SLOTS, BoxDues, Digest, LaterMove, NudgePlan, NudgePrefs, Posted

PLAN_DAYS = 60
PLAN_VERSION = 1


@dataclass(frozen=True, slots=True)
class _Slot:
    """One time of a day at which a digest may come: its number and when."""

    number: int
    at: WallTime
    until: int


def plan(
    boxes: Sequence[BoxDues],
    prefs: NudgePrefs,
    now_ms: int,
    zone: tzinfo,
    posted: Iterable[Posted] = (),
    days: int = PLAN_DAYS,
) -> NudgePlan:
    """Return the digests from now to `days` days ahead, as if nothing were done in between.

    Parameters
    ----------
    boxes : all boxes with their tasks, whether due yet or not
    prefs : when the keeper wants to be nudged, with every `Later` that was pressed on a digest
    now_ms : now, milliseconds UTC
    zone : the zone named by `prefs.zone`
    posted : what the phone says it has posted

    Notes
    -----
    A slot of today that is past is not made up for: whoever plans has the app open. A digest that shows is
    replaced without a sound while something is due, and withdrawn when nothing is, when `Later` moved it, or
    when its day is over. At most three digests are posted on a day, moved ones included.
    """
    posted = tuple(posted)
    today = day_of(now_ms, zone)
    if not prefs.wanted:
        return _plan_of(prefs, now_ms, [], {one.digest for one in posted if one.showing}, set())
    forget = forgotten(posted, prefs, today, now_ms)
    known = tuple(one for one in posted if one.digest not in forget)
    shown = _in_place(boxes, prefs, today, zone, known)
    withdraw = _outdated(known, shown, today, any_due=any(due.on <= today for box in boxes for due in box.dues))
    coming: list[Digest] = []
    for n in range(days + 1):
        day = today + timedelta(days=n)
        slots = [slot for slot in _coming(day, prefs, zone, posted, known) if slot.at.ms > now_ms]
        coming += _digests(boxes, prefs, day, slots, is_last=0 < n == days)
    return _plan_of(prefs, now_ms, [*shown, *coming], withdraw, forget)


def plan_json(made: NudgePlan) -> str:
    """Return the plan as the phone's receiver reads it (`shared/nudge-plan.schema.json`), canonical JSON.

    Times are wall times: the receiver reads them in the zone the phone is in, so that six in the evening
    stays six in the evening on a journey.
    """
    digests = [
        {
            "id": one.id,
            "slot": one.slot,
            "at": one.at_local,
            "until": one.until_local,
            "title": one.title,
            "brief": one.brief,
            "lines": list(one.lines),
            "boxes": list(one.boxes),
            "n_boxes": one.n_boxes,
            "silent": one.silent,
        }
        for one in made.digests
    ]
    whole = {
        "version": PLAN_VERSION,
        "made_at": iso_text(made.made_ms, 0),
        "zone": made.zone,
        "quiet": {"from": _clock(made.quiet_from), "to": _clock(made.quiet_to)},
        "digests": digests,
        "withdraw": list(made.withdraw),
        "forget": list(made.forget),
    }
    return json.dumps(whole, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def _clock(minute: int) -> str:
    return f"{minute // 60:02d}:{minute % 60:02d}"


def _plan_of(prefs: NudgePrefs, now_ms: int, digests: list[Digest], withdraw: set[str], forget: set[str]) -> NudgePlan:
    in_order = tuple(sorted(digests, key=lambda one: (one.at_ms, one.id)))
    gone = tuple(sorted(withdraw)), tuple(sorted(forget))
    return NudgePlan(now_ms, prefs.zone, prefs.quiet_from, prefs.quiet_to, in_order, *gone)


def _slots(day: date, prefs: NudgePrefs, zone: tzinfo) -> list[_Slot]:
    """Return the day's slots with their times; two that a clock change brings together are one."""
    times: list[tuple[int, WallTime]] = []
    for number, minute in enumerate(sorted(prefs.slots), start=1):
        at = slot_time(day, minute, prefs, zone)
        if at is not None and all(at.ms > other.ms for _, other in times):
            times.append((number, at))
    following = [at.minute for _, at in times[1:]]
    return [_Slot(number, at, lapse_minute(at, end, prefs)) for (number, at), end in zip_longest(times, following)]


def _in_place(
    boxes: Sequence[BoxDues], prefs: NudgePrefs, today: date, zone: tzinfo, known: tuple[Posted, ...]
) -> list[Digest]:
    """Return today's digests that show and stay, with today's words; one put off by `Later` does not."""
    showing = {one.digest: one for one in known if one.showing}
    stay = []
    for slot in _slots(today, prefs, zone):
        one = showing.get(digest_id(today, slot.number))
        move = move_of(one.digest, prefs) if one else None
        if one is not None and (move is None or move.asked_ms <= one.at_ms):
            stay.append(slot)
    return _digests(boxes, prefs, today, stay, silent=True)


def _outdated(known: tuple[Posted, ...], shown: list[Digest], today: date, any_due: bool) -> set[str]:
    """Return what shows and should not: of an earlier day, or with nothing due any more.

    A digest of a later day shows after a journey to where that day has not begun: it is left while it is true.
    """
    kept = {digest.id for digest in shown}
    ahead = {one.digest for one in known if any_due and day_of_digest(one.digest) > today}
    return {one.digest for one in known if one.showing} - kept - ahead


def _coming(
    day: date, prefs: NudgePrefs, zone: tzinfo, posted: tuple[Posted, ...], known: tuple[Posted, ...]
) -> list[_Slot]:
    """Return the day's slots that have not had their digest, those moved by `Later` at their new time."""
    taken = {one.digest for one in known}
    coming = []
    for slot in _slots(day, prefs, zone):
        digest = digest_id(day, slot.number)
        due = slot if digest not in taken else None
        if is_put_off(digest, prefs, posted):
            due = _moved(slot, move_of(digest, prefs), day, prefs, zone)
        if due is not None:
            coming.append(due)
    n_posted = sum(times_posted(digest_id(day, n), prefs, known) for n in range(1, MAX_SLOTS + 1))
    coming.sort(key=lambda slot: slot.at.ms)
    return coming[: max(0, MAX_SLOTS - n_posted)]


def _moved(slot: _Slot, move: LaterMove | None, day: date, prefs: NudgePrefs, zone: tzinfo) -> _Slot | None:
    at = asked_time(move.asked_ms, move.minutes, day, prefs, zone) if move is not None else None
    return None if at is None else _Slot(slot.number, at, lapse_minute(at, None, prefs))


def _digests(
    boxes: Sequence[BoxDues],
    prefs: NudgePrefs,
    day: date,
    slots: list[_Slot],
    is_last: bool = False,
    silent: bool = False,
) -> list[Digest]:
    found = []
    n_slots = len(prefs.slots)
    for slot in slots:
        said = content(boxes, day, prefs.max_lines, repeat=slot.number > 1, at_dusk=slot.number == n_slots)
        if said is None:
            continue
        found.append(
            Digest(
                id=digest_id(day, slot.number),
                day=day,
                slot=slot.number,
                at_ms=slot.at.ms,
                at_local=local_text(day, slot.at.minute),
                until_local=local_text(day, slot.until),
                title=said.title,
                brief=said.brief,
                lines=(*said.lines, LAST_LINE) if is_last else said.lines,
                boxes=said.boxes,
                n_boxes=said.n_boxes,
                silent=silent,
            )
        )
    return found
