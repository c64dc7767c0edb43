"""An exported season as pandas reads it, with nothing of ours in between."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pandas as pd

from boxside.actions import export_season
from tests.actions.keeping import Keeper


def exported(keeper: Keeper, out: Path, from_day: str = "", to_day: str = "") -> dict[str, pd.DataFrame]:
    """Export a span and read every table as text."""
    start = date.fromisoformat(from_day) if from_day else None
    end = date.fromisoformat(to_day) if to_day else None
    export_season.export_season(keeper.services, out, start, end)
    return tables_in(out)


def tables_in(out: Path) -> dict[str, pd.DataFrame]:
    """Read every table of an export as text."""
    return {
        path.stem: pd.read_csv(path, dtype=str, keep_default_na=False, encoding="utf-8") for path in out.glob("*.csv")
    }


def standing(events: pd.DataFrame, kind: str) -> pd.DataFrame:
    """Return the entries of a kind that count, with their own fields as columns beside them."""
    rows = events[(events["kind"] == kind) & (events["standing"] == "counts")].reset_index(drop=True)
    own = pd.DataFrame([json.loads(text) if text else {} for text in rows["fields"]])
    return rows.join(own.add_prefix("field_"))


def numbers(table: pd.DataFrame, column: str) -> pd.Series:
    """Return a column as whole numbers."""
    return table[column].astype(int)
