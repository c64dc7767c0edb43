"""From eggs to eggs through the actions: partial stage changes, corrections, clutches, marks and blends."""

from __future__ import annotations

import pytest

from boxside.actions.blend import blend
from boxside.actions.change_stage import change_stage, stage_view
from boxside.actions.lay_clutch import clutch_view, lay_clutch
from boxside.actions.mark_individual import mark_individual
from boxside.actions.undo_flow import undo_flow
from boxside.core.values.errors import EntryError
from boxside.core.values.season import ClutchDraft, MarkDraft, StageDraft
from boxside.core.values.stages import Stage
from boxside.store import reading
from tests.actions.keeping import Keeper


def stages_in(keeper: Keeper, box_id: str) -> dict[str, int]:
    found: dict[str, int] = {}
    for line, n in reading.lines(keeper.services.store, [box_id])[box_id]:
        found[str(line.stage)] = found.get(str(line.stage), 0) + n
    return found


def grown(keeper: Keeper, label: str = "B01", n: int = 10) -> str:
    keeper.add(label, n=n, instar=5)
    keeper.wait(1)
    return keeper.id(label)


def test_some_of_a_group_go_on_and_the_rest_stays(keeper: Keeper) -> None:
    box = grown(keeper)
    change_stage(keeper.services, StageDraft(box, "prepupa", 4))
    keeper.wait(1)
    change_stage(keeper.services, StageDraft(box, "pupa", 3, sex="female"))
    keeper.wait(1)
    change_stage(keeper.services, StageDraft(box, "adult", 2, sex="female"))
    assert stages_in(keeper, box) == {"larva": 6, "prepupa": 1, "pupa": 1, "adult": 2}
    offers = {offer.to: offer.most for offer in stage_view(keeper.services, box).offers if offer.instar == 0}
    assert offers == {"prepupa": 6, "pupa": 7, "adult": 1}


def test_an_adult_before_the_pupa_is_refused_with_the_reason(keeper: Keeper) -> None:
    box = grown(keeper)
    with pytest.raises(EntryError, match="it is for pupa, and the box holds 10 larva"):
        change_stage(keeper.services, StageDraft(box, "adult", 2))
    change_stage(keeper.services, StageDraft(box, "pupa", 3))
    keeper.wait(1)
    with pytest.raises(EntryError, match=r"holds 3 animals that this could mean \(3 pupae\), 2 fewer"):
        change_stage(keeper.services, StageDraft(box, "adult", 5))
    assert stages_in(keeper, box) == {"larva": 7, "pupa": 3}


def test_as_a_correction_the_missed_step_is_booked_first_and_visibly(keeper: Keeper) -> None:
    box = grown(keeper)
    flow = change_stage(keeper.services, StageDraft(box, "adult", 2, sex="male", as_correction=True))
    assert stages_in(keeper, box) == {"larva": 8, "adult": 2}
    first, last = (reading.event(keeper.services.store, event) for event in flow.events)
    assert first is not None
    assert last is not None
    assert (first.kind, first.fields["n"], last.kind) == ("pupated", 2, "emerged")
    assert (first.note or "").startswith("Correction:")
    undo_flow(keeper.services, flow.events)
    assert stages_in(keeper, box) == {"larva": 10}


def test_where_no_step_was_missed_the_headcount_was_too_low(keeper: Keeper) -> None:
    box = grown(keeper, n=3)
    flow = change_stage(keeper.services, StageDraft(box, "pupa", 5, as_correction=True))
    assert stages_in(keeper, box) == {"pupa": 5}
    first = reading.event(keeper.services.store, flow.events[0])
    assert first is not None
    assert (first.kind, first.fields["n"], first.fields["complete"]) == ("count", 5, False)
    assert keeper.totals().unaccounted == -2
    assert keeper.totals().holds


def test_moults_that_nobody_saw_are_booked_one_by_one(keeper: Keeper) -> None:
    keeper.add("B01", n=6, instar=2)
    keeper.wait(1)
    box = keeper.id("B01")
    with pytest.raises(EntryError, match="fewer than were entered"):
        change_stage(keeper.services, StageDraft(box, "larva", 4, instar=5))
    flow = change_stage(keeper.services, StageDraft(box, "larva", 4, instar=5, as_correction=True))
    events = [reading.event(keeper.services.store, event) for event in flow.events]
    assert [event.fields["to_instar"] for event in events if event] == [3, 4, 5]
    lines = reading.lines(keeper.services.store, [box])[box]
    assert sorted((line.instar, n) for line, n in lines) == [(2, 2), (5, 4)]


