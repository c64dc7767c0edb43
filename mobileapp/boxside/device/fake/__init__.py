"""A complete device for tests and the demo: it remembers what it was asked and lets a test move time."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from boxside.core.values.errors import DeviceError
from boxside.device.ports import Delivery, Device, NudgeMemory
from boxside.device.ports.photos import Picture


@dataclass(slots=True)
class FakeClock:
    """A clock that stands still until it is moved; `tick_ms` is how far each look moves it."""

    at_ms: int
    zone: str = "Europe/Berlin"
    tick_ms: int = 0

    def now_ms(self) -> int:
        """Return the time it was set to."""
        self.at_ms += self.tick_ms
        return self.at_ms

    def zone_name(self) -> str:
        """Return the zone it was set to."""
        return self.zone


class SeededChance:
    """Random bits that repeat for a seed."""

    def __init__(self, seed: str) -> None:
        self._random = random.Random(seed)

    def bits(self, n: int) -> int:
        """Return the next `n` bits."""
        return self._random.getrandbits(n)


@dataclass(slots=True)
class FakeHaptics:
    """Remembers what the hand was told."""

    felt: list[str] = field(default_factory=list)

    def confirm(self) -> None:
        """Remember a confirmation."""
        self.felt.append("confirm")

    def reject(self) -> None:
        """Remember a rejection."""
        self.felt.append("reject")


@dataclass(slots=True)
class FakeLight:
    """Remembers whether the screen is kept awake."""

    awake: bool = False

    def keep_awake(self, on: bool) -> None:
        """Remember it."""
        self.awake = on


@dataclass(slots=True)
class FakeNudges:
    """Remembers messages and plans; `refuses` lets a test play a desktop where nobody listens."""

    posted: list[tuple[str, tuple[str, ...]]] = field(default_factory=list)
    plans: list[str] = field(default_factory=list)
    refuses: str = ""
    remembered: NudgeMemory = field(default_factory=NudgeMemory)
    takes_plans: bool = True

    def post(self, title: str, lines: Sequence[str]) -> Delivery:
        """Remember a message."""
        if self.refuses:
            return Delivery(False, self.refuses, "Look at the round instead.")
        self.posted.append((title, tuple(lines)))
        return Delivery(True)

    def arm(self, plan_json: str) -> Delivery:
        """Remember a plan."""
        if self.refuses:
            return Delivery(False, self.refuses, "Look at the round instead.")
        self.plans.append(plan_json)
        return Delivery(True)

    def memory(self) -> NudgeMemory:
        """Return what a test says was posted."""
        return self.remembered


@dataclass(slots=True)
class FakePhotos:
    """Hands over the paths it was given, of the gallery and of the camera; None plays a person who cancels."""

    path: str | None = None
    taken: str | None = None
    is_missing: bool = False
    has_camera: bool = True

    def choose(self, then: Callable[[str], None]) -> None:
        """Hand over the path."""
        if self.is_missing:
            raise DeviceError("No camera and no gallery here. Nothing was changed.")
        if self.path is not None:
            then(self.path)

    def take(self, then: Callable[[str], None]) -> None:
        """Hand over the path of what was taken."""
        if not self.has_camera:
            raise DeviceError("There is no camera here. Nothing was changed. Choose a photo instead.")
        if self.taken is not None:
            then(self.taken)

    def read(self, path: Path) -> Picture:
        """Read a photo as every platform does."""
        # Pillow is slow to load, and most runs read no photo.
        from boxside.device.pictures import read_picture

        return read_picture(path)


@dataclass(slots=True)
class FakeFiles:
    """Hands over the path it was given, and remembers what was shared and saved; None plays a person who cancels."""

    path: str | None = None
    shared: list[tuple[tuple[str, ...], str]] = field(default_factory=list)
    saved: list[tuple[str, str]] = field(default_factory=list)
    cancels: bool = False
    has_share: bool = True

    def choose(self, then: Callable[[str], None]) -> None:
        """Hand over the path."""
        if self.path is not None:
            then(self.path)

    def share(self, paths: Sequence[str], kind: str) -> None:
        """Remember what was shared."""
        if not self.has_share:
            raise DeviceError("There is no share sheet here. Nothing was changed. Save it instead.")
        self.shared.append((tuple(paths), kind))

    def save_as(self, path: str, name: str, then: Callable[[str], None]) -> None:
        """Remember what was saved."""
        if not self.cancels:
            self.saved.append((path, name))
            then(name)


def build(data_dir: Path, at_ms: int, seed: str = "fake", zone: str = "Europe/Berlin") -> Device:
    """Return a complete fake device."""
    return Device(
        clock=FakeClock(at_ms, zone),
        chance=SeededChance(seed),
        haptics=FakeHaptics(),
        light=FakeLight(),
        nudges=FakeNudges(),
        photos=FakePhotos(),
        files=FakeFiles(),
        data_dir=data_dir,
        name="fake",
    )
