"""The line from the log: kinship by hand and by the textbook, mating groups, unknown parents, contradictions."""

from __future__ import annotations

import pytest

from boxside.actions import line, log_event, mating_group
from boxside.actions.entry import named_entity
from boxside.actions.line_sound import sound_line
from boxside.actions.stamping import stamped
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft
from boxside.core.values.line_view import Parent
from boxside.store import reading, saving
from tests.actions.keeping import Keeper
from tests.actions.lining import female, found, introduce, lay, make_box, male, rows, start, view


def k(keeper: Keeper, a: str, b: str) -> float:
    return sound_line(keeper.services).known.k(a, b)


# ---------------------------------------------------------------- entered parents


def test_full_sib_line_logged_by_hand_gives_the_series_of_the_textbook(keeper: Keeper) -> None:
    """F = 0, 0, 1/4, 3/8, 1/2, 19/32 (Wright S. 1921, Systems of mating, Genetics 6:111-178; exact recursion)."""
    found(keeper, "G0", 2, "B01", on=None)
    for n in range(1, 6):
        keeper.stand(f"{2026 + n}-06-20")
        start(keeper, f"G{n}", f"{2026 + n}-06-20", female(f"G{n - 1}"), male(f"G{n - 1}"))
    found_f = [rows(keeper)[f"G{n}"].inbreeding for n in range(6)]
    assert found_f == pytest.approx([0, 0, 1 / 4, 3 / 8, 1 / 2, 19 / 32])
    assert [rows(keeper)[f"G{n}"].generation for n in range(6)] == [0, 1, 2, 3, 4, 5]


def test_a_hand_made_log_has_the_kinship_worked_out_by_hand(keeper: Keeper) -> None:
    """Half sibs 1/8, full sibs 1/4, their offspring as inbred as the parents are related."""
    for name, box in (("A", "B01"), ("B", "B02"), ("C", "B03")):
        found(keeper, name, 4, box)
    keeper.stand("2026-07-10")
    start(keeper, "bull", "2026-07-01", Parent("A", ""), origin="individual")
    start(keeper, "AB", "2026-07-02", female("B"), male("bull"))
    start(keeper, "AC", "2026-07-03", female("C"), male("bull"))
    assert k(keeper, "AB", "AC") == pytest.approx(1 / 8)
    assert rows(keeper)["AB"].within == pytest.approx(1 / 4)
    keeper.stand("2027-07-10")
    start(keeper, "half", "2027-07-01", female("AB"), male("AC"))
    start(keeper, "full", "2027-07-01", female("AB"), male("AB"))
    assert rows(keeper)["half"].inbreeding == pytest.approx(1 / 8)
    assert rows(keeper)["full"].inbreeding == pytest.approx(1 / 4)
    shares = dict(rows(keeper)["half"].founder_shares)
    assert [shares[name] for name in ("B", "C")] == pytest.approx([1 / 4, 1 / 4])
    assert sum(shares.values()) == pytest.approx(1)


def test_one_unknown_father_of_two_still_makes_full_sibs(keeper: Keeper) -> None:
    """One male sires a clutch, nobody knows which: 1/4; weights change the shares, not the kinship of clutch-mates."""
    found(keeper, "A", 4, "B01")
    found(keeper, "B", 4, "B02")
    found(keeper, "C", 4, "B03")
    keeper.stand("2026-07-10")
    start(keeper, "O", "2026-07-01", female("A"), male("B", weight=3.0), male("C", weight=1.0))
    row = rows(keeper)["O"]
    assert row.within == pytest.approx(1 / 4)
    assert dict(row.founder_shares) == pytest.approx({"A": 1 / 2, "B": 3 / 8, "C": 1 / 8})
    assert "1 of 2 possible males" in " ".join(row.notes)


