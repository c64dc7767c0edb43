"""The command line's options, and what a command is handed."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, NoReturn, Protocol

from boxside.actions.look_after import copy_if_due
from boxside.actions.services import Services
from boxside.actions.start import opening_notice
from boxside.core.values.errors import EntryError

_FIRST_YEAR, _LAST_YEAR = 1973, 9990  # ids carry moments from 1970 on; due days lie beyond the day itself


class Build(Protocol):
    """Builds the services on a data folder, standing on a day or now."""

    def __call__(self, data: str | None = None, on: date | None = None) -> Services:
        """Return the services."""
        ...


@dataclass(slots=True)
class Context:
    """What one run of a command has: its options, the fields that follow them, and the log."""

    asked: argparse.Namespace
    rest: Sequence[str]
    build: Build
    opened: list[Services] = field(default_factory=list)

    def services(self) -> Services:
        """Open the log."""
        if not self.opened:
            self.opened.append(self.build(self.asked.data, self.on()))
            if notice := opening_notice(self.opened[0]):
                print(f"boxside: {notice.what} {notice.safe} {notice.do}", file=sys.stderr)
        return self.opened[0]

    def keep_copy(self) -> None:
        """Set the day's copy of the log aside, where it is due; what goes wrong with it is said and no failure."""
        for services in self.opened:
            if notice := copy_if_due(services):
                print(f"boxside: {notice.what} {notice.safe} {notice.do}", file=sys.stderr)

    def on(self) -> date | None:
        """Return the day that `--on` names; EntryError where it is none that a log can stand on."""
        day = day_of_text(self.asked.on, "--on")
        if day is not None and not _FIRST_YEAR <= day.year <= _LAST_YEAR:
            raise EntryError(f"--on: {day} is not within {_FIRST_YEAR} to {_LAST_YEAR}. Nothing was changed.")
        return day

    def close(self) -> None:
        """Close the log."""
        for services in self.opened:
            services.store.close()

    def say(self, text: str, data: object = None) -> None:
        """Print text for a person, or data for a program where that was asked for."""
        print(json.dumps(data, ensure_ascii=False, indent=2) if self.asked.json and data is not None else text)


@dataclass(frozen=True, slots=True)
class Command:
    """One command: what it is for, its own options, and what runs it."""

    help: str
    run: Callable[[Context], int]
    options: Callable[[argparse.ArgumentParser], Any] = lambda _: None
    takes_fields: bool = False


class Parser(argparse.ArgumentParser):
    """A parser that refuses in one line, as every other refusal does; argparse would print its usage too."""

    def error(self, message: str) -> NoReturn:
        """Refuse the options."""
        raise EntryError(f"{message}; see `{self.prog} --help`.")


def day_of_text(text: str | None, name: str) -> date | None:
    """Return the day that an option names; EntryError where it is none."""
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise EntryError(f"{name}: {text!r} is not a date like 2026-05-03. Nothing was changed.") from error


def parser(commands: Mapping[str, Command]) -> argparse.ArgumentParser:
    """Return the parser of all commands."""
    shared = Parser(add_help=False)
    shared.add_argument("--data", metavar="DIR", help="the data folder (default: this computer's own for Boxside)")
    shared.add_argument("--on", metavar="DATE", help="stand on this day instead of today, as 2026-05-03")
    shared.add_argument("--json", action="store_true", help="answer as JSON")
    top = Parser(prog="boxside", description="A keeper's log for captive glow-worm colonies.")
    subs = top.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name, command in commands.items():
        sub = subs.add_parser(name, help=command.help, description=command.help, parents=[shared], allow_abbrev=False)
        command.options(sub)
    return top
