"""line, pairings, dusk, founders, parents."""

from __future__ import annotations

import argparse

from boxside.actions import dusk, founders, line, mating_group, pairings
from boxside.cli.options import Command, Context, day_of_text
from boxside.core.values.errors import EntryError
from boxside.core.values.line_view import Founding, Parent
from boxside.core.values.stages import Stage


def _line(context: Context) -> int:
    services = context.services()
    if context.asked.json:
        context.say("", line.line_json(services))
    else:
        context.say("\n".join(line.line_text(services)))
    return 0


def _pairings_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--families", type=int, default=0, metavar="N", help="exactly so many females (default: best)")
    parser.add_argument("--clutches-per-male", type=int, default=1, metavar="N", help="females that one male may serve")
    parser.add_argument("--max-kinship", type=float, default=1.0, metavar="K", help="closer relatives are not paired")


def _pairings(context: Context) -> int:
    asked, services = context.asked, context.services()
    wish = pairings.Wish(asked.families, asked.clutches_per_male, asked.max_kinship)
    if asked.json:
        context.say("", pairings.pairings_json(services, context.on(), wish))
    else:
        context.say("\n".join(pairings.pairings_text(services, context.on(), wish)))
    return 0


def _dusk(context: Context) -> int:
    services = context.services()
    if context.asked.json:
        context.say("", dusk.dusk_json(services))
    else:
        context.say("\n".join(dusk.dusk_text(services)))
    return 0


def _founders_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("name", metavar="NAME", help="what the cohort is called")
    parser.add_argument("--n", type=int, required=True, help="how many animals")
    parser.add_argument("--box", metavar="BOX", required=True, help="the box that they go into")
    parser.add_argument("--since", metavar="DATE", help="when they were collected or received (default: today)")
    parser.add_argument("--stage", choices=[str(stage) for stage in Stage], default="larva")
    parser.add_argument("--sex", choices=["female", "male"], default="")
    parser.add_argument("--from", dest="taken_from", metavar="COHORT", default="", help="received: of this cohort")
    parser.add_argument("--received", action="store_true", help="from another keeper, of unknown relation")
    parser.add_argument("--place", metavar="TEXT", default="", help="where they came from")
    parser.add_argument("--permit", metavar="TEXT", default="", help="the collecting permit")
    parser.add_argument("--within", type=float, default=0.0, metavar="K", help="known kinship among them")
    parser.add_argument("--related", action="append", default=[], metavar="COHORT=K", help="known kinship to a cohort")


def _founders(context: Context) -> int:
    asked = context.asked
    new = Founding(
        name=asked.name, n=asked.n, box=asked.box, stage=asked.stage, on=day_of_text(asked.since, "--since"),
        sex=asked.sex, origin="received" if asked.received else "founders", place=asked.place, permit=asked.permit,
        related=tuple(_related(text) for text in asked.related), within=asked.within, taken_from=asked.taken_from,
    )  # fmt: skip
    saved = founders.add_founders(context.services(), new)
    context.say(f"Saved: {asked.n} of {asked.name} in {asked.box}.", {"event": saved.event_id, "cohort": asked.name})
    return 0


def _related(text: str) -> tuple[str, float]:
    name, _, value = text.rpartition("=")
    try:
        return name, float(value)
    except ValueError as error:
        raise EntryError(f"--related: {text!r} is not like NAME=0.125. Nothing was saved.") from error


def _parents_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("clutch", metavar="COHORT", help="the clutch")
    parser.add_argument("--female", action="append", default=[], metavar="COHORT[:N]", help="possible dams")
    parser.add_argument("--male", action="append", default=[], metavar="COHORT[:N]", help="possible sires")
    parser.add_argument("--laid-by", choices=list(mating_group.LAID_BY), default="", help="whose the eggs are")
    parser.add_argument("--dams", type=int, metavar="N", help="how many of the females laid")
    parser.add_argument("--sires", type=int, metavar="N", help="how many of the males were fathers")


def _parents(context: Context) -> int:
    asked = context.asked
    parents = [_parent(text, "female") for text in asked.female] + [_parent(text, "male") for text in asked.male]
    if not parents:
        raise EntryError("Name a parent: --female COHORT[:N] or --male COHORT[:N]. Nothing was saved.")
    saved = mating_group.set_parents(context.services(), asked.clutch, parents, asked.laid_by, asked.dams, asked.sires)
    context.say(f"Saved: the parents of {asked.clutch}.", {"event": saved.event_id, "cohort": asked.clutch})
    return 0


def _parent(text: str, sex: str) -> Parent:
    name, has_n, number = text.rpartition(":")
    if not has_n:
        return Parent(text, sex, 1)
    if not number.isdigit() or int(number) < 1:
        raise EntryError(f"{text!r} is not like NAME:3. Nothing was saved.")
    return Parent(name, sex, int(number))


LINE = Command("who descends from whom, how related the living are, and how the line will go on", _line)
PAIRINGS = Command("whose males to put with whose females, how many of each, and why", _pairings, _pairings_options)
DUSK = Command("this evening: which females glow, which have males, which have none", _dusk)
FOUNDERS = Command("add founders, or animals received from another keeper", _founders, _founders_options)
PARENTS = Command("say whose a clutch is: of one female, of a group, or of some of these", _parents, _parents_options)
