"""Random histories over all kinds: whatever is logged, late, taken back or corrected, the laws hold."""

from __future__ import annotations

import itertools
import json
import tempfile
from pathlib import Path

import hypothesis.strategies as st
from hypothesis import HealthCheck, settings
from hypothesis.stateful import Bundle, RuleBasedStateMachine, invariant, rule

from boxside.catalog.events import read_vocabulary
from boxside.core.ledger import fold_all, totals
from boxside.core.values.event import Event, Json
from boxside.core.values.ids import uuid7
from boxside.core.values.vocabulary import Field, FieldType, Kind
from boxside.store import open_store, reading, saving
from boxside.store.rebuild import rebuild, state_digest

ROOT = Path(__file__).parents[2]
VOCABULARY = read_vocabulary(ROOT / "shared" / "events.toml")
BOXES = [uuid7(1, n, n) for n in range(4)]
COHORTS = [uuid7(2, n, n) for n in range(3)]
AREAS = [uuid7(3, n, n) for n in range(2)]
SUBJECTS = {"box": BOXES, "cohort": COHORTS, "area": AREAS, "prey": ["snails"], "colony": ["colony"]}
KINDS = [*VOCABULARY.kinds.values()]
LEDGER_KINDS = [kind for kind in KINDS if kind.moves or kind.census]
START_MS = 1_700_000_000_000


def field_values(field: Field) -> st.SearchStrategy[Json]:
    simple: dict[FieldType, st.SearchStrategy[Json]] = {
        FieldType.INTEGER: st.integers(int(field.minimum or 0), int(min(field.maximum or 40, 40))),
        FieldType.NUMBER: st.integers(0, 40),
        FieldType.TEXT: st.sampled_from(["A", "B"]),
        FieldType.CHOICE: st.sampled_from(field.choices or ("-",)),
        FieldType.BOOLEAN: st.booleans(),
        FieldType.DATE: st.just("2026-03-01"),
        FieldType.BOX: st.sampled_from(BOXES),
        FieldType.COHORT: st.sampled_from(COHORTS),
        FieldType.AREA: st.sampled_from(AREAS),
        FieldType.EVENT: st.just(""),
        FieldType.ROWS: st.just([]),
        FieldType.PARTS: st.lists(
            st.fixed_dictionaries(
                {"cohort": st.sampled_from(COHORTS), "from_box": st.sampled_from(BOXES), "n": st.integers(0, 9)}
            ),
            max_size=2,
        ),
    }
    value = simple[field.type]
    return value if field.required else st.none() | value


def fields_of(kind: Kind) -> st.SearchStrategy[dict[str, Json]]:
    return st.fixed_dictionaries({field.name: field_values(field) for field in kind.fields})


def subjects_of(kind: Kind) -> st.SearchStrategy[tuple[str, str]]:
    return st.sampled_from([(kind_of, name) for kind_of in kind.subjects for name in SUBJECTS[kind_of]])


@st.composite
def drafts(draw: st.DrawFn) -> tuple[Kind, tuple[str, str], dict[str, Json], int]:
    kind = draw(st.sampled_from(LEDGER_KINDS) | st.sampled_from(KINDS).filter(lambda k: k.name != "void"))
    return kind, draw(subjects_of(kind)), draw(fields_of(kind)), draw(st.integers(0, 30))


