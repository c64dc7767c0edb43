"""What the line, the evenings and the pairings ask of the log: a statement or two each, through an index."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from boxside.core.values.event import Json
from boxside.core.values.stages import Sex, Stage
from boxside.store.connection import Store

Place = tuple[int, int, int, str]
_IN = "('founders', 'received', 'laid', 'surplus', 'revised')"
_STANDS = "NOT EXISTS (SELECT 1 FROM struck s WHERE s.event_id = t.event_id)"


def ever_held(store: Store, cohort: str) -> int:
    """Return how many animals a cohort ever held at most; 0 where that is not known.

    Blends and marked individuals are drawn from other cohorts, and are not known by this.
    """
    row = store.row(
        f"SELECT -sum(CASE WHEN account IN {_IN} THEN delta ELSE 0 END), "
        "-sum(CASE WHEN account = 'unaccounted' THEN delta ELSE 0 END) FROM posting WHERE cohort = ? "
        "AND NOT EXISTS (SELECT 1 FROM entity WHERE type = 'cohort' AND id = cohort "
        "AND json_extract(data, '$.origin') IN ('blend', 'individual'))",
        (cohort,),
    )
    came, found = (row[0] or 0, row[1] or 0) if row else (0, 0)
    return int(came) + max(int(found), 0)


@dataclass(frozen=True, slots=True)
class AdultMove:
    """A change in the adults of one cohort and sex in one box; `place` is where it stands in the history."""

    place: Place
    kind: str
    box: str
    cohort: str
    sex: Sex
    delta: int

    @property
    def event(self) -> str:
        """The event that brought it."""
        return self.place[3]


@dataclass(frozen=True, slots=True)
class Laying:
    """Eggs laid: which clutch, in which box, where that stands in the history, and by whom if that was said."""

    place: Place
    box: str
    cohort: str
    mother: str


@dataclass(frozen=True, slots=True)
class Drawn:
    """Animals that one cohort took over from another: as a blend, or as a marked individual."""

    into: str
    origin: str
    n: int


@dataclass(frozen=True, slots=True)
class Glow:
    """A glow seen, or its end, at a box."""

    event: str
    kind: str
    box: str
    at_ms: int
    fields: Mapping[str, Json]


@dataclass(frozen=True, slots=True)
class Heads:
    """Animals of one cohort in one box, stage and sex, now."""

    box: str
    cohort: str
    stage: Stage
    sex: Sex
    n: int


def adult_moves(store: Store) -> list[AdultMove]:
    """Return every change in the adults of the colony, in the order of the history."""
    sql = (
        "SELECT p.visit_ms, p.phase, p.at_ms, p.event_id, e.kind, p.box, p.cohort, p.sex, sum(p.delta) "
        "FROM posting p JOIN event e ON e.id = p.event_id "
        "WHERE p.cohort IN (SELECT id FROM entity WHERE type = 'cohort' UNION ALL SELECT '') "
        "AND p.stage = 'adult' AND p.account = '' "
        "GROUP BY p.visit_ms, p.phase, p.at_ms, p.event_id, p.box, p.cohort, p.sex HAVING sum(p.delta) <> 0 "
        "ORDER BY p.visit_ms, p.phase, p.at_ms, p.event_id, p.box, p.cohort, p.sex"
    )
    return [AdultMove((r[0], r[1], r[2], r[3]), r[4], r[5], r[6], Sex(r[7]), r[8]) for r in store.rows(sql)]


def layings(store: Store) -> list[Laying]:
    """Return every standing `laid` event, in the order of the history."""
    sql = (
        "SELECT t.visit_ms, t.phase, t.at_ms, t.event_id, e.subject_id, e.fields "
        "FROM touch t JOIN event e ON e.id = t.event_id "
        f"WHERE t.subject_type = 'cohort' AND t.kind = 'laid' AND e.subject_type = 'box' AND {_STANDS} "
        "GROUP BY t.event_id ORDER BY t.visit_ms, t.phase, t.at_ms, t.event_id"
    )
    found = []
    for row in store.rows(sql):
        said = json.loads(row[5])
        found.append(Laying((row[0], row[1], row[2], row[3]), row[4], _text(said, "cohort"), _text(said, "mother")))
    return found


def drawn(store: Store, cohorts: Sequence[str]) -> list[Drawn]:
    """Return what the given cohorts took over from others, summed over all events."""
    sql = (
        "SELECT taker, giver, sum(n) FROM (SELECT i.cohort AS taker, p.cohort AS giver, -sum(p.delta) AS n FROM "
        f"(SELECT DISTINCT event_id, cohort FROM posting WHERE cohort IN ({_marks(cohorts)}) AND account = '' "
        "AND delta > 0 AND stage IN ('egg', 'larva', 'prepupa', 'pupa', 'adult')) i "
        "JOIN posting p ON p.event_id = i.event_id WHERE p.account = '' AND p.cohort <> i.cohort "
        "GROUP BY i.event_id, i.cohort, p.cohort HAVING n > 0) GROUP BY taker, giver ORDER BY 1, 2"
    )
    return [Drawn(row[0], row[1], row[2]) for row in store.rows(sql, tuple(cohorts))] if cohorts else []


def heads(store: Store) -> list[Heads]:
    """Return all animals present, a line of the ledger each without its instar."""
    sql = (
        "SELECT box, cohort, stage, sex, sum(n) AS there FROM balance WHERE account = '' "
        "GROUP BY box, cohort, stage, sex HAVING there > 0 ORDER BY 1, 2, 3, 4"
    )
    return [Heads(row[0], row[1], Stage(row[2]), Sex(row[3]), row[4]) for row in store.rows(sql)]


def came_in(store: Store) -> dict[str, int]:
    """Return how many animals of each cohort ever came in from outside, or were laid."""
    sql = f"SELECT cohort, -sum(n) FROM balance WHERE account IN {_IN} GROUP BY cohort"
    return {row[0]: int(row[1]) for row in store.rows(sql)}


def started_ms(store: Store) -> dict[str, int]:
    """Return when each cohort was started, as its newest standing entry says."""
    sql = "SELECT subject_id, at_ms FROM latest WHERE kind = 'cohort_started' AND subject_type = 'cohort'"
    return {row[0]: int(row[1]) for row in store.rows(sql)}


def first_eggs_ms(store: Store) -> dict[str, int]:
    """Return when the first eggs of each cohort were booked."""
    sql = (
        "SELECT cohort, min(at_ms) FROM posting WHERE cohort IN (SELECT id FROM entity WHERE type = 'cohort') "
        "AND stage = 'egg' AND account = '' AND delta > 0 GROUP BY cohort"
    )
    return {row[0]: int(row[1]) for row in store.rows(sql)}


def pupated_ms(store: Store, boxes: Sequence[str]) -> dict[str, int]:
    """Return when animals last pupated in each of the given boxes."""
    sql = (
        "SELECT subject_id, at_ms FROM latest WHERE subject_type = 'box' AND kind = 'pupated' "
        f"AND subject_id IN ({_marks(boxes)})"
    )
    return {row[0]: int(row[1]) for row in store.rows(sql, tuple(boxes))}


def glows(store: Store, box: str, since_ms: int) -> list[Glow]:
    """Return the glows seen and ended at a box since an instant, oldest first."""
    sql = (
        "SELECT t.event_id, t.kind, e.subject_id, t.at_ms, e.fields FROM touch t JOIN event e ON e.id = t.event_id "
        "WHERE t.subject_type = 'box' AND t.subject_id = ? AND t.kind IN ('glowing', 'glow_ended') "
        f"AND t.visit_ms >= ? AND t.at_ms >= ? AND {_STANDS} ORDER BY t.at_ms, t.event_id"
    )
    # A visit begins before its acts: a day of leeway lets the index do its work.
    rows = store.rows(sql, (box, since_ms - 86_400_000, since_ms))
    return [Glow(row[0], row[1], row[2], row[3], json.loads(row[4])) for row in rows]


def boxes_that_glowed(store: Store, since_ms: int) -> list[str]:
    """Return the boxes whose newest glow is not older than an instant."""
    sql = (
        "SELECT subject_id FROM latest WHERE kind = 'glowing' AND subject_type = 'box' AND at_ms >= ? "
        "ORDER BY subject_id"
    )
    return [row[0] for row in store.rows(sql, (since_ms,))]


def _text(fields: Mapping[str, Json], name: str) -> str:
    value = fields.get(name)
    return value if isinstance(value, str) else ""


def _marks(values: Sequence[object]) -> str:
    return ", ".join("?" * len(values))