def test_known_relations_of_founders_and_their_permit_are_kept(keeper: Keeper) -> None:
    found(keeper, "A", 6, "B01", permit="2026-17", place="meadow")
    found(keeper, "B", 6, "B02", related=(("A", 0.125),), within=0.25)
    assert (k(keeper, "A", "B"), rows(keeper)["B"].within) == (0.125, 0.25)
    table = dict(log_data(keeper, "A"))
    assert (table["permit"], table["place"]) == ("2026-17", "meadow")


def test_founders_added_later_are_related_to_the_children_of_their_relatives(keeper: Keeper) -> None:
    """B is added when A has offspring already: half of A's kinship to B is theirs, k = 1/16."""
    found(keeper, "A", 4, "B01")
    found(keeper, "C", 4, "B02")
    keeper.stand("2026-08-01")
    start(keeper, "O", "2026-07-01", female("A"), male("C"))
    found(keeper, "B", 6, "B03", related=(("A", 0.125),))
    assert k(keeper, "B", "O") == pytest.approx(1 / 16)


def test_a_cohort_may_be_named_like_an_unknown_parent(keeper: Keeper) -> None:
    found(keeper, "O: unknown males", 4, "B01")
    keeper.stand("2026-08-01")
    start(keeper, "O", "2026-07-01", female("O: unknown males"))
    assert [node.unknown for node in view(keeper).nodes].count(True) == 1
    assert rows(keeper)["O"].parents == "1 female of O: unknown males with unknown males"


def log_data(keeper: Keeper, name: str) -> dict[str, object]:
    (cohort,) = [e for e in reading.entities(keeper.services.store, "cohort") if e.label == name]
    return dict(cohort.data)


def test_received_animals_of_a_known_cohort_are_its_members(keeper: Keeper) -> None:
    found(keeper, "A", 2, "B01")
    keeper.stand("2026-08-01")
    start(keeper, "O", "2026-07-01", female("A"), male("A"))
    found(keeper, "got", 10, "B02", taken_from="O")
    assert k(keeper, "got", "O") == pytest.approx(1 / 4)
    assert rows(keeper)["got"].generation == 1
    assert rows(keeper)["got"].parents == "from O"


# ---------------------------------------------------------------- who was in the box


def adults(keeper: Keeper, name: str, box: str, sex: str, n: int) -> None:
    found(keeper, name, n, box, stage="adult", sex=sex)


def test_fathers_are_the_males_that_were_with_the_females_before_the_eggs(keeper: Keeper) -> None:
    keeper.stand("2026-06-10")
    adults(keeper, "F", "B01", "female", 1)
    adults(keeper, "M", "B02", "male", 3)
    adults(keeper, "N", "B03", "male", 2)
    keeper.stand("2026-06-12")
    introduce(keeper, "B01", "B02", 2)
    keeper.stand("2026-06-14")
    mating_group.separate(keeper.services, keeper.id("B01"), keeper.id("B02"))
    keeper.stand("2026-06-16")
    lay(keeper, "B01", "O")
    keeper.stand("2026-06-17")
    introduce(keeper, "B01", "B03", 2)
    row = rows(keeper)["O"]
    assert row.parents == "1 female of F with one of 2 males of M"
    assert dict(row.founder_shares) == {"F": 0.5, "M": 0.5}
    (group,) = mating_group.mating_groups(keeper.services)
    assert (group.label, [c.cohort for c in group.females]) == ("B01", ["F"])
    assert {c.cohort: c.n for c in group.males} == {"M": 2, "N": 2}
    assert [name for _, name, _ in group.clutches] == ["O"]


def test_a_mother_found_dead_beside_her_eggs_is_still_the_mother(keeper: Keeper) -> None:
    keeper.stand("2026-06-10")
    adults(keeper, "F", "B01", "female", 1)
    adults(keeper, "M", "B02", "male", 1)
    introduce(keeper, "B01", "B02")
    keeper.stand("2026-06-20")
    keeper.log("B01", "died", n=1, sex="female")
    keeper.stand("2026-06-22")
    lay(keeper, "B01", "O")
    assert rows(keeper)["O"].parents == "1 female of F with 1 male of M"
    keeper.stand("2026-07-20")
    lay(keeper, "B01", "late")
    assert rows(keeper)["late"].parents == "unknown females with unknown males"


