from __future__ import annotations

import math
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.planning import (
    BatchMeal,
    BoxMeals,
    Breeder,
    How,
    PastMeal,
    PreyClass,
    SizeRule,
    batch_use,
    demand,
    fitting_prey,
    helping,
    meals_ahead,
    set_aside,
    stock_out,
)
from boxside.core.values.errors import EntryError

TODAY = date(2026, 5, 1)
quick = settings(deadline=None, max_examples=80)


def box(name="B01", next_days=3, interval=14, larvae=10, per_larva=0.5, past=(), until=None, prey="snails"):
    return BoxMeals(name, prey, TODAY + timedelta(days=next_days), interval, larvae, per_larva, tuple(past), until)


boxes = st.builds(
    box,
    name=st.sampled_from(["B01", "B02", "B03", "B04"]),
    next_days=st.integers(-20, 70),
    interval=st.integers(1, 30),
    larvae=st.integers(0, 60),
    per_larva=st.floats(0, 3),
    past=st.lists(st.builds(PastMeal, st.integers(1, 50), st.floats(0, 60)), max_size=4),
)


def test_four_meals_in_eight_weeks():
    meals = meals_ahead([box()], TODAY)
    assert [(meal.on - TODAY).days for meal in meals] == [3, 17, 31, 45]
    wanted = demand(meals, "snails", TODAY)
    assert wanted.total.value == 20
    assert [week.value for week in wanted.by_week] == [5, 0, 5, 0, 5, 0, 5, 0]
    assert wanted.total.terms[0].label == "B01 on 2026-05-04"


def test_an_overdue_meal_counts_today_and_none_falls_after_the_end():
    meals = meals_ahead([box(next_days=-9, until=TODAY + timedelta(days=14))], TODAY)
    assert [(meal.on - TODAY).days for meal in meals] == [0, 14]


def test_own_meals_take_over_from_the_profile():
    # 0.5 a larva by the profile, like two meals; three own meals of 1 a larva: (1 + 3) / 5.
    own = helping(box(past=[PastMeal(10, 10), PastMeal(20, 20), PastMeal(8, 8)]))
    assert own.value == pytest.approx(10 * 0.8)
    assert [term.value for term in own.terms] == [10, pytest.approx(0.8)]
    assert own.how is How.PRODUCT
    assert "3 own meals" in own.terms[1].label


@quick
@given(st.lists(boxes, max_size=5), st.lists(boxes, max_size=5))
def test_demand_is_additive(some, others):
    def total(part):
        return demand(meals_ahead(part, TODAY), "snails", TODAY).total.value

    assert total([*some, *others]) == pytest.approx(total(some) + total(others))


@quick
@given(st.lists(boxes, max_size=6), st.floats(0, 500), st.floats(0, 50))
def test_every_figure_is_the_sum_of_its_terms(some, stock, kept):
    meals = meals_ahead(some, TODAY)
    wanted = demand(meals, "snails", TODAY)
    left = stock_out(stock, kept, meals, "snails").left
    for figure in (wanted.total, left, *wanted.by_week):
        assert figure.value == math.fsum(term.value for term in figure.terms)
    assert wanted.total.value == pytest.approx(sum(week.value for week in wanted.by_week))
    assert left.value == pytest.approx(stock - kept - wanted.total.value)
    for meal in meals:
        assert meal.amount.value == pytest.approx(math.prod(term.value for term in meal.amount.terms))


@quick
@given(st.lists(boxes, max_size=6), st.floats(0, 300), st.floats(0, 100))
def test_more_stock_never_runs_out_sooner(some, stock, more):
    meals = meals_ahead(some, TODAY)
    little = stock_out(stock, 0, meals, "snails").runs_out_on
    much = stock_out(stock + more, 0, meals, "snails").runs_out_on
    assert much is None or (little is not None and much >= little)


