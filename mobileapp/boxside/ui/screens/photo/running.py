"""A measuring under way: told by the worker how far it is, looked at by the screen, stopped by the keeper."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass
class Run:
    """What is being done and the share that is done. One thread writes each part, so that nothing need be locked."""

    what: str = ""
    share: float = 0.0
    is_stopped: bool = False

    def progress(self, what: str, share: float) -> None:
        """Note how far it is; the worker calls this."""
        self.what, self.share = what, share

    def cancelled(self) -> bool:
        """Whether to stop; the worker asks this between its steps."""
        return self.is_stopped

    def stop(self) -> None:
        """Have it stop at its next step; the screen calls this."""
        self.is_stopped = True


__all__ = ["Run"]
