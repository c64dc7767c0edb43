"""The codes on the lids: short, and one to an open box."""

from __future__ import annotations

from boxside.actions.services import Services
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft
from boxside.store import reading

MAX_LABEL = 12


def check_label(services: Services, label: str, own: str = "") -> None:
    """Refuse a code that is empty, too long, or on another open box than `own`.

    Raises
    ------
    EntryError : saying so; nothing was saved
    """
    if not label.strip() or len(label) > MAX_LABEL:
        raise EntryError(f"A box needs a code of 1 to {MAX_LABEL} signs. Nothing was saved.")
    if any(box.id != own for box in reading.boxes_labelled(services.store, label.strip())):
        raise EntryError(f"There is already a box {label.strip()}. Nothing was saved. Choose another code.")


def check_box_entry(services: Services, draft: Draft) -> None:
    """Refuse an entry about a box that would make it twice or give it a code in use.

    Raises
    ------
    EntryError : saying so; nothing was saved
    """
    kind = services.catalog.vocabulary.get(draft.kind)
    if kind is None or kind.sets != "box":
        return
    is_made = reading.entity(services.store, "box", draft.subject_id) is not None
    if draft.kind == "box_made" and is_made and draft.replaces is None:
        raise EntryError("That box is there already. Nothing was saved. Log box_changed to change it.")
    label = draft.fields.get("label")
    if isinstance(label, str):
        if label != label.strip():
            raise EntryError("A code neither begins nor ends with a blank. Nothing was saved.")
        check_label(services, label, draft.subject_id)