def test_the_stock_runs_out_at_the_meal_that_cannot_be_served_in_full():
    meals = meals_ahead([box(), box("B02", next_days=5)], TODAY)
    out = stock_out(12, 0, meals, "snails")
    assert (out.runs_out_on, out.first_unfed) == (TODAY + timedelta(days=17), "B01")
    assert out.left.value == 12 - 40
    assert stock_out(12, 5, meals, "snails").runs_out_on == TODAY + timedelta(days=5)
    exact = stock_out(40, 0, meals, "snails")
    assert (exact.runs_out_on, exact.left.value) == (None, 0)


def test_only_the_prey_in_question_is_counted():
    meals = meals_ahead([box(), box("B02", prey="slugs")], TODAY)
    assert demand(meals, "slugs", TODAY).total.value == 20
    assert stock_out(20, 0, meals, "slugs").runs_out_on is None


def test_breeders_cover_the_mean_week_and_a_bridge_carries_over():
    wanted = demand(meals_ahead([box(larvae=40)], TODAY), "snails", TODAY)
    # 80 in 8 weeks are 10 a week; one breeder gives 4 young a week of which half grow up: 5 breeders.
    kept = set_aside(wanted, Breeder(4, 0.5, 6))
    assert kept.n_breeders.value == 5
    assert [term.value for term in kept.n_breeders.terms] == [10, 0.25, 2]
    assert kept.bridge.value == 60
    assert kept.ready_on == TODAY + timedelta(weeks=6)
    assert set_aside(wanted, Breeder(4.1, 0.5, 6)).n_breeders.value == 5
    assert set_aside(wanted, Breeder(3.9, 0.5, 6)).n_breeders.value == 6


@pytest.mark.parametrize(
    "call",
    [
        lambda: meals_ahead([box(interval=0)], TODAY),
        lambda: helping(box(larvae=-1)),
        lambda: helping(box(past=[PastMeal(0, 3)])),
        lambda: stock_out(-1, 0, [], "snails"),
        lambda: set_aside(demand([], "snails", TODAY), Breeder(0, 0.5, 6)),
        lambda: set_aside(demand([], "snails", TODAY), Breeder(1, 1.5, 6)),
        lambda: fitting_prey(2, [SizeRule(2, 9, 5, "x")], []),
        lambda: fitting_prey(2, [SizeRule(2, 3, 5, "x"), SizeRule(2, 4, 6, "y")], []),
    ],
)
def test_numbers_that_mean_nothing_are_refused(call):
    with pytest.raises(EntryError):
        call()


def test_prey_is_sorted_by_the_rule_of_the_instar():
    rules = [SizeRule(1, 2, 4, "common practice, no source"), SizeRule(3, 5, 10, "own trials")]
    stock = [PreyClass("large", 12, 5), PreyClass("small", 3, 40), PreyClass("middle", 10, 20)]
    fit = fitting_prey(3, rules, stock)
    assert [prey.name for prey in fit.fits] == ["middle"]
    assert [prey.name for prey in fit.too_small] == ["small"]
    assert [prey.name for prey in fit.too_large] == ["large"]
    assert "own trials" in fit.reason
    none = fitting_prey(2, rules, stock)
    assert none.rule is None
    assert none.fits == ()
    assert "instar 2" in none.reason


def test_a_batch_that_two_boxes_refuse_is_suspect():
    def meal(name, days, n=None, refused=False, batch="S12"):
        return BatchMeal(name, TODAY + timedelta(days=days), batch, n, refused)

    meals = [meal("B02", 2, 3), meal("B01", 1, 4), meal("B03", 3, 2, True), meal("B09", 0, 9, batch="S11")]
    use = batch_use(meals, "S12")
    assert use.boxes == ("B01", "B02", "B03")
    assert use.fed.value == 7
    assert not use.suspect
    again = batch_use([*meals, meal("B04", 4, refused=True), meal("B01", 5)], "S12")
    assert again.refusing == ("B03", "B04")
    assert again.suspect
    assert again.n_unsaid == 1
