"""What is known about keeping a species: every number with its bounds and its source.

A profile is data: it is read from `shared/species/*.toml`, and the keeper may change a copy of it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from boxside.core.values.errors import EntryError
from boxside.core.values.forecast import DaysBand, ThermalNeed
from boxside.core.values.stages import Sex, Stage

UNSOURCED = "common practice, no source; starting value"

REQUIRED_WINDOWS = (
    "first_meal", "wake_meal", "meal_out", "moisture", "moisture_rest", "clean", "renew", "check_old_box",
    "separate_sexes", "introduce", "end_pairing", "quarantine", "wake", "look_for_escape",
)  # fmt: skip
REQUIRED_RANGES = (
    "egg", "larva", "prepupa.female", "prepupa.male", "pupa.female", "pupa.male", "adult.female",
    "adult.male", "laying", "eggs_per_female", "mature_length_mm",
)  # fmt: skip
REQUIRED_QUANTITIES = (
    "instars.female", "instars.male", "hatchling_length_mm", "hold.plump_days", "hold.leftovers_days",
    "hold.refused_days", "hold.moult_days", "cool.reference_c", "cool.pct_per_c", "cool.pct",
    "cool.max_pct", "warm.from_c", "warm.meal_out_days", "rest_days", "watch.hatch_lead_days",
    "watch.hatch_every_days", "watch.pupation_lead_days", "watch.pupation_every_days",
    "watch.pupation_from_month", "watch.pupation_to_month",
    "watch.emergence_lead_days", "watch.emergence_every_days", "watch.after_every_days",
    "prey_batch.n_boxes", "moisture.closed_pct", "moisture.holes_pct", "moisture.gauze_pct",
    "moisture.paper_pct",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Window:
    """Days after an anchor between which a task is best done: earliest <= on <= latest, whole days."""

    key: str
    label: str
    earliest: int
    on: int
    latest: int
    minimum: int
    maximum: int
    source: str


@dataclass(frozen=True, slots=True)
class Range:
    """What is usual, from `low` to `high`, in `unit`."""

    key: str
    label: str
    low: float
    high: float
    unit: str
    minimum: float
    maximum: float
    source: str


@dataclass(frozen=True, slots=True)
class Quantity:
    """One number in `unit`, and between which values it makes sense."""

    key: str
    label: str
    value: float
    unit: str
    minimum: float
    maximum: float
    source: str


@dataclass(frozen=True, slots=True)
class Band:
    """Larvae that are fed alike: from `first_instar` on, as often as the window `feeding.<name>` says."""

    name: str
    label: str
    first_instar: int

    @property
    def window_key(self) -> str:
        """The key of the band's feeding window."""
        return f"feeding.{self.name}"


@dataclass(frozen=True, slots=True)
class Breeding:
    """What one breeding prey animal yields: young a week, the share that grows up, and in how many weeks."""

    young_per_week: float
    survival_frac: float
    weeks_to_size: float
    source: str


@dataclass(frozen=True, slots=True)
class Prey:
    """One kind of prey, with a caution where there is one, and what breeding it yields where that is known."""

    name: str
    label: str
    source: str
    caution: str = ""
    breeding: Breeding | None = None


@dataclass(frozen=True, slots=True)
class Helping:
    """What larvae from `first_instar` on are given: prey of `low_mm` to `high_mm`, so many items a larva and meal."""

    first_instar: int
    low_mm: float
    high_mm: float
    per_larva: float
    source: str


@dataclass(frozen=True, slots=True)
class Caution:
    """A brief caution, when it matters (`where` is feed, handle, keep or release), and its source."""

    where: str
    text: str
    source: str


@dataclass(frozen=True, slots=True)
class Editable:
    """One number of a profile that the keeper may change, as a settings screen shows it."""

    key: str
    label: str
    value: float
    unit: str
    minimum: float
    maximum: float
    source: str
    changed: bool


