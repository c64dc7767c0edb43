"""Where a flow runs: the box, the visit, the act that began it, and who gets what was saved."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from boxside.core.values.season import Flow
from boxside.core.values.views import Act, Saved
from boxside.ui.keeping import Keeping
from boxside.ui.widgets.sheet import ResultSheet
from boxside.ui.words import say


@dataclass(frozen=True)
class Stop:
    """One stop at one box; `done` gets what was saved, `passed` are the boxes that the round has left behind."""

    shell: Any
    act: Act
    box_id: str
    label: str
    visit: str
    button: Any
    done: Callable[[Saved], None]
    passed: tuple[str, ...] = ()

    @property
    def title(self) -> str:
        """What the sheets are headed with."""
        return f"{self.label}: {self.act.label}" if self.label else self.act.label

    def ask(self, name: str, *args: Any, then: Callable[[Any], None]) -> None:
        """Have an action run that saves nothing."""
        self.shell.ask(name, *args, then=then)

    def keep(
        self, name: str, args: tuple[Any, ...], then: Callable[[Any], None],
        corrected: tuple[Any, ...] | None = None,
    ) -> None:  # fmt: skip
        """Have an action save, its state shown on the button that began the flow."""
        Keeping(self.shell).keep(name, args, then, self.button, corrected)

    def kept(self, flow: Flow, sentence: str = "", checks: tuple[str, ...] = ()) -> None:
        """Confirm a flow with an undo for all of it; what there is to say about it comes on a sheet."""
        undo = self.shell.flow_saved(flow, self.done)
        said = sentence or (flow.notice.what if flow.notice else "")
        if said:
            self.show(said, checks, undo)

    def show(self, sentence: str, checks: tuple[str, ...], undo: Callable[[], None], figures: str = "") -> None:
        """Show what came of it, what to check, and its undo."""
        self.shell.open_sheet(
            ResultSheet(
                title=self.title, sentence=sentence, figures=figures, checks=list(checks),
                no=say("undo"), no_icon="undo", then_no=undo, yes=say("ok"),
            )
        )  # fmt: skip


__all__ = ["Stop"]
