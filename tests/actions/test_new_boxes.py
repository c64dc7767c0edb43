"""New boxes: codes, all or none, and when their first meal is due."""

from __future__ import annotations

from collections import Counter
from datetime import date

import hypothesis.strategies as st
import pytest
from hypothesis import HealthCheck, given, settings

from boxside.actions import add_box
from boxside.core.values.errors import EntryError
from boxside.core.values.views import NewBox
from boxside.store import reading
from tests.actions.keeping import Keeper


def whole_shelf(n: int = 24, **more: object) -> list[NewBox]:
    return [NewBox(f"B{i:02d}", "larva", 20, 1 + i % 6, **more) for i in range(1, n + 1)]  # type: ignore[arg-type]


def feed_days(keeper: Keeper, labels: list[str]) -> dict[str, date]:
    return {label: keeper.dues(label)["feed"].on for label in labels}


def test_a_whole_shelf_is_made_at_once(keeper: Keeper) -> None:
    add_box.add_boxes(keeper.services, whole_shelf())
    boxes = reading.open_boxes(keeper.services.store)
    assert [box.shown for box in boxes] == [f"B{i:02d}" for i in range(1, 25)]
    assert keeper.totals().present == 480
    names = [cohort.label for cohort in reading.entities(keeper.services.store, "cohort")]
    assert len(set(names)) == 24
    assert names[:3] == ["2026 A", "2026 B", "2026 C"]


def test_first_meals_of_unknown_boxes_are_spread_over_the_first_week(keeper: Keeper) -> None:
    add_box.add_boxes(keeper.services, whole_shelf())
    days = feed_days(keeper, [f"B{i:02d}" for i in range(1, 25)])
    assert min(days.values()) >= date(2026, 5, 3)
    assert max(days.values()) <= date(2026, 5, 9)
    a_day = Counter(days.values())
    assert len(a_day) >= 6, "spread over the week"
    assert max(a_day.values()) <= 8, "never a third of the shelf on one day"


def test_the_young_of_unknown_boxes_come_no_later_than_the_old_on_average(keeper: Keeper) -> None:
    add_box.add_boxes(keeper.services, whole_shelf())
    days = feed_days(keeper, [f"B{i:02d}" for i in range(1, 25)])
    young = [days[f"B{i:02d}"].day for i in range(1, 25) if 1 + i % 6 <= 2]
    old = [days[f"B{i:02d}"].day for i in range(1, 25) if 1 + i % 6 >= 5]
    assert sum(young) / len(young) < sum(old) / len(old)
    assert max(young) <= 3 + 3


def test_known_last_meals_give_their_own_days(keeper: Keeper) -> None:
    keeper.add("B01", instar=1, fed="today")
    keeper.add("B02", instar=1, fed="about", fed_days=4)
    keeper.add("B03", instar=5, fed="today")
    days = feed_days(keeper, ["B01", "B02", "B03"])
    assert days == {"B01": date(2026, 5, 10), "B02": date(2026, 5, 6), "B03": date(2026, 5, 28)}
    assert "fed about 29 April" in keeper.dues("B02")["feed"].reasons[0].text


def test_larvae_of_unknown_instar_are_cared_for_as_the_youngest(keeper: Keeper) -> None:
    keeper.add("B01", fed="today")
    assert keeper.dues("B01")["feed"].on == date(2026, 5, 10)


def test_boxes_without_larvae_are_never_due_for_food(keeper: Keeper) -> None:
    for label, stage in (("E", "egg"), ("R", "prepupa"), ("P", "pupa"), ("A", "adult"), ("O", "")):
        keeper.add(label, stage=stage)
        assert "feed" not in keeper.dues(label)
    assert keeper.dues("O") == {}


@pytest.mark.parametrize(
    ("boxes", "why"),
    [
        ([], "No box was entered"),
        ([NewBox("B01"), NewBox("B01")], "given to two boxes"),
        ([NewBox("B01"), NewBox(" b01 ")], "given to two boxes"),
        ([NewBox("B01"), NewBox("TAKEN")], "already a box TAKEN"),
        ([NewBox("B01"), NewBox("taken")], "already a box taken"),
        ([NewBox("B01"), NewBox("")], "a code of 1 to 12 signs"),
        ([NewBox("B01"), NewBox("B02", "larva")], "B02: say about how many"),
        ([NewBox("B01"), NewBox("B02", "larva", 0)], "B02: say about how many"),
        ([NewBox("B01"), NewBox("B02", "worm", 3)], "none of egg, larva"),
        ([NewBox("B01"), NewBox("B02", "larva", 3, 11)], "11 is not between 1 and 9"),
        ([NewBox("B01"), NewBox("B02", "larva", 100001)], "is not between 1 and 100000"),
        ([NewBox("B01"), NewBox("B02", "larva", 3, 1, "about")], "about how many days ago"),
        ([NewBox("B01"), NewBox("B02", "larva", 3, 1, "about", 400)], "400 is not between 0 and 365"),
        ([NewBox("B01"), NewBox("B02", "larva", 3, 1, "sometime")], "'sometime' is none of"),
        ([NewBox("B01"), NewBox("B02", "larva", 3, cohort_id="nobody")], "there is no such cohort"),
        ([NewBox("B01"), NewBox("B02", area_id="nowhere")], "there is no such area"),
    ],
)
def test_all_or_none(keeper: Keeper, boxes: list[NewBox], why: str) -> None:
    keeper.add("TAKEN", stage="")
    before = keeper.kept()
    with pytest.raises(EntryError, match=why):
        add_box.add_boxes(keeper.services, boxes)
    assert keeper.kept() == before


def test_a_code_is_free_again_once_its_box_is_retired(keeper: Keeper) -> None:
    keeper.add("B01", stage="")
    keeper.log("B01", "box_retired")
    keeper.add("B01", stage="")
    assert [box.shown for box in reading.open_boxes(keeper.services.store)] == ["B01"]


def test_a_box_may_keep_its_own_code_when_it_is_changed(keeper: Keeper) -> None:
    keeper.add("B01")
    keeper.log("B01", "box_changed", label="B01", substrate="paper")
    keeper.log("B01", "box_changed", label="K7")
    assert [box.shown for box in reading.open_boxes(keeper.services.store)] == ["K7"]


@pytest.mark.parametrize(
    ("used", "expected"),
    [([], "B01"), (["B01"], "B02"), (["B09"], "B10"), (["K7"], "K8"), (["007"], "008"), (["left", "B03"], "B04")],
)
def test_the_form_proposes_the_next_free_code(keeper: Keeper, used: list[str], expected: str) -> None:
    for label in used:
        keeper.add(label, stage="")
    assert add_box.new_box_view(keeper.services).next_label == expected


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.text("Bb019-_ äß", min_size=1, max_size=5), min_size=1, max_size=8))
def test_open_boxes_never_share_a_code(keeper: Keeper, labels: list[str]) -> None:
    for label in labels:
        try:
            keeper.add(label, stage="")
        except EntryError:
            continue
    shown = [box.shown.upper() for box in reading.open_boxes(keeper.services.store)]
    assert len(shown) == len(set(shown))
    assert all(label == label.strip() for label in shown)
    for box in reading.open_boxes(keeper.services.store):
        assert keeper.id(box.shown) == box.id
