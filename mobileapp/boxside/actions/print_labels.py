"""Labels for the lids of all boxes, or of some."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from boxside.actions.entry import box_named
from boxside.actions.services import Services
from boxside.core.tables import BoxLabel, labels_pdf
from boxside.core.values.errors import EntryError
from boxside.device.written import make_folder, write_file
from boxside.store import reading

EXPORTS = "exports"


def labels_bytes(services: Services, codes: Sequence[str] = ()) -> bytes:
    """Return the labels of the boxes with these codes as a PDF, of all open boxes where none is named.

    Raises
    ------
    EntryError : for a code that no open box has, or if there is no box
    """
    boxes = [box_named(services, code) for code in codes] or reading.open_boxes(services.store)
    if not boxes:
        raise EntryError("There is no box yet. Nothing was written. Add one first.")
    return labels_pdf([BoxLabel(box.shown, modules_of(box.shown)) for box in boxes])


def save_labels(services: Services, codes: Sequence[str] = ()) -> Path:
    """Write the labels into the data folder's exports, in place of older ones; return where they are.

    Raises
    ------
    EntryError : for a code that no open box has, or if there is no box
    StoreError : if the disk refuses
    """
    pdf = labels_bytes(services, codes)
    folder = Path(services.device.data_dir) / EXPORTS
    make_folder(folder)
    path = folder / "labels.pdf"
    write_file(path, pdf)
    return path


def modules_of(code: str) -> tuple[tuple[bool, ...], ...]:
    """Return a code's QR symbol, dark where True, with the strongest correction: a third of it may be dirty."""
    # Loaded here, since it is needed for printing only.
    import segno

    symbol = segno.make(code, error="h", micro=False, boost_error=False)
    return tuple(tuple(bool(module) for module in row) for row in symbol.matrix)
