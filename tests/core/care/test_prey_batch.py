"""A prey batch that boxes refuse one after another is to be checked."""

from __future__ import annotations

from dataclasses import replace

from boxside.core.care import prey_batch_dues
from boxside.core.values.facts import BoxFacts
from tests.core.care.boxes import GLOW_WORM, a_box, day, larvae, seen


def a_refusal(n: int, batch: str | None = "K7", fed_on: int = 10, refused_on: int = 11) -> BoxFacts:
    fed = seen("fed", fed_on, 600 + n, batch=batch)
    facts = a_box(larvae(3), label=f"B{n:02d}", fed=fed, appetite=seen("appetite", refused_on, n, appetite="refused"))
    return replace(facts, box=f"b{n}")


def test_batch_when_three_boxes_refuse_it_then_checked_at_the_last_of_them() -> None:
    (found,) = prey_batch_dues([a_refusal(n) for n in (3, 1, 2)], GLOW_WORM)
    assert (found.task, found.box, found.on) == ("check_prey_batch", "b3", day(11))
    assert [reason.text for reason in found.reasons] == [
        "3 boxes refused prey batch K7.",
        "B01 refused it on 12 March.",
        "B02 refused it on 12 March.",
        "B03 refused it on 12 March.",
    ]


def test_batch_when_only_two_boxes_refuse_it_then_nothing() -> None:
    assert prey_batch_dues([a_refusal(1), a_refusal(2)], GLOW_WORM) == ()


def test_batch_when_refusals_are_of_other_batches_or_of_none_then_not_counted() -> None:
    two = [a_refusal(1), a_refusal(2)]
    assert prey_batch_dues([*two, a_refusal(3, batch="K8")], GLOW_WORM) == ()
    assert prey_batch_dues([*two, a_refusal(3, batch=None)], GLOW_WORM) == ()


def test_batch_when_a_box_was_fed_again_since_then_it_counts_no_more() -> None:
    boxes = [a_refusal(1), a_refusal(2), a_refusal(3, fed_on=12, refused_on=11)]
    assert prey_batch_dues(boxes, GLOW_WORM) == ()


def test_batch_when_order_of_boxes_differs_then_the_same_answer() -> None:
    boxes = [a_refusal(n) for n in range(1, 6)]
    assert prey_batch_dues(boxes, GLOW_WORM) == prey_batch_dues(reversed(boxes), GLOW_WORM)


def test_batch_when_put_off_then_moved() -> None:
    last = a_refusal(3)
    later = replace(last, latest={**last.latest, "later:check_prey_batch": seen("later", 11, 900, days=4)})
    (found,) = prey_batch_dues([a_refusal(1), a_refusal(2), later], GLOW_WORM)
    assert found.on == day(15)
