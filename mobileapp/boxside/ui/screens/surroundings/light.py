"""Day length and dusk as rows, with what a lamp or a dark cupboard changes."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

from boxside.core.values.ahead import LightRow, LightView
from boxside.ui.widgets.figures import chart_rows, part_row
from boxside.ui.widgets.rows import RowData, head, paragraph, row
from boxside.ui.words import say


def light_rows(width: float, view: LightView | None, set_place: Callable[[Any], None]) -> list[RowData]:
    """Return the light of today and of the year; where the place is not set, the way to set it."""
    if view is None:
        return []
    if view.notice is not None:
        unset = row(width, set_place, None, icon="place", title=say("place_to_set"), detail=view.notice.what,
                    soft=view.notice.do, trail="right")  # fmt: skip
        return [head(width, say("light_title")), unset]
    return [
        head(width, say("light_title")),
        paragraph(width, view.place, icon="place"),
        *(_today(width, view.today, bool(view.area)) if view.today else []),
        *chart_rows(width, view.chart),
        *(paragraph(width, note, icon="info") for note in view.notes),
    ]


def _today(width: float, today: LightRow, with_area: bool) -> list[RowData]:
    rows = [
        part_row(width, say("sunrise"), _clock(today.sunrise)),
        part_row(width, say("sunset"), _clock(today.sunset)),
        part_row(width, say("civil_dusk"), _clock(today.dusk)),
        part_row(width, say("day_length"), _hours(today.day_length_h)),
    ]
    return [*rows, *([part_row(width, say("box_light"), _hours(today.box_light_h))] if with_area else [])]


def _clock(moment: datetime | None) -> str:
    return f"{moment:%H:%M}" if moment is not None else say("not_today")


def _hours(hours: float) -> str:
    minutes = round(hours * 60)
    return say("hours_minutes", h=minutes // 60, m=f"{minutes % 60:02d}")


__all__ = ["light_rows"]
