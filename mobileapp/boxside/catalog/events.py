"""`shared/events.toml` as a vocabulary."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from boxside.catalog.reading import read_toml
from boxside.core.values.errors import DataError
from boxside.core.values.stages import Stage
from boxside.core.values.vocabulary import Census, Field, FieldType, Kind, Move, Vocabulary, Witness

SUBJECTS = ("box", "area", "cohort", "prey", "colony")
_KIND_KEYS = {
    "label", "said", "group", "subjects", "stages", "fields", "moves", "census", "witness",
    "overdraft", "icon", "one_tap", "closes", "sets", "latest_by", "selectors",
}  # fmt: skip
_FIELD_KEYS = {"type", "label", "unit", "min", "max", "default", "required", "choices"}
_SIDE_KEYS = {"account", "box", "cohort", "stage", "instar", "sex"}


def read_vocabulary(path: Path) -> Vocabulary:
    """Return the vocabulary in a TOML file.

    Raises
    ------
    DataError : naming the file, the kind or field, and what is wrong with it
    """
    data = read_toml(path).content
    selectors = _fields(path, "selectors", data.get("selectors", {}))
    kinds = {name: _kind(path, name, entry, selectors) for name, entry in data.get("kinds", {}).items()}
    if not kinds:
        raise DataError(str(path), "kinds", "no kinds of events are declared")
    return Vocabulary(kinds)


def _kind(path: Path, name: str, entry: Mapping[str, Any], selectors: tuple[Field, ...]) -> Kind:
    _only(path, name, entry, _KIND_KEYS)
    fields = _fields(path, name, entry.get("fields", {}))
    if entry.get("selectors"):
        own = {field.name for field in fields}
        fields += tuple(field for field in selectors if field.name not in own)
    kind = Kind(
        name=name,
        label=_text(path, name, entry, "label"),
        said=_text(path, name, entry, "said"),
        group=_text(path, name, entry, "group"),
        subjects=_among(path, name, entry.get("subjects", ()), SUBJECTS),
        stages=_among(path, name, entry.get("stages", ()), tuple(Stage)),
        fields=fields,
        moves=tuple(_move(path, name, move) for move in entry.get("moves", ())),
        census=_census(entry.get("census")),
        witness=Witness(_among(path, name, [entry.get("witness", "none")], tuple(Witness))[0]),
        overdraft=entry.get("overdraft", "surplus"),
        icon=entry.get("icon", "dot"),
        one_tap=bool(entry.get("one_tap", False)),
        closes=tuple(entry.get("closes", ())),
        sets=entry.get("sets", ""),
        latest_by=entry.get("latest_by", ""),
        selectors=bool(entry.get("selectors", False)),
    )
    _check_names(path, kind)
    return kind


def _fields(path: Path, name: str, entries: Mapping[str, Any]) -> tuple[Field, ...]:
    fields = []
    for key, entry in entries.items():
        where = f"{name}.{key}"
        _only(path, where, entry, _FIELD_KEYS)
        kind = FieldType(_among(path, where, [entry.get("type")], tuple(FieldType))[0])
        choices = tuple(entry.get("choices", ()))
        if (kind is FieldType.CHOICE) != bool(choices):
            raise DataError(str(path), where, "a choice has choices, and nothing else has")
        fields.append(
            Field(
                name=key,
                type=kind,
                label=_text(path, where, entry, "label"),
                unit=entry.get("unit", ""),
                minimum=entry.get("min"),
                maximum=entry.get("max"),
                default=entry.get("default"),
                required=bool(entry.get("required", False)),
                choices=choices,
            )
        )
    return tuple(fields)


def _move(path: Path, name: str, entry: Mapping[str, Any]) -> Move:
    _only(path, name, entry, {"n", "blank", "from", "to", "each"})
    source, target = entry.get("from", {}), entry.get("to", {})
    _only(path, f"{name}.from", source, _SIDE_KEYS)
    _only(path, f"{name}.to", target, _SIDE_KEYS)
    if "n" not in entry:
        raise DataError(str(path), name, "a move says how many: n is missing")
    return Move(entry["n"], source, target, entry.get("blank", "none"), entry.get("each", ""))


def _census(entry: Mapping[str, Any] | None) -> Census | None:
    return None if entry is None else Census(entry["n"], entry["complete"])


def _check_names(path: Path, kind: Kind) -> None:
    """Refuse a move or census that reads a field which the kind does not declare."""
    read = [move.n for move in kind.moves if not move.each]
    read += [move.each for move in kind.moves if move.each]
    if kind.census:
        read += [kind.census.n, kind.census.complete]
    for name in read:
        if isinstance(name, str) and kind.field(name) is None:
            raise DataError(str(path), kind.name, f"reads the field {name}, which it does not declare")
    if kind.latest_by and kind.field(kind.latest_by) is None:
        raise DataError(str(path), kind.name, f"latest_by names {kind.latest_by}, which is no field")


def _only(path: Path, name: str, entry: Mapping[str, Any], known: set[str]) -> None:
    for key in entry:
        if key not in known:
            raise DataError(str(path), f"{name}.{key}", "is not known here; is it misspelt?")


def _text(path: Path, name: str, entry: Mapping[str, Any], key: str) -> str:
    value = entry.get(key)
    if not isinstance(value, str) or not value:
        raise DataError(str(path), f"{name}.{key}", "needs a text")
    return value


def _among(path: Path, name: str, values: Any, known: tuple[str, ...]) -> tuple[str, ...]:
    for value in values:
        if value not in known:
            raise DataError(str(path), name, f"{value!r} is none of {', '.join(known)}")
    return tuple(values)