def test_a_female_moved_after_mating_takes_her_males_along(keeper: Keeper) -> None:
    keeper.stand("2026-06-10")
    adults(keeper, "F", "B01", "female", 1)
    adults(keeper, "M", "B02", "male", 2)
    introduce(keeper, "B01", "B02", 2)
    make_box(keeper, "B09")
    keeper.stand("2026-06-12")
    mating_group.separate(keeper.services, keeper.id("B01"), keeper.id("B09"), sex="female")
    keeper.stand("2026-06-14")
    lay(keeper, "B09", "O")
    assert rows(keeper)["O"].parents == "1 female of F with one of 2 males of M"


@pytest.mark.parametrize(("n_males", "expected"), [(1, 1 / 8), (2, 1 / 16), (4, 1 / 32)])
def test_clutches_of_one_box_may_be_half_sibs(keeper: Keeper, n_males: int, expected: float) -> None:
    """Two females, one clutch each, N unrelated males: the same father with chance 1/N, so k = 1/8 of it."""
    keeper.stand("2026-06-10")
    adults(keeper, "F", "B01", "female", 2)
    adults(keeper, "M", "B02", "male", 5)
    introduce(keeper, "B01", "B02", n_males)
    keeper.stand("2026-06-14")
    lay(keeper, "B01", "O1")
    lay(keeper, "B01", "O2")
    assert k(keeper, "O1", "O2") == pytest.approx(expected)
    assert rows(keeper)["O1"].within == pytest.approx(1 / 4)
    names = [node.name for node in view(keeper).nodes]
    assert sorted(names) == ["F", "M", "O1", "O2"]


def test_more_clutches_than_females_may_be_full_sibs(keeper: Keeper) -> None:
    """One female, one male, two clutches: full sibs."""
    keeper.stand("2026-06-10")
    adults(keeper, "F", "B01", "female", 1)
    adults(keeper, "M", "B02", "male", 1)
    introduce(keeper, "B01", "B02")
    keeper.stand("2026-06-14")
    lay(keeper, "B01", "O1")
    lay(keeper, "B01", "O2")
    assert k(keeper, "O1", "O2") == pytest.approx(1 / 4)


def test_a_clutch_is_one_females_a_groups_or_some_of_these(keeper: Keeper) -> None:
    """w = (p_d + p_s) / 8 for unrelated founders: p_d 1, 1/4, 1/2; p_s = p_d + (1 - p_d) / 2 with two males."""
    keeper.stand("2026-06-10")
    adults(keeper, "F", "B01", "female", 4)
    adults(keeper, "M", "B02", "male", 2)
    introduce(keeper, "B01", "B02", 2)
    keeper.stand("2026-06-14")
    lay(keeper, "B01", "O")
    assert "how many was not said" in " ".join(rows(keeper)["O"].notes)
    within = []
    for laid_by, n_dams in (("female", None), ("group", None), ("some", 2)):
        mating_group.set_parents(keeper.services, "O", [female("F", 4), male("M", 2)], laid_by=laid_by, n_dams=n_dams)
        within.append(rows(keeper)["O"].within)
    expected = [(p + p + (1 - p) / 2) / 8 for p in (1, 1 / 4, 1 / 2)]
    assert within == pytest.approx(expected)


