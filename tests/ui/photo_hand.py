"""A finger on a photo: taps and drags at positions of the picture, as it shows just then."""

from __future__ import annotations

from typing import Any

from tests.ui.driver import PAUSE_S, Driver
from tests.ui.fake_measure import FRAME, LARVAE
from tests.ui.ticking import ticks


def middle(number: int) -> tuple[float, float]:
    """Return where the middle of an invented larva lies on the picture; numbers count from 1."""
    (x0, y0), (x1, y1), _ = LARVAE[number - 1]
    return FRAME.to_px(((x0 + x1) / 2, (y0 + y1) / 2))


def in_window(driver: Driver, at: tuple[float, float]) -> tuple[float, float]:
    """Return where a position on the picture lies in the window."""
    picture = driver.page.picture
    x, y = picture.sight.to_room(at)
    found = picture.to_window(picture.x + x, picture.y + y)
    return float(found[0]), float(found[1])


def touch(driver: Driver, *spots: tuple[float, float]) -> None:
    """Tap positions of the picture, one after another."""
    for at in spots:
        driver.at(*in_window(driver, at)).down().up()
        driver.t += PAUSE_S
        ticks(4)


def drag(driver: Driver, start: tuple[float, float], end: tuple[float, float]) -> None:
    """Drag from one position of the picture to another, in steps, as they lie when the finger goes down."""
    (x0, y0), (x1, y1) = in_window(driver, start), in_window(driver, end)
    hand = driver.at(x0, y0).down()
    for step in range(1, 6):
        hand.move(x0 + (x1 - x0) * step / 5, y0 + (y1 - y0) * step / 5)
    hand.up()
    driver.t += PAUSE_S
    ticks(4)


def standing(driver: Driver) -> list[str]:
    """Return the ids of the bodies that are not left out."""
    return [row.id for row in driver.page.touching.edits.standing()]


def measured(driver: Driver, path: str = "/home/keeper/tray.jpg") -> Any:
    """Go from the round to the box, to Photo, and have a photo measured."""
    driver.services.device.photos.path = path
    driver.tap("Box")
    driver.tap("Log")
    driver.page.do_act(next(act for act, _, _ in driver.page.acts if act.command == "photo"), None)
    driver.settle()
    driver.tap("Choose")
    return driver


__all__ = ["drag", "in_window", "measured", "middle", "standing", "touch"]
