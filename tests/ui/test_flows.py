"""The flows, driven by touches: transfer, count, stages, clutch, mark, blend; what they ask and what they save."""

from __future__ import annotations

from typing import Any

import pytest

from boxside.core.values.season import CountDraft, Group, Parent, TransferPart
from tests.ui.fake_colony import LARVAE, colony

pytestmark = pytest.mark.screen

FEMALES = Group("3 adults, female, of Birch 2025", 3, "c2", "Birch 2025", "adult", sex="female")
MORE_FEMALES = Group("1 adult, female, of Cedar 2025", 1, "c4", "Cedar 2025", "adult", sex="female")
EGGS = Group("12 eggs of 2026 H", 12, "c3", "2026 H", "egg")
PUPAE = Group("2 pupae of Birch 2025", 2, "c2", "Birch 2025", "pupa")


def act(driver: Any, kind: str, label: str = "") -> None:
    """Begin the flow of a kind on the round."""
    from boxside.core.values.views import Act

    driver.page.do_act(Act(label or kind.capitalize(), "stage", kind=kind), None)
    driver.settle()


def taps(driver: Any, *words: str) -> int:
    """Tap one after another; returns how many taps that were."""
    for word in words:
        driver.tap(word)
    return len(words)


# ---- transfer ----


def test_all_of_a_box_are_in_a_fresh_one_within_five_taps(start: Any) -> None:
    """From the round: 34 larvae to a fresh box with the next free code, the result read and put away."""
    driver = start(colony())
    n = taps(driver, "Other", "Transfer", "Fresh box B06", "All 34, counted")
    (draft,) = driver.services.calls("transfer")
    assert draft.parts == (TransferPart(34, to_label="B06"),)
    assert (draft.empties, draft.counted, draft.visit) == (True, True, "visit-id1")
    assert "34 moved to B06. B01 stays to be checked until it is confirmed empty." in driver.words()
    n += taps(driver, "Done")
    assert n <= 5
    assert driver.shell.sheet is None
    assert driver.shell.here == "round"


def test_a_transfer_from_the_box_renews_it_under_its_code(start: Any) -> None:
    driver = start(colony())
    taps(driver, "Box", "Transfer", "Fresh box, same code B01", "All, not counted")
    (draft,) = driver.services.calls("transfer")
    assert draft.parts == (TransferPart(None, to_label="B01"),)
    assert (draft.empties, draft.counted) == (True, False)


def test_all_of_a_transfer_is_undone_at_once(start: Any) -> None:
    driver = start(colony())
    taps(driver, "Other", "Transfer", "Fresh box B06", "All 34, counted", "Undo")
    assert driver.services.voided == ["f1", "f2"]
    assert driver.shell.sheet is None


def test_those_not_found_stay_expected_and_are_looked_for(start: Any) -> None:
    driver = start(colony())
    taps(driver, "Other", "Transfer", "Fresh box B06", "All, another number")
    driver.type("32")
    driver.tap("Done")
    (draft,) = driver.services.calls("transfer")
    assert (draft.parts[0].n, draft.empties) == (32, True)
    assert "2 larvae of B01 were not among them" in driver.words()
    assert "Under the lid and along its rim" in driver.words()


def test_some_are_moved_by_stepper_and_the_rest_stays(start: Any) -> None:
    driver = start(colony())
    taps(driver, "Other", "Transfer", "Fresh box B06", "Some, the rest stays", "More", "Done")
    (draft,) = driver.services.calls("transfer")
    assert (draft.parts[0].n, draft.empties) == (2, False)


def test_a_box_in_use_is_chosen_from_the_list_or_by_its_code(start: Any) -> None:
    driver = start(colony())
    taps(driver, "Other", "Transfer", "A box in use", "B03", "All 34, counted")
    assert driver.services.calls("transfer")[0].parts == (TransferPart(34, to_box="id3"),)
    driver = start(colony(24))
    taps(driver, "Other", "Transfer", "A box in use")
    driver.type("17")
    taps(driver, "Find", "B17", "All 34, counted")
    assert driver.services.calls("transfer")[0].parts == (TransferPart(34, to_box="id17"),)


def test_a_split_goes_on_until_none_is_left(start: Any) -> None:
    driver = start(colony())
    taps(driver, "Other", "Transfer", "Split over several", "Fresh box B06")
    driver.type("12")
    driver.tap("Done")
    assert "B01: 22 to move" in driver.words()
    taps(driver, "Fresh box B07", "Rest: 22")
    (draft,) = driver.services.calls("transfer")
    assert draft.parts == (TransferPart(12, to_label="B06"), TransferPart(22, to_label="B07"))
    assert draft.empties


def test_a_split_may_leave_the_rest_where_it_is(start: Any) -> None:
    driver = start(colony())
    taps(driver, "Other", "Transfer", "Split over several", "Fresh box B06")
    driver.type("12")
    taps(driver, "Done", "The rest stays in B01")
    (draft,) = driver.services.calls("transfer")
    assert draft.parts == (TransferPart(12, to_label="B06"),)
    assert not draft.empties


