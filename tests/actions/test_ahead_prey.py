"""Prey: stock by batch, demand of the coming weeks, the day it runs out, sizes, and who ate a batch."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from boxside.actions.prey import prey_view
from boxside.actions.prey_stock import batch_view, log_culture, log_stock
from boxside.core.values.ahead import NewStock, PreyNeed
from boxside.core.values.errors import EntryError
from tests.actions.keeping import Keeper

DAY = date(2026, 5, 3)


def need(keeper: Keeper, prey: str = "garden snail") -> PreyNeed:
    return next(one for one in prey_view(keeper.services).needs if one.prey == prey)


def test_demand_is_meals_times_helping_and_its_parts_add_up(keeper: Keeper) -> None:
    keeper.add("B01", "larva", 30, instar=1)
    keeper.log("B01", "fed", prey="Garden snail")
    wanted = need(keeper)
    # Young larvae eat weekly, a tenth of a snail each: the first of eight meals comes in week two.
    assert [week.value for week in wanted.by_week] == pytest.approx([0, 3, 3, 3, 3, 3, 3, 3])
    assert wanted.total.value == pytest.approx(21)
    assert [part.value for part in wanted.total.parts] == pytest.approx([3] * 7)
    assert wanted.total.parts[0].label == "B01 on 2026-05-10"


def test_what_a_box_ate_moves_its_demand(keeper: Keeper) -> None:
    keeper.add("B01", "larva", 30, instar=1)
    for n in range(4):
        keeper.stand(DAY + timedelta(days=7 * n))
        keeper.log("B01", "fed", prey="garden snail", amount=6)
    # The profile's 0.1 counts twice, the box's own 0.2 four times.
    assert need(keeper).by_week[1].value == pytest.approx(30 * (2 * 0.1 + 4 * 0.2) / 6)


def test_the_day_the_stock_runs_out(keeper: Keeper) -> None:
    keeper.add("B01", "larva", 30, instar=1)
    keeper.log("B01", "fed", prey="garden snail")
    assert (need(keeper).counted, need(keeper).runs_out_on) == (False, None)
    log_stock(keeper.services, NewStock("garden snail", n=10, batch="S1"))
    wanted = need(keeper)
    assert (wanted.stock, wanted.first_unfed) == (10, "B01")
    # Three snails a week: 10, 7, 4, 1 are left; the fourth meal cannot be served.
    assert wanted.runs_out_on == DAY + timedelta(days=28)
    assert wanted.left.value == pytest.approx(10 - 21)
    log_culture(keeper.services, "garden snail", breeders=5)
    assert need(keeper).runs_out_on == DAY + timedelta(days=14)
    log_stock(keeper.services, NewStock("garden snail", added=40, batch="S1"))
    assert need(keeper).runs_out_on is None


def test_stock_is_what_was_counted_and_added_less_what_was_fed_since(keeper: Keeper) -> None:
    keeper.add("B01", "larva", 30, instar=1)
    log_stock(keeper.services, NewStock("garden snail", n=99, batch="S1"))
    keeper.wait(1)
    keeper.log("B01", "fed", prey="garden snail", batch="S1", amount=50)
    keeper.wait(1)
    log_stock(keeper.services, NewStock("garden snail", n=20, batch="S1", size_mm=6, origin="own"))
    keeper.wait(1)
    log_stock(keeper.services, NewStock("garden snail", added=5, batch="S1"))
    keeper.wait(1)
    keeper.log("B01", "fed", prey="garden snail", amount=4)
    keeper.wait(1)
    keeper.log("B01", "fed", prey="garden snail")
    keeper.wait(1)
    keeper.log("B01", "fed", prey="garden snail", batch="another", amount=7)
    (row,) = prey_view(keeper.services).stock
    assert (row.counted, row.left, row.unsaid, row.size_mm, row.origin) == (25, 21, 1, 6.0, "own")


def test_a_batch_in_quarantine_is_no_stock_yet(keeper: Keeper) -> None:
    until = DAY + timedelta(days=14)
    log_stock(keeper.services, NewStock("garden snail", n=20, batch="S2", quarantine_until=until))
    view = prey_view(keeper.services)
    assert (view.stock[0].in_quarantine, view.needs[0].stock) == (True, 0)
    assert any("quarantine" in note for note in view.notes)
    keeper.stand(until)
    assert prey_view(keeper.services).needs[0].stock == 20


def test_sizes_that_fit_each_instar(keeper: Keeper) -> None:
    keeper.add("B01", "larva", 30, instar=1)
    keeper.add("B02", "larva", 9, instar=5)
    for batch, size in (("small", 4), ("large", 25)):
        log_stock(keeper.services, NewStock("garden snail", n=20, batch=batch, size_mm=size))
    first, fifth = prey_view(keeper.services).fits
    assert (first.instar, first.n_larvae, first.fits) == (1, 30, ("garden snail small",))
    assert first.too_large == ("garden snail large",)
    assert (fifth.instar, fifth.fits, fifth.too_small) == (5, ("garden snail large",), ("garden snail small",))
    assert "common practice, no source" in first.reason


def test_how_many_to_breed_and_what_is_regulated(keeper: Keeper) -> None:
    keeper.add("B01", "larva", 160, instar=1)
    keeper.log("B01", "fed", prey="garden snail")
    wanted = need(keeper)
    assert wanted.breeders is not None
    # 14 snails a week of 4 young a breeder and week, half of which grow up.
    assert wanted.breeders.value == 7
    assert wanted.ready_on == DAY + timedelta(weeks=8)
    assert "lungworm" in wanted.cautions[0]
    keeper.wait(1)
    keeper.log("B01", "fed", prey="apple snail")
    assert need(keeper, "apple snail").cautions == (
        "Regulated: check local law before keeping, moving or discarding any.",
    )
    assert need(keeper, "apple snail").breeders is None


def test_boxes_at_rest_eat_from_their_waking_on(keeper: Keeper) -> None:
    keeper.add("B01", "larva", 30, instar=1)
    keeper.log("B01", "fed", prey="garden snail")
    keeper.wait(1)
    keeper.log("B01", "rest_began", until=(DAY + timedelta(days=30)).isoformat())
    weeks = [week.value for week in need(keeper).by_week]
    assert weeks[:4] == [0, 0, 0, 0]
    assert weeks[4] == pytest.approx(3)


def test_who_ate_a_batch_and_who_refused_it(keeper: Keeper) -> None:
    for label in ("B01", "B02", "B03"):
        keeper.add(label, "larva", 30, instar=1)
        keeper.log(label, "fed", prey="garden snail", batch="S9", amount=2)
    keeper.wait(60)
    for label in ("B01", "B02"):
        keeper.log(label, "appetite", appetite="refused")
    view = batch_view(keeper.services, "S9")
    assert view.boxes == ("B01", "B02", "B03")
    assert view.refusing == ("B01", "B02")
    assert (view.fed.value, view.suspect) == (2, True)
    with pytest.raises(EntryError, match="S10"):
        batch_view(keeper.services, "S10")


def test_a_stock_without_a_number_is_refused(keeper: Keeper) -> None:
    before = keeper.kept()
    for new in (NewStock("garden snail"), NewStock(" ", n=3)):
        with pytest.raises(EntryError, match="Nothing was saved"):
            log_stock(keeper.services, new)
    assert keeper.kept() == before
