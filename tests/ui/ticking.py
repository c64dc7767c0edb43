"""Lets frames pass without drawing them: all is laid out as if, only no pixel is made."""

from __future__ import annotations

from kivy.base import EventLoop
from kivy.clock import Clock
from kivy.lang import Builder


def ticks(n: int) -> None:
    """Let `n` frames pass, each as the event loop would go through it, but for the drawing."""
    for _ in range(n):
        Clock.tick()
        EventLoop.dispatch_input()
        Builder.sync()
        Clock.tick_draw()
        Builder.sync()


__all__ = ["ticks"]
