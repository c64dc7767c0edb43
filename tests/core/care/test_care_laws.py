"""Laws that hold for any box: what a keeper may rely on whatever was logged."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.care import TASKS, due_by, dues, next_on, rank, why
from boxside.core.values.due import Due
from boxside.core.values.facts import BoxFacts, CohortFacts, Rest, Seen
from boxside.core.values.ledger import Line
from boxside.core.values.profile import Profile, with_overrides
from boxside.core.values.stages import Sex, Stage
from tests.core.care.boxes import GLOW_WORM, day, one, seen

LAWS = settings(deadline=None, max_examples=60)
SIGNS = ("searching", "plump", "refused", "leftovers")
FIELDS: dict[str, st.SearchStrategy[dict[str, object]]] = {
    "appetite": st.fixed_dictionaries({"appetite": st.sampled_from(SIGNS)}),
    "in_moult": st.fixed_dictionaries({"share_pct": st.none() | st.integers(1, 100)}),
    "condensation": st.fixed_dictionaries({"level": st.sampled_from(("droplets", "puddles", None))}),
    "pest_seen": st.fixed_dictionaries({"what": st.sampled_from(("mould", "mites", "flies", "other"))}),
    "transfer": st.fixed_dictionaries({"to_box": st.sampled_from(("b1", "b2"))}),
    "moulted": st.fixed_dictionaries({"to_instar": st.none() | st.integers(2, 7)}),
    "last_fed": st.fixed_dictionaries(
        {"basis": st.sampled_from(("today", "about", "unknown")), "days": st.none() | st.integers(0, 60)}
    ),
    "fed": st.fixed_dictionaries({"batch": st.none() | st.sampled_from(("k1", "k2"))}),
}
KINDS = (
    *FIELDS, "meal_taken_out", "misted", "aired", "dried_out", "looked", "substrate_renewed", "cleaned", "seen",
    "count", "found_again", "escaped", "prepupa", "pupated", "sexed", "emerged", "glowing", "introduced",
    "separated", "laid", "hatched", "unhatched", "rest_ended", "quarantine_began", "quarantine_ended",
    "confirmed_empty",
)  # fmt: skip
DAYS = st.integers(-30, 200)


@st.composite
def latest(draw: st.DrawFn) -> dict[str, Seen]:
    found = {}
    for kind in draw(st.lists(st.sampled_from(KINDS), unique=True, max_size=10)):
        found[kind] = seen(kind, draw(DAYS), draw(st.integers(0, 1439)), **draw(FIELDS.get(kind, st.just({}))))
    for task in draw(st.lists(st.sampled_from(sorted(TASKS)), unique=True, max_size=2)):
        found[f"later:{task}"] = seen("later", draw(DAYS), days=draw(st.integers(1, 60)))
    return found


LINES = st.builds(
    Line,
    st.just("b1"),
    st.sampled_from(("c1", "c2")),
    st.sampled_from(list(Stage)),
    st.integers(0, 6),
    st.sampled_from(list(Sex)),
)
COHORTS = st.builds(
    CohortFacts,
    st.just("c1"),
    st.sampled_from(("laid", "received", "founders")),
    st.none() | DAYS.map(day),
    st.none() | DAYS.map(day),
    st.none() | DAYS.map(day),
)
BOXES = st.builds(
    BoxFacts,
    box=st.just("b1"),
    label=st.sampled_from(("B01", "B12", "glass")),
    made_on=DAYS.map(day),
    lines=st.lists(LINES, max_size=3, unique=True).map(lambda lines: tuple((line, 5) for line in lines)),
    latest=latest(),
    rest=st.none() | st.builds(Rest, DAYS.map(day), st.none() | DAYS.map(day)),
    area_cool=st.none() | st.booleans(),
    area_mean_c=st.none() | st.floats(0, 35),
    cohorts=st.lists(COHORTS, max_size=1).map(tuple),
    loss_note=st.sampled_from(("", "5 of 12 unaccounted.")),
)
LARVAL = st.builds(Line, st.just("b1"), st.just("c1"), st.just(Stage.LARVA), st.integers(0, 6))
LARVAL_BOXES = st.builds(
    lambda facts, lines: replace(facts, lines=tuple((line, 5) for line in lines), rest=None),
    BOXES,
    st.lists(LARVAL, min_size=1, max_size=2, unique=True),
)


def feed(facts: BoxFacts, profile: Profile = GLOW_WORM) -> Due:
    found = one(dues(facts, profile), "feed")
    assert found is not None
    return found


def with_event(facts: BoxFacts, kind: str, event: Seen) -> BoxFacts:
    return replace(facts, latest={**facts.latest, kind: event})


def without(facts: BoxFacts, *kinds: str) -> BoxFacts:
    return replace(facts, latest={kind: event for kind, event in facts.latest.items() if kind not in kinds})


@LAWS
@given(BOXES)
def test_any_box_then_days_in_order_and_every_task_explained(facts: BoxFacts) -> None:
    for due in dues(facts, GLOW_WORM):
        assert due.box == "b1"
        assert due.earliest <= due.on <= due.latest
        assert due.task in TASKS
        assert due.reasons
        assert all(reason.text.endswith(".") and len(reason.text) <= 110 for reason in due.reasons)


@LAWS
@given(LARVAL_BOXES, DAYS, DAYS)
def test_feed_when_fed_later_then_never_due_earlier(facts: BoxFacts, one_day: int, other_day: int) -> None:
    earlier, later = sorted((one_day, other_day))
    assert (
        feed(with_event(facts, "fed", seen("fed", earlier))).on <= feed(with_event(facts, "fed", seen("fed", later))).on
    )


@LAWS
@given(LARVAL_BOXES, DAYS, st.integers(0, 1439))
def test_feed_when_hunger_is_seen_then_never_later(facts: BoxFacts, n: int, minute: int) -> None:
    """Hunger seen again counts from its newest day, but never beyond the day that would hold without it."""
    calm = without(facts, "appetite")
    hungry = with_event(calm, "appetite", seen("appetite", n, minute, appetite="searching"))
    assert feed(hungry).on <= feed(calm).on
    if facts.latest.get("appetite") and facts.latest["appetite"].fields["appetite"] != "searching":
        assert feed(hungry).on <= feed(facts).on


@LAWS
@given(LARVAL_BOXES, DAYS, st.integers(0, 1439), st.sampled_from(("plump", "leftovers", "refused", "in_moult")))
def test_feed_when_satiety_is_seen_then_never_sooner(facts: BoxFacts, n: int, minute: int, sign: str) -> None:
    if sign == "in_moult":
        sated = with_event(facts, "in_moult", seen("in_moult", n, minute, share_pct=60))
        assert feed(sated).on >= feed(without(facts, "in_moult")).on
    else:
        sated = with_event(facts, "appetite", seen("appetite", n, minute, appetite=sign))
        assert feed(sated).on >= feed(without(facts, "appetite")).on


@LAWS
@given(LARVAL_BOXES, st.integers(1, 7), st.integers(1, 7), st.booleans())
def test_feed_when_larvae_are_younger_then_never_a_longer_interval(
    facts: BoxFacts, one_instar: int, other_instar: int, fed: bool
) -> None:
    if fed:
        facts = with_event(facts, "fed", seen("fed", 250))
    young, old = (
        replace(facts, cohorts=(), lines=((Line("b1", "c1", Stage.LARVA, instar), 5),))
        for instar in sorted((one_instar, other_instar))
    )
    # The first week of a box is shared out by label: within it only the band's mean is younger first.
    slack = 0 if "fed" in facts.latest else 3
    assert feed(young).on <= feed(old).on + timedelta(days=slack)


@LAWS
@given(BOXES, st.sampled_from(KINDS), DAYS)
def test_when_an_observation_is_taken_back_then_the_answer_is_restored(facts: BoxFacts, kind: str, n: int) -> None:
    before = dues(facts, GLOW_WORM)
    logged = with_event(facts, kind, seen(kind, n))
    dues(logged, GLOW_WORM)
    restored = replace(logged, latest={k: v for k, v in {**logged.latest, **facts.latest}.items() if k in facts.latest})
    assert dues(restored, GLOW_WORM) == before


@LAWS
@given(BOXES, st.randoms(use_true_random=False))
def test_order_of_arrival_never_matters(facts: BoxFacts, rnd: object) -> None:
    kinds, lines = list(facts.latest.items()), list(facts.lines)
    rnd.shuffle(kinds)  # type: ignore[attr-defined]
    rnd.shuffle(lines)  # type: ignore[attr-defined]
    shuffled = replace(facts, latest=dict(kinds), lines=tuple(lines))
    assert dues(shuffled, GLOW_WORM) == dues(facts, GLOW_WORM)


@LAWS
@given(BOXES, st.integers(-3_600_000, 3_600_000))
def test_clock_changes_never_move_a_due_day(facts: BoxFacts, shift_ms: int) -> None:
    """Only calendar days count: an offset of an hour in all moments, with the same days, changes nothing."""
    moved = {k: Seen(v.event, v.at_ms + shift_ms, v.day, v.fields) for k, v in facts.latest.items()}
    assert dues(replace(facts, latest=moved), GLOW_WORM) == dues(facts, GLOW_WORM)


@LAWS
@given(BOXES, DAYS, st.integers(1, 60))
def test_later_never_loses_a_task_nor_a_reason(facts: BoxFacts, n: int, days: int) -> None:
    for due in dues(facts, GLOW_WORM):
        bare = without(facts, f"later:{due.task}")
        before = one(dues(bare, GLOW_WORM), due.task)
        after = one(dues(with_event(bare, f"later:{due.task}", seen("later", n, days=days)), GLOW_WORM), due.task)
        assert before is not None
        assert after is not None
        assert after.on in (before.on, day(n) + timedelta(days=days))
        assert after.on >= before.on
        assert after.reasons[: len(before.reasons)] == before.reasons


@LAWS
@given(BOXES, DAYS)
def test_winter_rest_then_no_feeding_and_a_wake_day(facts: BoxFacts, since: int) -> None:
    found = dues(replace(facts, rest=Rest(day(since))), GLOW_WORM)
    assert one(found, "feed") is None
    if facts.lines:
        assert one(found, "moisture") is not None
        assert one(found, "wake") is not None


@LAWS
@given(st.lists(BOXES, min_size=1, max_size=4), DAYS)
def test_due_by_then_all_due_and_no_other_late_first(boxes: list[BoxFacts], n: int) -> None:
    found = [due for i, facts in enumerate(boxes) for due in dues(replace(facts, box=f"b{i}"), GLOW_WORM)]
    by = due_by(found, day(n))
    assert sorted(map(repr, by)) == sorted(repr(due) for due in found if due.on <= day(n))
    late = [due.latest < day(n) for due in by]
    assert late == sorted(late, reverse=True)
    assert rank(reversed(found), day(n)) == rank(found, day(n))
    following = next_on(found, day(n))
    assert following is None or following > day(n)


@LAWS
@given(BOXES, DAYS)
def test_why_then_one_short_sentence(facts: BoxFacts, n: int) -> None:
    for due in dues(facts, GLOW_WORM):
        text = why(due, day(n))
        assert text.endswith(".")
        assert "\n" not in text
        assert len(text) <= 140


@LAWS
@given(st.integers(1, 60), st.integers(1, 60), st.integers(1, 60))
def test_any_profile_of_the_keeper_then_younger_bands_never_wait_longer(young: int, half: int, grown: int) -> None:
    """Overrides that would break the order of the bands are refused, all others are kept."""
    wanted = {"feeding.young.on": young, "feeding.half_grown.on": half, "feeding.nearly_grown.on": grown}
    spans = [GLOW_WORM.windows[key.removesuffix(".on")] for key in wanted]
    moved = [
        (max(w.minimum, w.earliest + on - w.on), on, w.latest + on - w.on)
        for w, on in zip(spans, wanted.values(), strict=True)
    ]
    in_order = all(a <= b for i in range(2) for a, b in zip(moved[i], moved[i + 1], strict=True))
    if not in_order:
        with pytest.raises(Exception, match="Nothing was changed"):
            with_overrides(GLOW_WORM, wanted)
        return
    own = with_overrides(GLOW_WORM, wanted)
    box = BoxFacts("b1", "B01", date(2026, 3, 1), latest={"fed": seen("fed", 3)})
    due_days = [feed(replace(box, lines=((Line("b1", "c1", Stage.LARVA, instar), 1),)), own).on for instar in (1, 3, 5)]
    assert due_days == sorted(due_days)
    assert (due_days[0] - day(3)).days == young
