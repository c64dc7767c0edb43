"""A keeper moves, counts, looks for the missing and finds them again, through the actions on the fake device."""

from __future__ import annotations

from dataclasses import replace

import pytest

from boxside.actions.count_box import confirm_empty, count_box
from boxside.actions.transfer import transfer, transfer_view
from boxside.actions.undo_flow import undo_flow
from boxside.core.values.errors import EntryError
from boxside.core.values.season import CountDraft, TransferDraft, TransferPart
from boxside.store import reading
from tests.actions.keeping import KEPT_TABLES, Keeper, digest_of


def n_in(keeper: Keeper, box_id: str) -> int:
    return sum(n for _, n in reading.lines(keeper.services.store, [box_id])[box_id])


def counted_box(keeper: Keeper, label: str, n: int, **more: object) -> str:
    """Make a box whose animals were counted on the day it was filled."""
    keeper.add(label, n=n, **more)
    keeper.wait(1)
    keeper.log(label, "count", n=n)
    keeper.wait(1)
    return keeper.id(label)


def test_renewing_a_box_keeps_its_code_and_leaves_the_old_one_to_be_checked(keeper: Keeper) -> None:
    old = counted_box(keeper, "B01", 30)
    keeper.stand("2026-05-20")
    done = transfer(keeper.services, TransferDraft(old, (TransferPart(to_label="B01"),)))
    fresh = keeper.id("B01")
    assert fresh != old
    assert n_in(keeper, fresh) == 30
    assert n_in(keeper, old) == 0
    assert done.old_label == "B01 old"
    assert done.n_moved == 30
    assert done.left_behind == 0
    assert "check_old_box" in keeper.dues("B01 old")
    keeper.stand("2026-05-22")
    assert confirm_empty(keeper.services, old).verdict == "complete"
    assert not reading.boxes_labelled(keeper.services.store, "B01 old")
    assert keeper.id("B01") == fresh


def test_those_not_moved_stay_expected_in_the_old_box_until_it_is_confirmed_empty(keeper: Keeper) -> None:
    old = counted_box(keeper, "B01", 30)
    keeper.stand("2026-05-20")
    done = transfer(keeper.services, TransferDraft(old, (TransferPart(n=28, to_label="B02"),)))
    assert (done.n_moved, done.left_behind) == (28, 2)
    assert "2 larvae of B01 were not among them" in done.sentence
    assert done.checks
    assert "check_old_box" in keeper.dues("B01")
    late = transfer(keeper.services, TransferDraft(old, (TransferPart(n=1, to_box=keeper.id("B02")),)))
    assert late.left_behind == 1
    assert n_in(keeper, keeper.id("B02")) == 29
    keeper.stand("2026-05-22")
    result = confirm_empty(keeper.services, old)
    assert (result.expected, result.unaccounted) == (1, 1)
    assert "check_old_box" not in keeper.dues("B01")
    assert keeper.totals().unaccounted == 1
    assert keeper.totals().holds


def test_more_than_expected_are_booked_as_found_before_they_move(keeper: Keeper) -> None:
    old = counted_box(keeper, "B01", 30)
    keeper.wait(5)
    done = transfer(keeper.services, TransferDraft(old, (TransferPart(n=33, to_label="B02"),)))
    assert "3 more than were expected" in done.sentence
    assert n_in(keeper, keeper.id("B02")) == 33
    assert n_in(keeper, old) == 0
    assert keeper.totals().unaccounted == -3
    assert keeper.totals().holds


def test_grading_by_size_splits_a_box_in_one_act(keeper: Keeper) -> None:
    old = counted_box(keeper, "B01", 30)
    parts = (
        TransferPart(n=10, to_label="B02", size="small"),
        TransferPart(n=12, to_label="B03", size="middle"),
        TransferPart(to_label="B04", size="large"),
    )
    done = transfer(keeper.services, TransferDraft(old, parts))
    assert [n_in(keeper, keeper.id(code)) for code in ("B02", "B03", "B04")] == [10, 12, 8]
    assert [label for _, label in done.flow.made] == ["B02", "B03", "B04"]
    (line, _), *_ = reading.lines(keeper.services.store, [keeper.id("B04")])[keeper.id("B04")]
    (cohort,) = reading.entities(keeper.services.store, "cohort")
    assert line.cohort == cohort.id


def test_merging_keeps_the_cohorts_apart(keeper: Keeper) -> None:
    one, two = counted_box(keeper, "B01", 10), counted_box(keeper, "B02", 15)
    transfer(keeper.services, TransferDraft(one, (TransferPart(to_box=two),)))
    lines = reading.lines(keeper.services.store, [two])[two]
    assert sorted(n for _, n in lines) == [10, 15]
    view = transfer_view(keeper.services, two)
    assert view.expected == 25
    assert len(view.groups) == 2
    assert view.next_label == "B03"
    assert [target.label for target in view.targets] == ["B01"]
    assert view.targets[0].is_empty


def test_a_count_and_then_a_transfer_in_one_visit_do_not_count_the_moved_twice(keeper: Keeper) -> None:
    old = counted_box(keeper, "B01", 30)
    visit = keeper.round(box_id=old).visit
    count_box(keeper.services, CountDraft(old, 29, visit=visit))
    keeper.wait(2)
    transfer(keeper.services, TransferDraft(old, (TransferPart(to_label="B02"),), visit=visit))
    assert (n_in(keeper, old), n_in(keeper, keeper.id("B02"))) == (0, 29)