@dataclass(frozen=True, slots=True)
class Profile:
    """A species as its keeper treats it.

    `bands` run from the youngest larvae to the oldest; `changed` names the keys that are the keeper's own.
    `helpings` run from the youngest on; `thermal` holds a temperature sum for the stages of which one is known.
    """

    species: str
    name: str
    scientific_name: str
    windows: Mapping[str, Window]
    ranges: Mapping[str, Range]
    quantities: Mapping[str, Quantity]
    bands: tuple[Band, ...]
    prey: tuple[Prey, ...] = ()
    cautions: tuple[Caution, ...] = ()
    changed: frozenset[str] = field(default=frozenset())
    helpings: tuple[Helping, ...] = ()
    thermal: Mapping[Stage, ThermalNeed] = field(default_factory=dict)

    def window(self, key: str) -> Window:
        """Return the window of that key; KeyError where the profile has none."""
        return self.windows[key]

    def number(self, key: str) -> float:
        """Return the value of one quantity; KeyError where the profile has none."""
        return self.quantities[key].value

    def days(self, key: str) -> int:
        """Return one quantity as whole days, rounded to the nearest."""
        return round(self.quantities[key].value)

    def band_of(self, instar: int) -> Band:
        """Return the feeding band of an instar; the youngest where the instar is 0, that is unknown."""
        fitting = [band for band in self.bands if band.first_instar <= instar]
        return fitting[-1] if fitting else self.bands[0]

    def helping_of(self, instar: int) -> Helping | None:
        """Return what larvae of an instar are given, the youngest's where it is 0; None where none is declared."""
        fitting = [helping for helping in self.helpings if helping.first_instar <= max(instar, 1)]
        return fitting[-1] if fitting else None

    def need_of(self, stage: Stage, sex: Sex = Sex.UNKNOWN) -> DaysBand | ThermalNeed:
        """Return what a stage needs: its temperature sum where one is known, else its range of days.

        A keeper's own days replace a temperature sum: they were changed for a reason.
        """
        spans = self._spans(stage, sex)
        own = any(f"{span.key}.{end}" in self.changed for span in spans for end in ("low", "high"))
        if stage in self.thermal and not own:
            return self.thermal[stage]
        sources = "; ".join(dict.fromkeys(span.source for span in spans))
        low, high = min(span.low for span in spans), max(span.high for span in spans)
        # A stage of no length at all cannot be foretold; half a day is as short as a keeper can see.
        return DaysBand(max(low, 0.5), max(high, 0.5), sources)

    def _spans(self, stage: Stage, sex: Sex) -> list[Range]:
        if stage in (Stage.EGG, Stage.LARVA):
            return [self.ranges[stage]]
        sexes = (Sex.FEMALE, Sex.MALE) if sex is Sex.UNKNOWN else (sex,)
        return [self.ranges[f"{stage}.{one}"] for one in sexes]

    def duration_days(self, stage: Stage, sex: Sex = Sex.UNKNOWN) -> tuple[int, int]:
        """Return the shortest and longest usual length of a stage in days; both sexes' where unknown."""
        spans = self._spans(stage, sex)
        return math.floor(min(s.low for s in spans)), math.ceil(max(s.high for s in spans))

    @property
    def mature_instar(self) -> int:
        """The first instar from which either sex may pupate."""
        return min(self.days("instars.female"), self.days("instars.male"))


def editable(profile: Profile) -> tuple[Editable, ...]:
    """Return every number of a profile that a keeper may change, windows first, in the file's order."""
    rows: list[Editable] = []

    def add(item: Window | Range | Quantity, part: str, said: str, value: float, unit: str) -> None:
        key = f"{item.key}.{part}" if part else item.key
        label = f"{item.label}, {said}" if said else item.label
        changed = key in profile.changed
        rows.append(Editable(key, label, value, unit, item.minimum, item.maximum, item.source, changed))

    for window in profile.windows.values():
        for part in ("earliest", "on", "latest"):
            add(window, part, "" if part == "on" else part, getattr(window, part), "days")
    for span in profile.ranges.values():
        add(span, "low", "shortest" if span.unit == "days" else "least", span.low, span.unit)
        add(span, "high", "longest" if span.unit == "days" else "most", span.high, span.unit)
    for quantity in profile.quantities.values():
        add(quantity, "", "", quantity.value, quantity.unit)
    return tuple(rows)


