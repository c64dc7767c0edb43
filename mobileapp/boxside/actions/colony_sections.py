"""The season's numbers: who was what when, hatch rates, adults, losses by cause, feedings and prey."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from boxside.actions.season_figures import Colony
from boxside.actions.season_words import p_words, pct, range_words, share_words, unique
from boxside.core.ledger import End, Passage
from boxside.core.survival import binomial_test, wilson
from boxside.core.values.chart import Bars, Chart, Role, category_axis, date_axis, number_axis, stacked
from boxside.core.values.estimates import Estimate
from boxside.core.values.event import Event
from boxside.core.values.season import Section
from boxside.core.values.stages import Sex, Stage

_MOST_DAYS = 160
_ROLES = {
    Stage.EGG: Role.EGG, Stage.LARVA: Role.LARVA, Stage.PREPUPA: Role.PREPUPA, Stage.PUPA: Role.PUPA,
    Stage.ADULT: Role.ADULT,
}  # fmt: skip
_PLURAL = {"egg": "eggs", "larva": "larvae", "prepupa": "prepupae", "pupa": "pupae", "adult": "adults"}


def timeline_section(colony: Colony, passages: Sequence[Passage], first: int, last: int) -> Section | None:
    """Return how many animals were in each stage on each day, as far as is known today.

    Parameters
    ----------
    first, last : days as ordinals, both included
    """
    step = max(1, (last - first) // _MOST_DAYS)
    days = sorted({*range(first, last + 1, step), last})
    counts = {stage: _on_days(colony, [p for p in passages if p.stage is stage], days) for stage in Stage}
    here = [stage for stage in Stage if any(counts[stage])]
    if not here:
        return None
    x = tuple(float(day) for day in days)
    layers = tuple((_PLURAL[stage], _ROLES[stage], tuple(float(n) for n in counts[stage])) for stage in here)
    most = max(sum(counts[stage][i] for stage in here) for i in range(len(days)))
    title = "Who was what when"
    chart = Chart(
        title, date_axis("", date.fromordinal(first), date.fromordinal(max(last, first + 1))),
        number_axis("animals", "", 0.0, float(most)), stacked(layers, x),
    )  # fmt: skip
    rows = tuple((date.fromordinal(day).isoformat(), *(str(counts[stage][i]) for stage in here))
                 for i, day in enumerate(days))  # fmt: skip
    numbers = tuple(
        (
            _PLURAL[stage].capitalize(),
            f"{counts[stage][0]} at first, {counts[stage][-1]} at last, {max(counts[stage])} at most",
        )
        for stage in here
    )
    notes = ("Animals that were missed and found again count as there all along.",)
    return Section("timeline", title, chart, numbers, ("day", *(_PLURAL[s] for s in here)), rows, notes)


def _on_days(colony: Colony, passages: Sequence[Passage], days: Sequence[int]) -> list[int]:
    """Return how many of these animals were there at the end of each of the sorted days."""
    change: Counter[int] = Counter()
    for p in passages:
        change[colony.day(p.came_ms if p.entered_ms is None else p.entered_ms)] += p.n
        if p.left_ms is not None:
            change[colony.day(p.left_ms)] -= p.n
    totals, n, waiting = [], 0, sorted(change)
    for day in days:
        while waiting and waiting[0] <= day:
            n += change[waiting.pop(0)]
        totals.append(n)
    return totals


def hatch_section(colony: Colony, passages: Sequence[Passage]) -> Section | None:
    """Return what share of each clutch hatched, of the eggs whose fate is known."""
    clutches: dict[str, tuple[int, int, int]] = {}
    for p in passages:
        if p.stage is Stage.EGG:
            hatched, lost, left = clutches.get(p.cohort, (0, 0, 0))
            if p.end is End.MOVED_ON:
                hatched += p.n
            elif p.end in (End.DIED, End.UNACCOUNTED):
                lost += p.n
            else:
                left += p.n
            clutches[p.cohort] = (hatched, lost, left)
    known = {cohort: n for cohort, n in clutches.items() if n[0] + n[1] > 0}
    if not known:
        return None
    shares = {colony.name(cohort): wilson(n[0], n[0] + n[1]) for cohort, n in known.items()}
    whole = wilson(sum(n[0] for n in known.values()), sum(n[0] + n[1] for n in known.values()))
    rows = tuple(
        (
            colony.name(cohort),
            str(sum(n)),
            str(n[0]),
            str(n[1]),
            str(n[2]),
            pct(found.value),
            range_words(found.interval),
        )
        for (cohort, n), found in zip(known.items(), shares.values(), strict=True)
    )
    title = "Hatch rates"
    numbers = (("All clutches", share_words(whole)), *((name, share_words(found)) for name, found in shares.items()))
    columns = ("clutch", "eggs", "hatched", "not hatched", "still open", "hatched, share", "95 % interval")
    notes = unique(whole.limits, ("Where a number of eggs was estimated, so is the rate.",))
    return Section("hatch", title, _share_chart(title, "clutch", "hatched", shares), numbers, columns, rows, notes)


def _share_chart(title: str, x_label: str, name: str, shares: Mapping[str, Estimate]) -> Chart:
    x = tuple(float(i) for i in range(len(shares)))
    bounds = [found.interval for found in shares.values()]
    low = tuple(b.low if b else f.value for b, f in zip(bounds, shares.values(), strict=True))
    high = tuple(b.high if b else f.value for b, f in zip(bounds, shares.values(), strict=True))
    bars = Bars(name, Role.MAIN, x, tuple(found.value for found in shares.values()), low, high)
    return Chart(title, category_axis(x_label, tuple(shares)), number_axis(name, "share", 0.0, 1.0), (bars,))


def adult_section(colony: Colony, passages: Sequence[Passage], deformed: int) -> Section | None:
    """Return the sexes of those sexed against 1:1, and how many adults were deformed."""
    sexed = Counter({sex: sum(p.n for p in passages if p.is_last and p.sex is sex) for sex in Sex})
    females, males = sexed[Sex.FEMALE], sexed[Sex.MALE]
    if females + males == 0:
        return None
    share = wilson(females, females + males)
    emerged = sum(p.n for p in passages if p.stage is Stage.PUPA and p.end is End.MOVED_ON)
    numbers = [
        ("Females among those sexed", share_words(share)),
        ("Against 1:1", f"exact binomial {p_words(binomial_test(females, females + males))}"),
    ]
    if emerged and deformed <= emerged:
        numbers.append(("Deformed adults", share_words(wilson(deformed, emerged))))
    title = "Sexes"
    names, n = ("females", "males"), (females, males)
    bars = Bars("animals", Role.MAIN, (0.0, 1.0), tuple(float(k) for k in n))
    chart = Chart(title, category_axis("", names), number_axis("animals", "", 0.0, float(max(1, *n))), (bars,))
    rows = (*((name, str(k)) for name, k in zip(names, n, strict=True)), ("not sexed", str(sexed[Sex.UNKNOWN])))
    notes = unique(share.limits, ("Those that died before they were sexed are not in the ratio.",))
    return Section("sexes", title, chart, tuple(numbers), ("sex", "animals"), rows, notes)


def loss_section(colony: Colony, passages: Sequence[Passage], first: int, last: int) -> Section | None:
    """Return the losses of the span by cause and stage."""
    causes: dict[str, Counter[Stage]] = {}
    for p in passages:
        is_loss = p.is_last and p.end not in (End.PRESENT, End.MOVED_ON)
        if is_loss and p.left_ms is not None and first <= colony.day(p.left_ms) <= last:
            causes.setdefault(cause_words(colony, p), Counter())[p.stage] += p.n
    if not causes:
        return None
    order = sorted(causes, key=lambda cause: (-sum(causes[cause].values()), cause))
    here = [stage for stage in Stage if any(causes[cause][stage] for cause in order)]
    title = "Losses by cause"
    n = [sum(causes[cause].values()) for cause in order]
    bars = Bars("animals", Role.BAD, tuple(float(i) for i in range(len(order))), tuple(float(k) for k in n))
    chart = Chart(title, category_axis("", tuple(order)), number_axis("animals", "", 0.0, float(max(n))), (bars,))
    numbers = tuple((cause.capitalize(), f"{k} of {sum(n)}") for cause, k in zip(order, n, strict=True))
    rows = tuple(
        (cause, *(str(causes[cause][stage]) for stage in here), str(k)) for cause, k in zip(order, n, strict=True)
    )
    columns = ("cause", *(_PLURAL[stage] for stage in here), "all")
    return Section("losses", title, chart, numbers, columns, rows, ("A day of death is the day it was found.",))


def cause_words(colony: Colony, passage: Passage) -> str:
    """Return why animals are gone, in words."""
    entry = colony.entries.get(passage.event)
    if passage.end is End.REMOVED:
        kind = entry.kind if entry else ""
        return {"escaped": "escaped", "given_away": "given away"}.get(kind, "into another cohort")
    return colony.causes(passage).replace("_", " ").replace("unknown", "cause unknown")


def feed_section(feedings: Iterable[Event], colony: Colony) -> Section | None:
    """Return feedings and prey by month; a feeding without a number of prey counts as one of unknown size."""
    months: dict[str, list[float]] = {}
    prey: Counter[str] = Counter()
    n_silent = 0
    for event in feedings:
        month = date.fromordinal(colony.day(event.at_ms)).isoformat()[:7]
        row = months.setdefault(month, [0.0, 0.0])
        amount = event.fields.get("amount")
        row[0] += 1
        if isinstance(amount, (int, float)) and not isinstance(amount, bool):
            row[1] += amount
            prey[str(event.fields.get("prey") or "prey not named")] += round(amount)
        else:
            n_silent += 1
    if not months:
        return None
    title = "Feedings and prey"
    names = tuple(sorted(months))
    x = tuple(float(i) for i in range(len(names)))
    fed = Bars("feedings", Role.MAIN, tuple(at - 0.2 for at in x), tuple(months[m][0] for m in names))
    used = Bars("prey items", Role.OTHER, tuple(at + 0.2 for at in x), tuple(months[m][1] for m in names))
    most = max(max(row) for row in months.values())
    chart = Chart(title, category_axis("", names), number_axis("number", "", 0.0, max(1.0, most)), (fed, used))
    numbers = [("Feedings", f"{sum(row[0] for row in months.values()):.0f}, {n_silent} without a number of prey")]
    numbers += [(name.capitalize(), f"{n} items") for name, n in prey.most_common()]
    rows = tuple((month, f"{months[month][0]:.0f}", f"{months[month][1]:g}") for month in names)
    notes = ("Prey items are those that were said; feedings without a number add none.",)
    return Section("feedings", title, chart, tuple(numbers), ("month", "feedings", "prey items"), rows, notes)
