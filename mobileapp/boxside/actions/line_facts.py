"""From the log to the cohorts of the line, in the order in which they came to be.

A clutch's parents are those that were entered; where none were, the females that were in the box when it was laid and
the males that had been with them. What nobody can know becomes a founder of its own, marked as unknown.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from boxside.actions.context import zone_of
from boxside.actions.line_parents import Claim, claim_of, noted
from boxside.actions.services import Services
from boxside.actions.stays import Stay, by_box, stay_at
from boxside.core.values.event import Event, Json
from boxside.core.values.lineage import Cohort, CohortKind, Source
from boxside.core.values.moments import day_of
from boxside.core.values.stages import Sex
from boxside.store import lineage, reading

UNKNOWN = {Sex.FEMALE: "unknown females", Sex.MALE: "unknown males", Sex.UNKNOWN: "unknown origin"}
_POOLS = {Sex.FEMALE: "females together", Sex.MALE: "males together"}


@dataclass(frozen=True, slots=True)
class Origin:
    """What the log says of one cohort, before it is put among the others."""

    id: str
    name: str
    kind: str
    data: Mapping[str, Json]
    born_on: date | None
    started_ms: int
    n: int
    taken: tuple[tuple[str, int], ...] = ()
    stay: Stay | None = None
    mother: str = ""


@dataclass(slots=True)
class LineFacts:
    """The line as the log has it, not yet checked for contradictions.

    `names` are unique names by id, under which `cohorts` stand; `notes` are by name; `unknown` and `pools` name
    the cohorts that stand for unknown parents, and for animals that were together in one box.
    """

    names: dict[str, str]
    cohorts: list[Cohort] = field(default_factory=list)
    notes: dict[str, list[str]] = field(default_factory=dict)
    claims: dict[str, tuple[Claim, Claim]] = field(default_factory=dict)
    unknown: set[str] = field(default_factory=set)
    pools: dict[str, str] = field(default_factory=dict)
    origins: dict[str, Origin] = field(default_factory=dict)

    def note(self, name: str, text: str) -> None:
        """Keep a note on a cohort."""
        self.notes.setdefault(name, []).append(text)

    def free(self, name: str) -> str:
        """Return a name that no cohort has."""
        taken = {*self.names.values(), *self.unknown, *self.pools}
        while name in taken:
            name += "·"
        return name

    def named(self, ids: Mapping[str, int]) -> dict[str, int]:
        """Return numbers by name instead of by id; animals of no cohort count as unknown."""
        found: dict[str, int] = {}
        for name, n in ids.items():
            known = self.names.get(name, "")
            found[known] = found.get(known, 0) + n
        return found


def line_facts(services: Services, entered: Event | None = None) -> LineFacts:
    """Return the line as the log has it.

    Parameters
    ----------
    entered : an entry about a cohort that is not in the log yet, to see what it would make of the line
    """
    own = {e.id: (e.label, dict(e.data)) for e in reading.entities(services.store, "cohort")}
    if entered is not None:
        label, data = own.get(entered.subject_id, (str(entered.fields.get("name", entered.subject_id)), {}))
        own[entered.subject_id] = (label, {**data, **entered.fields})
    facts = LineFacts(unique_names([(name, label) for name, (label, _) in own.items()]))
    for origin in _origins(services, facts.names, {name: data for name, (_, data) in own.items()}, entered):
        facts.origins[facts.names[origin.id]] = origin
    _share_boxes(facts)
    for origin in facts.origins.values():
        _add(facts, origin)
    # Founders first: one that is related to another is related to all that descends from it, whenever it was added.
    facts.cohorts.sort(key=lambda cohort: cohort.kind is not CohortKind.FOUNDERS)
    return facts


def unique_names(labels: Sequence[tuple[str, str]]) -> dict[str, str]:
    """Return a name of its own for each id: the later of two alike shows a number behind it."""
    names: dict[str, str] = {}
    used: set[str] = set()
    for entity, label in sorted(labels):
        name, nth = label, 1
        while name in used:
            nth += 1
            name = f"{label}·{nth}"
        used.add(name)
        names[entity] = name
    return names


@dataclass(frozen=True, slots=True)
class _Booked:
    """What the ledger and the history say of all cohorts, by id."""

    started: Mapping[str, int]
    eggs: Mapping[str, int]
    came: Mapping[str, int]
    taken: Mapping[str, list[tuple[str, int]]]
    layings: Mapping[str, lineage.Laying]
    moves: Mapping[str, list[lineage.AdultMove]]


def _booked(services: Services, takers: list[str]) -> _Booked:
    store = services.store
    taken: dict[str, list[tuple[str, int]]] = {}
    for item in lineage.drawn(store, takers):
        taken.setdefault(item.into, []).append((item.origin, item.n))
    layings: dict[str, lineage.Laying] = {}
    for laying in lineage.layings(store):
        layings.setdefault(laying.cohort, laying)
    moves = by_box(lineage.adult_moves(store))
    return _Booked(
        lineage.started_ms(store), lineage.first_eggs_ms(store), lineage.came_in(store), taken, layings, moves
    )


def _origins(
    services: Services, names: Mapping[str, str], data_of: Mapping[str, Mapping[str, Json]], entered: Event | None
) -> list[Origin]:
    booked = _booked(services, [name for name in names if data_of[name].get("origin") in _TAKEN])
    zone = zone_of(services)
    now_ms = entered.at_ms if entered else services.clock.now_ms()
    found = [_origin(booked, name, names[name], data_of[name], zone, now_ms) for name in names]
    return sorted(found, key=lambda origin: (origin.started_ms, origin.id))


def _origin(booked: _Booked, cohort: str, name: str, data: Mapping[str, Json], zone: ZoneInfo, now_ms: int) -> Origin:
    """Founders are older than the day they came; a clutch is as old as its first eggs."""
    kind = str(data.get("origin", "founders"))
    if kind == "founders" and any(part.get("sex") for part in _parts(data.get("parents"))):
        kind = "laid"  # a box added in haste: its parents were entered afterwards
    began = booked.started.get(cohort, now_ms)
    born_ms = booked.eggs.get(cohort, began) if kind == "laid" else began
    day = day_of(born_ms, zone)
    said, taken, laid = data.get("n"), booked.taken.get(cohort, []), booked.layings.get(cohort)
    n = max(booked.came.get(cohort, 0), sum(k for _, k in taken), said if isinstance(said, int) else 0)
    stay = stay_at(booked.moves, laid.box, laid.place) if laid else None
    born_on = day if kind == "laid" else day - timedelta(days=1)
    mother = laid.mother if laid else ""
    return Origin(cohort, name, kind, data, born_on, born_ms, n, tuple(taken), stay, mother)


_TAKEN = ("blend", "individual", "received")


def _share_boxes(facts: LineFacts) -> None:
    """Find the animals that several clutches of one box may descend from: these clutches may be half sibs.

    Males are shared by all clutches of a stay. Females are taken as different ones, one a clutch, until there are
    more clutches than females.
    """
    stays: dict[tuple[str, object], list[str]] = {}
    for name, origin in facts.origins.items():
        if origin.kind != "laid":
            continue
        facts.claims[name] = (
            claim_of(origin.data, Sex.FEMALE, facts, origin.stay, origin.mother),
            claim_of(origin.data, Sex.MALE, facts, origin.stay, ""),
        )
        if origin.stay:
            stays.setdefault((origin.stay.box, origin.stay.since), []).append(name)
    for together in stays.values():
        if len(together) > 1:
            _pool(facts, together)


def _pool(facts: LineFacts, together: Sequence[str]) -> None:
    for place, sex in enumerate((Sex.FEMALE, Sex.MALE)):
        claims = [facts.claims[name][place] for name in together]
        most: dict[str, int] = {}
        for claim in claims:
            for cohort, n in claim.numbers.items():
                most[cohort] = max(most.get(cohort, 0), n)
        if sex is Sex.FEMALE and sum(claim.n for claim in claims) <= sum(most.values()):
            continue
        for cohort, n in most.items():
            origin = facts.origins.get(cohort)
            if origin is None or origin.kind == "individual":
                continue
            pool = facts.free(f"{cohort}, {_POOLS[sex]} before {together[0]}")
            facts.pools[pool] = cohort
            born = Cohort(pool, CohortKind.GROUP, parts=(Source(cohort),), size=n)
            first = min(together, key=lambda name: list(facts.origins).index(name))
            facts.claims[first][place].before.append(born)
            for claim in claims:
                claim.pooled[cohort] = pool


def _add(facts: LineFacts, origin: Origin) -> None:
    """Add one cohort of the log, after the unknown parents and the pools that it needs."""
    maker = {"laid": _laid, "blend": _blend, "individual": _individual, "received": _received}
    facts.cohorts.append(maker.get(origin.kind, _founders)(facts, origin))


def _founders(facts: LineFacts, origin: Origin) -> Cohort:
    related = [
        (facts.names[str(part.get("cohort"))], float(value))
        for part in _parts(origin.data.get("related"))
        if str(part.get("cohort")) in facts.names and isinstance(value := part.get("kinship"), (int, float))
    ]
    within = origin.data.get("within")
    return Cohort(
        origin.name,
        CohortKind.FOUNDERS,
        size=origin.n,
        born_on=origin.born_on,
        within=float(within) if isinstance(within, (int, float)) else 0.0,
        related=tuple(related),
    )


def _laid(facts: LineFacts, origin: Origin) -> Cohort:
    dams, sires = facts.claims[origin.name]
    for claim in (dams, sires):
        facts.cohorts.extend(claim.before)
        if not claim.numbers:
            claim.numbers = {_unknown(facts, origin, claim.sex): max(claim.n, 1)}
            claim.n = max(claim.n, 1)
        for text in noted(claim):
            facts.note(origin.name, text)
    said = origin.data.get("males_per_clutch")
    shared = sires.n if sires.is_stated_n and dams.n == 1 else 1
    return Cohort(
        origin.name,
        CohortKind.OFFSPRING,
        dams.parents(),
        sires.parents(),
        size=origin.n,
        born_on=origin.born_on,
        males_per_clutch=said if isinstance(said, int) and not isinstance(said, bool) else shared,
    )


def _unknown(facts: LineFacts, origin: Origin, sex: Sex) -> str:
    name = facts.free(f"{origin.name}: {UNKNOWN[sex]}")
    facts.unknown.add(name)
    facts.cohorts.append(Cohort(name, CohortKind.FOUNDERS))
    facts.note(origin.name, f"{UNKNOWN[sex].capitalize()}: counted as unrelated to all others, which may be too kind.")
    return name


def _taken_from(facts: LineFacts, origin: Origin) -> dict[str, int]:
    """Where animals were taken from: as entered, else as the ledger booked them."""
    entered = {
        str(part.get("cohort")): part.get("n") for part in _parts(origin.data.get("parents")) if not part.get("sex")
    }
    known = {name: n if isinstance(n, int) and n > 0 else 1 for name, n in entered.items() if name in facts.names}
    found = facts.named(known or dict(origin.taken))
    if "" in found:
        n = found.pop("")
        found[_unknown(facts, origin, Sex.UNKNOWN)] = n
    return found


def _blend(facts: LineFacts, origin: Origin) -> Cohort:
    parts = _taken_from(facts, origin)
    if not parts:
        parts = {_unknown(facts, origin, Sex.UNKNOWN): 1}
    sources = tuple(Source(name, n=n) for name, n in parts.items())
    return Cohort(origin.name, CohortKind.BLEND, parts=sources, size=origin.n)


def _individual(facts: LineFacts, origin: Origin) -> Cohort:
    parts = _taken_from(facts, origin)
    source = next(iter(parts), "") or _unknown(facts, origin, Sex.UNKNOWN)
    return Cohort(origin.name, CohortKind.INDIVIDUAL, parts=(Source(source),), size=1)


def _received(facts: LineFacts, origin: Origin) -> Cohort:
    """Animals from another keeper: of a cohort that an archive brought, else founders."""
    parts = _taken_from(facts, origin)
    if not parts:
        return _founders(facts, origin)
    if len(parts) > 1:
        sources = tuple(Source(name, n=n) for name, n in parts.items())
        return Cohort(origin.name, CohortKind.BLEND, parts=sources, size=origin.n)
    facts.note(origin.name, f"Received: the same animals as {next(iter(parts))}, whose history came with an archive.")
    size = max(origin.n, 1)
    return Cohort(origin.name, CohortKind.GROUP, parts=(Source(next(iter(parts))),), size=size)


def _parts(value: Json) -> list[Mapping[str, Json]]:
    return [part for part in value if isinstance(part, dict)] if isinstance(value, list) else []
