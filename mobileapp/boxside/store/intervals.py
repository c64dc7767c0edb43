"""What the log says between two inspections: who was witnessed when, and what moved in between."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from boxside.core.ledger import Entry
from boxside.core.values.event import Json
from boxside.core.values.ledger import Line, Posting
from boxside.core.values.stages import Sex, Stage
from boxside.store.connection import Store
from boxside.store.ledger import Place

_PLACE = "(t.visit_ms, t.phase, t.at_ms, t.event_id)"


@dataclass(frozen=True, slots=True)
class Census:
    """An event that counted a whole box: its place in the history, and what it says."""

    place: Place
    kind: str
    fields: Mapping[str, Json]

    @property
    def at_ms(self) -> int:
        """When it happened."""
        return self.place[2]


def last_census(store: Store, box: str, place: Place, kinds: Sequence[str]) -> Census | None:
    """Return the newest standing event of these kinds at a box before a place that counted the whole box."""
    sql = f"""
    SELECT t.visit_ms, t.phase, t.at_ms, t.event_id, t.kind, e.fields FROM touch t JOIN event e ON e.id = t.event_id
    WHERE t.subject_type = 'box' AND t.subject_id = ? AND e.subject_id = t.subject_id
    AND t.kind IN ({_marks(kinds)}) AND {_PLACE} < (?, ?, ?, ?)
    AND NOT EXISTS (SELECT 1 FROM struck s WHERE s.event_id = t.event_id)
    ORDER BY t.visit_ms DESC, t.phase DESC, t.at_ms DESC, t.event_id DESC
    """
    for row in store.rows(sql, (box, *kinds, *place)):
        fields = json.loads(row[5])
        narrowed = any(fields.get(name) not in (None, "") for name in ("cohort", "stage", "instar", "sex"))
        if fields.get("complete", True) and not narrowed:
            return Census((row[0], row[1], row[2], row[3]), row[4], fields)
    return None


def arrivals(store: Store, box: str, after: Place | None, before: Place) -> list[tuple[int, str, Mapping[str, Json]]]:
    """Return when, by which kind and with which fields animals came into a box between two places, oldest first."""
    sql = """
    SELECT p.at_ms, e.kind, e.fields FROM posting p JOIN event e ON e.id = p.event_id
    WHERE p.box = ? AND p.account = '' AND p.delta > 0
    AND (p.visit_ms, p.phase, p.at_ms, p.event_id) > (?, ?, ?, ?)
    AND (p.visit_ms, p.phase, p.at_ms, p.event_id) < (?, ?, ?, ?)
    ORDER BY p.visit_ms, p.phase, p.at_ms, p.event_id, p.nth
    """
    rows = store.rows(sql, (box, *(after or (-(1 << 60), 0, 0, "")), *before))
    return [(row[0], row[1], json.loads(row[2])) for row in rows]


def booked_by(store: Store, events: Sequence[str], account: str) -> dict[str, int]:
    """Return how many animals each event booked to an account outside; events that booked none are left out."""
    sql = (
        f"SELECT event_id, sum(delta) FROM posting WHERE event_id IN ({_marks(events)}) AND account = ? "
        "GROUP BY event_id"
    )
    return {row[0]: int(row[1]) for row in store.rows(sql, (*events, account)) if row[1]}


def first_event_ms(store: Store) -> int | None:
    """Return when the first entry of the log that moved animals happened; None where there is none."""
    row = store.row("SELECT min(at_ms) FROM posting")
    return None if row is None or row[0] is None else int(row[0])


def last_of_stage(store: Store, box: str, stage: str) -> str:
    """Return the cohort whose animals of a stage were in a box last, empty where there were none."""
    sql = (
        "SELECT cohort FROM posting WHERE box = ? AND stage = ? AND account = '' AND cohort <> '' "
        "ORDER BY visit_ms DESC, phase DESC, at_ms DESC, event_id DESC LIMIT 1"
    )
    row = store.row(sql, (box, stage))
    return str(row[0]) if row else ""


def arrived(store: Store, event: str, box: str) -> int:
    """Return how many animals one event brought into a box."""
    sql = "SELECT sum(delta) FROM posting WHERE event_id = ? AND box = ? AND account = '' AND delta > 0"
    row = store.row(sql, (event, box))
    return int(row[0] or 0) if row else 0


def surplus_after(store: Store, boxes: Iterable[str], place: Place) -> set[str]:
    """Return the events at these boxes after a place that moved more animals than were expected."""
    sql = (
        "SELECT f.event_id FROM touch t JOIN flag f ON f.event_id = t.event_id AND f.flag = 'surplus' "
        "WHERE t.ledger = 1 AND t.subject_id = ? AND (t.visit_ms, t.phase, t.at_ms, t.event_id) > (?, ?, ?, ?)"
    )
    return {row[0] for box in boxes for row in store.rows(sql, (box, *place))}


def stage_sums(store: Store) -> dict[tuple[str, str], int]:
    """Return the balances of the whole colony by (stage, account)."""
    sql = "SELECT stage, account, sum(n) FROM balance GROUP BY stage, account"
    return {(row[0], row[1]): int(row[2]) for row in store.rows(sql)}


def booked_events(store: Store, witnesses: Sequence[str], to_ms: int) -> Iterator[Entry]:
    """Yield every standing event before an instant that moved animals or witnesses them, in order of history.

    Parameters
    ----------
    witnesses : the kinds that are evidence of living animals
    to_ms : an instant; events at or after it are left out
    """
    postings = _postings(store, to_ms)
    sql = f"""
    SELECT DISTINCT t.visit_ms, t.phase, t.at_ms, t.event_id, e.kind, e.subject_type, e.subject_id, e.fields
    FROM touch t JOIN event e ON e.id = t.event_id
    WHERE (t.ledger = 1 OR t.kind IN ({_marks(witnesses)})) AND t.subject_type = 'box' AND t.at_ms < ?
    AND NOT EXISTS (SELECT 1 FROM struck s WHERE s.event_id = t.event_id)
    ORDER BY t.visit_ms, t.phase, t.at_ms, t.event_id
    """
    for row in store.rows(sql, (*witnesses, to_ms)):
        box = row[6] if row[5] == "box" else ""
        yield Entry(row[3], row[2], row[4], box, json.loads(row[7]), postings.get(row[3], ()))


def _postings(store: Store, to_ms: int) -> dict[str, tuple[Posting, ...]]:
    sql = (
        "SELECT event_id, box, cohort, stage, instar, sex, account, delta FROM posting WHERE at_ms < ? "
        "ORDER BY event_id, nth"
    )
    found: dict[str, list[Posting]] = {}
    for row in store.rows(sql, (to_ms,)):
        line = Line(row[1], row[2], _STAGES[row[3]], row[4], _SEXES[row[5]])
        found.setdefault(row[0], []).append(Posting(line, row[6], row[7]))
    return {event: tuple(rows) for event, rows in found.items()}


_STAGES: dict[Any, Stage] = {str(stage): stage for stage in Stage}
_SEXES: dict[Any, Sex] = {str(sex): sex for sex in Sex}


def _marks(values: Sequence[object]) -> str:
    return ", ".join("?" * len(values))
