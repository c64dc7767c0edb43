"""Stage survival, stage lengths and life tables of cohorts that are counted at intervals."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.survival import (
    Brood,
    Fate,
    Missing,
    Span,
    Stay,
    bootstrap_growth,
    both_ways,
    life_table,
    life_table_of_stages,
    stage_survival,
    stage_table,
    table_of_broods,
    table_of_shares,
)
from boxside.core.values.stages import Stage

quick = settings(deadline=None, max_examples=60)
WEEK = Span(0.0, 7.0)


def stay(stage, fate, left, n, entered=WEEK):
    return Stay("c1", stage, entered, left, fate, n)


@pytest.fixture
def colony():
    return [
        stay(Stage.LARVA, Fate.MOVED_ON, Span(60.0, 67.0), 12),
        stay(Stage.LARVA, Fate.MOVED_ON, Span(67.0, 74.0), 8),
        stay(Stage.LARVA, Fate.DIED, Span(7.0, 14.0), 3),
        stay(Stage.LARVA, Fate.UNACCOUNTED, Span(14.0, 28.0), 4),
        stay(Stage.LARVA, Fate.REMOVED, Span(30.0, math.inf), 1),
        stay(Stage.LARVA, Fate.PRESENT, Span(74.0, math.inf), 2),
        stay(Stage.PUPA, Fate.MOVED_ON, Span(74.0, 81.0), 9, Span(60.0, 67.0)),
        stay(Stage.PUPA, Fate.DIED, Span(74.0, 81.0), 1, Span(60.0, 67.0)),
        stay(Stage.ADULT, Fate.DIED, Span(95.0, 102.0), 5, Span(74.0, 81.0)),
    ]


def test_unaccounted_animals_are_counted_as_dead_or_left_open(colony):
    ways = both_ways(colony)
    dead, censored = (ways[missing][0] for missing in (Missing.DEAD, Missing.CENSORED))
    assert (dead.n_through, dead.n_dead, dead.n_open) == (20, 7, 3)
    assert (censored.n_through, censored.n_dead, censored.n_open) == (20, 3, 7)
    assert dead.survival.value == pytest.approx(20 / 27)
    assert censored.survival.value == pytest.approx(20 / 23)
    assert dead.n_entered == censored.n_entered == 30


def test_stages_come_in_the_order_of_life(colony):
    found = stage_survival(colony[::-1], Missing.DEAD)
    assert [s.stage for s in found] == [Stage.LARVA, Stage.PUPA, Stage.ADULT]


def test_stage_length_adds_the_doubt_of_both_ends(colony):
    """Entered in (0, 7], left in (60, 67]: between 53 and 67 days."""
    length = stage_survival(colony, Missing.DEAD)[0].length
    assert (length.median.after, length.median.by) == (60.0, 67.0)
    assert min(length.curve.after) >= 53.0
    pupa = stage_survival(colony, Missing.DEAD)[1].length
    assert (pupa.median.after, pupa.median.by) == (7.0, 21.0)


def test_adults_have_a_life_but_no_survival_to_a_further_stage(colony):
    adult = stage_survival(colony, Missing.DEAD)[2]
    assert adult.survival is None
    assert adult.k is None
    assert (adult.length.median.after, adult.length.median.by) == (14.0, 28.0)


def test_life_table_of_stages_multiplies_shares_and_adds_k(colony):
    stages = stage_survival(colony, Missing.DEAD)
    table = life_table_of_stages(stages)
    assert [line.stage for line in table.lines] == ["larva", "pupa"]
    assert table.survival == pytest.approx(20 / 27 * 9 / 10)
    assert table.k == pytest.approx(stages[0].k + stages[1].k)
    assert table.key_stage == "larva"


def test_no_known_fate_means_no_share_and_no_table():
    stages = stage_survival([stay(Stage.EGG, Fate.PRESENT, Span(5.0, math.inf), 40)], Missing.DEAD)
    assert stages[0].survival is None
    assert stages[0].belief is None
    assert stages[0].length is None
    assert stages[0].n_open == 40
    assert life_table_of_stages(stages) is None


def test_a_stage_that_nobody_survives_has_an_infinite_k():
    stages = stage_survival([stay(Stage.EGG, Fate.DIED, Span(20.0, 27.0), 30)], Missing.DEAD)
    assert stages[0].k == math.inf
    assert life_table_of_stages(stages).survival == 0.0


@pytest.mark.parametrize(
    "bad",
    [
        stay(Stage.EGG, Fate.DIED, Span(3.0, 6.0), -1),
        stay(Stage.EGG, Fate.DIED, Span(6.0, 3.0), 1),
        stay(Stage.EGG, Fate.DIED, Span(3.0, 6.0), 1, Span(10.0, 12.0)),
    ],
)
def test_impossible_stays_are_refused(bad):
    with pytest.raises(ValueError, match=r"negative|leave before"):
        stage_survival([bad], Missing.DEAD)


@quick
@given(st.lists(st.floats(0.01, 1.0), min_size=1, max_size=8))
def test_k_values_add_where_shares_multiply(shares):
    table = table_of_shares([str(i) for i in range(len(shares))], shares, 1000.0)
    assert table.survival == pytest.approx(math.prod(shares))
    assert table.k == pytest.approx(sum(line.k for line in table.lines))
    assert math.exp(-table.k) == pytest.approx(table.survival)
    assert sum(line.n_dying for line in table.lines) == pytest.approx(1000.0 * (1 - table.survival))


def test_stages_after_a_total_loss_are_left_out():
    table = table_of_shares(["egg", "larva", "pupa"], [0.5, 0.0, 0.9])
    assert [line.stage for line in table.lines] == ["egg", "larva"]
    assert table.k == math.inf


@pytest.mark.parametrize(
    ("entering", "through"), [([], 1), ([10, 12], 3), ([10, 5], 6), ([0, 0], 0), ([10, 5], -1), ([10], 3)]
)
def test_impossible_stage_tables_are_refused(entering, through):
    with pytest.raises(ValueError, match="entering"):
        stage_table(["egg", "larva"], entering, through)


def test_shares_outside_zero_to_one_are_refused():
    with pytest.raises(ValueError, match="share"):
        table_of_shares(["egg"], [1.2])


@quick
@given(st.lists(st.floats(0.0, 1.0), min_size=1, max_size=10))
def test_deaths_by_age_add_up_to_all_born(shares):
    alive = np.cumprod([1.0, *shares]).tolist()
    table = life_table(list(range(len(alive))), alive, [0.0] * len(alive))
    assert sum(table.dying) == pytest.approx(1.0)
    assert table.net_rate == 0.0
    assert table.rate is None
    assert table.factor is None


def test_a_line_that_just_replaces_itself_does_not_grow():
    table = life_table([0, 1, 2], [1.0, 0.5, 0.25], [0.0, 1.0, 2.0])
    assert table.net_rate == pytest.approx(1.0)
    assert table.rate == pytest.approx(0.0, abs=1e-14)
    assert table.factor == pytest.approx(1.0)


def test_enough_young_at_age_zero_leave_no_growth_rate():
    assert life_table([0, 1], [1.0, 1.0], [1.5, 1.0]).rate is None


@pytest.mark.parametrize(
    ("ages", "alive", "births"),
    [
        ([0, 1], [1.0], [0.0, 1.0]),
        ([1, 1], [1.0, 0.5], [0.0, 1.0]),
        ([-1, 1], [1.0, 0.5], [0.0, 1.0]),
        ([0, 1], [0.5, 0.6], [0.0, 1.0]),
        ([0, 1], [0.0, 0.0], [0.0, 1.0]),
        ([0, 1], [1.0, 0.5], [0.0, -1.0]),
    ],
)
def test_impossible_life_tables_are_refused(ages, alive, births):
    with pytest.raises(ValueError, match=r"ages|survivors|births"):
        life_table(ages, alive, births)


@pytest.fixture
def broods():
    rng = np.random.default_rng(3)
    return [Brood(30.0 + 10 * float(rng.random()), ((30.0, float(rng.integers(2, 60))),)) for _ in range(40)]


def test_broods_give_the_table_of_their_sums(broods):
    table = table_of_broods(broods, list(range(45)))
    mean = sum(brood.young[0][1] for brood in broods) / len(broods)
    assert table.net_rate == pytest.approx(mean)
    assert table.generation == pytest.approx(30.0)
    assert table.rate == pytest.approx(math.log(mean) / 30.0)


def test_growth_interval_holds_the_estimate_and_follows_the_chance(broods):
    found = bootstrap_growth(broods, list(range(45)), np.random.default_rng(9), n_draws=200)
    assert found.rate.interval.holds(found.rate.value)
    assert found.net_rate.interval.holds(found.net_rate.value)
    assert found.n_barren == 0
    assert found == bootstrap_growth(broods, list(range(45)), np.random.default_rng(9), n_draws=200)
    assert found != bootstrap_growth(broods, list(range(45)), np.random.default_rng(8), n_draws=200)


def test_growth_interval_of_r0_is_about_the_standard_error_of_a_mean(broods):
    young = np.array([brood.young[0][1] for brood in broods])
    interval = bootstrap_growth(broods, [0, 30], np.random.default_rng(4), n_draws=2000).net_rate.interval
    expected = 2 * 1.96 * young.std() / math.sqrt(young.size)
    assert interval.high - interval.low == pytest.approx(expected, rel=0.1)


def test_draws_without_young_are_counted():
    few = [Brood(10.0), Brood(10.0), Brood(12.0, ((9.0, 30.0),))]
    found = bootstrap_growth(few, list(range(13)), np.random.default_rng(1), n_draws=200)
    assert found.n_barren > 0
    assert found.generation is None
    assert found.rate.interval.low == -math.inf
    assert found.factor.interval.low == 0.0


def test_cohort_without_young_has_no_growth_to_estimate():
    with pytest.raises(ValueError, match="no growth rate"):
        bootstrap_growth([Brood(10.0)], [0, 5], np.random.default_rng(1))


@pytest.mark.parametrize(
    ("broods", "ages"),
    [
        ([], [0, 1]),
        ([Brood(5.0)], [1, 2]),
        ([Brood(5.0, ((6.0, 1.0),))], [0, 1]),
        ([Brood(5.0, ((3.0, -1.0),))], [0]),
    ],
)
def test_impossible_broods_are_refused(broods, ages):
    with pytest.raises(ValueError, match=r"life table needs|young are born"):
        table_of_broods(broods, ages)
