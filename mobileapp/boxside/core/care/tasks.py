"""The tasks of a colony: their names, what they are called, and how pressing they are."""

from __future__ import annotations

from dataclasses import dataclass

from boxside.core.values.facts import BoxFacts
from boxside.core.values.stages import Stage

_OTHER = {Stage.EGG: 6, Stage.ADULT: 5, Stage.PUPA: 4, Stage.PREPUPA: 4}


@dataclass(frozen=True, slots=True)
class Task:
    """A task: its label, how pressing it is (0 can wait, 3 cannot), and whether it belongs to the dusk."""

    label: str
    press: int
    at_dusk: bool = False


TASKS: dict[str, Task] = {
    "feed": Task("Feed", 2),
    "meal_out": Task("Take the meal out", 1),
    "moisture": Task("Check moisture", 1),
    "air": Task("Air", 2),
    "clean": Task("Clean", 0),
    "renew": Task("Renew the substrate", 0),
    "check_old_box": Task("Check the old box", 2),
    "watch_hatch": Task("Watch for hatching", 2),
    "watch_pupation": Task("Watch for pupation", 1),
    "watch_emergence": Task("Watch for emergence", 2),
    "separate_sexes": Task("Separate the sexes", 3),
    "introduce": Task("Introduce males", 3, at_dusk=True),
    "end_pairing": Task("Separate the pair", 2),
    "wake": Task("End the winter rest", 1),
    "quarantine_end": Task("End the quarantine", 0),
    "check_prey_batch": Task("Check the prey batch", 2),
    "look_for_escape": Task("Look for escapes", 3),
    "relabel": Task("Give it a code of its own", 0),
}


def task_label(task: str) -> str:
    """Return what a task is called; an unknown task is named after its key.

    Examples
    --------
    >>> task_label("meal_out")
    'Take the meal out'
    """
    known = TASKS.get(task)
    return known.label if known else task.replace("_", " ").capitalize()


def youth(facts: BoxFacts) -> int:
    """Return how early in life the youngest animals of a box are, 0 (none) to 9 (first instar).

    Larvae of unknown instar count as the first: nobody can rule it out.
    """
    scores = [0]
    for line, n in facts.lines:
        if n > 0:
            larva = max(1, 10 - max(line.instar, 1))
            scores.append(larva if line.stage is Stage.LARVA else _OTHER[line.stage])
    return max(scores)


def urgency(task: str, facts: BoxFacts, more: int = 0) -> int:
    """Return the rank of a task at a box: first how pressing the task is, then how young its animals are."""
    return (TASKS[task].press + more) * 10 + youth(facts)
