"""The measuring card: a page to print, where everything on it lies, and what its check line measured."""

from __future__ import annotations

from pathlib import Path

from boxside.actions.context import setting
from boxside.actions.services import Services
from boxside.actions.settings import change_setting
from boxside.core.measure.card import CHECK_BAR_MM, card_geometry
from boxside.core.measure.pdf import MARGIN_MM, PAGE_MM, card_pdf
from boxside.core.values.errors import EntryError
from boxside.core.values.photo_view import CardView
from boxside.device.written import make_folder, write_file

EXPORTS = "exports"
PRINT_SCALE = "print_scale"
SIZES = {"a6": "a6", "card": "pocket"}
"""What a keeper calls the sizes -> the name of the card in `core.measure`."""


def card_view(services: Services, size: str = "a6") -> CardView:
    """Return the card of a size: "a6" (148 x 105 mm) or "card" (a bank card's, 85.6 x 54 mm).

    Raises
    ------
    EntryError : for another size
    """
    if size not in SIZES:
        raise EntryError(f"{size!r} is no size of the card (known: {', '.join(SIZES)}). Nothing was written.")
    card = card_geometry(SIZES[size])
    return CardView(
        size=size,
        size_mm=card.size_mm,
        window_mm=card.window_mm,
        markers=tuple((marker.id, marker.corners_mm) for marker in card.markers),
        bar_mm=card.bar_mm,
        bar_length_mm=CHECK_BAR_MM,
        bar_measured_mm=bar_mm(services),
        page_mm=PAGE_MM,
        on_page_mm=(MARGIN_MM, MARGIN_MM),
        pdf=card_pdf(card.name),
    )


def write_card(services: Services, path: str, size: str = "a6") -> CardView:
    """Write the card as a PDF at true scale.

    Raises
    ------
    EntryError : for another size, or a path that is a folder or in none
    StoreError : if the disk refuses
    """
    view = card_view(services, size)
    write_file(Path(path), view.pdf)
    return view


def save_card(services: Services, size: str = "a6") -> Path:
    """Write the card as a PDF into the data folder's exports; return where it is.

    Raises
    ------
    EntryError : for another size; nothing was written
    StoreError : if the disk refuses
    """
    view = card_view(services, size)
    path = Path(services.device.data_dir) / EXPORTS / f"measuring-card-{size}.pdf"
    make_folder(path.parent)
    write_file(path, view.pdf)
    return path


def bar_mm(services: Services) -> float:
    """Return how long the printed check line is, as the keeper measured it; its nominal length before that."""
    return float(setting(services, PRINT_SCALE))


def print_scale(services: Services) -> float:
    """Return how much larger than meant the keeper's card was printed: 1 for a true print."""
    return bar_mm(services) / CHECK_BAR_MM


def set_bar_mm(services: Services, measured_mm: float) -> None:
    """Keep what the printed check line measures; photos are measured by it from now on.

    Raises
    ------
    EntryError : for a length that no printer makes of 50 mm; nothing was changed
    """
    change_setting(services, PRINT_SCALE, measured_mm)
