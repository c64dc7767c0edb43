"""The line of the invented colony: views as the actions would return them, and what was called."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from boxside.core.values.line_view import (
    AdultRow,
    CohortRow,
    GenerationRow,
    LineEdge,
    LineNode,
    LineView,
    Outlook,
    PairingsView,
    PairRow,
)
from boxside.core.values.views import Saved, Undo
from tests.ui.fake_colony import Services, fail_if_told

ON = date(2026, 6, 20)
ROWS: tuple[tuple[str, ...], ...] = (
    ("North bank 2022", "Meadow 2022", "?", "Received 2023"),
    ("2023 A", "2023 B", "2023 C"),
    ("2024 A", "2024 B", "2024 C", "2024 D", "2024 E", "Blend of spring"),
    ("2025 A",),
)
EDGES = (
    ("North bank 2022", "2023 A", "female", True), ("Meadow 2022", "2023 A", "male", True),
    ("Meadow 2022", "2023 B", "female", True), ("?", "2023 B", "male", True),
    ("Received 2023", "2023 C", "female", True), ("North bank 2022", "2023 C", "male", False),
    ("2023 A", "2024 A", "female", True), ("2023 B", "2024 A", "male", False), ("2023 C", "2024 A", "male", False),
    ("2023 A", "2024 B", "female", True), ("2023 A", "2024 B", "male", True),
    ("2023 B", "2024 C", "female", True), ("2023 C", "2024 C", "male", True),
    ("2023 C", "2024 D", "female", True), ("2023 C", "2024 E", "male", True), ("2023 B", "2024 E", "female", True),
    ("2024 A", "Blend of spring", "", True), ("2024 B", "Blend of spring", "", True),
    ("2024 A", "2025 A", "female", True), ("2024 D", "2025 A", "male", True),
)  # fmt: skip
HEADS = {"2024 A": 120, "2024 B": 40, "2024 C": 18, "2024 E": 3, "2025 A": 400, "Blend of spring": 60, "2023 C": 1}


def _node(name: str, row: int, at: int, of: int) -> LineNode:
    unknown, n = name == "?", HEADS.get(name, 0)
    key = "2023 B: unknown fathers" if unknown else name
    return LineNode(
        id=f"k-{key}", name=key, kind="founders" if row == 0 else "offspring", generation=row, x=(at + 0.5) / of,
        y=row / (len(ROWS) - 1), n=n, n_eggs=n if name == "2025 A" else 0, size=(n / 400) ** 0.5, unknown=unknown,
        label=name, detail=f"{n} alive, F 0.000" if n else "none alive, F 0.000",
    )  # fmt: skip


def _cohort(node: LineNode) -> CohortRow:
    shares = (("North bank 2022", 0.5), ("Meadow 2022", 0.375), ("Received 2023", 0.125))
    notes = ("Laid by 1 of 4 females: how many was not said, so one is counted, which makes its animals full sibs. "
             "Say how many if there were more.",) if node.generation else ()  # fmt: skip
    return CohortRow(
        id=node.id, name=node.name, kind=node.kind, generation=node.generation,
        born_on=date(2022 + node.generation, 6, 25) if node.generation else None, n=node.n, inbreeding=0.125,
        within=0.25, mean_kinship=0.184 if node.n else None, founder_shares=shares if node.generation else shares[:1],
        parents="1 female of 2023 A with one of 3 males of 2023 B or 2023 C" if node.generation else "founders",
        text=f"{node.name}: {node.kind}, {node.detail}.", notes=notes, unknown=node.unknown,
    )  # fmt: skip


NODES = tuple(_node(name, row, at, len(names)) for row, names in enumerate(ROWS) for at, name in enumerate(names))
_NAMED = {node.label: node.name for node in NODES}
LINE = LineView(
    nodes=NODES,
    edges=tuple(LineEdge(_NAMED[a], _NAMED[b], sex, 1.0, sure) for a, b, sex, sure in EDGES),
    cohorts=tuple(_cohort(node) for node in NODES),
    generations=(
        GenerationRow(1, 3, 4, 6.9, "Generation 1: 3 females and 4 males bred, effective size 6.9."),
        GenerationRow(2, 4, 3, 6.9, "Generation 2: 4 females and 3 males bred, effective size 6.9."),
    ),
    size_now=6.9,
    size_overall=6.9,
    gene_diversity=0.816,
    mean_kinship=0.184,
    founder_genomes=2.7,
    outlooks=(
        Outlook("as now", 4, 3, (0, 0), ((1, 0.757), (5, 0.56), (10, 0.387)), "As now."),
        Outlook("10 families", 10, 10, (0, 0), ((1, 0.796), (5, 0.72), (10, 0.636)), "10 families."),
        Outlook("one new pair each generation", 4, 3, (1, 1), ((1, 0.82), (5, 0.83), (10, 0.83)), "New pair."),
    ),
    newcomers=(
        "3 unrelated newcomers would bring the line to 90 %, if each breeds more than the rest.",
        "As few parents as now cannot hold 90 %, whoever they are: breed more of both sexes.",
    ),
    notes=("Unknown parents count as unrelated founders: the true kinship may be higher.",),
)
NO_LINE = LineView(
    (), (), (), (), None, None, None, None, None, (), (), (),
    empty="No cohort has been logged. Add founders, or a box with animals, and the line begins.",
)  # fmt: skip
REASONS = (
    ("kinship", 0.0, "They are not related as far as the line is known."),
    ("days", 19.0, "Both are adult from 2026-06-22 to 2026-07-10, 19 days."),
    ("rare", 0.018, "2024 A is number 1 of 3 sources of females by rarity (mean kinship 0.018)."),
)
PAIRS = (
    PairRow("k1", "2024 A", "k2", "2024 C", 1, 3, 0.0, "today to 10 Jul", REASONS, "males in B05, females in B10, B11",
            "Instead of 2024 A, males of 2024 B: kinship 0.063, which costs 0.31 percentage points of gene diversity."),
    PairRow("k3", "2024 B", "k2", "2024 E", 2, 2, 0.125, "25 Jun to 3 Jul", REASONS[:2], "males in B07, females in B1"),
)  # fmt: skip
ADULTS = (
    AdultRow("k1", "2024 A", "male", 3, ON, ON + timedelta(20), False, "2024 A: 3 males, adult to 10 Jul at most."),
    AdultRow("k2", "2024 C", "female", 5, ON, ON + timedelta(20), True,
             "2024 C: 5 females, expected 25 Jun to 10 Jul at most."),
)  # fmt: skip
PAIRINGS = PairingsView(
    ON, PAIRS, ADULTS, 0.0312, 0.0298, ("2 males of 2024 B find no female of the same weeks.",),
    ("One male serves 1 clutch here.", "Pupae are planned for the middle of their usual days; they may be early."),
)  # fmt: skip


def line_view(services: Services) -> LineView:
    """Return the line, or none where `settings["line"]` says so."""
    return NO_LINE if services.settings.get("line") == "none" else LINE


def pairings_view(services: Services, on: date | None = None) -> PairingsView:
    """Return the pairings; none in the autumn."""
    day = on or ON
    services.asked.append(("pairings_view", on))
    if day > date(2026, 7, 20):
        empty = f"No females and no males are adult on {day} or in the weeks after it, so nothing can be paired."
        return PairingsView(day, (), (), None, None, (), (), empty)
    return replace(PAIRINGS, on=day)


def add_founders(services: Services, new: Any) -> Saved:
    """Remember founders."""
    fail_if_told(services)
    services.asked.append(("add_founders", new))
    return Saved("x1", Undo("x1", f"{new.name}: started"), None)


def zone_of(services: Services) -> ZoneInfo:
    """Return the keeper's zone."""
    return ZoneInfo("Europe/Berlin")


LINE_ACTIONS: dict[str, Any] = {
    "line_view": line_view, "pairings_view": pairings_view, "add_founders": add_founders, "zone_of": zone_of,
}  # fmt: skip

__all__ = ["LINE", "LINE_ACTIONS", "PAIRINGS"]
