"""The actions that screens call, found when first called; a test hands in its own."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import Any

from boxside.core.values.errors import DeviceError

Action = Callable[..., Any]

PLACES: dict[str, str] = {
    "add_area": "enter_surroundings",
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
    "change_setting": "settings",
    "change_stage": "change_stage",
    "climate_view": "areas",
    "clutch_view": "lay_clutch",
    "confirm_empty": "count_box",
    "correct_event": "correct_event",
    "count_box": "count_box",
    "dusk_view": "dusk",
    "enter_breeders": "enter_surroundings",
    "enter_light": "enter_surroundings",
    "enter_stock": "enter_surroundings",
    "enter_temperature": "enter_surroundings",
    "export_season": "export_season",
    "introduce": "mating_group",
    "keep_photo": "keep_photo",
    "lay_clutch": "lay_clutch",
    "light_view": "light",
    "line_view": "line",
    "log_event": "log_event",
    "mark_individual": "mark_individual",
    "new_box_view": "add_box",
    "nudge_if_time": "post_nudge",
    "overlap_view": "overlap",
    "pairings_view": "pairings",
    "place_boxes": "enter_surroundings",
    "possible_parents": "mating_group",
    "preview_file": "temperatures",
    "prey_view": "prey",
    "round_view": "list_due",
    "save_calendar": "save_ahead",
    "save_sheet": "save_ahead",
    "season_view": "show_season",
    "separate": "mating_group",
    "set_parents": "mating_group",
    "settings_view": "settings",
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


def choose_file(services: Any, then: Callable[[str], None]) -> None:
    """Ask the device for a file of another program; DeviceError where it has no way to choose one."""
    files = getattr(services.device, "files", None)
    if files is None:
        raise DeviceError("This device offers no way to choose a file. Nothing was changed.")
    files.choose(then)


__all__ = ["PLACES", "Action", "Acts", "choose_file", "choose_photo"]
