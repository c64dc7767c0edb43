"""All of `shared/` that the app reads, as one value."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from boxside.catalog.events import read_vocabulary
from boxside.catalog.reading import read_toml
from boxside.catalog.species import load_all_species
from boxside.catalog.tables import read_tables
from boxside.core.values.errors import DataError
from boxside.core.values.event import Json
from boxside.core.values.profile import Profile
from boxside.core.values.setting import Setting
from boxside.core.values.table import Table
from boxside.core.values.vocabulary import Vocabulary

COMMANDS = ("next", "look", "later", "photo")


@dataclass(frozen=True, slots=True)
class Sign:
    """One thing that can be seen in a box, logged with one tap."""

    kind: str
    label: str
    icon: str
    fields: Mapping[str, Json] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Acts:
    """Which acts a round offers: main and smaller ones by deciding stage, and the signs of a look."""

    main: Mapping[str, tuple[str, ...]]
    more: Mapping[str, tuple[str, ...]]
    signs: tuple[Sign, ...]


@dataclass(frozen=True, slots=True)
class Catalog:
    """The vocabulary, the species profiles, the settings and the acts; `shared` is where they came from."""

    vocabulary: Vocabulary
    profiles: Mapping[str, Profile]
    settings: Mapping[str, Setting]
    acts: Acts
    tables: Mapping[str, Table]
    shared: Path


def load_catalog(shared: Path) -> Catalog:
    """Return everything in `shared/`.

    Raises
    ------
    DataError : naming the file, the entry and what is wrong with it
    """
    vocabulary = read_vocabulary(shared / "events.toml")
    return Catalog(
        vocabulary=vocabulary,
        profiles=load_all_species(shared / "species"),
        settings=_settings(shared / "settings.toml"),
        acts=_acts(shared / "acts.toml", vocabulary),
        tables=read_tables(shared / "tables"),
        shared=shared,
    )


def _settings(path: Path) -> dict[str, Setting]:
    return {key: _setting(path, key, entry) for key, entry in read_toml(path).content.items()}


def _setting(path: Path, key: str, entry: Mapping[str, Any]) -> Setting:
    for name in ("group", "label", "how", "default"):
        if not isinstance(entry.get(name), str):
            raise DataError(str(path), f"{key}.{name}", "needs a text")
    return Setting(
        key=key,
        group=entry["group"],
        label=entry["label"],
        how=entry["how"],
        default=entry["default"],
        choices=tuple((value, label) for value, label in entry.get("choices", ())),
        minimum=entry.get("min"),
        maximum=entry.get("max"),
        step=entry.get("step", 1),
        unit=entry.get("unit", ""),
        hint=entry.get("hint", ""),
    )


def _acts(path: Path, vocabulary: Vocabulary) -> Acts:
    data = dict(read_toml(path).content)
    signs = tuple(_sign(path, entry, vocabulary) for entry in data.pop("signs", ()))
    for stage, entry in data.items():
        for name in (*entry.get("main", ()), *entry.get("more", ())):
            if name not in COMMANDS and vocabulary.get(name) is None:
                raise DataError(str(path), stage, f"{name} is neither a kind of event nor a command")
        if len(entry.get("main", ())) > 4:
            raise DataError(str(path), stage, "more than four main acts do not fit a wet thumb")
    return Acts(
        main={stage: tuple(entry["main"]) for stage, entry in data.items()},
        more={stage: tuple(entry["more"]) for stage, entry in data.items()},
        signs=signs,
    )


def _sign(path: Path, entry: Mapping[str, Any], vocabulary: Vocabulary) -> Sign:
    kind = vocabulary.get(str(entry.get("kind")))
    if kind is None:
        raise DataError(str(path), "signs", f"{entry.get('kind')} is no kind of event")
    fields = dict(entry.get("fields", {}))
    for name in fields:
        if kind.field(name) is None:
            raise DataError(str(path), f"signs.{kind.name}", f"{name} is no field of it")
    return Sign(kind.name, entry.get("label", kind.label), entry.get("icon", kind.icon), fields)
