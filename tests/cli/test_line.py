"""line, pairings, dusk, founders and parents from a shell: shapes, words, and what is refused."""

from __future__ import annotations

import pytest

from tests.cli.conftest import Shell


@pytest.fixture
def line(shell: Shell) -> Shell:
    """Founders A and B in May; adults of both in June, males of B with a female of A."""
    for box in ("B01", "B02", "B03"):
        shell.ok("add", box)
    shell.ok("founders", "A", "--n", "2", "--box", "B01", "--stage", "adult", "--sex", "female", on="2026-06-18")
    shell.ok(
        "founders", "B", "--n", "3", "--box", "B02", "--stage", "adult", "--sex", "male", "--permit", "2026-17",
        "--related", "A=0.125", on="2026-06-18",
    )  # fmt: skip
    return shell


def refused(shell: Shell, *words: str, on: str = "2026-06-20") -> str:
    """Run a command that must be refused: exit 2, one line on stderr, nothing changed."""
    before = shell.kept()
    answer = shell(*words, on=on)
    assert (answer.status, answer.out) == (2, "")
    assert answer.err.count("\n") == 1
    assert shell.kept() == before
    return answer.err


def test_line_has_the_promised_keys(line: Shell) -> None:
    data = line.ok("line", "--json", on="2026-06-20").data
    cohorts = {row["id"]: row for row in data["cohorts"]}
    assert set(cohorts) == {"A", "B"}
    assert cohorts["A"]["generation"] == 0
    assert cohorts["A"]["F"] == 0
    assert cohorts["A"]["founder_shares"] == {"A": 1.0}
    # 2 of A, 3 of B, kinship 1/8 between them: (2 * (1/2) / 2 + 3 * 1/8) / 5 for A
    assert cohorts["A"]["mean_kinship"] == pytest.approx((1 / 2 + 3 / 8) / 5)
    mean = (2 * (1 / 2 + 3 / 8) + 3 * (1 / 2 + 2 / 8)) / 25
    assert data["gene_diversity"] == pytest.approx(1 - mean)
    assert data["ne"] is None


def test_pairings_have_the_promised_keys(line: Shell) -> None:
    data = line.ok("pairings", "--json", on="2026-06-20").data
    (pair,) = data["pairs"]
    assert (pair["males"], pair["females"], pair["n_males"], pair["n_females"]) == ("B", "A", 2, 2)
    assert pair["kinship"] == pytest.approx(0.125)
    assert pair["reasons"][0]["text"].startswith("Kinship 0.125")
    assert data["on"] == "2026-06-20"


def test_pairings_without_adults_are_empty_and_say_why(line: Shell) -> None:
    answer = line.ok("pairings", "--json", on="2026-12-01").data
    assert answer["pairs"] == []
    assert "nothing can be paired" in answer["notes"][-1]
    assert "nothing can be paired" in line.ok("pairings", on="2026-12-01").out


def test_dusk_says_who_has_no_mate(line: Shell) -> None:
    line.ok("log", "B01", "glowing", on="2026-06-20")
    data = line.ok("dusk", "--json", on="2026-06-20").data
    assert (data["alone"], data["idle"]) == (["B01"], ["B02"])
    assert "B01  Glowing since 20:00. No male here." in line.ok("dusk", on="2026-06-20").out


def test_a_line_over_two_generations_in_words(line: Shell) -> None:
    line.ok("log", "B01", "introduced", "--from-box", "B02", "--n", "2", on="2026-06-20")
    out = line.ok("line", on="2026-06-21").out
    assert "A: founders, 2 alive" in out
    assert "Gene diversity of the living" in out
    assert "B: founders, 3 alive" in out


def test_parents_can_be_entered_for_eggs_that_were_added_in_haste(line: Shell) -> None:
    line.ok("add", "B04", "--stage", "egg", "--n", "50", on="2026-06-21")
    line.ok("parents", "2026 A", "--female", "A", "--male", "B:3", "--laid-by", "female", on="2026-06-22")
    data = line.ok("line", "--json", on="2026-06-22").data
    (clutch,) = [row for row in data["cohorts"] if row["id"] == "2026 A"]
    assert (clutch["generation"], clutch["F"]) == (1, pytest.approx(0.125))
    assert clutch["founder_shares"] == {"A": 0.5, "B": 0.5}
    assert clutch["within"] == pytest.approx((0.5 + 0.5) / 4 + 0.125 / 2)
    assert data["ne"] == pytest.approx(2.0)


def test_more_males_than_exist_are_refused(line: Shell) -> None:
    assert "only 3 exist" in refused(line, "log", "B01", "introduced", "--from-box", "B02", "--n", "4")


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("parents", "A", "--female", "A", "--male", "B"), "it is not older"),
        (("parents", "Z", "--female", "A"), "names no single cohort"),
        (("parents", "A"), "Name a parent"),
        (("parents", "A", "--female", "B:x"), "is not like"),
        (("founders", "A", "--n", "3", "--box", "B03"), "already a cohort A"),
        (("founders", "C", "--n", "0", "--box", "B03"), "one or more"),
        (("founders", "C", "--n", "3", "--box", "B77"), "no box"),
        (("founders", "C", "--n", "3", "--box", "B03", "--related", "A=2"), "between 0 and 1"),
        (("founders", "C", "--n", "3", "--box", "B03", "--related", "A"), "is not like"),
        (("founders", "C", "--n", "3", "--box", "B03", "--since", "2026-07-01"), "future"),
        (("pairings", "--families", "9"), "There are 2 females"),
        (("pairings", "--families", "-1"), "no number of families"),
    ],
)
def test_what_cannot_be_is_refused_in_one_line(line: Shell, words: tuple[str, ...], why: str) -> None:
    assert why in refused(line, *words)
