"""due, log, undo."""

from __future__ import annotations

import argparse

from boxside.actions import keep_photo, list_due, log_event, void_event
from boxside.actions.describe import box_text, round_lines
from boxside.actions.entry import box_named, kind_named
from boxside.actions.services import Services
from boxside.cli.fields import fields_of, moment_of
from boxside.cli.options import Command, Context
from boxside.core.values.errors import DeviceError, EntryError
from boxside.core.values.event import Draft
from boxside.core.values.views import Saved


def _due(context: Context) -> int:
    services = context.services()
    context.say("\n".join(round_lines(services)), list_due.due_json(services) if context.asked.json else None)
    return 0


def _log_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("box", metavar="BOX", help="the code on the lid")
    parser.add_argument("kind", metavar="KIND", help="a kind of event, such as fed, misted, count, died")
    parser.add_argument("--at", metavar="TIME", help="when it happened: 18:30, 2026-05-03T18:30, or with an offset")
    parser.add_argument("--note", metavar="TEXT", help="a note")
    parser.add_argument("--by", metavar="WHO", help="who did it")
    parser.add_argument("--path", metavar="FILE", help="the photo, for the kind photo")


def _log(context: Context) -> int:
    services, asked = context.services(), context.asked
    kind = kind_named(services, asked.kind)
    box = box_named(services, asked.box)
    if kind.name == "photo":
        if not asked.path or context.rest:
            raise EntryError("A photo needs --path FILE and nothing else. Nothing was saved.")
        return _say_saved(context, _photo(services, box.id, asked.path))
    draft = Draft(
        kind=kind.name,
        subject_type="box",
        subject_id=box.id,
        fields=fields_of(services, kind, context.rest),
        at_ms=moment_of(services, asked.at),
        note=asked.note,
        by=asked.by,
    )
    return _say_saved(context, log_event.log_event(services, draft))


def _photo(services: Services, box: str, path: str) -> Saved:
    try:
        return keep_photo.keep_photo(services, box, path)
    except DeviceError as error:  # here the file is what was entered, and not a part of the device
        raise EntryError(str(error)) from error


def _say_saved(context: Context, saved: Saved) -> int:
    services = context.services()
    lines = box_text(services, saved.view) if saved.view else []
    data = {"event": saved.event_id, "due": list_due.due_json(services)} if context.asked.json else None
    context.say("\n".join(["Saved.", *lines]), data)
    return 0


def _undo(context: Context) -> int:
    services = context.services()
    event = void_event.undo_last(services)
    context.say(f"Taken back: {event.kind} ({event.id}).", {"taken_back": event.id, "kind": event.kind})
    return 0


DUE = Command("what is due today, at which box, and why", _due)
LOG = Command(
    "log what was seen or done at a box; the kind's own fields follow as --FIELD VALUE", _log, _log_options, True
)
UNDO = Command("take back what was logged last on this computer", _undo)
