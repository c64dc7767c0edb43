"""One animal that gets a mark: which it is, and what the mark looks like."""

from __future__ import annotations

from typing import Any

from boxside.core.values.season import MarkDraft, StageView
from boxside.ui.flows.groups import ask_group
from boxside.ui.flows.stop import Stop
from boxside.ui.words import say

COLOURS = ("white", "yellow", "blue", "red", "green", "silver")


def mark(stop: Stop) -> None:
    """Ask which animal and with what mark."""
    stop.ask("stage_view", stop.box_id, then=lambda view: _which(stop, view))


def _which(stop: Stop, view: StageView) -> None:
    ask_group(stop, view.groups, stop.title, lambda _, picked: _ask_mark(stop, picked))


def _ask_mark(stop: Stop, picked: dict[str, Any]) -> None:
    def chosen(words: str) -> None:
        if words:
            _save(stop, picked, words)
        else:
            stop.shell.open_text(say("mark_words"), "", lambda text: _save(stop, picked, text))

    dots = [say("mark_dot", colour=say(colour)) for colour in COLOURS]
    items = [*((dot, dot, "dot") for dot in dots), ("", say("mark_words"), "note")]
    stop.shell.open_choices(say("mark"), items, chosen, stop.title)


def _save(stop: Stop, picked: dict[str, Any], words: str) -> None:
    draft = MarkDraft(stop.box_id, words, **picked, visit=stop.visit)
    stop.keep("mark_individual", (draft, stop.passed), stop.kept)


__all__ = ["mark"]
