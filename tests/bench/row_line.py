"""The line: kinship of thousands of cohorts over a hundred generations, and of one cohort more."""

from __future__ import annotations

import random
import time
from collections.abc import Callable, Iterator, Sequence
from functools import partial

from boxside.core.breeding import kinships, with_cohort
from boxside.core.values.lineage import Cohort, CohortKind, Parents, Source
from tests.bench.setting import Bench
from tests.bench.table import Row, time_text
from tests.bench.timing import in_turns

N_COHORTS, GENERATIONS = (1000, 3000), 100
BAR_S = 1.0
# Three times the cohorts make nine times the table.
BAR_GROWTH = 9.0
BAR_MORE = 0.25


def line(n: int, seed: int = 1) -> list[Cohort]:
    """Return a line of `n` cohorts over a hundred generations, each bred from two of the one before."""
    chance = random.Random(seed)
    each = n // GENERATIONS
    last = [Cohort(f"0-{nth}", CohortKind.FOUNDERS, size=10) for nth in range(each)]
    found = list(last)
    for generation in range(1, GENERATIONS):
        last = [offspring(f"{generation}-{nth}", last, chance) for nth in range(each)]
        found += last
    return found


def offspring(name: str, before: Sequence[Cohort], chance: random.Random) -> Cohort:
    """Return a cohort with dams and sires from two of those before it."""
    dam, sire = (chance.choice(before).id for _ in range(2))
    return Cohort(name, CohortKind.OFFSPRING, Parents((Source(dam, n=3),)), Parents((Source(sire, n=2),)), size=20)


def rows(bench: Bench) -> Iterator[Row]:
    """Yield the whole table, how it grows, and one cohort more."""
    lines = [line(n) for n in N_COHORTS]
    known, more = kinships(lines[-1]), offspring("more", lines[-1][-30:], random.Random(2))
    acts: list[Callable[[], object]] = [partial(kinships, cohorts) for cohorts in lines]
    acts.append(partial(with_cohort, known, more))
    small_s, large_s, more_s = in_turns(acts, max(bench.n_times // 50, 3), clock=time.process_time)
    what = f"kinship of {N_COHORTS[1]} cohorts, {GENERATIONS} generations"
    yield Row(what, "", time_text(large_s), None, "<= 1 s of CPU", large_s <= BAR_S)
    growth, share = large_s / small_s, more_s / large_s
    lengths = f"{N_COHORTS[1]} against {N_COHORTS[0]} cohorts"
    shown = time_text(small_s), time_text(large_s)
    yield Row(f"kinship, {lengths}", *shown, growth, f"<= {BAR_GROWTH}x", growth <= BAR_GROWTH)
    whole = time_text(large_s), time_text(more_s)
    yield Row("one cohort more, against all", *whole, share, f"<= {BAR_MORE}x", share <= BAR_MORE)
