"""Where the cohorts of a line stand in its drawing: a row a generation, children below their parents."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from boxside.core.values.lineage import Cohort, CohortKind

_PASSES = 3


def generations(cohorts: Sequence[Cohort]) -> dict[str, int]:
    """Return the generation of each cohort, given parents first: founders 0, offspring one below the youngest parent.

    What was mixed or taken from others belongs to the generation of the youngest of these.
    """
    found: dict[str, int] = {}
    for cohort in cohorts:
        above = [found[source.cohort] for source in cohort.sources if source.cohort in found]
        below = int(cohort.kind is CohortKind.OFFSPRING)
        found[cohort.id] = max(above, default=-below) + below
    return found


def places(
    names: Sequence[str], generation: Mapping[str, int], edges: Iterable[tuple[str, str]]
) -> dict[str, tuple[float, float]]:
    """Return (x, y) of each node, fractions of the drawing: founders on top, rows spread evenly.

    Parameters
    ----------
    names : the nodes, parents first
    edges : (parent, child)

    Notes
    -----
    Within a row nodes are ordered by the mean place of their parents, then of their children (barycentre
    heuristic, Sugiyama K., Tagawa S., Toda M. 1981, Methods for visual understanding of hierarchical system
    structures, IEEE Transactions on Systems, Man, and Cybernetics 11:109-125). Few crossings, not the fewest.
    """
    rows: dict[int, list[str]] = {}
    for name in names:
        rows.setdefault(generation[name], []).append(name)
    up: dict[str, list[str]] = {name: [] for name in names}
    down: dict[str, list[str]] = {name: [] for name in names}
    for parent, child in edges:
        up[child].append(parent)
        down[parent].append(child)
    x = {name: at for row in rows.values() for name, at in _spread(row).items()}
    order = sorted(rows)
    for _ in range(_PASSES):
        for sequence, near in ((order[1:], up), (order[-2::-1], down)):
            for row in sequence:
                rows[row].sort(key=lambda name: (_mean(x, near[name], x[name]), names.index(name)))
                x.update(_spread(rows[row]))
    last = max(order, default=0)
    return {name: (x[name], generation[name] / last if last else 0.0) for name in names}


def _spread(row: Sequence[str]) -> dict[str, float]:
    return {name: (nth + 0.5) / len(row) for nth, name in enumerate(row)}


def _mean(x: Mapping[str, float], near: Sequence[str], own: float) -> float:
    return sum(x[name] for name in near) / len(near) if near else own
