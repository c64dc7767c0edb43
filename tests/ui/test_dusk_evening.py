"""A whole evening on the real log, with real touches: every frame that is drawn on Dusk is red on black."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np
import pytest

from tests.actions.keeping import Keeper
from tests.actions.lining import found

pytestmark = pytest.mark.screen


class Watch:
    """Looks at every frame just before it is shown."""

    def __init__(self, counts: Callable[[], bool]) -> None:
        self.counts = counts
        self.n_frames = 0
        self.most = np.zeros(3, np.uint8)
        self.shades: set[int] = set()

    def look(self, *_: Any) -> None:
        from kivy.core.window import Window
        from kivy.graphics.opengl import GL_RGB, GL_UNSIGNED_BYTE, glReadPixels

        if self.counts():
            data = glReadPixels(0, 0, Window.width, Window.height, GL_RGB, GL_UNSIGNED_BYTE)
            shown = np.frombuffer(data, np.uint8).reshape(-1, 3)
            self.n_frames += 1
            self.most = np.maximum(self.most, shown.max(axis=0))
            self.shades |= set(np.unique(shown[:, 0]).tolist())


@contextmanager
def watching(counts: Callable[[], bool]) -> Iterator[Watch]:
    """Look at every frame that `counts`."""
    from kivy.core.window import Window

    watch = Watch(counts)
    Window.bind(on_flip=watch.look)
    try:
        yield watch
    finally:
        Window.unbind(on_flip=watch.look)


@pytest.fixture
def evening(keeper: Keeper) -> Keeper:
    """Two females in B01, one in B02, three males in B03, one in B04, an empty B05; no place is set; 20 June, 22:15."""
    keeper.stand("2026-06-18")
    found(keeper, "F", 2, "B01", stage="adult", sex="female")
    found(keeper, "G", 1, "B02", stage="adult", sex="female")
    found(keeper, "M", 3, "B03", stage="adult", sex="male")
    found(keeper, "N", 1, "B04", stage="adult", sex="male")
    keeper.add("B05", stage="", n=None)
    keeper.stand("2026-06-20", 22 * 60 + 15)
    return keeper


@pytest.fixture
def real(window: Any, evening: Keeper) -> Iterator[Any]:
    """Return a driver of the app in the day theme on that evening, with the real actions and no thread."""
    from boxside.app.desk import InlineDesk
    from boxside.app.frame import BoxsideApp
    from boxside.app.pictures import frames
    from boxside.device.folders import bundled
    from tests.ui.driver import PAUSE_S, Driver
    from tests.ui.scenes import shown

    class Slow(Driver):
        """Lets what a finger does while it is down be drawn too."""

        def tap(self, words: Any) -> None:
            target = self.find(words) if isinstance(words, str) else words
            hand = self.at(*self.centre(target)).down()
            frames(2)
            hand.up()
            self.t += PAUSE_S
            frames(4)

        def settle(self) -> None:
            frames(4)

    services = evening.services
    with shown(BoxsideApp(services, bundled("assets"), InlineDesk(services), theme="day")) as app:
        yield Slow(app)


def to_dusk(driver: Any) -> None:
    driver.tap("More")
    driver.tap("Dusk")


def state(driver: Any, label: str) -> str:
    return str(next(row for row in driver.page.view.rows if row.label == label).state)


def tap_glow(driver: Any, label: str, words: str) -> None:
    """Tap a button under the row of a box in the list."""
    from boxside.app.pictures import frames
    from boxside.ui.screens.dusk.evening_rows import DuskActs

    shown = [w for w in driver.page.walk() if isinstance(w, DuskActs) and w.row is not None and w.row.label == label]
    if not shown:
        driver.page.ids.rows.scroll_y = 0.4
        frames(4)
        shown = [w for w in driver.page.walk() if isinstance(w, DuskActs) and w.row.label == label]
    driver.tap(next(button for button in shown[0].children if button.text == words))


def is_in_sight(driver: Any, label: str) -> bool:
    """Whether the middle of a box's row lies within the list."""
    rows = driver.page.ids.rows
    low = rows.to_window(*rows.pos)[1]
    boxes = [w for w in driver.targets() if getattr(w, "mark", "") == label]
    return any(low < driver.centre(box)[1] < low + rows.height for box in boxes)


def open_box(driver: Any, label: str) -> None:
    if not driver.page.is_list:
        driver.tap("Back")
    driver.page.ids.rows.scroll_y = 1
    driver.settle()
    for _ in range(6):
        if is_in_sight(driver, label):
            break
        driver.tap("Down")
    driver.tap(label)
    assert driver.page.title == label


