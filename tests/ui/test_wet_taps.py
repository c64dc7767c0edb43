"""A simulation of wet taps on the real widgets. Model, not measurement: no claim about real thumbs.

A tap is aimed at the centre of a main button and lands with Gaussian scatter, 4 mm in each direction and
1 mm low (common practice, no source); a ghost contact of a drop comes with one tap in three: before, during
or after it, anywhere on the screen, for 5 to 25 ms or resting.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.ui.fake_colony import colony

pytestmark = pytest.mark.screen
N_TAPS = 300
SPREAD_MM, LOW_MM = 4.0, 1.0
DP_PER_MM = 160 / 25.4
LABELS = ("Fed", "Look", "Count", "Next")


class Counting:
    """Takes the place of what buttons do, and counts which of them answered."""

    def __init__(self, driver: Any) -> None:
        self.answered: list[str] = []
        driver.page.do_act = lambda act, button: self.answered.append(act.label)
        driver.shell.go = lambda name, **values: self.answered.append(name)
        driver.page.show_more = lambda: self.answered.append("Other")
        driver.page.open_box = lambda: self.answered.append("Box")
        driver.page.ids.texts.turner.text = "turn"


def simulate(driver: Any, rng: np.random.Generator, ghosts: bool) -> tuple[int, int, int]:
    """Return how many of `N_TAPS` taps did what was meant, something else, or nothing."""
    from kivy.core.window import Window

    counting = Counting(driver)
    centres = {label: driver.centre(driver.find(label)) for label in LABELS}
    right = wrong = none = 0
    for n in range(N_TAPS):
        label = LABELS[n % len(LABELS)]
        x, y = centres[label]
        dx, dy = rng.normal(0, SPREAD_MM * DP_PER_MM, 2)
        finger = driver.at(x + dx, max(1.0, y + dy - LOW_MM * DP_PER_MM))
        drop = None
        if ghosts and rng.random() < 1 / 3:
            drop = driver.at(rng.uniform(0, Window.width - 1), rng.uniform(0, Window.height - 1))
        before = len(counting.answered)
        when = rng.integers(3) if drop is not None else -1
        if when == 0:
            drop.down()
            drop.driver.t += rng.uniform(0.005, 0.025)
            drop.touch.touch_up()
        finger.down()
        if when == 1:
            drop.down()
            driver.t += 0.01
            drop.touch.touch_up()
        driver.t += rng.uniform(0.05, 0.2)
        finger.touch.touch_up()
        if when == 2:
            drop.down()
            driver.t += rng.uniform(0.005, 0.025)
            drop.touch.touch_up()
        driver.t += 1.0
        got = counting.answered[before:]
        right += got == [label]
        none += not got
        wrong += bool(got) and got != [label]
    return right, wrong, none


def test_simulated_wet_taps_hit_what_was_meant(start: Any) -> None:
    """4 mm scatter on 20 mm targets with 2 mm of margin: nearly all should land (closed form below)."""
    driver = start(colony())
    right, wrong, none = simulate(driver, np.random.default_rng(7), ghosts=False)
    assert right + wrong + none == N_TAPS
    assert right >= 0.95 * N_TAPS
    assert wrong <= 0.03 * N_TAPS


def test_simulated_drops_set_nothing_off_by_themselves(start: Any) -> None:
    """The same fingers, with drops: not one more wrong answer, and no tap lost but to a drop that holds."""
    clean = simulate(start(colony()), np.random.default_rng(11), ghosts=False)
    wet = simulate(start(colony()), np.random.default_rng(11), ghosts=True)
    assert wet[0] >= 0.94 * N_TAPS
    assert wet[1] <= 0.03 * N_TAPS
    assert clean[0] >= 0.95 * N_TAPS


def test_without_the_rules_drops_do_set_things_off(start: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """The control: with no least time and no single holder the same drops give wrong answers."""
    from boxside.ui.widgets import contacts

    monkeypatch.setattr(contacts, "GHOST_S", 0.0)
    monkeypatch.setattr(contacts.Contacts, "_is_busy", lambda self, touch: False)
    right, wrong, _ = simulate(start(colony()), np.random.default_rng(11), ghosts=True)
    assert wrong > 0.03 * N_TAPS
    assert right < 0.95 * N_TAPS
