"""What was posted already: how often, what counts no more, and what the keeper's `Later` did to it."""

from __future__ import annotations

from datetime import date

from boxside.core.values.nudge import LaterMove, NudgePrefs, Posted

_APART_MS = 20 * 3_600_000


def digest_id(day: date, slot: int) -> str:
    """Return the id of a day's digest, the same whenever it is planned.

    Examples
    --------
    >>> digest_id(date(2026, 5, 3), 1)
    '2026-05-03.1'
    """
    return f"{day.isoformat()}.{slot}"


def day_of_digest(digest: str) -> date:
    """Return the day that a digest's id names."""
    return date.fromisoformat(digest[:10])


def move_of(digest: str, prefs: NudgePrefs) -> LaterMove | None:
    """Return the keeper's latest `Later` on a digest."""
    moves = [move for move in prefs.later if move.digest == digest]
    return max(moves, key=lambda move: (move.asked_ms, move.minutes), default=None)


def is_put_off(digest: str, prefs: NudgePrefs, posted: tuple[Posted, ...]) -> bool:
    """Return whether a digest was put off by `Later` and has not come again since."""
    move = move_of(digest, prefs)
    return move is not None and all(one.at_ms < move.asked_ms for one in posted if one.digest == digest)


def forgotten(posted: tuple[Posted, ...], prefs: NudgePrefs, today: date, now_ms: int) -> set[str]:
    """Return posted digests of today or later that may be posted again.

    Those put off by `Later`; those of a day that a wrong clock or a journey has brought back, where the last
    post lies 20 hours back or has not happened yet. Within 20 hours nothing is posted twice.
    """
    found = set()
    for one in posted:
        day = day_of_digest(one.digest)
        unreal = day > today and one.at_ms > now_ms
        long_ago = one.at_ms <= now_ms - _APART_MS
        if day >= today and (unreal or long_ago or is_put_off(one.digest, prefs, posted)):
            found.add(one.digest)
    return found


def times_posted(digest: str, prefs: NudgePrefs, known: tuple[Posted, ...]) -> int:
    """Return how often a digest was posted; each `Later` stands for a post that the phone has forgotten."""
    asked = [move.asked_ms for move in prefs.later if move.digest == digest]
    times = [one.at_ms for one in known if one.digest == digest]
    again = 1 if times and asked and max(times) >= max(asked) else 0
    return max(len(times), len(asked) + again)