def test_a_marked_mother_is_one_animal_of_her_cohort(keeper: Keeper) -> None:
    keeper.stand("2026-06-10")
    adults(keeper, "F", "B01", "female", 3)
    adults(keeper, "M", "B02", "male", 1)
    mother = start(keeper, "F1", "2026-06-10", origin="individual")
    keeper.wait(1)
    keeper.log("B01", "marked", individual=mother, mark="blue", stage="adult")
    introduce(keeper, "B01", "B02")
    keeper.stand("2026-06-14")
    lay(keeper, "B01", "O1", mother=mother)
    lay(keeper, "B01", "O2", mother=mother)
    assert rows(keeper)["O1"].parents == "1 female of F1 with 1 male of M"
    assert rows(keeper)["F1"].parents == "from F"
    assert k(keeper, "O1", "O2") == pytest.approx(1 / 4)
    assert dict(rows(keeper)["O1"].founder_shares) == {"F": 0.5, "M": 0.5}


def test_a_blend_has_the_shares_of_what_went_into_it(keeper: Keeper) -> None:
    found(keeper, "A", 30, "B01")
    found(keeper, "B", 10, "B02")
    make_box(keeper, "B03")
    blend = start(keeper, "mix", "2026-05-03", origin="blend")
    parts = [
        {"from_box": keeper.id("B01"), "cohort": named(keeper, "A"), "stage": "larva", "n": 30},
        {"from_box": keeper.id("B02"), "cohort": named(keeper, "B"), "stage": "larva", "n": 10},
    ]
    keeper.wait(1)
    log_event.log_event(keeper.services, Draft("blended", "box", keeper.id("B03"), {"into": blend, "parts": parts}))
    assert dict(rows(keeper)["mix"].founder_shares) == pytest.approx({"A": 0.75, "B": 0.25})


def named(keeper: Keeper, name: str) -> str:
    return named_entity(keeper.services, "cohort", name)


# ---------------------------------------------------------------- unknowns and refusals


def test_unknown_parents_are_marked_and_count_as_unrelated(keeper: Keeper) -> None:
    found(keeper, "A", 4, "B01")
    keeper.stand("2026-07-10")
    start(keeper, "O", "2026-07-01", female("A"))
    shown = view(keeper)
    unknown = [node for node in shown.nodes if node.unknown]
    assert [(node.name, node.label) for node in unknown] == [("O: unknown males", "?")]
    assert dict(rows(keeper)["O"].founder_shares) == {"A": 0.5, "O: unknown males": 0.5}
    assert "unrelated" in " ".join(rows(keeper)["O"].notes)
    assert any("Unknown parents" in note for note in shown.notes)


def test_impossible_parents_are_refused_and_nothing_is_kept(keeper: Keeper) -> None:
    found(keeper, "A", 4, "B01")
    keeper.stand("2027-08-01")
    start(keeper, "O1", "2026-07-01", female("A"), male("A"))
    start(keeper, "O2", "2027-07-01", female("O1"), male("O1"))
    before = keeper.kept()
    for clutch, parents, why in (
        ("O1", [female("O2"), male("A")], "not older|descend from itself"),
        ("O2", [female("O2"), male("A")], "descend from itself|not older"),
        ("O2", [female("A", 5), male("A")], "never held more than 4"),
    ):
        with pytest.raises(EntryError, match=why):
            mating_group.set_parents(keeper.services, clutch, parents)
    with pytest.raises(EntryError, match=r"no single"):
        mating_group.set_parents(keeper.services, "O2", [female("Z")])
    assert keeper.kept() == before


def test_a_circle_without_dates_to_tell_it_is_refused(keeper: Keeper) -> None:
    found(keeper, "A", 4, "B01")
    one = start(keeper, "one", "2026-05-03", origin="blend")
    start(keeper, "two", "2026-05-03", Parent("one", "", 3), origin="blend")
    with pytest.raises(EntryError, match="descend from itself"):
        log_event.log_all(
            keeper.services,
            [Draft("cohort_changed", "cohort", one, {"parents": [{"cohort": named(keeper, "two"), "n": 3}]})],
        )


