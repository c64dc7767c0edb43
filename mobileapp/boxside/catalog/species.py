"""Reads the species profiles of `shared/species/` and refuses what is incomplete or contradicts itself."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import TypeVar

from boxside.catalog.reading import Table, read_toml
from boxside.core.values.forecast import ThermalNeed
from boxside.core.values.profile import (
    REQUIRED_QUANTITIES,
    REQUIRED_RANGES,
    REQUIRED_WINDOWS,
    Band,
    Breeding,
    Caution,
    Helping,
    Prey,
    Profile,
    Quantity,
    Range,
    Window,
    disorder,
)
from boxside.core.values.stages import Stage

T = TypeVar("T", Window, Range, Quantity)


def load_species(path: Path) -> Profile:
    """Return the profile that a TOML file holds.

    Raises
    ------
    DataError : with the file, the key and the reason, for anything missing, unknown, out of bounds or
        contradictory, and for a number without a source
    """
    file = read_toml(path)
    file.allow(
        "name", "scientific_name", "band", "window", "range", "quantity", "prey", "caution", "helping", "thermal"
    )
    bands = tuple(_band(table) for table in file.tables("band"))
    feeding = tuple(band.window_key for band in bands)
    profile = Profile(
        species=path.stem,
        name=file.text("name"),
        scientific_name=file.text("scientific_name"),
        windows=_by_key(file, "window", (*feeding, *REQUIRED_WINDOWS), _window),
        ranges=_by_key(file, "range", REQUIRED_RANGES, _range),
        quantities=_by_key(file, "quantity", REQUIRED_QUANTITIES, _quantity),
        bands=bands,
        prey=tuple(_prey(table) for table in file.tables("prey")),
        cautions=tuple(_caution(table) for table in file.tables("caution")),
        helpings=tuple(_helping(table) for table in file.tables("helping")),
        thermal=_thermal(file),
    )
    _check(file, profile)
    return profile


class Profiles(Mapping[str, Profile]):
    """All profiles of a folder by species, each read when it is first asked for: a start needs only one."""

    def __init__(self, folder: Path) -> None:
        self._paths = {path.stem: path for path in sorted(folder.glob("*.toml"))}
        self._read: dict[str, Profile] = {}

    def __getitem__(self, species: str) -> Profile:
        """Return one profile; DataError where its file is wrong, KeyError where there is none."""
        if species not in self._read:
            self._read[species] = load_species(self._paths[species])
        return self._read[species]

    def __iter__(self) -> Iterator[str]:
        """Yield the species in the order of the file names."""
        return iter(self._paths)

    def __len__(self) -> int:
        """Return how many there are."""
        return len(self._paths)


def load_all_species(folder: Path) -> Profiles:
    """Return all profiles of a folder by species, in the order of the file names, read when asked for."""
    return Profiles(folder)


def _by_key(file: Table, name: str, required: tuple[str, ...], read: Callable[[str, Table], T]) -> dict[str, T]:
    """Read the entries in the order of the required keys, whatever their order in the file."""
    group = file.table(name)
    for key in required:
        if key not in group.content:
            raise group.fault(key, "is missing")
    group.allow(*required)
    return {key: read(key, group.table(key)) for key in required}


def _within(table: Table, value: float, name: str) -> None:
    if not table.number("min") <= value <= table.number("max"):
        raise table.fault(name, f"{value:g} is not between min and max")


def _window(key: str, table: Table) -> Window:
    table.allow("label", "earliest", "on", "latest", "min", "max", "source")
    for name in ("earliest", "on", "latest"):
        _within(table, table.whole(name), name)
    earliest, on, latest = table.whole("earliest"), table.whole("on"), table.whole("latest")
    least, most = table.whole("min"), table.whole("max")
    return Window(key, table.text("label"), earliest, on, latest, least, most, table.text("source"))


def _range(key: str, table: Table) -> Range:
    table.allow("label", "low", "high", "unit", "min", "max", "source")
    for name in ("low", "high"):
        _within(table, table.number(name), name)
    low, high, unit = table.number("low"), table.number("high"), table.text("unit")
    least, most = table.number("min"), table.number("max")
    return Range(key, table.text("label"), low, high, unit, least, most, table.text("source"))


def _quantity(key: str, table: Table) -> Quantity:
    table.allow("label", "value", "unit", "min", "max", "source")
    value = table.number("value")
    _within(table, value, "value")
    least, most = table.number("min"), table.number("max")
    return Quantity(key, table.text("label"), value, table.text("unit"), least, most, table.text("source"))


def _band(table: Table) -> Band:
    table.allow("name", "label", "first_instar")
    return Band(table.text("name"), table.text("label"), table.whole("first_instar"))


def _prey(table: Table) -> Prey:
    table.allow("name", "label", "source", "caution", "breeding")
    breeding = _breeding(table.table("breeding")) if "breeding" in table.content else None
    return Prey(table.text("name"), table.text("label"), table.text("source"), table.text("caution", ""), breeding)


def _breeding(table: Table) -> Breeding:
    table.allow("young_per_week", "survival_frac", "weeks_to_size", "source")
    young, survival = _above(table, "young_per_week", 0), _above(table, "survival_frac", 0)
    if survival > 1:
        raise table.fault("survival_frac", "is a share: not above 1")
    return Breeding(young, survival, _above(table, "weeks_to_size", 0), table.text("source"))


def _helping(table: Table) -> Helping:
    table.allow("first_instar", "low_mm", "high_mm", "per_larva", "source")
    low, high = _above(table, "low_mm", 0), _above(table, "high_mm", 0)
    if low > high:
        raise table.fault("low_mm", "is above high_mm")
    return Helping(table.whole("first_instar"), low, high, _above(table, "per_larva", 0), table.text("source"))


def _thermal(file: Table) -> dict[Stage, ThermalNeed]:
    if "thermal" not in file.content:
        return {}
    group = file.table("thermal")
    group.allow(*Stage)
    return {Stage(key): _thermal_need(group.table(key)) for key in group.content}


def _thermal_need(table: Table) -> ThermalNeed:
    table.allow("t0_c", "k_dd", "t0_sd_c", "k_sd_dd", "correlation", "upper_c", "spread_frac", "source")
    correlation = table.number("correlation")
    if not -1 <= correlation <= 1:
        raise table.fault("correlation", "must lie between -1 and 1")
    t0_c = table.number("t0_c")
    if t0_c < 0:
        raise table.fault("t0_c", "a threshold below 0 °C has no meaning: leave the stage to its range of days")
    return ThermalNeed(
        t0_c=t0_c,
        k_dd=_above(table, "k_dd", 0),
        t0_sd_c=_above(table, "t0_sd_c", 0),
        k_sd_dd=_above(table, "k_sd_dd", 0),
        correlation=correlation,
        upper_c=_above(table, "upper_c", t0_c) if "upper_c" in table.content else None,
        spread_frac=_above(table, "spread_frac", 0),
        source=table.text("source"),
    )


def _above(table: Table, name: str, least: float) -> float:
    value = table.number(name)
    if value <= least:
        raise table.fault(name, f"must be above {least:g}")
    return value


def _caution(table: Table) -> Caution:
    table.allow("where", "text", "source")
    where = table.text("where")
    if where not in ("feed", "handle", "keep", "release"):
        raise table.fault("where", "must be feed, handle, keep or release")
    return Caution(where, table.text("text"), table.text("source"))


def _check(file: Table, profile: Profile) -> None:
    if not profile.bands or profile.bands[0].first_instar != 1:
        raise file.fault("band", "the first band must start at instar 1")
    firsts = [band.first_instar for band in profile.bands]
    if firsts != sorted(set(firsts)):
        raise file.fault("band", "the bands must run from the youngest to the oldest")
    sizes = [helping.first_instar for helping in profile.helpings]
    if sizes != sorted(set(sizes)) or (sizes and sizes[0] != 1):
        raise file.fault("helping", "the helpings must run from instar 1 on to the oldest")
    for reason in disorder(profile):
        raise file.fault("", reason)
