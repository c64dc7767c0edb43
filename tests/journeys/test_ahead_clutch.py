"""A clutch is laid, the coming weeks say when it hatches; it hatches, and the entry goes."""

from __future__ import annotations

from datetime import date, timedelta

from boxside.actions import ahead, log_event, void_event
from boxside.core.values.ahead import Expected
from boxside.core.values.event import Draft
from boxside.core.values.forecast import Outlook
from boxside.store import reading
from tests.actions.keeping import Keeper

LAID = date(2026, 7, 1)


def lay(keeper: Keeper, label: str, n: int, name: str) -> str:
    """Let a clutch be laid in a box; return the cohort's id."""
    cohort = f"0197b000-0000-7000-8000-{len(reading.entities(keeper.services.store, 'cohort')):012x}"
    fields = {"name": name, "origin": "laid", "species": "lampyris_noctiluca", "stage": "egg"}
    log_event.log_all(keeper.services, [Draft("cohort_started", "cohort", cohort, dict(fields))])
    keeper.log(label, "laid", cohort=cohort, n=n)
    return cohort


def coming(keeper: Keeper, what: str) -> list[Expected]:
    return [one for one in ahead.ahead_view(keeper.services).expected if one.what == what]


def test_a_clutch_from_laying_to_hatch(keeper: Keeper) -> None:
    keeper.stand(LAID - timedelta(days=5))
    keeper.add("B01", "adult", 2)
    keeper.stand(LAID)
    lay(keeper, "B01", 80, "2026 K")
    (clutch,) = coming(keeper, "hatch")
    assert (clutch.subject, clutch.headline, clutch.n) == ("B01, 2026 K", "First larvae in B01", 80)
    assert clutch.earliest is not None
    assert clutch.latest is not None
    assert clutch.likely is not None
    # The profile's 25 to 40 days, as the eight in ten of a new clutch.
    assert abs((clutch.earliest - LAID).days - 25) <= 2
    assert abs((clutch.latest - LAID).days - 40) <= 2
    assert clutch.earliest < clutch.likely < clutch.latest
    assert [reason.rule for reason in clutch.reasons] == ["began", "days"]
    assert clutch.reasons[0].text == "It began on 2026-07-01."

    # Every look without larvae moves the days on.
    keeper.stand(LAID + timedelta(days=33))
    keeper.log("B01", "looked")
    (later,) = coming(keeper, "hatch")
    assert later.earliest is not None
    assert later.earliest > LAID + timedelta(days=33)

    keeper.stand(LAID + timedelta(days=35))
    hatched = keeper.log("B01", "hatched", n=20)
    assert coming(keeper, "hatch") == []

    # Taken back, it is expected as before.
    void_event.void_event(keeper.services, hatched.event_id)
    assert coming(keeper, "hatch") == [later]


def test_what_one_clutch_showed_sharpens_the_next(keeper: Keeper) -> None:
    keeper.stand(LAID)
    keeper.add("B01", "adult", 2)
    for n in range(6):
        keeper.add(f"C{n}", "adult", 2)
        keeper.stand(LAID + timedelta(days=n))
        lay(keeper, f"C{n}", 60, f"2026 {n}")
    for n in range(6):
        keeper.stand(LAID + timedelta(days=27 + n))
        keeper.log(f"C{n}", "looked")
    for n in range(6):
        keeper.stand(LAID + timedelta(days=28 + n))
        keeper.log(f"C{n}", "hatched", n=50)
    keeper.stand(LAID + timedelta(days=40))
    lay(keeper, "B01", 80, "2026 late")
    (clutch,) = coming(keeper, "hatch")
    assert clutch.likely is not None
    # 27.5 days were seen six times, 31.6 (the middle of 25 to 40 on a log scale) count four.
    assert (clutch.likely - LAID).days - 40 in (28, 29, 30)
    assert "6 own intervals" in clutch.reasons[1].text


def test_a_clutch_that_should_have_hatched_long_ago_says_so(keeper: Keeper) -> None:
    keeper.stand(LAID)
    keeper.add("B01", "adult", 2)
    lay(keeper, "B01", 80, "2026 K")
    keeper.stand(LAID + timedelta(days=120))
    keeper.log("B01", "looked")
    (clutch,) = coming(keeper, "hatch")
    assert (clutch.outlook, clutch.earliest, clutch.likely, clutch.latest) == (Outlook.OVERDUE, None, None, None)
    assert "look whether it was missed" in clutch.reasons[-1].text


def test_pupae_by_sex_until_they_emerge(keeper: Keeper) -> None:
    keeper.stand("2026-06-10")
    keeper.add("B01", "larva", 12, instar=6)
    keeper.log("B01", "pupated", n=12)
    keeper.log("B01", "sexed", n_female=7, n_male=5)
    found = {one.sex: one for one in coming(keeper, "emerge")}
    assert {sex: one.n for sex, one in found.items()} == {"female": 7, "male": 5}
    male, female = found["male"], found["female"]
    assert (male.headline, female.headline) == ("Males emerge in B01", "Females emerge in B01")
    assert male.likely is not None
    assert female.likely is not None
    assert male.likely <= female.likely
    keeper.stand("2026-06-17")
    keeper.log("B01", "emerged", n=5, to_sex="male")
    assert {one.sex: one.n for one in coming(keeper, "emerge")} == {"female": 7}