def test_larvae_are_graded_by_size(start: Any) -> None:
    driver = start(colony())
    taps(driver, "Other", "Transfer", "Grade by size", "Large", "Fresh box B06")
    driver.type("10")
    taps(driver, "Done", "Small", "A box in use", "B03", "Rest: 24")
    (draft,) = driver.services.calls("transfer")
    assert draft.parts == (
        TransferPart(10, to_label="B06", size="large"), TransferPart(24, to_box="id3", size="small"),
    )  # fmt: skip


def test_which_group_is_asked_only_where_there_are_several(start: Any) -> None:
    driver = start(colony(groups=(LARVAE, PUPAE)))
    taps(driver, "Other", "Transfer", "Fresh box B06", "2 pupae of Birch 2025", "All 2, counted")
    (draft,) = driver.services.calls("transfer")
    assert draft.parts == (TransferPart(2, to_label="B06", cohort="c2", stage="pupa"),)


def test_an_empty_box_is_not_offered_for_transfer(start: Any) -> None:
    driver = start(colony(groups=()))
    driver.tap("Box")
    assert not driver.has("Transfer")


# ---- the old box ----


def test_empty_shows_where_to_look_before_it_confirms(start: Any) -> None:
    driver = start(colony(groups=()))
    act(driver, "confirmed_empty")
    assert "Look here once more" in driver.words()
    assert "The old box B01: in and under the lining" in driver.words()
    assert driver.services.calls("confirm_empty") == []
    driver.tap("Empty")
    assert driver.services.calls("confirm_empty") == ["id1"]
    assert driver.shell.sheet is None
    assert driver.shell.bar.is_toast


def test_what_was_still_expected_is_told_when_it_is_empty(start: Any) -> None:
    driver = start(colony())
    act(driver, "confirmed_empty")
    assert "Still expected in it: 34" in driver.words()
    driver.tap("Empty")
    assert "Unaccounted: 34" in driver.words()


def test_some_found_in_the_old_box_are_counted_instead(start: Any) -> None:
    driver = start(colony())
    act(driver, "confirmed_empty")
    driver.tap("Count")
    driver.type("2")
    taps(driver, "Done", "Yes, all of them")
    assert driver.services.calls("confirm_empty") == []
    assert [draft.n for draft in driver.services.calls("count_box")] == [2]


def test_a_box_to_be_checked_says_where_to_look(start: Any) -> None:
    from dataclasses import replace

    from boxside.core.values.views import DueLine
    from tests.ui.fake_colony import box_view

    def to_check(services: Any, box_id: str, limit: int = 30) -> Any:
        due = (DueLine("check_old_box", "Check the old box", "due today", "Its animals were moved yesterday."),)
        return replace(box_view(services, box_id, limit), due=due)

    driver = start(colony(), box_view=to_check)
    driver.tap("Box")
    assert "Under the lid and along its rim" in [row.get("detail") for row in driver.page.data]


# ---- count ----


@pytest.mark.parametrize(("words", "complete"), [("Yes, all of them", True), ("No, some may hide", False)])
def test_count_asks_the_number_then_whether_it_is_complete(start: Any, words: str, complete: bool) -> None:
    driver = start(colony())
    driver.tap("Count")
    driver.type("29")
    taps(driver, "Done", words)
    assert driver.services.calls("count_box") == [CountDraft("id1", 29, complete, visit="visit-id1")]
    shown = driver.words()
    assert "Expected: 34" in shown
    assert "Counted: 29" in shown
    assert ("Unaccounted: 5" in shown) == complete
    assert ("more than survival explains" in shown) == complete
    assert ("Under the lid and along its rim" in shown) == complete


def test_a_count_is_undone_from_its_result(start: Any) -> None:
    driver = start(colony())
    driver.tap("Count")
    driver.type("29")
    taps(driver, "Done", "Yes, all of them", "Undo")
    assert driver.services.voided == ["f2"]


# ---- stages ----


def test_all_larvae_moult_to_the_next_instar_in_three_taps(start: Any) -> None:
    driver = start(colony())
    act(driver, "moulted")
    taps(driver, "All 34", "Instar 4")
    (draft,) = driver.services.calls("change_stage")
    assert (draft.to, draft.n, draft.instar) == ("larva", None, 4)
    assert driver.shell.sheet is None
    assert driver.shell.bar.is_toast


@pytest.mark.parametrize(
    ("kind", "groups", "answers", "expected"),
    [
        ("prepupa", (LARVAE,), ("Done",), ("prepupa", 1, "", "")),
        ("pupated", (LARVAE,), ("More", "Done", "Female"), ("pupa", 2, "female", "")),
        ("emerged", (PUPAE,), ("All 2", "Cannot tell"), ("adult", None, "", "")),
        ("hatched", (EGGS,), ("All 12",), ("larva", None, "", "")),
        ("pupated", (LARVAE, PUPAE), ("Done", "Male"), ("pupa", 1, "male", "")),
    ],
)
def test_a_change_of_stage_asks_what_can_be_told(
    start: Any, kind: str, groups: Any, answers: tuple[str, ...], expected: Any
) -> None:
    driver = start(colony(groups=groups))
    act(driver, kind)
    taps(driver, *answers)
    (draft,) = driver.services.calls("change_stage")
    assert (draft.to, draft.n, draft.sex, draft.cohort) == expected


