"""Boxes for the tests of care: facts from short words, on invented days."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

from boxside.catalog.species import load_species
from boxside.core.values.due import Due
from boxside.core.values.facts import BoxFacts, CohortFacts, Rest, Seen
from boxside.core.values.ledger import Line
from boxside.core.values.moments import DAY_MS
from boxside.core.values.stages import Sex, Stage

SPECIES = Path(__file__).parents[3] / "shared" / "species"
GLOW_WORM = load_species(SPECIES / "lampyris_noctiluca.toml")
MADE = date(2026, 3, 1)


def day(n: int) -> date:
    """The n-th day of the tests' calendar: day 0 is when the box was made."""
    return MADE + timedelta(days=n)


def seen(kind: str, n: int, minute: int = 600, /, **fields: object) -> Seen:
    at_ms = (date(2026, 3, 1) - date(1970, 1, 1)).days * DAY_MS + n * DAY_MS + minute * 60_000
    return Seen(f"{kind}@{n}.{minute}", at_ms, day(n), fields)  # type: ignore[arg-type]


def larvae(instar: int, cohort: str = "c1", box: str = "b1") -> Line:
    return Line(box, cohort, Stage.LARVA, instar)


def animals(stage: Stage, sex: Sex = Sex.UNKNOWN, cohort: str = "c1", box: str = "b1") -> Line:
    return Line(box, cohort, stage, 0, sex)


def a_box(
    *lines: Line,
    label: str = "B01",
    rest: Rest | None = None,
    mean_c: float | None = None,
    cool: bool | None = None,
    cohorts: tuple[CohortFacts, ...] = (),
    loss_note: str = "",
    **latest: Seen,
) -> BoxFacts:
    """A box with twelve animals a line; a keyword `later__feed` stands for the kind `later:feed`."""
    return BoxFacts(
        box="b1",
        label=label,
        made_on=MADE,
        lines=tuple((line, 12) for line in lines),
        latest={kind.replace("__", ":"): value for kind, value in latest.items()},
        rest=rest,
        area_cool=cool,
        area_mean_c=mean_c,
        cohorts=cohorts,
        loss_note=loss_note,
    )


def one(found: tuple[Due, ...], task: str) -> Due | None:
    """The due of one task among a box's dues."""
    return next((due for due in found if due.task == task), None)
