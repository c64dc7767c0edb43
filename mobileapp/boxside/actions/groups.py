"""The animals of a box as groups that a keeper can tell apart, and the boxes they can go to."""

from __future__ import annotations

from collections.abc import Sequence

from boxside.actions.services import Services
from boxside.actions.wording import is_about, stage_words, who_text
from boxside.core.values.errors import EntryError
from boxside.core.values.ledger import Line
from boxside.core.values.season import Group, Target
from boxside.core.values.stages import Sex, Stage
from boxside.store import reading
from boxside.store.reading import Entity


def box_of_id(services: Services, box_id: str) -> Entity:
    """Return a box by its id; EntryError where there is none."""
    box = reading.entity(services.store, "box", box_id)
    if box is None:
        raise EntryError("There is no such box. Nothing was saved.")
    return box


def cohort_name(services: Services, cohort: str) -> str:
    """Return what a cohort is called; `unknown` where nobody can know which it is."""
    found = reading.entity(services.store, "cohort", cohort) if cohort else None
    return found.shown if found else "unknown"


def groups_of(services: Services, lines: Sequence[tuple[Line, int]]) -> tuple[Group, ...]:
    """Return the lines of a box in words, in the order of life."""
    groups = []
    for line, n in sorted(lines, key=lambda item: (item[0].stage.rank, item[0])):
        name = cohort_name(services, line.cohort)
        said = stage_words(line.stage, n)
        instar = f", instar {line.instar}" if line.instar else ""
        sex = f", {line.sex}" if line.sex is not Sex.UNKNOWN else ""
        groups.append(
            Group(f"{said}{instar}{sex} of {name}", n, line.cohort, name, str(line.stage), line.instar, str(line.sex))
        )
    return tuple(groups)


def stages_of(lines: Sequence[tuple[Line, int]]) -> tuple[Stage, ...]:
    """Return the stages that are in a box, in the order of life."""
    return tuple(sorted({line.stage for line, _ in lines}, key=lambda stage: stage.rank))


def targets_of(services: Services, box_id: str) -> tuple[Target, ...]:
    """Return the open boxes that animals can go to, empty ones first."""
    boxes = [box for box in reading.open_boxes(services.store) if box.id != box_id]
    lines = reading.lines(services.store, [box.id for box in boxes])
    found = [
        Target(box.id, box.shown, who_text(lines[box.id], is_about(services, box.id)), not lines[box.id])
        for box in boxes
    ]
    return tuple(sorted(found, key=lambda target: (not target.is_empty, target.label)))


def vents_of(box: Entity) -> str:
    """Return how a box is ventilated, in the keeper's word."""
    return str(box.data.get("vents") or "")