def test_the_cohort_is_asked_where_several_could_change(start: Any) -> None:
    from dataclasses import replace

    driver = start(colony(groups=(LARVAE, replace(LARVAE, cohort="c2", cohort_name="Birch 2025", n=6))))
    act(driver, "prepupa")
    taps(driver, "Birch 2025 (6)", "All 6")
    (draft,) = driver.services.calls("change_stage")
    assert (draft.cohort, draft.n) == ("c2", None)


REFUSED = "B01 holds 2 animals that this could mean. Nothing was saved. Count first, or save it as a correction."


def test_an_impossible_change_is_refused_and_offered_as_a_correction(start: Any) -> None:
    driver = start(colony())
    driver.services.fail_next = REFUSED
    act(driver, "pupated")
    taps(driver, "Done", "Female")
    assert driver.services.calls("change_stage") == []
    assert "B01 holds 2 animals that this could mean." in driver.words()
    driver.tap("Log it as a correction")
    (draft,) = driver.services.calls("change_stage")
    assert draft.as_correction
    assert "1 correction booked before it." in driver.words()


def test_an_impossible_entry_is_offered_as_a_correction_too(start: Any) -> None:
    driver = start(colony())
    driver.services.fail_next = REFUSED
    taps(driver, "Dead", "Done")
    assert driver.services.drafts == []
    driver.tap("Log it as a correction")
    assert [draft.kind for draft in driver.services.drafts] == ["died"]
    assert len(driver.services.calls("corrected")) == 1


def test_a_failure_that_no_correction_mends_offers_none(start: Any) -> None:
    driver = start(colony())
    driver.services.fail_next = "The disk is full. Free some room."
    act(driver, "prepupa")
    driver.tap("Done")
    assert not driver.has("Log it as a correction")
    driver.tap("Try again")
    assert len(driver.services.calls("change_stage")) == 1


def test_which_animals_died_is_asked_where_it_is_not_plain(start: Any) -> None:
    driver = start(colony(groups=(LARVAE, FEMALES)))
    taps(driver, "Dead", "3 adults, female", "Done")
    (draft,) = driver.services.drafts
    assert dict(draft.fields) == {"cohort": "c2", "stage": "adult", "sex": "female", "n": 1}


# ---- clutch, mark, blend ----


def test_a_clutch_asks_for_eggs_how_sure_and_whose(start: Any) -> None:
    driver = start(colony(groups=(FEMALES, MORE_FEMALES, EGGS)))
    act(driver, "laid")
    driver.type("60")
    taps(driver, "Done", "Estimated", "A new clutch: 2026 K", "Birch 2025 (3)", "These 1")
    (draft,) = driver.services.calls("lay_clutch")
    assert (draft.n, draft.quality, draft.clutch_id) == (60, "estimated", "")
    assert draft.dams == (Parent("c2", 3, "Birch 2025"),)


def test_a_later_batch_belongs_to_its_clutch(start: Any) -> None:
    driver = start(colony(groups=(FEMALES, EGGS)))
    act(driver, "laid")
    driver.type("20")
    taps(driver, "Done", "Counted", "More of 2026 H")
    (draft,) = driver.services.calls("lay_clutch")
    assert (draft.n, draft.quality, draft.clutch_id, draft.dams) == (20, "counted", "c3", ())


def test_one_animal_is_marked_without_a_keyboard(start: Any) -> None:
    driver = start(colony(groups=(LARVAE, FEMALES)))
    act(driver, "marked")
    taps(driver, "3 adults, female", "Blue dot")
    (draft,) = driver.services.calls("mark_individual")
    assert (draft.mark, draft.cohort, draft.stage, draft.sex) == ("Blue dot", "c2", "adult", "female")


def test_cohorts_are_blended_less_those_left_out(start: Any) -> None:
    driver = start(colony(groups=(LARVAE, FEMALES, EGGS)))
    act(driver, "blended")
    taps(driver, "2026 H", "These 2")
    assert driver.services.calls("blend") == [("c1", "c2")]


def test_one_cohort_is_no_blend(start: Any) -> None:
    driver = start(colony(groups=(LARVAE, FEMALES)))
    act(driver, "blended")
    driver.tap("Alder 2026")
    assert not any(target.text.startswith("These") for target in driver.targets())


def test_the_box_offers_what_only_a_flow_can_log_where_it_fits(start: Any) -> None:
    driver = start(colony(groups=(LARVAE,)))
    taps(driver, "Box", "Log")
    labels = [label for _, label, _ in driver.page.acts]
    assert "Mark one" in labels
    assert not {"Eggs laid", "Blend"} & set(labels)
    driver.services.groups = (FEMALES, EGGS)
    driver.page.refresh()
    assert {"Mark one", "Eggs laid", "Blend"} <= {label for _, label, _ in driver.page.acts}
