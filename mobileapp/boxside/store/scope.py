"""Which events concern some boxes, cohorts and areas, as a condition of a reading statement."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from boxside.store.connection import Store

FIRST_MS, LAST_MS = -(1 << 53), 1 << 53
_CONCERNED = """
SELECT t.event_id FROM json_each(?) s JOIN touch t ON t.subject_type = 'box'
  AND t.subject_id = json_extract(s.value, '$[0]')
  WHERE t.at_ms >= json_extract(s.value, '$[1]') AND t.at_ms <= json_extract(s.value, '$[2]')
UNION SELECT t.event_id FROM json_each(?) s JOIN touch t ON t.subject_type = 'cohort' AND t.subject_id = s.value
UNION SELECT t.event_id FROM json_each(?) s JOIN touch t ON t.subject_type = 'area' AND t.subject_id = s.value
UNION SELECT p.event_id FROM json_each(?) s JOIN posting p ON p.cohort = s.value
"""


@dataclass(frozen=True, slots=True)
class Scope:
    """Events at boxes within moments, both included, those of cohorts and areas, and what takes them back.

    `stays` are (box, from, to) in milliseconds UTC.
    """

    stays: tuple[tuple[str, int, int], ...]
    cohorts: tuple[str, ...] = ()
    areas: tuple[str, ...] = ()

    def condition(self) -> tuple[str, tuple[str, ...]]:
        """Return a condition on `event e` and its values."""
        values = tuple(json.dumps(part) for part in (self.stays, self.cohorts, self.areas, self.cohorts))
        sql = (
            f"e.row IN (WITH own AS ({_CONCERNED}) SELECT row FROM event WHERE id IN (SELECT event_id FROM own) "
            "UNION SELECT row FROM event WHERE voids IN (SELECT event_id FROM own) "
            "UNION SELECT row FROM event WHERE replaces IN (SELECT event_id FROM own))"
        )
        return sql, values


def stays_of_cohorts(store: Store, cohorts: Sequence[str]) -> list[tuple[str, int, int]]:
    """Return when which box held animals of any of these cohorts, as (box, from, to); open ends last for ever."""
    sql = (
        "SELECT p.box, p.at_ms, sum(p.delta) FROM json_each(?) s JOIN posting p ON p.cohort = s.value "
        "WHERE p.account = '' GROUP BY p.box, p.visit_ms, p.phase, p.at_ms, p.event_id "
        "ORDER BY p.box, p.visit_ms, p.phase, p.at_ms, p.event_id"
    )
    stays: list[tuple[str, int, int]] = []
    held: dict[str, tuple[int, int]] = {}
    for box, at_ms, change in store.rows(sql, (json.dumps(list(cohorts)),)):
        began_ms, n = held.pop(box, (at_ms, 0))
        if n + change > 0:
            held[box] = (began_ms, n + change)
        else:
            stays.append((box, min(began_ms, at_ms), max(began_ms, at_ms)))
    return sorted([*stays, *((box, began_ms, LAST_MS) for box, (began_ms, _) in held.items())])


def cohorts_in(store: Store, boxes: Iterable[str]) -> list[str]:
    """Return the cohorts that ever had animals in any of these boxes."""
    sql = (
        "SELECT DISTINCT p.cohort FROM json_each(?) s JOIN posting p ON p.box = s.value "
        "WHERE p.account = '' AND p.cohort <> '' ORDER BY p.cohort"
    )
    return [row[0] for row in store.rows(sql, (json.dumps(list(boxes)),))]
