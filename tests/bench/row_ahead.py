"""Ahead: four weeks of visits, hatches, pupations and emergences for five hundred boxes, however long the history."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator

from boxside.actions.ahead import ahead_view
from boxside.actions.log_event import log_all
from boxside.actions.services import Services
from boxside.core.values.event import Draft, Json
from boxside.core.values.ids import uuid7
from boxside.core.values.moments import DAY_MS
from tests.bench.logs import N_BOXES, NOW_MS, boxes
from tests.bench.setting import Bench
from tests.bench.table import Row, size_text, time_text
from tests.bench.timing import in_turns

BAR_S, GROWTH = 0.100, 1.2
# One species is foretold in days, the other in warmth, which costs more.
IN_DAYS = ("lampyris_noctiluca",)
IN_WARMTH = ("lampyris_noctiluca", "lampyris_noctiluca", "luciola_lateralis")
_AREAS = tuple(uuid7(9000 + n, n, n) for n in range(2))
_RECORD_DAYS = 730


def colony(species: tuple[str, ...], now_ms: int = NOW_MS) -> Iterator[Draft]:
    """Yield what makes the shelf a colony in every stage: two areas with two years of temperatures, and in every
    box a clutch, pupae of both sexes, or grown larvae, some of whose clutches have shown how long they took."""
    for nth, area in enumerate(_AREAS):
        yield Draft("area_made", "area", area, {"name": f"Area {nth}"}, now_ms - _RECORD_DAYS * DAY_MS)
        for day in range(1, _RECORD_DAYS):
            swing = 4.0 * ((day % 365) / 365)
            said: dict[str, Json] = {"min_c": 15.0 + nth + swing, "max_c": 19.0 + nth + swing}
            yield Draft("temperature", "area", area, said, now_ms - day * DAY_MS)
    for nth, box in enumerate(boxes()):
        yield Draft("box_changed", "box", box, {"area": _AREAS[nth % 2]}, now_ms - 29 * DAY_MS)
        if nth % 3:
            # A box of eggs or pupae holds no larvae.
            yield Draft("confirmed_empty", "box", box, {}, now_ms - 29 * DAY_MS)
        yield from (_grown, _clutch, _pupae)[nth % 3](nth, box, species, now_ms)


def _cohort(nth: int, species: tuple[str, ...], day: int, now_ms: int, **more: Json) -> tuple[str, Draft]:
    cohort = uuid7(20_000 + nth, nth, nth)
    said: dict[str, Json] = {
        "name": f"Clutch {nth}",
        "origin": "laid",
        "species": species[nth // 3 % len(species)],
        **more,
    }
    return cohort, Draft("cohort_started", "cohort", cohort, said, now_ms - day * DAY_MS)


def _clutch(nth: int, box: str, species: tuple[str, ...], now_ms: int) -> Iterator[Draft]:
    cohort, started = _cohort(nth, species, 28, now_ms, stage="egg")
    yield started
    laid_on = 28 if nth % 5 == 0 else 1 + nth % 25
    yield Draft("stocked", "box", box, {"cohort": cohort, "n": 60, "stage": "egg"}, now_ms - laid_on * DAY_MS)
    if nth % 5 == 0:
        yield Draft("hatched", "box", box, {"cohort": cohort, "n": 50}, now_ms - (1 + nth % 7) * DAY_MS)


def _pupae(nth: int, box: str, species: tuple[str, ...], now_ms: int) -> Iterator[Draft]:
    cohort, started = _cohort(nth, species, 28, now_ms, stage="pupa")
    yield started
    for sex, day in (("female", nth % 6), ("male", nth % 7)):
        said: dict[str, Json] = {"cohort": cohort, "n": 6, "stage": "pupa", "sex": sex}
        yield Draft("stocked", "box", box, said, now_ms - day * DAY_MS - DAY_MS // 2)


def _grown(nth: int, box: str, species: tuple[str, ...], now_ms: int) -> Iterator[Draft]:
    cohort, started = _cohort(nth, species, 29, now_ms, stage="larva")
    yield started
    hatchlings: dict[str, Json] = {"cohort": cohort, "n": 30, "stage": "larva", "instar": 1}
    yield Draft("stocked", "box", box, hatchlings, now_ms - 29 * DAY_MS)
    for instar in range(2, 7):
        grown: dict[str, Json] = {"cohort": cohort, "n": 30, "to_instar": instar}
        yield Draft("moulted", "box", box, grown, now_ms - (30 - 4 * instar) * DAY_MS)


def by_app(services: Services) -> Callable[[], object]:
    """Return the question as the screen asks it."""
    return lambda: ahead_view(services)


def rows(bench: Bench) -> Iterator[Row]:
    """Yield Ahead at each length of history, how it grows, and the longest with species foretold in warmth."""
    shelves = [_shelf(bench, n, IN_DAYS) for n in bench.sizes]
    warm = _shelf(bench, bench.sizes[-1], IN_WARMTH)
    n_times = max(bench.n_times // 10, 5)
    *times, warm_s = in_turns([by_app(services) for services in (*shelves, warm)], n_times, clock=time.process_time)
    for n, time_s in zip(bench.sizes, times, strict=True):
        yield _row(f"Ahead, {N_BOXES} boxes, {size_text(n)} events", time_s)
    yield _row(f"the same, a third foretold in warmth, {size_text(bench.sizes[-1])} events", warm_s)
    growth = times[-1] / times[0]
    lengths = f"{size_text(bench.sizes[-1])} against {size_text(bench.sizes[0])} events"
    shown = time_text(times[0]), time_text(times[-1])
    yield Row(f"Ahead, {lengths}", *shown, growth, f"<= {GROWTH}x", growth <= GROWTH)
    for services in (*shelves, warm):
        services.store.close()


def _shelf(bench: Bench, n: int, species: tuple[str, ...]) -> Services:
    services = bench.services(n, f"ahead-{len(species)}")
    log_all(services, colony(species))
    n_foretold = len(ahead_view(services).expected)
    if n_foretold < N_BOXES // 2:
        raise AssertionError(f"{n_foretold} expectations: too few to measure")
    return services


def _row(what: str, time_s: float) -> Row:
    return Row(what, "", time_text(time_s), None, "<= 100 ms of CPU", time_s <= BAR_S)
