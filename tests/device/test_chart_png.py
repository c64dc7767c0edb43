"""Charts as PNG: the shapes of the layout at their places, red all red, the same bytes each time."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from PIL import Image, ImageFont

from boxside.core.charts import CHART_PALETTES, Rect, layout
from boxside.core.charts.pen import STRONG_WIDER
from boxside.core.tables.chart_svg import letter_measure
from boxside.core.values.chart import Role
from boxside.core.values.errors import DataError
from boxside.device.chart_png import REGULAR, STRONG, draw_png, measure_with, png_of
from boxside.device.folders import bundled
from tests.core.charts.pieces import meeting, outside
from tests.core.charts.samples import SAMPLES, losses, timeline

FONTS = bundled("assets") / "fonts"


def image(png: bytes) -> Image.Image:
    return Image.open(io.BytesIO(png)).convert("RGB")


def rgb(code: str) -> tuple[int, ...]:
    return tuple(int(code[i : i + 2], 16) for i in (1, 3, 5))


@pytest.mark.parametrize("name", SAMPLES)
def test_red_keeps_green_and_blue_off_in_every_pixel(name):
    (_, red), green, blue = image(draw_png(SAMPLES[name](), 360, 360, CHART_PALETTES["red"], FONTS)).getextrema()
    assert red > 200
    assert green == blue == (0, 0)


@pytest.mark.parametrize("theme", ["day", "dim"])
@pytest.mark.parametrize("size", [(320, 240), (411, 500), (1200, 900)])
def test_a_picture_has_its_size_and_its_ground(theme, size):
    picture = image(draw_png(timeline(), *size, CHART_PALETTES[theme], FONTS))
    assert picture.size == size
    assert picture.getpixel((1, 1)) == rgb(CHART_PALETTES[theme]["ground"])
    assert len(picture.getcolors(1 << 20)) > 10


def test_bars_are_filled_where_the_layout_puts_them_and_nowhere_else():
    palette = CHART_PALETTES["day"]
    drawing = layout(losses(), 400, 400, measure_with(FONTS))
    bars = [s for s in drawing.shapes if isinstance(s, Rect) and s.paint is Role.BAD]
    assert len(bars) == 7
    bare = replace(drawing, shapes=(drawing.shapes[0], *bars))
    picture = image(png_of(bare, palette, FONTS))
    for bar in bars:
        left, right = bar.x, bar.x + bar.width
        middle = round(bar.y + bar.height / 2)
        assert picture.getpixel((round(left) + 1, middle)) == rgb(palette["bad"])
        assert picture.getpixel((round(right) - 2, middle)) == rgb(palette["bad"])
        assert picture.getpixel((round(right) + 2, middle)) == rgb(palette["ground"])
    share = sum(bar.width * bar.height for bar in bars) / (400 * 400)
    red = {colour: n for n, colour in picture.getcolors(1 << 20)}[rgb(palette["bad"])] / (400 * 400)
    # The rims of the bars are mixed with the ground: at most a pixel on each side.
    rim = sum(2 * (bar.width + bar.height) for bar in bars) / (400 * 400)
    assert share - rim < red <= share + 0.001


def test_equal_charts_give_equal_bytes():
    pictures = {draw_png(SAMPLES["survival"](), 360, 300, CHART_PALETTES["day"], FONTS) for _ in range(2)}
    assert len(pictures) == 1


@pytest.mark.parametrize("scale", [1.0, 2.0])
@pytest.mark.parametrize("name", SAMPLES)
def test_the_laws_hold_with_the_real_font(name, scale):
    drawing = layout(SAMPLES[name](), 360, 480, measure_with(FONTS), scale=scale)
    assert meeting(drawing) == []
    assert outside(drawing) == []


def test_the_strong_font_is_no_wider_than_the_layout_reckons():
    plain, strong = (ImageFont.truetype(str(FONTS / name), 190, layout_engine=0) for name in (REGULAR, STRONG))
    for chart in SAMPLES.values():
        title = chart().title
        assert strong.getlength(title) <= STRONG_WIDER * plain.getlength(title)


def test_the_widths_that_svg_reckons_with_are_those_of_the_font():
    measure = measure_with(FONTS)
    for text in ("Survival of larvae", "0.82 (0.7 - 0.9)", "WAVE mmm ill @"):
        assert letter_measure(text, 100)[0] == pytest.approx(measure(text, 100)[0], rel=0.03)


def test_a_missing_font_is_named(tmp_path):
    with pytest.raises(DataError, match=r"Inter-Regular\.otf"):
        draw_png(losses(), 300, 300, CHART_PALETTES["day"], tmp_path)
