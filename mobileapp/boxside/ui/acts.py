"""The actions that screens call, found when first called; a test hands in its own."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Any

from boxside.core.values.errors import DeviceError

Action = Callable[..., Any]

PLACES: dict[str, str] = {
    "accept": "accept_measure",
    "accept_lengths": "accept_measure",
    "add_area": "enter_surroundings",
    "add_body": "measure_photo",
    "add_box": "add_box",
    "add_boxes": "add_box",
    "add_founders": "founders",
    "ahead_view": "ahead",
    "away_view": "away",
    "batch_view": "prey_stock",
    "begin_demo": "start",
    "begin_empty": "start",
    "blend": "blend",
    "box_view": "show_box",
    "calibrate_by_taps": "measure_photo",
    "card_view": "card",
    "change_setting": "settings",
    "change_stage": "change_stage",
    "check_scanning": "scan_label",
    "climate_view": "areas",
    "clutch_view": "lay_clutch",
    "confirm_empty": "count_box",
    "correct_event": "correct_event",
    "count_box": "count_box",
    "drop_bodies": "measure_photo",
    "dusk_view": "dusk",
    "enter_breeders": "enter_surroundings",
    "enter_light": "enter_surroundings",
    "enter_stock": "enter_surroundings",
    "enter_temperature": "enter_surroundings",
    "export_season": "export_season",
    "growth_view": "growth_view",
    "introduce": "mating_group",
    "keep_photo": "keep_photo",
    "lay_clutch": "lay_clutch",
    "light_view": "light",
    "line_view": "line",
    "log_event": "log_event",
    "log_together": "log_event",
    "look_beside": "look_after",
    "mark_individual": "mark_individual",
    "measure": "measure_photo",
    "move_end": "measure_photo",
    "new_box_view": "add_box",
    "nudge_if_time": "post_nudge",
    "overlap_view": "overlap",
    "packed": "hand_out",
    "pairings_view": "pairings",
    "place_boxes": "enter_surroundings",
    "possible_parents": "mating_group",
    "preview_file": "temperatures",
    "prey_view": "prey",
    "repair_damaged": "repair_log",
    "round_view": "list_due",
    "save_calendar": "save_ahead",
    "save_card": "card",
    "save_labels": "print_labels",
    "save_sheet": "save_ahead",
    "scan_label": "scan_label",
    "season_view": "show_season",
    "separate": "mating_group",
    "set_bar_mm": "card",
    "settings_view": "settings",
    "share_files": "hand_out",
    "shelf_view": "show_shelf",
    "smooth_view": "smoothing",
    "spread_tasks": "enter_surroundings",
    "stage_view": "change_stage",
    "start_view": "start",
    "take_in_file": "enter_surroundings",
    "today": "context",
    "transfer": "transfer",
    "transfer_view": "transfer",
    "undo_flow": "undo_flow",
    "void_event": "void_event",
    "zone_of": "context",
}


class Acts:
    """Looks an action up by name: one that was given, else the one of `boxside.actions`."""

    def __init__(self, given: dict[str, Action] | None = None) -> None:
        self._found: dict[str, Action] = dict(given or {})

    def find(self, name: str) -> Action:
        """Return the action of that name; KeyError for a name that no screen may use."""
        if name not in self._found:
            self._found[name] = getattr(import_module(f"boxside.actions.{PLACES[name]}"), name)
        return self._found[name]


def choose_photo(services: Any, then: Callable[[str], None]) -> None:
    """Ask the device for a photo; DeviceError where it has no way to choose one."""
    photos = getattr(services.device, "photos", None)
    if photos is None:
        raise DeviceError("This device offers no way to choose a photo. Nothing was changed.")
    photos.choose(then)


def can_take_photo(services: Any) -> bool:
    """Whether the device has a camera that Boxside can ask for a photo."""
    return bool(getattr(getattr(services.device, "photos", None), "has_camera", False))


def take_photo(services: Any, then: Callable[[str], None]) -> None:
    """Ask the device's camera for a photo; DeviceError where it has none."""
    if not can_take_photo(services):
        raise DeviceError("This device offers no camera. Nothing was changed. Choose a photo instead.")
    services.device.photos.take(then)


def can_share(services: Any) -> bool:
    """Whether the device can hand a file to another app."""
    return bool(getattr(getattr(services.device, "files", None), "has_share", False))


def share_file(services: Any, path: Path, kind: str) -> None:
    """Hand a file of a MIME type to another app; DeviceError where that cannot be."""
    if not can_share(services):
        raise DeviceError("This device offers no way to share a file. It stays where it is.")
    services.device.files.share([str(path)], kind)


def choose_file(services: Any, then: Callable[[str], None]) -> None:
    """Ask the device for a file of another program; DeviceError where it has no way to choose one."""
    files = getattr(services.device, "files", None)
    if files is None:
        raise DeviceError("This device offers no way to choose a file. Nothing was changed.")
    files.choose(then)


__all__ = [
    "PLACES",
    "Action",
    "Acts",
    "can_share",
    "can_take_photo",
    "choose_file",
    "choose_photo",
    "share_file",
    "take_photo",
]
