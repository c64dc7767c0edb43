"""A photo kept with the box it shows."""

from __future__ import annotations

from pathlib import Path

from boxside.actions.entry import check_subject
from boxside.actions.log_event import log_event
from boxside.actions.services import Services
from boxside.core.values.event import Draft
from boxside.core.values.views import Saved
from boxside.store import photos


def keep_photo(services: Services, box_id: str, path: str, visit: str = "") -> Saved:
    """Copy a photo beside the log, upright and without the camera's notes, and log it at the box.

    Raises
    ------
    EntryError : for a box that is not there; nothing was kept
    DeviceError : for a file that is no readable photo; nothing was kept
    StoreError : if the disk refuses
    """
    check_subject(services, services.catalog.vocabulary.kinds["photo"], "box", box_id)
    picture = services.device.photos.read(Path(path))
    digest = photos.keep(services.device.data_dir, picture.data)
    return log_event(services, Draft("photo", "box", box_id, {"sha256": digest}, visit=visit or None))
