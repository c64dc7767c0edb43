"""What comes in and goes out through other apps: a photo that is taken or chosen, files that are shared or saved."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from boxside.core.values.errors import BoxsideError
from boxside.core.values.views import Notice
from boxside.ui.acts import can_share, can_take_photo, choose_photo, take_photo
from boxside.ui.widgets.sheet import ChoiceSheet
from boxside.ui.words import say


def ask_photo(shell: Any, title: str, then: Callable[[str], None]) -> None:
    """Have a photo taken or chosen; asks which only where there is a camera. `then` gets its path."""

    def ask(way: Callable[[Any, Callable[[str], None]], None]) -> None:
        _guarded(shell, partial(way, shell.services), then)

    if can_take_photo(shell.services):
        items = [(take_photo, say("photo_take"), "photo"), (choose_photo, say("photo_choose"), "find")]
        shell.open_choices(title, items, ask)
    else:
        ask(choose_photo)


def _guarded(shell: Any, ask: Callable[[Callable[[str], None]], None], then: Callable[[str], None]) -> None:
    try:
        ask(then)
    except BoxsideError as error:
        shell.show(Notice(what=str(error), bad=True))


def hand_over(shell: Any, what: str, paths: Sequence[str | Path], do: str = "") -> None:
    """Say that files (or a folder) were written and where they lie, and offer to share or save them elsewhere."""
    files = shell.services.device.files
    ways = [("share", say("share"), "out")] if can_share(shell.services) else []
    if hasattr(files, "save_as"):
        ways.append(("save", say("save_as"), "save"))
    shell.services.device.haptics.confirm()
    where = "\n".join(str(path) for path in paths)
    if not ways:
        shell.show(Notice(what, where, do))
        return
    go = {"share": _share, "save": _save}
    hint = "\n".join(part for part in (do, where) if part)
    then = lambda way: go[way](shell, [str(path) for path in paths])  # noqa: E731
    shell.open_sheet(ChoiceSheet(title=what, hint=hint, items=ways, then=then, out=say("close"), needs_room=True))


def _share(shell: Any, paths: list[str]) -> None:
    shell.ask("share_files", paths, then=lambda _: None)


def _save(shell: Any, paths: list[str]) -> None:
    """Save one after another: where a folder was written, the one file it was packed into."""

    def save(files: tuple[str, ...], done: tuple[str, ...] = ()) -> None:
        if not files:
            shell.show(Notice(say("saved_as"), "\n".join(done)))
            return
        ask = partial(shell.services.device.files.save_as, files[0], Path(files[0]).name)
        _guarded(shell, ask, lambda where: save(files[1:], (*done, where)))

    shell.ask("packed", paths, then=save)


__all__ = ["ask_photo", "hand_over"]