def with_overrides(profile: Profile, overrides: Mapping[str, float]) -> Profile:
    """Return a copy of a profile with the keeper's own numbers in place of the file's.

    Parameters
    ----------
    overrides : keys as `editable` lists them -> the keeper's number. Where only a window's `on` is
        given, its earliest and latest days move along with it.

    Raises
    ------
    EntryError : for a key the profile does not have, a number out of bounds, days that are not whole or
        not in order, or a younger band that would be fed less often than an older one.
    """
    rows = {row.key: row for row in editable(profile)}
    for key, value in overrides.items():
        if key not in rows:
            raise EntryError(f"This species has no setting {key!r}. Nothing was changed.")
        _check_bounds(rows[key], value)
    changed = replace(
        profile,
        windows={key: _window_with(w, overrides) for key, w in profile.windows.items()},
        ranges={key: _range_with(r, overrides) for key, r in profile.ranges.items()},
        quantities={key: _quantity_with(q, overrides) for key, q in profile.quantities.items()},
        changed=profile.changed | frozenset(overrides),
    )
    for reason in disorder(changed):
        raise EntryError(f"{reason} Nothing was changed.")
    return changed


def with_sound_overrides(profile: Profile, overrides: Mapping[str, float]) -> tuple[Profile, tuple[str, ...]]:
    """Return the profile with every override that can stand, and the keys of those that cannot.

    For what is in the log already, where nothing can be refused: entries of two phones need not fit together,
    and a newer profile may have lost a key. Where all fit, the same as `with_overrides`; else they are taken
    up in the order of their keys.
    """
    try:
        return with_overrides(profile, overrides), ()
    except EntryError:
        own, refused = profile, []
        kept: dict[str, float] = {}
    for key in sorted(overrides):
        try:
            own = with_overrides(profile, {**kept, key: overrides[key]})
        except EntryError:
            refused.append(key)
        else:
            kept[key] = overrides[key]
    return own, tuple(refused)


def disorder(profile: Profile) -> tuple[str, ...]:
    """Return what contradicts itself in a profile, one sentence each; empty where all is in order."""
    found = [
        f"{w.label}: the earliest day must not be after the due day, nor that after the latest."
        for w in profile.windows.values()
        if not w.minimum <= w.earliest <= w.on <= w.latest
    ]
    found += [
        f"{r.label}: the least must not be more than the most." for r in profile.ranges.values() if r.low > r.high
    ]
    for younger, older in zip(profile.bands, profile.bands[1:], strict=False):
        young, old = profile.windows[younger.window_key], profile.windows[older.window_key]
        if young.on > old.on or young.earliest > old.earliest or young.latest > old.latest:
            found.append(f"{younger.label.capitalize()} must not wait longer for food than {older.label}.")
    return tuple(found)


def _check_bounds(row: Editable, value: float) -> None:
    if not math.isfinite(value) or not row.minimum <= value <= row.maximum:
        bounds = f"{row.minimum:g} to {row.maximum:g} {row.unit}"
        raise EntryError(f"{row.label}: {value:g} is out of bounds ({bounds}). Nothing was changed.")
    if row.unit == "days" and value != round(value):
        raise EntryError(f"{row.label}: give whole days, not {value:g}. Nothing was changed.")


def _own(source: str) -> str:
    return source if source.startswith("the keeper's own") else f"the keeper's own; before: {source}"


def _window_with(window: Window, overrides: Mapping[str, float]) -> Window:
    keys = {part: f"{window.key}.{part}" for part in ("earliest", "on", "latest")}
    if not any(key in overrides for key in keys.values()):
        return window
    on = int(overrides.get(keys["on"], window.on))
    moved = on - window.on
    earliest = int(overrides.get(keys["earliest"], max(window.minimum, window.earliest + moved)))
    latest = int(overrides.get(keys["latest"], window.latest + moved))
    return replace(window, earliest=earliest, on=on, latest=latest, source=_own(window.source))


def _range_with(span: Range, overrides: Mapping[str, float]) -> Range:
    low, high = overrides.get(f"{span.key}.low", span.low), overrides.get(f"{span.key}.high", span.high)
    if (low, high) == (span.low, span.high):
        return span
    return replace(span, low=low, high=high, source=_own(span.source))


def _quantity_with(quantity: Quantity, overrides: Mapping[str, float]) -> Quantity:
    if quantity.key not in overrides:
        return quantity
    return replace(quantity, value=overrides[quantity.key], source=_own(quantity.source))