def test_a_rest_and_a_quarantine_move_along(keeper: Keeper) -> None:
    old = counted_box(keeper, "B01", 10)
    keeper.log("B01", "quarantine_began", until="2026-06-03")
    keeper.stand("2026-05-10")
    transfer(keeper.services, TransferDraft(old, (TransferPart(to_label="B01"),)))
    assert "quarantine_end" in keeper.dues("B01")


def test_a_whole_transfer_is_undone_at_once(keeper: Keeper) -> None:
    old = counted_box(keeper, "B01", 30)
    keeper.wait(5)
    done = transfer(keeper.services, TransferDraft(old, (TransferPart(n=33, to_label="B01"),)))
    undo_flow(keeper.services, done.flow.events)
    assert keeper.id("B01") == old
    assert n_in(keeper, old) == 30
    assert keeper.totals().unaccounted == 0
    with pytest.raises(EntryError, match="taken back before"):
        undo_flow(keeper.services, done.flow.events)


@pytest.mark.parametrize(
    ("parts", "why"),
    [
        ((), "which box"),
        ((TransferPart(n=3),), "another box"),
        ((TransferPart(n=0, to_label="B02"),), "at least one"),
        ((TransferPart(n=3, to_label="B09"),), "already a box B09"),
        ((TransferPart(n=3, to_box="nowhere"),), "no such box"),
        ((TransferPart(n=3, to_label="B02", size="huge"),), "none of small"),
        ((TransferPart(n=3, to_label="B02"), TransferPart(n=3, to_box="nowhere")), "no such box"),
    ],
)
def test_a_transfer_that_cannot_be_changes_nothing(keeper: Keeper, parts: tuple[TransferPart, ...], why: str) -> None:
    old = counted_box(keeper, "B01", 30)
    keeper.add("B09", stage="")
    before = digest_of(keeper.services.store, KEPT_TABLES)
    with pytest.raises(EntryError, match=why):
        transfer(keeper.services, TransferDraft(old, parts))
    assert digest_of(keeper.services.store, KEPT_TABLES) == before


def test_an_escape_is_noticed_at_the_next_count(keeper: Keeper) -> None:
    box = counted_box(keeper, "B01", 40)
    keeper.stand("2026-05-20")
    result = count_box(keeper.services, CountDraft(box, 25))
    assert result.is_alarm
    assert result.unaccounted == 15
    assert result.p_value is not None
    assert result.p_value < 0.01
    assert "15 of 40 larvae are missing in 17 days, more than deaths explain" in result.sentence
    assert any("gauze" in check for check in result.checks)
    due = keeper.dues("B01")["look_for_escape"]
    assert "15 of 40 larvae are missing" in due.reasons[0].text
    keeper.log("B01", "found_again", n=9)
    assert n_in(keeper, box) == 34
    assert "look_for_escape" not in keeper.dues("B01")
    assert keeper.totals().unaccounted == 6
    assert keeper.totals().holds


def test_an_ordinary_loss_is_said_to_be_one(keeper: Keeper) -> None:
    box = counted_box(keeper, "B01", 40)
    keeper.stand("2026-06-20")
    result = count_box(keeper.services, CountDraft(box, 38))
    assert result.verdict == "explained"
    assert "deaths alone may explain it" in result.sentence
    assert "look_for_escape" not in keeper.dues("B01")


def test_a_first_count_puts_an_estimate_right_and_accuses_nobody(keeper: Keeper) -> None:
    keeper.add("B01", n=60)
    keeper.stand("2026-05-20")
    result = count_box(keeper.services, CountDraft(keeper.id("B01"), 31))
    assert result.verdict == "estimate"
    assert "look_for_escape" not in keeper.dues("B01")


def test_an_incomplete_count_is_a_lower_bound(keeper: Keeper) -> None:
    box = counted_box(keeper, "B01", 40)
    keeper.wait(60)
    assert count_box(keeper.services, CountDraft(box, 12, complete=False)).verdict == "lower_bound"
    assert n_in(keeper, box) == 40
    more = count_box(keeper.services, CountDraft(box, 44, complete=False))
    assert more.verdict == "surplus"
    assert more.unaccounted == -4
    assert n_in(keeper, box) == 44


def test_a_count_of_one_stage_leaves_the_others_alone(keeper: Keeper) -> None:
    box = counted_box(keeper, "B01", 20, instar=5)
    keeper.log("B01", "pupated", n=5)
    keeper.stand("2026-05-08")
    result = count_box(keeper.services, CountDraft(box, 5, stage="pupa"))
    assert (result.expected, result.verdict) == (5, "complete")
    assert n_in(keeper, box) == 20


def test_a_draft_narrowed_to_a_group_moves_only_that(keeper: Keeper) -> None:
    box = counted_box(keeper, "B01", 20, instar=5)
    keeper.log("B01", "pupated", n=5, to_sex="female")
    keeper.wait(1)
    part = TransferPart(to_label="B02", stage="pupa")
    done = transfer(keeper.services, replace(TransferDraft(box, (part,)), empties=False))
    assert done.n_moved == 5
    assert n_in(keeper, box) == 15
    assert not done.checks
    assert "check_old_box" not in keeper.dues("B01")
