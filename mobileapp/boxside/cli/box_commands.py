"""add, rebuild."""

from __future__ import annotations

import argparse

from boxside.actions import add_box, rebuild_state
from boxside.cli.options import Command, Context
from boxside.core.values.errors import EntryError
from boxside.core.values.stages import Stage
from boxside.core.values.views import NewBox


def _add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("box", metavar="BOX", help="the code on the lid")
    parser.add_argument("--stage", choices=[str(stage) for stage in Stage], default="", help="who lives in it")
    parser.add_argument("--n", type=int, help="about how many")
    parser.add_argument("--instar", type=int, help="the larvae's instar, where it is known")
    parser.add_argument("--fed", choices=["today", "about", "unknown"], help="when the larvae were last fed")
    parser.add_argument("--days", type=int, help="for --fed about: how many days ago")


def _add(context: Context) -> int:
    asked = context.asked
    _check_add(asked)
    new = NewBox(asked.box, asked.stage, asked.n, asked.instar, asked.fed or "unknown", asked.days)
    saved = add_box.add_box(context.services(), new)
    context.say(f"Saved: box {asked.box}.", {"event": saved.event_id, "box": asked.box})
    return 0


def _check_add(asked: argparse.Namespace) -> None:
    """Refuse options that would be passed over in silence."""
    if not asked.stage and (asked.n is not None or asked.fed):
        raise EntryError("Say with --stage who lives in the box. Nothing was saved.")
    if asked.stage != Stage.LARVA and (asked.instar is not None or asked.fed):
        raise EntryError("--instar and --fed are for larvae. Nothing was saved.")
    if (asked.fed == "about") != (asked.days is not None):
        raise EntryError("--fed about and --days go together. Nothing was saved.")


def _rebuild(context: Context) -> int:
    before, after, n = rebuild_state.rebuild_state(context.services())
    same = "the same as before" if before == after else "DIFFERENT from before: the state had not followed the log"
    context.say(f"Rebuilt from {n:,} events; the state is {same} ({after[:16]}).",
                {"events": n, "before": before, "after": after, "same": before == after})  # fmt: skip
    return 0


ADD = Command("make a box, with what lives in it", _add, _add_options)
REBUILD = Command("work out all state again from the log, and say whether it was the same", _rebuild)
