"""From postings to intervals: worked examples by hand, and the laws that hold for any history."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from pathlib import Path

import hypothesis.strategies as st
from hypothesis import given, settings

from boxside.catalog.events import read_vocabulary
from boxside.core.ledger import End, Entry, Fold, Passage, touched_boxes, walk
from boxside.core.values.event import Event, Json
from boxside.core.values.ledger import PRESENT, Line
from boxside.core.values.moments import DAY_MS
from boxside.core.values.stages import Sex, Stage

VOCABULARY = read_vocabulary(Path(__file__).parents[3] / "shared" / "events.toml")
A, B = "box-a", "box-b"
C, D, E = "cohort-c", "cohort-d", "cohort-e"


class Log:
    """Events folded one after another, each a day after the one before unless told otherwise."""

    def __init__(self) -> None:
        self.entries: list[Entry] = []
        self.balances: dict[tuple[Line, str], int] = {}

    def at(self, day: int, kind_name: str, box: str = A, **fields: Json) -> Log:
        kind = VOCABULARY.kinds[kind_name]
        name = f"event-{len(self.entries):04d}"
        event = Event(name, kind_name, "box", box, name, day * DAY_MS, 0, "UTC", day * DAY_MS, "d", 1, fields)
        boxes = touched_boxes(event, kind)
        here = {line: n for (line, account), n in self.balances.items() if account == PRESENT and line.box in boxes}
        postings = Fold.of(event, kind, here).postings
        for posting in postings:
            key = (posting.line, posting.account)
            self.balances[key] = self.balances.get(key, 0) + posting.delta
        self.entries.append(Entry(name, day * DAY_MS, kind_name, box, fields, postings))
        return self

    def passages(self) -> tuple[Passage, ...]:
        return walk(self.entries, VOCABULARY)


def in_days(passages: tuple[Passage, ...], stage: Stage = Stage.LARVA) -> list[tuple[int, str, float, float | None]]:
    """Return (animals, end, left after, left by) of one stage in days, in one order."""
    rows = [
        (p.n, str(p.end), p.left_after_ms / DAY_MS, None if p.left_ms is None else p.left_ms / DAY_MS)
        for p in passages
        if p.stage is stage
    ]
    return sorted(rows, key=lambda row: (row[1], row[2], row[0]))


def test_a_feeding_is_no_census_and_a_complete_count_is_one() -> None:
    log = Log().at(0, "stocked", cohort=C, n=10).at(10, "fed").at(20, "died", n=1)
    assert in_days(log.passages()) == [(1, "died", 0, 20), (9, "present", 0, None)]
    log = Log().at(0, "stocked", cohort=C, n=10).at(10, "count", n=10).at(20, "died", n=1)
    assert in_days(log.passages()) == [(1, "died", 10, 20), (9, "present", 10, None)]


def test_a_sighting_bounds_how_many_died_before_it() -> None:
    """Of 10, 7 were seen on day 10: at most 3 of the 5 dead found on day 20 can have died before."""
    log = Log().at(0, "stocked", cohort=C, n=10).at(10, "seen", n=7).at(20, "died", n=5)
    assert in_days(log.passages()) == [(3, "died", 0, 20), (2, "died", 10, 20), (5, "present", 10, None)]


def test_a_sighting_in_a_box_of_two_cohorts_witnesses_only_who_must_be_among_them() -> None:
    log = Log().at(0, "stocked", cohort=C, n=6).at(0, "stocked", cohort=D, n=4).at(10, "seen", n=7)
    seen = {p.cohort: [(q.n, q.left_after_ms // DAY_MS) for q in log.passages() if q.cohort == p.cohort]
            for p in log.passages()}  # fmt: skip
    assert seen == {C: [(3, 0), (3, 10)], D: [(3, 0), (1, 10)]}


def test_missing_animals_found_again_live_on_as_if_never_missed() -> None:
    log = Log().at(0, "stocked", cohort=C, n=10).at(10, "count", n=7).at(12, "found_again", n=2)
    assert in_days(log.passages()) == [(7, "present", 10, None), (2, "present", 12, None), (1, "unaccounted", 0, 10)]
    assert all(p.came_ms == 0 for p in log.passages())


def test_the_first_to_enter_a_stage_leave_it_first() -> None:
    log = Log().at(0, "laid", cohort=C, n=8, quality="counted").at(30, "hatched", n=3).at(34, "hatched", n=5)
    log.at(60, "count", n=8).at(70, "prepupa", n=4)
    larvae = [p for p in log.passages() if p.stage is Stage.LARVA and p.end is End.MOVED_ON]
    assert [(p.n, (p.entered_ms or 0) // DAY_MS) for p in larvae] == [(3, 30), (1, 34)]
    assert {(p.left_after_ms // DAY_MS, (p.left_ms or 0) // DAY_MS) for p in larvae} == {(60, 70)}


def test_hatching_more_than_estimated_counts_those_eggs_from_laying_on() -> None:
    log = Log().at(0, "laid", cohort=C, n=5).at(30, "hatched", n=7)
    eggs = [p for p in log.passages() if p.stage is Stage.EGG]
    assert sum(p.n for p in eggs) == 7
    assert {(p.came_ms, p.end) for p in eggs} == {(0, End.MOVED_ON)}


def test_a_blend_and_a_mark_leave_the_old_cohort_alive() -> None:
    log = Log().at(0, "stocked", cohort=C, n=4).at(0, "stocked", cohort=D, n=6)
    parts: list[Json] = [{"from_box": A, "cohort": C, "stage": "larva", "n": 4},
                         {"from_box": A, "cohort": D, "stage": "larva", "n": 6}]  # fmt: skip
    log.at(8, "blended", into=E, parts=parts)
    ends = Counter({(p.cohort, p.end): 0 for p in log.passages()})
    for p in log.passages():
        ends[p.cohort, p.end] += p.n
    assert ends == {(C, End.REMOVED): 4, (D, End.REMOVED): 6, (E, End.PRESENT): 10}
    assert all(p.entered_ms is None for p in log.passages() if p.cohort == E)


def test_the_sex_found_out_in_the_end_holds_for_all_stages_before() -> None:
    log = Log().at(0, "laid", cohort=C, n=2).at(30, "hatched", n=2).at(400, "pupated", n=2)
    log.at(405, "sexed", n_female=1, n_male=1)
    assert Counter((p.stage, p.sex) for p in log.passages()) == {
        (stage, sex): 1 for stage in (Stage.EGG, Stage.LARVA, Stage.PUPA) for sex in (Sex.FEMALE, Sex.MALE)
    }


BOX = st.sampled_from([A, B])
COHORT = st.sampled_from([C, D])
FEW = st.integers(1, 6)
MOVES: Mapping[str, Mapping[str, st.SearchStrategy[Json]]] = {
    "stocked": {"cohort": COHORT, "n": FEW, "stage": st.sampled_from(["larva", "pupa", "egg"])},
    "laid": {"cohort": COHORT, "n": FEW},
    "hatched": {"n": FEW},
    "unhatched": {"n": FEW},
    "prepupa": {"n": FEW},
    "pupated": {"n": FEW, "to_sex": st.sampled_from(["female", "male", None])},
    "emerged": {"n": FEW},
    "sexed": {"n_female": st.integers(0, 3), "n_male": st.integers(0, 3)},
    "died": {"n": FEW, "cohort": st.sampled_from([C, None])},
    "escaped": {"n": FEW},
    "given_away": {"n": FEW},
    "found_again": {"n": FEW, "was": st.sampled_from(["unaccounted", "escaped", "dead"])},
    "transfer": {"to_box": BOX, "n": st.sampled_from([None, 1, 2, 5])},
    "count": {"n": st.integers(0, 12), "complete": st.booleans()},
    "seen": {"n": st.integers(0, 9)},
    "in_moult": {},
    "marked": {"individual": st.just(E), "mark": st.just("dot")},
    "confirmed_empty": {},
}
EVENTS = st.sampled_from(sorted(MOVES)).flatmap(
    lambda kind: st.tuples(st.just(kind), BOX, st.fixed_dictionaries(dict(MOVES[kind])), st.integers(0, 3))
)


def drawn_of(entries: list[Entry]) -> int:
    """Count the animals that went from one cohort into another."""
    pairs = [pair for e in entries for pair in zip(e.postings[::2], e.postings[1::2], strict=True)]
    return sum(abs(a.delta) for a, b in pairs if a.account == PRESENT == b.account and a.line.cohort != b.line.cohort)


@settings(deadline=None, max_examples=150)
@given(st.lists(EVENTS, max_size=25))
def test_every_animal_is_somewhere_once(story: list[tuple[str, str, dict[str, Json], int]]) -> None:
    """However a history runs, the last passages are the balances: who is there, dead, missing or gone."""
    log, day = Log(), 0
    for kind, box, fields, days in story:
        day += days
        log.at(day, kind, box, **{name: said for name, said in fields.items() if said is not None})
    passages = log.passages()
    present: Counter[Line] = Counter()
    for p in passages:
        assert p.n > 0
        assert p.came_ms <= (p.left_ms if p.left_ms is not None else p.left_after_ms)
        assert p.left_ms is None or p.left_after_ms <= p.left_ms
        assert p.entered_ms is None or (p.entered_after_ms or 0) <= p.entered_ms
        if p.end is End.PRESENT:
            present[Line(p.box, p.cohort, p.stage)] += p.n
    expected: Counter[Line] = Counter()
    for (line, account), n in log.balances.items():
        if account == PRESENT:
            expected[Line(line.box, line.cohort, line.stage)] += n
    assert +present == +expected
    ends = {end: sum(p.n for p in passages if p.is_last and p.end is end) for end in End}
    came = -sum(n for (_, account), n in log.balances.items() if account in ("founders", "laid", "surplus", "revised"))
    drawn = drawn_of(log.entries)
    # Animals found beyond all that were ever lost came from nowhere: the accounts go negative by their number.
    booked = {account: sum(n for (_, a), n in log.balances.items() if a == account)
              for account in ("dead", "unaccounted", "escaped", "given_away")}  # fmt: skip
    found = ends[End.DIED] - booked["dead"] + ends[End.UNACCOUNTED] - booked["unaccounted"]
    found += ends[End.REMOVED] - booked["escaped"] - booked["given_away"] - drawn
    assert found >= 0
    assert sum(ends.values()) == came + drawn + found
    assert walk(log.entries, VOCABULARY) == passages


@settings(deadline=None, max_examples=80)
@given(st.integers(1, 30), st.integers(0, 30), st.integers(0, 30), st.integers(0, 30))
def test_deaths_are_placed_before_a_sighting_only_as_far_as_it_allows(n: int, k: int, k2: int, dead: int) -> None:
    k, k2, dead = min(k, n), min(k2, n), min(dead, n)
    log = Log().at(0, "stocked", cohort=C, n=n).at(5, "seen", n=k).at(9, "seen", n=k2)
    if dead:
        log.at(12, "died", n=dead)
    before_first = sum(p.n for p in log.passages() if p.end is End.DIED and p.left_after_ms < 5 * DAY_MS)
    before_second = sum(p.n for p in log.passages() if p.end is End.DIED and p.left_after_ms < 9 * DAY_MS)
    assert before_first == min(dead, n - max(k, k2))
    assert before_second == min(dead, n - k2)
