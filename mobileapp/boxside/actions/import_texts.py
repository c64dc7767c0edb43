"""What an import would bring, in lines for a shell and as data for a program."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from boxside.core.values.carry import EventsView, NotebookView


def events_lines(view: EventsView) -> list[str]:
    """Return an exported log before it is taken in, line by line."""
    span = f", {view.first_on} to {view.last_on}" if view.first_on else ""
    lines = [f"{view.path}{span}", view.sentence]
    lines += [f"  {n:7,} {kind}" for kind, n in view.kinds]
    return [*lines, *_problem_lines(view.problems, view.n_problems)]


def notebook_lines(view: NotebookView) -> list[str]:
    """Return an old notebook before it is taken in, line by line."""
    labels = dict(view.roles)
    lines = [f"{view.path}, {view.n_rows} lines, as {'read before' if view.remembered else 'guessed or said'}:"]
    lines += [f"  {labels.get(role, role)}: column {column + 1}, {view.columns[column]}"
              for role, column in view.mapping.columns]  # fmt: skip
    lines += [f"  “{word}” is {kind or 'passed over'}" for word, kind in view.words if kind or not view.question]
    if view.question:
        return [*lines, view.question]
    known = f", {view.n_known} in the log already" if view.n_known else ""
    passed = f", {view.n_passed} passed over" if view.n_passed else ""
    lines.append(f"{view.n_new} would be imported{known}{passed}.")
    lines += [f"Boxes that would be made: {', '.join(view.new_boxes)}"] if view.new_boxes else []
    lines += [f"Boxes that would be dated back: {', '.join(view.earlier_boxes)}"] if view.earlier_boxes else []
    lines += [f"  line {row.line}: {row.when}, {row.box}, {row.label} {row.detail}".rstrip() for row in view.sample]
    return [*lines, *_problem_lines(view.problems, view.n_problems)]


def _problem_lines(problems: tuple[tuple[int, str], ...], n: int) -> list[str]:
    lines = [f"  line {line}: {reason}" for line, reason in problems]
    more = [f"  and {n - len(problems)} more"] if n > len(problems) else []
    return [f"{n} line{'' if n == 1 else 's'} cannot be taken, so nothing can:", *lines, *more] if problems else []


def events_json(view: EventsView) -> dict[str, Any]:
    """Return an exported log before it is taken in, as data."""
    data = asdict(view) | {"ready": view.ready}
    return data | {name: str(data[name]) for name in ("first_on", "last_on") if data[name] is not None}


def notebook_json(view: NotebookView) -> dict[str, Any]:
    """Return an old notebook before it is taken in, as data."""
    return asdict(view) | {"ready": view.ready}