def run_evening(driver: Any, keeper: Keeper) -> None:
    """Set the place, note glows, bring males, have eggs laid, part, undo, meet a refusal, go back."""
    from boxside.core.values.errors import StoreError

    driver.tap("Set latitude and longitude")
    driver.tap("North")
    driver.type("52.5")
    driver.tap("Done")
    driver.tap("East")
    driver.type("13.4")
    driver.tap("Done")
    assert driver.page.view.sun.text.startswith("Sunset 21:3")

    tap_glow(driver, "B01", "Glowing")
    assert state(driver, "B01") == "alone"
    assert driver.has("Undo")
    driver.tap("Undo")
    assert state(driver, "B01") == "waiting"
    tap_glow(driver, "B01", "Glowing")

    open_box(driver, "B01")
    driver.tap("Several glow")
    driver.tap("Done")
    driver.tap("Bring males")
    driver.tap("3 males of M in B03")
    driver.tap("More")
    driver.tap("Done")
    assert state(driver, "B01") == "paired"
    driver.tap("Stopped glowing")
    assert not driver.page.row.is_glowing

    keeper.wait(60)
    driver.tap("Eggs laid")
    driver.type("40")
    driver.tap("Done")
    driver.tap("Estimated")
    assert "Mothers: 1 of the 2 of F" in driver.words()
    assert "Fathers: 1 of the 2 of M" in driver.words()
    driver.tap("Save")
    assert state(driver, "B01") == "laying"

    keeper.wait(60)
    driver.tap("Part")
    driver.tap("All 2 males")
    driver.tap("B03")
    assert driver.page.row.n_males == 0
    driver.tap("Undo")
    assert driver.page.row.n_males == 2

    def refuses(*_: Any) -> None:
        raise StoreError("The disk is full. Nothing was saved. Free some room, then try again.")

    true_act = driver.shell.acts.find("log_event")
    driver.shell.acts._found["log_event"] = refuses
    driver.tap("Glowing")
    assert "Not saved" in driver.words()
    driver.shell.acts._found["log_event"] = true_act
    driver.tap("Try again")
    assert driver.page.row.is_glowing
    driver.tap("Close")
    driver.tap("Back")
    driver.tap("Down")
    driver.tap("Up")
    driver.key(9)


def test_no_frame_of_a_whole_evening_has_green_or_blue(real: Any, evening: Keeper) -> None:
    """The place is asked for, glows, males, eggs, parting, undo and a refusal: sheets, toasts and touches alike."""
    with watching(lambda: real.shell.here == "dusk") as watch:
        to_dusk(real)
        run_evening(real, evening)
    assert watch.n_frames > 60
    assert watch.most[0] == 255
    assert watch.most[1:].tolist() == [0, 0]
    assert len(watch.shades) > 8


def test_the_watch_sees_green_and_blue_where_they_are(real: Any) -> None:
    """The control: before and after Dusk the day theme shows all colours."""
    with watching(lambda: real.shell.here != "dusk") as watch:
        real.tap("Shelf")
        to_dusk(real)
        real.tap("Back")
        real.settle()
    assert watch.n_frames > 4
    assert min(watch.most.tolist()) > 100
    assert real.app.theme.name == "day"


def test_what_the_evening_leaves_in_the_log(real: Any, evening: Keeper) -> None:
    """One father and one mother among those who were there: that is what the line is worked out from."""
    from boxside.actions.line import line_view

    to_dusk(real)
    run_evening(real, evening)
    line = line_view(evening.services)
    (clutch,) = [row for row in line.cohorts if row.kind == "offspring"]
    assert (clutch.n, clutch.parents) == (40, "1 female of F with one of 2 males of M")
    assert dict(clutch.founder_shares) == pytest.approx({"F": 0.5, "M": 0.5})


def test_one_undo_takes_the_eggs_and_their_parents_back(real: Any, evening: Keeper) -> None:
    from boxside.actions.line import line_view
    from boxside.actions.mating_group import introduce

    introduce(evening.services, evening.id("B01"), evening.id("B03"), 2)
    to_dusk(real)
    open_box(real, "B01")
    real.tap("Eggs laid")
    real.type("40")
    real.tap("Done")
    real.tap("Counted")
    real.tap("Save")
    assert [row.n for row in line_view(evening.services).cohorts if row.kind == "offspring"] == [40]
    real.tap("Undo")
    assert [row.n for row in line_view(evening.services).cohorts if row.kind == "offspring"] in ([], [0])
    assert real.page.row.state == "paired"


def test_the_time_of_a_tap_is_kept_and_shown_after_sunset(real: Any, evening: Keeper) -> None:
    from boxside.actions.settings import change_setting

    change_setting(evening.services, "latitude", 52.5)
    change_setting(evening.services, "longitude", 13.4)
    to_dusk(real)
    tap_glow(real, "B01", "Glowing")
    evening.wait(20)
    real.page.refresh()
    (span,) = next(row for row in real.page.view.rows if row.label == "B01").evenings
    assert span.from_at == "22:15"
    assert f"{round(span.from_min)} min after sunset" in "\n".join(row.get("title", "") for row in real.page.data)
