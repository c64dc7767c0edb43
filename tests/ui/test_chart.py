"""The chart on the screen: drawn, in the colours of the theme, telling its numbers at a tap."""

from __future__ import annotations

import itertools
from pathlib import Path
from typing import Any

import pytest

from boxside.core.charts import Rect, Strip
from tests.core.charts.samples import SAMPLES, losses, survival, timeline

pytestmark = pytest.mark.screen


@pytest.fixture
def shown(start: Any) -> Any:
    """Return a function that lays a chart over the running app: `shown(chart, theme)` -> view, driver."""
    from kivy.core.window import Window

    from tests.ui.fake_colony import colony

    def show(chart: Any, theme: str = "day", high: float = 1.0) -> Any:
        from boxside.app.pictures import frames
        from boxside.ui.widgets.chart import ChartView

        driver = start(colony(), theme)
        view = ChartView(chart=chart, high=high, size_hint=(None, None), width=344, pos=(8, 120))
        Window.add_widget(view)
        frames(4)
        return view, driver

    return show


def picture(view: Any, folder: Path) -> Any:
    """Return the widget as an RGB image."""
    from PIL import Image

    path = folder / "chart.png"
    view.export_to_png(str(path))
    with Image.open(path) as image:
        return image.convert("RGB")


def tap(driver: Any, view: Any, x: float, y: float) -> None:
    """Tap a place of the chart, in px from its top left."""
    from boxside.app.pictures import frames

    driver.at(view.x + x, view.top - y).down().up()
    driver.t += 1
    frames(3)


@pytest.mark.parametrize("name", SAMPLES)
def test_the_screen_shows_every_colour_that_the_layout_asks_for(shown, tmp_path, name):
    view, _ = shown(SAMPLES[name]())
    seen = {colour for _, colour in picture(view, tmp_path).getcolors(1 << 20)}
    from boxside.core.charts import CHART_PALETTES

    def rgb(code):
        return tuple(int(code[i : i + 2], 16) for i in (1, 3, 5))

    asked = {
        rgb(CHART_PALETTES["day"][s.paint])
        for s in view.drawing.shapes
        if isinstance(s, Rect | Strip) and s.opacity == 1
    }
    assert len(seen) > 2
    assert asked <= seen


def test_red_keeps_green_and_blue_off_with_numbers_shown(shown, tmp_path):
    view, driver = shown(timeline(), "red")
    hit = view.drawing.hits[40]
    tap(driver, view, hit.x, hit.y)
    assert view.tip.text
    (_, red), green, blue = picture(view, tmp_path).getextrema()
    assert red == 255
    assert green == blue == (0, 0)


def test_a_change_of_theme_draws_anew(shown, tmp_path):
    view, driver = shown(losses())
    before = picture(view, tmp_path).getpixel((2, 2))
    driver.app.theme.use("dim")
    from boxside.app.pictures import frames

    frames(3)
    assert picture(view, tmp_path).getpixel((2, 2)) != before


def test_a_tap_tells_the_nearest_numbers_in_a_box_inside_the_chart(shown):
    view, driver = shown(losses())
    for hit in view.drawing.hits:
        tap(driver, view, hit.x - 3, hit.y + 3)
        assert view.tip.text == hit.label
        assert view.x <= view.tip.x <= view.tip.right <= view.right
        assert view.y <= view.tip.y <= view.tip.top <= view.top
        assert view.tip.width >= view.tip.texture_size[0] > 0


def test_a_tap_far_from_all_points_takes_the_numbers_away(shown):
    view, driver = shown(losses())
    hit = view.drawing.hits[0]
    tap(driver, view, hit.x, hit.y)
    tap(driver, view, 20, 8)
    assert view.tip.text == ""
    assert view.shown is None


def test_numbers_are_told_up_to_32_dp_away_and_no_further(shown):
    from kivy.metrics import dp

    view, _ = shown(losses())
    far_right = max(view.drawing.hits, key=lambda hit: hit.x)
    assert view.nearest(far_right.x + dp(31.9), far_right.y) == far_right
    assert view.nearest(far_right.x + dp(32.1), far_right.y) is None


def test_keys_walk_through_the_points(shown):
    view, _ = shown(losses())
    told = []
    for _ in view.drawing.hits:
        view.dispatch("on_act")
        told.append(view.tip.text)
    assert told == [hit.label for hit in view.drawing.hits]
    view.dispatch("on_act")
    assert view.tip.text == told[0]


def test_moving_the_chart_does_not_lay_it_out_again(shown):
    view, _ = shown(survival())
    before = view.drawing
    view.pos = (8, 60)
    from boxside.app.pictures import frames

    frames(3)
    assert view.drawing is before


def test_texts_on_the_screen_do_not_meet(shown):
    view, _ = shown(survival())
    for one, other in itertools.combinations(view.drawing.texts, 2):
        a, b = one.box, other.box
        assert a[2] <= b[0] + 0.01 or b[2] <= a[0] + 0.01 or a[3] <= b[1] + 0.01 or b[3] <= a[1] + 0.01
