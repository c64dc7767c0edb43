"""The season: what happened from one day to another, in pictures and numbers."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from boxside.actions.colony_sections import (
    adult_section,
    feed_section,
    hatch_section,
    loss_section,
    timeline_section,
)
from boxside.actions.context import today, zone_of
from boxside.actions.season_figures import Colony, colony_of, most_eggs_of
from boxside.actions.services import Services
from boxside.actions.spans import Span, span_of
from boxside.actions.survival_sections import (
    between_section,
    length_section,
    stage_section,
    survival_section,
    table_section,
)
from boxside.core.ledger import End, Passage
from boxside.core.values.carry import SeasonChoice
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Event
from boxside.core.values.moments import day_of
from boxside.core.values.season import SeasonView, Section
from boxside.store import reading
from boxside.store.intervals import first_event_ms


def season_view(
    services: Services,
    season: str = "",
    from_day: date | None = None,
    to_day: date | None = None,
    cohort: str = "",
    choice: SeasonChoice | None = None,
) -> SeasonView:
    """Return what happened in a season, to all cohorts or to one.

    Parameters
    ----------
    season : the name of a season; empty for the days given
    from_day, to_day : both included; None for the calendar year of today, up to today
    cohort : id of a cohort; empty for all
    choice : narrows it to animals that were last in some boxes, or to some cohorts

    Raises
    ------
    EntryError : if there is no such season or cohort, or the days are the wrong way round
    """
    seasons = seasons_of(services)
    first, last = _days(services, seasons, season, from_day, to_day)
    if cohort and reading.entity(services.store, "cohort", cohort) is None:
        raise EntryError("There is no such cohort. Nothing was changed.")
    span = span_of(services, first, last, choice)
    colony = colony_of(services, span.to_ms)
    if span.chosen is not None:
        colony = replace(colony, passages=tuple(p for p in colony.passages if span.has(p.box, p.cohort)))
    cohorts = colony.cohorts(first.toordinal(), last.toordinal())
    name = f"{colony.name(cohort)}, " if cohort else ""
    return SeasonView(
        title=f"{name}{season or f'{first.isoformat()} to {last.isoformat()}'}",
        from_day=first,
        to_day=last,
        sections=sections_of(services, colony, cohorts, cohort, span),
        cohort=cohort,
        cohorts=tuple((one, colony.name(one)) for one in cohorts),
        seasons=tuple((one, *days) for one, days in seasons.items()),
    )


def chosen_season(services: Services, choice: SeasonChoice) -> SeasonView | None:
    """Return the season of a choice, from the first animals of the log on and up to today; None where it is empty."""
    began_ms = first_event_ms(services.store)
    if began_ms is None:
        return None
    last = min(choice.to_day or date.max, today(services))
    first = max(choice.from_day or date.min, day_of(began_ms, zone_of(services)))
    cohort = choice.cohorts[0] if len(choice.cohorts) == 1 else ""
    return season_view(services, "", first, last, cohort, choice) if first <= last else None


def seasons_of(services: Services) -> dict[str, tuple[date, date]]:
    """Return the seasons that the keeper named, and this calendar year, by name."""
    year = today(services).year
    found = {str(year): (date(year, 1, 1), date(year, 12, 31))}
    for entity in reading.entities(services.store, "season"):
        begins, ends, name = (entity.data.get(key) for key in ("begins_on", "ends_on", "name"))
        if isinstance(begins, str) and isinstance(ends, str) and isinstance(name, str):
            found[name] = (date.fromisoformat(begins), date.fromisoformat(ends))
    return found


def _days(
    services: Services, seasons: dict[str, tuple[date, date]], season: str, from_day: date | None, to_day: date | None
) -> tuple[date, date]:
    """Return the first and last day to show, the last no later than today."""
    if season and season not in seasons:
        raise EntryError(f"There is no season {season!r} (known: {', '.join(seasons)}). Nothing was changed.")
    now = today(services)
    first, last = seasons[season] if season else (from_day or date(now.year, 1, 1), to_day or now)
    last = min(last, now)
    if first > last:
        raise EntryError(f"The span is the wrong way round: {first} is after {last}. Nothing was changed.")
    return first, last


def sections_of(services: Services, colony: Colony, cohorts: list[str], cohort: str, span: Span) -> tuple[Section, ...]:
    """Return every section that has something to show.

    Stages, lengths, hatch rates and sexes count what ended in the span or is still going on; survival follows each
    cohort of the span from the day it came.
    """
    first, last = span.ordinals
    here = [p for p in colony.of(cohort) if _touches(colony, p, first, last)]
    stream = reading.stream(services.store, span.from_ms, span.to_ms, scope=span.scope)
    events = [event for event, struck in stream if struck is None]
    found = [
        timeline_section(colony, colony.of(cohort), first, last),
        survival_section(colony, cohorts, cohort),
        between_section(colony, cohort),
        stage_section(colony, here),
        length_section(colony, here),
        hatch_section(colony, here),
        adult_section(colony, here, _deformed(events, cohort)),
        loss_section(colony, here, first, last),
        None if cohort else feed_section([e for e in events if e.kind == "fed"], colony),
        table_section(colony, cohort or most_eggs_of(colony, cohorts)),
    ]
    return tuple(section for section in found if section is not None)


def _touches(colony: Colony, passage: Passage, first: int, last: int) -> bool:
    """Return whether a passage ended in the span, or goes on after it and began before its end."""
    begun = colony.day(passage.came_ms if passage.entered_ms is None else passage.entered_ms)
    if passage.end is End.PRESENT or passage.left_ms is None:
        return begun <= last
    return first <= colony.day(passage.left_ms) <= last


def _deformed(events: list[Event], cohort: str) -> int:
    """Return how many deformed adults were noted; which cohort they are of is not said, so only for all."""
    counts = [event.fields.get("n", 1) for event in events if event.kind == "deformed"]
    return 0 if cohort else sum(n for n in counts if isinstance(n, int))
