"""What is believed about a stage's survival, and a loss in words."""

from __future__ import annotations

from itertools import pairwise

import hypothesis.strategies as st
import pytest
from hypothesis import given, settings

from boxside.core.ledger.judge import (
    PRIOR_ANIMALS,
    STARTING_SURVIVAL,
    chance_words,
    look_where,
    loss_sentence,
    stage_beliefs,
)
from boxside.core.survival import judge_loss
from boxside.core.values.estimates import BetaBelief
from boxside.core.values.stages import Stage


def test_an_empty_colony_believes_the_starting_values() -> None:
    beliefs = stage_beliefs({})
    assert {stage: belief.mean for stage, belief in beliefs.items()} == pytest.approx(STARTING_SURVIVAL)
    assert all(belief.a + belief.b == pytest.approx(PRIOR_ANIMALS) for belief in beliefs.values())


def test_whoever_is_past_a_stage_went_through_it() -> None:
    """100 eggs: 80 hatched, 12 died, 8 are left; of the larvae 30 died, 5 are missing, 25 pupated, 20 are left."""
    sums = {
        ("egg", "laid"): -100, ("egg", ""): 8, ("egg", "dead"): 12,
        ("larva", ""): 20, ("larva", "dead"): 30, ("larva", "unaccounted"): 5,
        ("pupa", ""): 25,
    }  # fmt: skip
    beliefs = stage_beliefs(sums)
    assert (beliefs[Stage.EGG].a, beliefs[Stage.EGG].b) == pytest.approx((8 * 0.7 + 80, 8 * 0.3 + 12))
    assert (beliefs[Stage.LARVA].a, beliefs[Stage.LARVA].b) == pytest.approx((8 * 0.5 + 25, 8 * 0.5 + 30))
    assert beliefs[Stage.PREPUPA].a == pytest.approx(8 * 0.9 + 25), "nobody noted prepupae, but all pupae were"
    assert beliefs[Stage.PUPA].mean == pytest.approx(STARTING_SURVIVAL[Stage.PUPA])


def test_animals_that_came_in_later_went_through_nothing() -> None:
    beliefs = stage_beliefs({("larva", "founders"): -40, ("larva", ""): 40})
    assert beliefs[Stage.EGG].mean == pytest.approx(STARTING_SURVIVAL[Stage.EGG])
    assert beliefs[Stage.LARVA].mean == pytest.approx(STARTING_SURVIVAL[Stage.LARVA])


@settings(deadline=None, max_examples=60)
@given(st.integers(1, 80), st.floats(0.02, 3.0), st.integers(0, 60), st.integers(0, 60))
def test_losing_more_never_looks_more_ordinary(n: int, share: float, through: int, dead: int) -> None:
    belief = BetaBelief(4 + through, 4 + dead)
    chances = [judge_loss(n, n - lost, belief, share).p_value for lost in range(n + 1)]
    assert chances[0] == 1.0
    assert all(more <= less + 1e-12 for less, more in pairwise(chances))


def test_a_loss_in_words() -> None:
    said = loss_sentence("larvae", 40, 25, 17, 3, 1.2e-6, True)
    assert said == (
        "15 of 40 larvae are missing in 17 days, more than deaths explain: ordinary are up to 3, and a loss like this "
        "comes to fewer than 1 in 10,000 such boxes"
    )
    one = loss_sentence("pupae", 9, 8, 1, 1, 0.1, False)
    assert one == "1 of 9 pupae is missing in 1 day; deaths alone may explain it: up to 1 in that time is ordinary"
    assert chance_words(0.7) == "every other or more"


def test_where_to_look_depends_on_who_is_missing() -> None:
    larvae = look_where((Stage.LARVA,), "gauze", "B01 old")
    assert larvae[0] == "The old box B01 old: in and under the lining"
    assert any("gauze vents" in place for place in larvae)
    eggs = look_where((Stage.EGG,))
    assert not any("shelf" in place for place in eggs), "eggs do not walk"