class History(RuleBasedStateMachine):
    """The log is written event by event; the pure fold over the whole set is the oracle."""

    logged = Bundle("logged")

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.store = open_store(Path(self.folder.name), VOCABULARY)
        self.events: list[Event] = []
        self.number = itertools.count(1)

    def write(self, event: Event) -> str:
        with saving(self.store) as log:
            assert log.append(event)
        self.events.append(event)
        return event.id

    def event(self, kind: str, subject: tuple[str, str], fields: dict[str, Json], minute: int, **links: str) -> Event:
        n = next(self.number)
        at_ms = START_MS + minute * 60_000
        return Event(
            id=uuid7(START_MS + n, n % 4096, n), kind=kind, subject_type=subject[0], subject_id=subject[1],
            visit=uuid7(at_ms - at_ms % 600_000, 0, n % 3), at_ms=at_ms, offset_min=60, tz="Europe/Berlin",
            logged_ms=START_MS + n // 2, device="d1", seq=n, fields=fields, **links,
        )  # fmt: skip

    @rule(target=logged, draft=drafts())
    def log(self, draft: tuple[Kind, tuple[str, str], dict[str, Json], int]) -> str:
        kind, subject, fields, minute = draft
        return self.write(self.event(kind.name, subject, fields, minute))

    @rule(target=logged, old=logged, draft=drafts())
    def correct(self, old: str, draft: tuple[Kind, tuple[str, str], dict[str, Json], int]) -> str:
        kind, subject, fields, minute = draft
        return self.write(self.event(kind.name, subject, fields, minute, replaces=old))

    @rule(old=logged)
    def take_back(self, old: str) -> None:
        self.write(self.event("void", ("box", BOXES[0]), {}, 1, voids=old))

    @rule(draft=drafts())
    def log_and_undo(self, draft: tuple[Kind, tuple[str, str], dict[str, Json], int]) -> None:
        """Voiding restores: all but the record that something was taken back is as before."""
        before = self.ledger_rows()
        kind, subject, fields, minute = draft
        event_id = self.write(self.event(kind.name, subject, fields, minute))
        self.write(self.event("void", subject, {}, minute, voids=event_id))
        assert self.ledger_rows() == before

    @rule(minute=st.integers(0, 30))
    def log_an_unknown_kind(self, minute: int) -> None:
        self.write(self.event("from_a_newer_app", ("box", BOXES[1]), {"odd": [1, {"x": None}]}, minute))

    def ledger_rows(self) -> list[object]:
        sql = "SELECT * FROM {} WHERE kind <> 'void' ORDER BY 1, 2, 3, 4"
        latest = self.store.rows(sql.format("latest"))
        entity = self.store.rows("SELECT * FROM entity ORDER BY 1, 2")
        flags = self.store.rows("SELECT * FROM flag ORDER BY 1, 2")
        posting = self.store.rows("SELECT * FROM posting ORDER BY box, visit_ms, phase, at_ms, event_id, nth")
        return [reading.balances(self.store), latest, entity, flags, posting]

    @invariant()
    def the_ledger_is_that_of_the_whole_set(self) -> None:
        ledger = fold_all(self.events, VOCABULARY)
        kept = {(line, account): n for line, account, n in reading.balances(self.store)}
        assert kept == dict(ledger.balances)

    @invariant()
    def the_identity_holds_for_the_colony_and_no_line_is_negative(self) -> None:
        balances = {(line, account): n for line, account, n in reading.balances(self.store)}
        assert totals(balances).holds
        assert all(n >= 0 for (_, account), n in balances.items() if account == "")

    @invariant()
    def rebuild_leaves_the_digest(self) -> None:
        digest = state_digest(self.store)
        with saving(self.store):
            rebuild(self.store)
        assert state_digest(self.store) == digest

    def teardown(self) -> None:
        try:
            self.arrival_order_does_not_matter()
        finally:
            self.store.close()
            self.folder.cleanup()

    def arrival_order_does_not_matter(self) -> None:
        with tempfile.TemporaryDirectory() as folder:
            other = open_store(Path(folder), VOCABULARY)
            with saving(other) as log:
                for event in sorted(self.events, key=lambda e: json.dumps([e.kind, e.seq * 7 % 11, e.id])):
                    log.append(event)
            assert state_digest(other) == state_digest(self.store)
            other.close()


History.TestCase.settings = settings(
    max_examples=60, stateful_step_count=14, deadline=None, suppress_health_check=list(HealthCheck)
)
TestHistory = History.TestCase
