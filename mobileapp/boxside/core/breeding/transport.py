"""Whole families between sources of females (rows) and of males (columns).

References
----------
Ford L.R., Fulkerson D.R. 1956, Maximal flow through a network, Canadian Journal of Mathematics 8:399-404.
Klein M. 1967, A primal method for minimal cost flows, Management Science 14:205-220 (cancelling of cycles).
"""

from __future__ import annotations

from collections import deque

import numpy as np
from numpy.typing import NDArray

from boxside.core.breeding.draw import Floats

Counts = NDArray[np.int64]
Allowed = NDArray[np.bool_]

_GAIN = 1e-12


def most_families(allowed: Allowed, rows: Counts, columns: Counts) -> Counts:
    """Return (rows, columns) a largest set of families with at most `rows` and `columns` of each source."""
    families = np.zeros(allowed.shape, dtype=np.int64)
    while (more := with_one_more(families, allowed, rows, columns)) is not None:
        families = more
    return families


def with_one_more(families: Counts, allowed: Allowed, rows: Counts, columns: Counts) -> Counts | None:
    """Return the families with one more, others re-paired if need be; None if there is no way."""
    came_from: dict[int, int] = {int(j): -1 for j in np.flatnonzero(families.sum(axis=1) < rows)}
    spare = families.sum(axis=0) < columns
    n_rows = len(rows)  # nodes: rows first, then columns
    queue = deque(came_from)
    while queue:
        node = queue.popleft()
        if node >= n_rows and spare[node - n_rows]:
            return _along(families, came_from, node)
        following = (
            np.flatnonzero(allowed[node]) + n_rows if node < n_rows else np.flatnonzero(families[:, node - n_rows] > 0)
        )
        for new in map(int, following):
            if new not in came_from:
                came_from[new] = node
                queue.append(new)
    return None


def _along(families: Counts, came_from: dict[int, int], node: int) -> Counts:
    more, n_rows = families.copy(), families.shape[0]
    while (before := came_from[node]) >= 0:
        if node >= n_rows:
            more[before, node - n_rows] += 1
        else:
            more[node, before - n_rows] -= 1
        node = before
    return more


def least_cost(families: Counts, allowed: Allowed, cost: Floats) -> Counts:
    """Return families with the same totals by row and column and the least sum of `cost`."""
    families = families.copy()
    while cycle := _gaining_cycle(families, allowed, cost):
        for node, following in zip(cycle, [*cycle[1:], cycle[0]], strict=True):
            if node < families.shape[0]:
                families[node, following - families.shape[0]] += 1
            else:
                families[following, node - families.shape[0]] -= 1
    return families


def _gaining_cycle(families: Counts, allowed: Allowed, cost: Floats) -> list[int]:
    """Nodes of a cycle of re-pairings with a negative sum of costs, empty if there is none (Bellman and "
    "Ford)."""
    n_rows, n_columns = cost.shape
    n = n_rows + n_columns
    length = np.full((n, n), np.inf)
    length[:n_rows, n_rows:][allowed] = cost[allowed]
    used = families > 0
    length[n_rows:, :n_rows][used.T] = -cost.T[used.T]
    distance, before = np.zeros(n), np.full(n, -1)
    for _ in range(n):
        through = distance[:, None] + length
        best = through.argmin(axis=0)
        value = through[best, np.arange(n)]
        shorter = value < distance - _GAIN
        if not shorter.any():
            return []
        distance[shorter], before[shorter] = value[shorter], best[shorter]
    return _cycle_of(before, int(np.flatnonzero(shorter)[0]), n)


def _cycle_of(before: NDArray[np.intp], node: int, n: int) -> list[int]:
    for _ in range(n):  # step back until surely on the cycle
        node = int(before[node])
    cycle = [node]
    while (node := int(before[node])) != cycle[0]:
        cycle.append(node)
    return cycle[::-1]