def test_an_entry_of_the_past_must_leave_later_ones_their_animals(keeper: Keeper) -> None:
    box = grown(keeper, n=5)
    keeper.stand("2026-06-01")
    keeper.log("B01", "given_away", n=4)
    keeper.stand("2026-06-02")
    with pytest.raises(EntryError, match="would leave too few animals for 'given away' of 2026-06-01"):
        keeper.log("B01", "died", at_ms=keeper.at("2026-05-20"), n=3)
    assert stages_in(keeper, box) == {"larva": 1}
    assert keeper.totals().dead == 0
    keeper.log("B01", "died", at_ms=keeper.at("2026-05-20"), n=1)
    assert stages_in(keeper, box) == {}


def paired(keeper: Keeper) -> str:
    """Make a box with one female of one cohort and two males of another."""
    keeper.add("B01", stage="adult", n=1, sex="female")
    keeper.wait(1)
    keeper.add("B02", stage="adult", n=2, sex="male")
    keeper.wait(1)
    keeper.log("B01", "introduced", from_box=keeper.id("B02"), n=2)
    keeper.wait(1)
    return keeper.id("B01")


def test_a_clutch_is_a_cohort_with_its_possible_parents(keeper: Keeper) -> None:
    box = paired(keeper)
    view = clutch_view(keeper.services, box)
    assert [(p.name, p.n) for p in view.dams + view.sires] == [("2026 A", 1), ("2026 B", 2)]
    flow = lay_clutch(keeper.services, ClutchDraft(box, 60, low=50, high=70))
    ((clutch, name),) = flow.made
    assert name == "2026 C"
    cohort = reading.entity(keeper.services.store, "cohort", clutch)
    assert cohort is not None
    parents = cohort.data["parents"]
    assert isinstance(parents, list)
    assert [(p["sex"], p["n"]) for p in parents if isinstance(p, dict)] == [("female", 1), ("male", 2)]
    # Nobody said how many bred: one of each, by chance.
    assert not {"n_dams", "n_sires", "laid_by"} & cohort.data.keys()
    keeper.stand("2026-05-05")
    again = lay_clutch(keeper.services, ClutchDraft(box, 20, clutch_id=clutch))
    assert not again.made
    assert stages_in(keeper, box) == {"egg": 80, "adult": 3}
    undo_flow(keeper.services, again.events)
    assert stages_in(keeper, box) == {"egg": 60, "adult": 3}


def test_a_hatch_over_several_days_revises_the_estimate_and_leaves_a_remainder(keeper: Keeper) -> None:
    box = paired(keeper)
    lay_clutch(keeper.services, ClutchDraft(box, 20))
    for day, n in (("2026-06-02", 8), ("2026-06-03", 10), ("2026-06-05", 6)):
        keeper.stand(day)
        change_stage(keeper.services, StageDraft(box, "larva", n))
    assert stages_in(keeper, box) == {"larva": 24, "adult": 3}
    assert keeper.totals().came_in == 3 + 20 + 4
    hatched = {line.cohort for line, _ in reading.lines(keeper.services.store, [box])[box] if line.stage is Stage.LARVA}
    assert len(hatched) == 1
    assert "" not in hatched
    keeper.stand("2026-06-20")
    keeper.log("B01", "unhatched", n=5)
    assert keeper.totals().dead == 5
    assert keeper.totals().holds


def test_a_marked_animal_is_a_cohort_of_one(keeper: Keeper) -> None:
    box = grown(keeper)
    flow = mark_individual(keeper.services, MarkDraft(box, "blue dot"))
    lines = reading.lines(keeper.services.store, [box])[box]
    assert sorted(n for _, n in lines) == [1, 9]
    assert flow.made[0][1] == "2026 A blue dot"
    with pytest.raises(EntryError, match="which cohort"):
        mark_individual(keeper.services, MarkDraft(box, "red dot"))
    with pytest.raises(EntryError, match="mark in words"):
        mark_individual(keeper.services, MarkDraft(box, " "))


def test_a_blend_keeps_the_shares_of_its_parents(keeper: Keeper) -> None:
    one, two = grown(keeper, "B01", 6), grown(keeper, "B02", 9)
    with pytest.raises(EntryError, match="no two cohorts"):
        blend(keeper.services, one)
    keeper.log("B01", "transfer", to_box=two)
    keeper.wait(1)
    flow = blend(keeper.services, two)
    ((line, n),) = reading.lines(keeper.services.store, [two])[two]
    assert (line.cohort, line.stage, n) == (flow.made[0][0], Stage.LARVA, 15)
    cohort = reading.entity(keeper.services.store, "cohort", line.cohort)
    assert cohort is not None
    parents = cohort.data["parents"]
    assert isinstance(parents, list)
    assert sorted(int(p["n"]) for p in parents if isinstance(p, dict) and isinstance(p["n"], int)) == [6, 9]
    assert keeper.totals().holds