def test_more_males_than_there_are_cannot_be_introduced(keeper: Keeper) -> None:
    keeper.stand("2026-06-10")
    adults(keeper, "F", "B01", "female", 1)
    adults(keeper, "M", "B02", "male", 2)
    before = keeper.kept()
    with pytest.raises(EntryError, match=r"3 males of B02 .* only 2 exist"):
        introduce(keeper, "B01", "B02", 3)
    with pytest.raises(EntryError, match="from the box they are in"):
        introduce(keeper, "B01", "B01", 1)
    assert keeper.kept() == before


def test_a_merge_that_contradicts_itself_is_shown_with_a_note(keeper: Keeper) -> None:
    """What came past the door, as another keeper's entries do, never stops the line from being read."""
    found(keeper, "A", 4, "B01")
    keeper.stand("2027-08-01")
    first = start(keeper, "O1", "2026-07-01", female("A"), male("A"))
    second = start(keeper, "O2", "2027-07-01", female("O1"), male("O1"))
    with saving(keeper.services.store) as log:
        parents = [{"cohort": second, "sex": "female", "n": 1}, {"cohort": second, "sex": "male", "n": 1}]
        log.append(stamped(keeper.services, log, Draft("cohort_changed", "cohort", first, {"parents": parents})))
    found_rows = rows(keeper)
    assert any("set aside" in note for note in found_rows["O1"].notes + found_rows["O2"].notes)
    assert all(0 <= row.inbreeding <= 1 for row in found_rows.values())


# ---------------------------------------------------------------- numbers of the whole


def test_sizes_diversity_and_outlook_of_a_small_line(keeper: Keeper) -> None:
    """Ne = 4 Nm Nf / (Nm + Nf): 1 male with 4 females 3.2, then 2 with 2: 4; harmonic mean 2 / (1/3.2 + 1/4)."""
    found(keeper, "A", 20, "B01")
    keeper.stand("2027-08-01")
    start(keeper, "O1", "2026-07-01", female("A", 4), male("A", 1))
    start(keeper, "O2", "2027-07-01", female("O1", 2), male("O1", 2))
    found_view = view(keeper)
    assert [row.size for row in found_view.generations] == pytest.approx([3.2, 4.0])
    assert found_view.size_now == pytest.approx(4.0)
    assert found_view.size_overall == pytest.approx(2 / (1 / 3.2 + 1 / 4))
    # 20 unrelated founders are all that lives: 1 - 1/40
    assert found_view.gene_diversity == pytest.approx(0.975)
    assert rows(keeper)["A"].mean_kinship == pytest.approx(1 / 40)
    now, *better = found_view.outlooks
    assert (now.name, now.n_dams, now.n_sires, [t for t, _ in now.left]) == ("as now", 2, 2, [1, 5, 10])
    assert all(a > b for (_, a), (_, b) in zip(now.left, now.left[1:], strict=False))
    assert all(item.left[-1][1] > now.left[-1][1] for item in better)


def test_places_of_the_drawing_put_founders_on_top_and_children_below(keeper: Keeper) -> None:
    found(keeper, "A", 4, "B01")
    found(keeper, "B", 16, "B02")
    keeper.stand("2026-08-01")
    start(keeper, "O", "2026-07-01", female("A"), male("B"))
    shown = view(keeper)
    nodes = {node.name: node for node in shown.nodes}
    assert (nodes["A"].y, nodes["B"].y, nodes["O"].y) == (0.0, 0.0, 1.0)
    assert nodes["A"].x != nodes["B"].x
    assert nodes["A"].size == pytest.approx(0.5 * nodes["B"].size)
    assert {(edge.parent, edge.child, edge.sex) for edge in shown.edges} == {("A", "O", "female"), ("B", "O", "male")}


def test_an_empty_log_says_how_a_line_begins(keeper: Keeper) -> None:
    assert "founders" in view(keeper).empty
    assert line.line_text(keeper.services) == [view(keeper).empty]
