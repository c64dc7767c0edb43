"""The season's pictures as PNG files beside its tables."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from boxside.actions.context import today, zone_of
from boxside.actions.services import Services
from boxside.actions.show_season import season_view
from boxside.core.charts import CHART_PALETTES
from boxside.core.values.moments import day_of
from boxside.core.values.season import Section
from boxside.device.chart_png import draw_png
from boxside.device.export_pictures import remove_pictures, write_picture
from boxside.device.folders import bundled
from boxside.store.intervals import first_event_ms

FOLDER = "plots"
KEYS = (
    "timeline", "survival", "between", "stages", "lengths", "hatch", "sexes", "losses", "feedings", "lifetable",
)  # fmt: skip
_WIDTH, _HEIGHT = 1200, 800


@dataclass(frozen=True, slots=True)
class Plot:
    """A picture that was written: its section, title, path within the export, size and sha256."""

    key: str
    title: str
    path: str
    n_bytes: int
    sha256: str


def plot_names() -> list[str]:
    """Return the paths within an export that pictures may have."""
    return [f"{FOLDER}/{key}.png" for key in KEYS]


def draw_plots(services: Services, out: Path, from_day: date | None, to_day: date | None) -> tuple[Plot, ...]:
    """Draw every section of a span that has a picture into a folder; equal logs give equal bytes.

    Parameters
    ----------
    from_day, to_day : both included; None for the first day of the log, and today

    Raises
    ------
    StoreError : if the disk refuses
    """
    plots = tuple(_draw(out, section) for section in _sections(services, from_day, to_day) if section.chart)
    drawn = {plot.path for plot in plots}
    remove_pictures(out / name for name in plot_names() if name not in drawn)
    return plots


def _sections(services: Services, from_day: date | None, to_day: date | None) -> tuple[Section, ...]:
    began_ms = first_event_ms(services.store)
    if began_ms is None:
        return ()
    last = min(to_day or date.max, today(services))
    first = max(from_day or date.min, day_of(began_ms, zone_of(services)))
    return season_view(services, from_day=first, to_day=last).sections if first <= last else ()


def _draw(out: Path, section: Section) -> Plot:
    if section.chart is None:
        raise ValueError(f"section {section.key} has no chart")
    data = draw_png(section.chart, _WIDTH, _HEIGHT, CHART_PALETTES["day"], bundled("assets") / "fonts")
    path = f"{FOLDER}/{section.key}.png"
    return Plot(section.key, section.title, path, len(data), write_picture(out / path, data))
