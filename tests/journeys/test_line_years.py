"""A closed line over the years, logged as a keeper does: glow, males brought, eggs, parting, larvae, adults."""

from __future__ import annotations

import pytest

from boxside.actions import dusk, mating_group
from boxside.actions.entry import named_entity
from boxside.actions.pairings import pairings_view
from boxside.actions.rebuild_state import rebuild_state
from boxside.store import reading, saving
from tests.actions.keeping import Keeper
from tests.actions.lining import found, introduce, lay, rows, view


def brood(keeper: Keeper, cohort: str, year: int) -> None:
    """Let a clutch of last year grow up: one female in one box, one male in another, the rest dead."""
    keeper.stand(f"{year}-06-10")
    for sex, box in (("female", f"F{year}"), ("male", f"M{year}")):
        keeper.add(f"{box}x", stage="adult", n=1, sex=sex, cohort_id=named_entity(keeper.services, "cohort", cohort))


def evening(keeper: Keeper, year: int) -> str:
    """One evening: she glows, he is brought, she lays, they are parted; return the new clutch's name."""
    females, males = f"F{year}x", f"M{year}x"
    keeper.stand(f"{year}-06-15", 22 * 60)
    dusk.note_glow(keeper.services, keeper.id(females))
    (alone,) = [row for row in dusk.dusk_view(keeper.services).rows if row.state == "alone"]
    assert alone.offers[0].label == males
    introduce(keeper, females, males)
    keeper.stand(f"{year}-06-17", 22 * 60)
    name = f"{year} A"
    lay(keeper, females, name)
    mating_group.separate(keeper.services, keeper.id(females), keeper.id(males))
    keeper.stand(f"{year}-07-01")
    for box in (females, males):
        keeper.log(box, "died", n=1, stage="adult", cause="age")
    return name


def years(keeper: Keeper, n: int) -> None:
    keeper.stand("2026-06-10")
    found(keeper, "wild", 2, "B01", stage="larva", permit="2026-3")
    cohort = "wild"
    for year in range(2026, 2026 + n):
        brood(keeper, cohort, year)
        cohort = evening(keeper, year)


def test_one_pair_a_year_is_the_full_sib_line_of_the_textbook(keeper: Keeper) -> None:
    """Nobody enters a parent: F = 0, 0, 1/4, 3/8, 1/2 follows from who was in the box (Wright 1921, recursion)."""
    years(keeper, 4)
    found_rows = rows(keeper)
    names = ["wild", *(f"{year} A" for year in range(2026, 2030))]
    assert [found_rows[name].inbreeding for name in names] == pytest.approx([0, 0, 1 / 4, 3 / 8, 1 / 2])
    assert [row.size for row in view(keeper).generations] == pytest.approx([2, 2, 2, 2])


def test_the_line_travels_with_the_events_alone(keeper: Keeper, make_keeper) -> None:
    """Another keeper who takes over the events, in any order, sees the same line; so does a rebuilt log."""
    years(keeper, 2)
    mine = view(keeper)
    before, after, _ = rebuild_state(keeper.services)
    assert before == after
    other = make_keeper("other", "2027-12-01")
    events = [event for event, _ in reading.stream(keeper.services.store, -(1 << 53), 1 << 53)]
    with saving(other.services.store) as log:
        for event in reversed(events):
            log.append(event)
    assert view(other) == mine
    found(other, "got", 5, "B50", taken_from="2027 A")
    assert rows(other)["got"].inbreeding == rows(other)["2027 A"].inbreeding
    assert rows(other)["got"].inbreeding == pytest.approx(1 / 4)


def test_the_pairing_of_a_closed_line_says_what_it_costs(keeper: Keeper) -> None:
    years(keeper, 1)
    brood(keeper, "2026 A", 2027)
    (row,) = pairings_view(keeper.services).pairs
    assert row.kinship == pytest.approx(1 / 4)
    assert "brother and sister" in row.reasons[0][2]


def test_a_line_received_beside_ones_own_keeps_its_figures(keeper: Keeper, make_keeper) -> None:
    """Exchange of stock: the other's events join a log that has a line already; neither line changes the other's."""
    years(keeper, 2)
    mine = rows(keeper)
    other = make_keeper("other", "2026-06-10")
    years(other, 1)
    own = rows(other)
    events = [event for event, _ in reading.stream(keeper.services.store, -(1 << 53), 1 << 53)]
    with saving(other.services.store) as log:
        for event in events:
            log.append(event)
    other.stand("2027-12-01")
    both = view(other).cohorts
    for name in ("2026 A", "2027 A"):
        got = [row for row in both if row.name.startswith(name) and row.id == mine[name].id]
        assert [row.inbreeding for row in got] == [mine[name].inbreeding]
        assert [sorted(share for _, share in row.founder_shares) for row in got] == [[1.0]]
    kept = [row for row in both if row.id == own["2026 A"].id]
    assert [row.inbreeding for row in kept] == [own["2026 A"].inbreeding]
