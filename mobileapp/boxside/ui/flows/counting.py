"""A count, held against what was expected; and the confirmation that an old box is empty."""

from __future__ import annotations

from boxside.core.values.season import CountDraft, CountResult, TransferView
from boxside.ui.flows.stop import Stop
from boxside.ui.widgets.sheet import ResultSheet
from boxside.ui.words import say

MOST = 100000


def count(stop: Stop) -> None:
    """Ask for the number by keypad, then whether every animal was found; show what that says."""

    def complete(n: int) -> None:
        items = [(True, say("complete_yes"), "check"), (False, say("complete_no"), "unknown")]
        stop.shell.open_choices(say("complete"), items, lambda full: save(n, full), say("complete_hint"))

    def save(n: int, full: bool) -> None:
        draft = CountDraft(stop.box_id, n, full, visit=stop.visit)
        stop.keep("count_box", (draft, stop.passed), lambda result: show_count(stop, result))

    stop.shell.open_number(stop.title, by_keypad=True, minimum=0, maximum=MOST, then=complete)


def show_count(stop: Stop, result: CountResult) -> None:
    """Confirm a count, then show expected, counted, unaccounted, and what to do about it."""
    shell, saved = stop.shell, result.saved
    shell.saved(saved, stop.done)
    figures = [say("expected", n=result.expected), say("counted", n=result.counted)]
    if result.complete and result.unaccounted:
        key = "unaccounted" if result.unaccounted > 0 else "surplus"
        figures.append(say(key, n=abs(result.unaccounted)))
    stop.show(result.sentence, result.checks, lambda: shell.take_back(saved.event_id, stop.done), "\n".join(figures))


def confirm(stop: Stop) -> None:
    """Show where to look once more; only then the box is confirmed empty."""
    stop.ask("transfer_view", stop.box_id, then=lambda view: _look_first(stop, view))


def _look_first(stop: Stop, view: TransferView) -> None:
    def save() -> None:
        stop.keep("confirm_empty", (stop.box_id, None, stop.visit, stop.passed), saved)

    def saved(result: CountResult) -> None:
        if result.expected:
            show_count(stop, result)
        else:
            stop.shell.saved(result.saved, stop.done)

    expected = say("still_expected", n=view.expected) if view.expected else ""
    stop.shell.open_sheet(
        ResultSheet(
            title=say("is_empty", box=view.label), sentence=say("look_first"), figures=expected,
            checks=list(view.checks), no=say("found_some"), no_icon="count", then_no=lambda: count(stop),
            yes=say("empty"), yes_icon="empty", then_yes=save, out=say("cancel"),
        )
    )  # fmt: skip


__all__ = ["confirm", "count", "show_count"]
