"""Charts as SVG: valid, told in words, and the same shapes in the same places as the layout."""

from __future__ import annotations

from xml.etree import ElementTree as ET

import pytest

from boxside.core.charts import CHART_PALETTES, Hatch, Marker, Polyline, Rect, Strip, Text, layout
from boxside.core.tables import chart_svg
from boxside.core.tables.chart_svg import letter_measure
from boxside.core.values.chart import Bars, Chart, Role, category_axis, number_axis
from tests.core.charts.samples import SAMPLES, losses

NS = "{http://www.w3.org/2000/svg}"


def read(text: str) -> ET.Element:
    return ET.fromstring(text.encode())


@pytest.mark.parametrize("theme", CHART_PALETTES)
@pytest.mark.parametrize("name", SAMPLES)
def test_every_shape_of_the_layout_is_one_element_in_its_colour_and_place(name, theme):
    chart, palette = SAMPLES[name](), CHART_PALETTES[theme]
    drawing = layout(chart, 480, 400, letter_measure)
    elements = list(read(chart_svg(chart, palette, 480, 400)))[2:]
    assert len(elements) == len(drawing.shapes)
    for element, shape in zip(elements, drawing.shapes, strict=True):
        colour = element.get("stroke") or element.get("fill")
        assert colour == palette[shape.paint]
        if isinstance(shape, Text):
            assert (element.tag, element.text) == (NS + "text", shape.text)
            assert float(element.get("x")) == pytest.approx(shape.x, abs=0.006)
            assert float(element.get("textLength")) == pytest.approx(shape.width, abs=0.006)
            assert shape.y < float(element.get("y")) < shape.y + shape.height
        elif isinstance(shape, Rect):
            assert element.tag == NS + "rect"
            assert float(element.get("width")) == pytest.approx(shape.width, abs=0.006)
        else:
            assert isinstance(shape, Polyline | Hatch | Strip | Marker)
            assert element.tag == NS + "path"
            assert (element.get("stroke-dasharray") is not None) == bool(getattr(shape, "dash", ()))


def test_the_document_tells_the_chart_in_words():
    root = read(chart_svg(losses(), CHART_PALETTES["day"], 480, 400))
    assert root.get("role") == "img"
    ids = {child.get("id"): child.text for child in root if child.get("id")}
    title, about = (ids[key] for key in root.get("aria-labelledby").split())
    assert title == "Losses by cause"
    assert "lost: 7 points, not hatched to unknown, 2 to 23" in about


def test_names_with_signs_of_markup_stay_names():
    name = 'a<b> & "c" \x07\ud800'
    chart = Chart(name, category_axis("", ("x",)), number_axis("n", "", 0, 2), (Bars(name, Role.MAIN, (0.0,), (1.0,)),))
    root = read(chart_svg(chart, CHART_PALETTES["day"], 480, 400))
    assert root[0].text == 'a<b> & "c"   '


def test_red_uses_no_green_and_no_blue():
    text = chart_svg(SAMPLES["timeline"](), CHART_PALETTES["red"], 480, 400)
    codes = {
        value for e in read(text).iter() for key in ("fill", "stroke") if (value := e.get(key)) and value != "none"
    }
    assert codes
    assert all(code[3:] == "0000" for code in codes)


def test_equal_charts_give_equal_text():
    texts = {chart_svg(SAMPLES["durations"](), CHART_PALETTES["day"], 480, 400) for _ in range(2)}
    assert len(texts) == 1
