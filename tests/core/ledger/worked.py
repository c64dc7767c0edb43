"""Worked examples of every kind that moves or counts animals, their balances worked out by hand.

An example is a short log: the animals that are there, what else happened, and last the event in question. The
balances of the whole log are written as `box cohort stage instar sex @account`, the account left out for animals in
the box. Instar 0 is unknown, f m ? are the sexes. Accounts that animals come from are negative: the founders of
each example stand in `log`, so every balance can be checked on paper.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from boxside.core.values.stages import Sex

SEXES = {"f": Sex.FEMALE, "m": Sex.MALE, "?": Sex.UNKNOWN}
Step = tuple[str, str, dict[str, Any]]


def here(text: str, n: int) -> Step:
    """Founders on a line."""
    box, cohort, stage, instar, sex = text.split()
    fields: dict[str, Any] = {"cohort": cohort, "n": n, "stage": stage, "sex": str(SEXES[sex])}
    return "stocked", box, {**fields, "instar": int(instar)} if int(instar) else fields


@dataclass(frozen=True, slots=True)
class Example:
    """A log whose last event is of the kind, and the balances after it."""

    name: str
    log: tuple[Step, ...]
    after: dict[str, int]

    @property
    def kind(self) -> str:
        return self.log[-1][0]


EXAMPLES = (
    # ---- animals come in
    Example(
        "founders are brought in",
        (("stocked", "b1", {"cohort": "c1", "n": 30, "stage": "larva", "instar": 1}),),
        {"b1 c1 larva 1 ?": 30, "b1 c1 larva 1 ? @founders": -30},
    ),
    Example(
        "adults are received into a box that holds larvae",
        (
            here("b1 c1 larva 4 ?", 6),
            ("stocked", "b1", {"cohort": "c2", "n": 4, "stage": "adult", "sex": "male", "origin": "received"}),
        ),
        {
            "b1 c1 larva 4 ?": 6, "b1 c1 larva 4 ? @founders": -6,
            "b1 c2 adult 0 m": 4, "b1 c2 adult 0 m @received": -4,
        },
    ),
    Example(
        "a cohort starts as a clutch in a box",
        (("cohort_started", "c3", {"name": "C3", "box": "b1", "n": 12, "stage": "egg", "origin": "laid"}),),
        {"b1 c3 egg 0 ?": 12, "b1 c3 egg 0 ? @laid": -12},
    ),
    Example(
        "a cohort that starts without a box has no animals yet",
        (here("b1 c1 larva 4 ?", 6), ("cohort_started", "c3", {"name": "C3", "n": 12})),
        {"b1 c1 larva 4 ?": 6, "b1 c1 larva 4 ? @founders": -6},
    ),
    Example(
        "a blend starts with none of its own",
        (
            here("b1 c1 larva 4 ?", 6),
            ("cohort_started", "c3", {"name": "C3", "box": "b1", "n": 6, "origin": "blend"}),
        ),
        {"b1 c1 larva 4 ?": 6, "b1 c1 larva 4 ? @founders": -6},
    ),
    Example(
        "eggs are laid among their parents",
        (
            here("b1 c1 adult 0 f", 2),
            here("b1 c1 adult 0 m", 1),
            ("laid", "b1", {"cohort": "c2", "n": 40}),
        ),
        {
            "b1 c1 adult 0 f": 2, "b1 c1 adult 0 f @founders": -2,
            "b1 c1 adult 0 m": 1, "b1 c1 adult 0 m @founders": -1,
            "b1 c2 egg 0 ?": 40, "b1 c2 egg 0 ? @laid": -40,
        },
    ),
    # ---- counts
    Example(
        "fewer were seen than live there: nothing is lost",
        (here("b1 c1 larva 2 ?", 10), ("seen", "b1", {"n": 3})),
        {"b1 c1 larva 2 ?": 10, "b1 c1 larva 2 ? @founders": -10},
    ),
    Example(
        "more were seen than expected: they were there",
        (here("b1 c1 larva 2 ?", 10), ("seen", "b1", {"n": 12})),
        {"b1 c1 larva 2 ?": 12, "b1 c1 larva 2 ? @founders": -10, "b1 c1 larva 2 ? @unaccounted": -2},
    ),
    Example(
        "a complete count finds fewer",
        (here("b1 c1 larva 2 ?", 10), ("count", "b1", {"n": 7})),
        {"b1 c1 larva 2 ?": 7, "b1 c1 larva 2 ? @founders": -10, "b1 c1 larva 2 ? @unaccounted": 3},
    ),
    Example(
        "an incomplete count finds fewer: that says nothing",
        (here("b1 c1 larva 2 ?", 10), ("count", "b1", {"n": 7, "complete": False})),
        {"b1 c1 larva 2 ?": 10, "b1 c1 larva 2 ? @founders": -10},
    ),
    # 2 of 9 are missing; shares 2*6/9 = 1.33 and 2*3/9 = 0.67, so one each: the whole part, then the larger rest.
    Example(
        "a loss among two cohorts is shared out",
        (here("b1 c1 larva 2 ?", 6), here("b1 c2 larva 2 ?", 3), ("count", "b1", {"n": 7})),
        {
            "b1 c1 larva 2 ?": 5, "b1 c1 larva 2 ? @founders": -6, "b1 c1 larva 2 ? @unaccounted": 1,
            "b1 c2 larva 2 ?": 2, "b1 c2 larva 2 ? @founders": -3, "b1 c2 larva 2 ? @unaccounted": 1,
        },
    ),
    Example(
        "a count of one stage leaves the other alone",
        (here("b1 c1 larva 5 ?", 6), here("b1 c1 pupa 0 ?", 3), ("count", "b1", {"n": 2, "stage": "pupa"})),
        {
            "b1 c1 larva 5 ?": 6, "b1 c1 larva 5 ? @founders": -6,
            "b1 c1 pupa 0 ?": 2, "b1 c1 pupa 0 ? @founders": -3, "b1 c1 pupa 0 ? @unaccounted": 1,
        },
    ),
    Example(
        "a box is empty that should hold four",
        (here("b1 c1 larva 2 ?", 4), here("b2 c1 larva 2 ?", 5), ("confirmed_empty", "b1", {})),
        {
            "b1 c1 larva 2 ? @founders": -4, "b1 c1 larva 2 ? @unaccounted": 4,
            "b2 c1 larva 2 ?": 5, "b2 c1 larva 2 ? @founders": -5,
        },
    ),
    Example(
        "a box is retired with two never found",
        (here("b1 c1 pupa 0 ?", 2), ("box_retired", "b1", {})),
        {"b1 c1 pupa 0 ? @founders": -2, "b1 c1 pupa 0 ? @unaccounted": 2},
    ),
    # ---- animals go
    Example(
        "two of one cohort die",
        (here("b1 c1 larva 2 ?", 6), here("b1 c2 larva 2 ?", 3), ("died", "b1", {"n": 2, "cohort": "c2"})),
        {
            "b1 c1 larva 2 ?": 6, "b1 c1 larva 2 ? @founders": -6,
            "b1 c2 larva 2 ?": 1, "b1 c2 larva 2 ? @founders": -3, "b1 c2 larva 2 ? @dead": 2,
        },
    ),
    Example(
        "more are found dead than were expected: the rest is a surplus, of an instar that nobody stated",
        (here("b1 c1 larva 2 ?", 3), ("died", "b1", {"n": 5})),
        {
            "b1 c1 larva 2 ? @founders": -3, "b1 c1 larva 2 ? @dead": 3,
            "b1 c1 larva 0 ? @dead": 2, "b1 c1 larva 0 ? @surplus": -2,
        },
    ),
    Example(
        "one is eaten by the others",
        (here("b1 c1 larva 2 ?", 10), ("cannibalism", "b1", {})),
        {"b1 c1 larva 2 ?": 9, "b1 c1 larva 2 ? @founders": -10, "b1 c1 larva 2 ? @dead": 1},
    ),
    Example(
        "two of an instar die in the moult",
        (here("b1 c1 larva 2 ?", 4), here("b1 c1 larva 3 ?", 5), ("failed_moult", "b1", {"n": 2, "instar": 3})),
        {
            "b1 c1 larva 2 ?": 4, "b1 c1 larva 2 ? @founders": -4,
            "b1 c1 larva 3 ?": 3, "b1 c1 larva 3 ? @founders": -5, "b1 c1 larva 3 ? @dead": 2,
        },
    ),
    Example(
        "three escape",
        (here("b1 c1 larva 1 ?", 10), ("escaped", "b1", {"n": 3})),
        {"b1 c1 larva 1 ?": 7, "b1 c1 larva 1 ? @founders": -10, "b1 c1 larva 1 ? @escaped": 3},
    ),
    Example(
        "two of the three that escaped are found again",
        (
            here("b1 c1 larva 1 ?", 10),
            ("escaped", "b1", {"n": 3}),
            ("found_again", "b1", {"n": 2, "was": "escaped", "stage": "larva", "instar": 1}),
        ),
        {"b1 c1 larva 1 ?": 9, "b1 c1 larva 1 ? @founders": -10, "b1 c1 larva 1 ? @escaped": 1},
    ),
    Example(
        "one that a count missed is found again",
        (
            here("b1 c1 pupa 0 f", 4),
            ("count", "b1", {"n": 2}),
            ("found_again", "b1", {"cohort": "c1", "stage": "pupa", "sex": "female"}),
        ),
        {"b1 c1 pupa 0 f": 3, "b1 c1 pupa 0 f @founders": -4, "b1 c1 pupa 0 f @unaccounted": 1},
    ),
    Example(
        "all are given away where no number is said",
        (here("b1 c1 larva 2 ?", 6), here("b1 c2 larva 3 ?", 2), ("given_away", "b1", {})),
        {
            "b1 c1 larva 2 ? @founders": -6, "b1 c1 larva 2 ? @given_away": 6,
            "b1 c2 larva 3 ? @founders": -2, "b1 c2 larva 3 ? @given_away": 2,
        },
    ),
    Example(
        "five are given away",
        (here("b1 c1 larva 2 ?", 6), ("given_away", "b1", {"n": 5})),
        {"b1 c1 larva 2 ?": 1, "b1 c1 larva 2 ? @founders": -6, "b1 c1 larva 2 ? @given_away": 5},
    ),
    # ---- animals move
    Example(
        "four move to another box",
        (here("b1 c1 larva 2 ?", 10), here("b2 c1 larva 2 ?", 1), ("transfer", "b1", {"to_box": "b2", "n": 4})),
        {
            "b1 c1 larva 2 ?": 6, "b1 c1 larva 2 ? @founders": -10,
            "b2 c1 larva 2 ?": 5, "b2 c1 larva 2 ? @founders": -1,
        },
    ),
    Example(
        "all move where no number is said, each as what it is",
        (here("b1 c1 larva 5 ?", 3), here("b1 c1 pupa 0 m", 2), ("transfer", "b1", {"to_box": "b2"})),
        {
            "b2 c1 larva 5 ?": 3, "b1 c1 larva 5 ? @founders": -3,
            "b2 c1 pupa 0 m": 2, "b1 c1 pupa 0 m @founders": -2,
        },
    ),
    # 5 of 9: shares 5*6/9 = 3.33 and 5*3/9 = 1.67, so 3 and 2.
    Example(
        "some of two cohorts move, nobody knows which: in proportion",
        (here("b1 c1 larva 2 ?", 6), here("b1 c2 larva 2 ?", 3), ("transfer", "b1", {"to_box": "b2", "n": 5})),
        {
            "b1 c1 larva 2 ?": 3, "b2 c1 larva 2 ?": 3, "b1 c1 larva 2 ? @founders": -6,
            "b1 c2 larva 2 ?": 1, "b2 c2 larva 2 ?": 2, "b1 c2 larva 2 ? @founders": -3,
        },
    ),
    Example(
        "two boxes give to a blend in a third",
        (
            here("b1 c1 larva 2 ?", 5),
            here("b2 c2 larva 3 ?", 4),
            (
                "blended",
                "b3",
                {
                    "into": "c9",
                    "parts": [
                        {"from_box": "b1", "cohort": "c1", "stage": "larva", "n": 3},
                        {"from_box": "b2", "cohort": "c2", "stage": "larva", "n": 2},
                    ],
                },
            ),
        ),
        {
            "b1 c1 larva 2 ?": 2, "b1 c1 larva 2 ? @founders": -5,
            "b2 c2 larva 3 ?": 2, "b2 c2 larva 3 ? @founders": -4,
            "b3 c9 larva 2 ?": 3, "b3 c9 larva 3 ?": 2,
        },
    ),
    Example(
        "one female is marked and becomes an individual",
        (
            here("b1 c1 adult 0 f", 3),
            here("b1 c1 adult 0 m", 2),
            ("marked", "b1", {"individual": "i1", "mark": "white", "sex": "female"}),
        ),
        {
            "b1 c1 adult 0 f": 2, "b1 c1 adult 0 f @founders": -3, "b1 i1 adult 0 f": 1,
            "b1 c1 adult 0 m": 2, "b1 c1 adult 0 m @founders": -2,
        },
    ),
    Example(
        "two males are brought to the females",
        (
            here("b1 c1 adult 0 f", 1),
            here("b2 c2 adult 0 m", 5),
            here("b2 c2 adult 0 f", 4),
            ("introduced", "b1", {"from_box": "b2", "n": 2}),
        ),
        {
            "b1 c1 adult 0 f": 1, "b1 c1 adult 0 f @founders": -1, "b1 c2 adult 0 m": 2,
            "b2 c2 adult 0 m": 3, "b2 c2 adult 0 m @founders": -5,
            "b2 c2 adult 0 f": 4, "b2 c2 adult 0 f @founders": -4,
        },
    ),
    Example(
        "all males are taken out again, the females and larvae stay",
        (
            here("b1 c1 adult 0 f", 1),
            here("b1 c2 adult 0 m", 2),
            here("b1 c1 larva 5 ?", 3),
            ("separated", "b1", {"to_box": "b2"}),
        ),
        {
            "b1 c1 adult 0 f": 1, "b1 c1 adult 0 f @founders": -1,
            "b2 c2 adult 0 m": 2, "b1 c2 adult 0 m @founders": -2,
            "b1 c1 larva 5 ?": 3, "b1 c1 larva 5 ? @founders": -3,
        },
    ),
    # ---- from stage to stage
    Example(
        "twelve of twenty eggs hatch",
        (here("b1 c1 egg 0 ?", 20), ("hatched", "b1", {"n": 12})),
        {"b1 c1 egg 0 ?": 8, "b1 c1 egg 0 ? @founders": -20, "b1 c1 larva 1 ?": 12},
    ),
    Example(
        "more hatch than were estimated: the estimate is revised",
        (here("b1 c1 egg 0 ?", 20), ("hatched", "b1", {"n": 25})),
        {"b1 c1 egg 0 ? @founders": -20, "b1 c1 larva 1 ?": 25, "b1 c1 larva 1 ? @revised": -5},
    ),
    Example(
        "the eggs that are left do not hatch",
        (here("b1 c1 egg 0 ?", 20), ("hatched", "b1", {"n": 12}), ("unhatched", "b1", {})),
        {"b1 c1 egg 0 ? @founders": -20, "b1 c1 larva 1 ?": 12, "b1 c1 egg 0 ? @dead": 8},
    ),
    Example(
        "four moult to the third instar",
        (here("b1 c1 larva 2 ?", 6), here("b1 c1 larva 4 ?", 2), ("moulted", "b1", {"n": 4, "to_instar": 3})),
        {
            "b1 c1 larva 2 ?": 2, "b1 c1 larva 3 ?": 4, "b1 c1 larva 2 ? @founders": -6,
            "b1 c1 larva 4 ?": 2, "b1 c1 larva 4 ? @founders": -2,
        },
    ),
    Example(
        "all moult, each to its next instar; an unknown one stays unknown",
        (here("b1 c1 larva 2 ?", 6), here("b1 c2 larva 0 ?", 3), ("moulted", "b1", {})),
        {
            "b1 c1 larva 3 ?": 6, "b1 c1 larva 2 ? @founders": -6,
            "b1 c2 larva 0 ?": 3, "b1 c2 larva 0 ? @founders": -3,
        },
    ),
    Example(
        "two larvae rest as prepupae",
        (here("b1 c1 larva 6 ?", 5), ("prepupa", "b1", {"n": 2})),
        {"b1 c1 larva 6 ?": 3, "b1 c1 larva 6 ? @founders": -5, "b1 c1 prepupa 0 ?": 2},
    ),
    Example(
        "three pupate, both prepupae before a larva, and are seen to be female",
        (
            here("b1 c1 larva 6 ?", 5),
            here("b1 c1 prepupa 0 ?", 2),
            ("pupated", "b1", {"n": 3, "to_sex": "female"}),
        ),
        {
            "b1 c1 larva 6 ?": 4, "b1 c1 larva 6 ? @founders": -5,
            "b1 c1 prepupa 0 ? @founders": -2,
            "b1 c1 pupa 0 f": 3,
        },
    ),
    Example(
        "pupae are sexed before larvae are",
        (
            here("b1 c1 pupa 0 ?", 7),
            here("b1 c1 larva 6 ?", 2),
            ("sexed", "b1", {"n_female": 3, "n_male": 2}),
        ),
        {
            "b1 c1 pupa 0 f": 3, "b1 c1 pupa 0 m": 2, "b1 c1 pupa 0 ?": 2, "b1 c1 pupa 0 ? @founders": -7,
            "b1 c1 larva 6 ?": 2, "b1 c1 larva 6 ? @founders": -2,
        },
    ),
    Example(
        "two females emerge: from the female pupa, then from one of unknown sex",
        (
            here("b1 c1 pupa 0 f", 1),
            here("b1 c1 pupa 0 m", 1),
            here("b1 c1 pupa 0 ?", 3),
            ("emerged", "b1", {"n": 2, "to_sex": "female"}),
        ),
        {
            "b1 c1 pupa 0 f @founders": -1,
            "b1 c1 pupa 0 m": 1, "b1 c1 pupa 0 m @founders": -1,
            "b1 c1 pupa 0 ?": 2, "b1 c1 pupa 0 ? @founders": -3,
            "b1 c1 adult 0 f": 2,
        },
    ),
)  # fmt: skip
