"""One setting as it is declared in `shared/settings.toml`."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Setting:
    """What a keeper can set.

    `how` is choice, number, minute (of the day), degrees (empty: not set), zone, species or text; `choices` are
    (value, label).
    """

    key: str
    group: str
    label: str
    how: str
    default: str
    choices: tuple[tuple[str, str], ...] = ()
    minimum: float | None = None
    maximum: float | None = None
    step: float = 1
    unit: str = ""
    hint: str = ""
