"""The red theme keeps green and blue light off, also while a button is held or the theme changes.

Every scene is looked at pixel by pixel in `test_bars`.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

pytestmark = pytest.mark.screen


def pixels() -> Any:
    """Return what the window shows now: (rows, columns, 3) uint8."""
    from kivy.core.window import Window
    from kivy.graphics.opengl import GL_RGB, GL_UNSIGNED_BYTE, glReadPixels

    from boxside.app.pictures import frames

    frames(1)
    data = glReadPixels(0, 0, Window.width, Window.height, GL_RGB, GL_UNSIGNED_BYTE)
    return np.frombuffer(data, np.uint8).reshape(Window.height, Window.width, 3)


def assert_red_only(shown: Any) -> None:
    """Fail if there is any green or blue, or nothing but one colour."""
    assert int(shown[..., 1].max()) == 0
    assert int(shown[..., 2].max()) == 0
    assert len(np.unique(shown[..., 0])) > 8


@pytest.fixture(scope="module")
def colourful(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a photograph with every colour in it."""
    path = tmp_path_factory.mktemp("photos") / "colours.png"
    ramp = np.linspace(0, 255, 96).astype(np.uint8)
    photo = np.stack(np.broadcast_arrays(ramp[:, None], ramp[None, :], np.uint8(255) - ramp[:, None]), axis=-1)
    Image.fromarray(np.ascontiguousarray(photo)).save(path)
    return path


def test_the_walk_over_all_scenes_sees_a_pixel_that_is_not_red(start: Any) -> None:
    """The control of `audit.green_or_blue`, by which `test_bars` looks at every scene in the red theme."""
    from tests.ui.audit import green_or_blue
    from tests.ui.fake_colony import colony

    driver = start(colony(), theme="red")
    assert green_or_blue("round") == []
    driver.find("Fed").ink = (1, 0.02, 0, 1)
    assert [found["what"] for found in green_or_blue("round")] == ["not red alone"]


def test_a_held_button_a_focus_and_a_change_of_screens_stay_red(start: Any) -> None:
    from tests.ui.fake_colony import colony

    driver = start(colony(), theme="red")
    hand = driver.at(*driver.centre(driver.find("Fed"))).down()
    assert_red_only(pixels())
    hand.up()
    driver.key(9)
    assert_red_only(pixels())
    for words in ("Look", "Cancel", "Close", "Shelf"):
        hand = driver.at(*driver.centre(driver.find(words))).down()
        assert_red_only(pixels())
        hand.up()
        driver.t += 1.0
        driver.settle()
        assert_red_only(pixels())


def test_photographs_are_tinted(start: Any, colourful: Path) -> None:
    from boxside.app.pictures import wait
    from tests.ui.fake_colony import colony

    services = colony(photos=[str(colourful)])
    driver = start(services, theme="red")
    driver.tap("Box")
    driver.page.ids.rows.scroll_y = 0.2
    driver.settle()
    thumbs = [w for w in driver.page.walk() if type(w).__name__ == "AsyncImage"]
    assert thumbs
    wait(lambda: thumbs[0].texture is not None and thumbs[0].texture.width == 96)
    assert_red_only(pixels())
    driver.app.use_theme("day")
    shown = pixels()
    assert int(shown[..., 2].max()) > 0


def test_switching_to_red_leaves_nothing_of_the_theme_before(start: Any) -> None:
    from tests.ui.fake_colony import colony

    driver = start(colony(), theme="day")
    for screen in ("Shelf", "Season", "More", "Round"):
        driver.tap(screen)
    assert int(pixels()[..., 2].max()) > 0
    texts = driver.page.ids.texts.scroll
    texts._bind_inactive_bar_color()  # as half a second after scrolling: the bar fades
    driver.settle()
    driver.app.use_theme("red")
    for screen in ("Shelf", "Season", "More", "Round"):
        driver.tap(screen)
        assert_red_only(pixels())
