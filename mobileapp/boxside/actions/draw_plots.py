"""The season's pictures as PNG files beside its tables."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from boxside.actions.services import Services
from boxside.actions.show_season import chosen_season
from boxside.core.charts import CHART_PALETTES
from boxside.core.values.carry import SeasonChoice
from boxside.core.values.season import Section
from boxside.device.chart_png import draw_png
from boxside.device.export_pictures import remove_earlier, write_picture
from boxside.device.folders import bundled

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


def draw_plots(services: Services, out: Path, choice: SeasonChoice) -> tuple[Plot, ...]:
    """Draw every section of a choice that has a picture into a folder; equal logs give equal bytes.

    Raises
    ------
    StoreError : if the disk refuses
    """
    view = chosen_season(services, choice)
    plots = tuple(_draw(out, section) for section in view.sections if section.chart) if view else ()
    drawn = {plot.path for plot in plots}
    remove_earlier(out / name for name in plot_names() if name not in drawn)
    return plots


def _draw(out: Path, section: Section) -> Plot:
    if section.chart is None:
        raise ValueError(f"section {section.key} has no chart")
    data = draw_png(section.chart, _WIDTH, _HEIGHT, CHART_PALETTES["day"], bundled("assets") / "fonts")
    path = f"{FOLDER}/{section.key}.png"
    return Plot(section.key, section.title, path, len(data), write_picture(out / path, data))
