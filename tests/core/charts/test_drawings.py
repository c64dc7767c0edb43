"""What is drawn and told: ticks, names, keys, empty charts, what a tap tells."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import combinations, pairwise

import pytest

from boxside.core.charts import CHART_PALETTES, Hatch, Ink, Marker, Polyline, Rect, Strip, dashes, layout
from boxside.core.charts.hatch import hatched
from boxside.core.charts.style import DASHES, FORMS, Texture, dash, form, is_hollow, textures
from boxside.core.values.chart import Bars, Chart, Dots, Role, Steps, category_axis, number_axis
from boxside.ui.contrast import contrast, rgb_of
from tests.core.charts.pieces import letter_measure
from tests.core.charts.samples import SAMPLES, durations, feedings, losses, nothing, survival, timeline


def drawn(chart, width=360, height=360, scale=1.0):
    return layout(chart, width, height, letter_measure, scale=scale)


def words(drawing):
    return [text.text for text in drawing.texts]


def test_long_names_of_places_turn_the_chart_and_stand_whole():
    shown = words(drawn(losses(), 480, 400))
    assert {"drowned in condensation", "eaten by another larva"} <= set(shown)


def test_short_names_of_places_stand_below():
    chart = SAMPLES["stages"]()
    drawing = drawn(chart)
    names = {text.text: text for text in drawing.texts}
    assert names["egg"].y > drawing.plot[3]
    assert names["egg"].box[2] < names["larva"].box[0]


def test_days_are_marked_on_first_days_of_months_with_the_year():
    shown = words(drawn(timeline()))
    assert "Jan 2026" in shown
    assert "Jul" in shown


def test_a_lone_mark_of_days_carries_its_month():
    assert "Jan 2026" in words(drawn(timeline(), 360, 640, 2.0))


def test_every_series_is_named_inside_or_in_the_legend():
    for scale in (1.0, 1.5):
        assert {layer.name for layer in timeline().series} <= set(words(drawn(timeline(), 360, 400, scale)))


def test_marks_on_lines_are_explained():
    assert "left observation" in words(drawn(survival()))


def test_no_half_animal_is_marked():
    counts = Chart(
        "t",
        category_axis("", ("a", "b")),
        number_axis("animals", "", 0, 2),
        (Bars("n", Role.MAIN, (0.0, 1.0), (2.0, 1.0)),),
    )
    ticks = [text.text for text in drawn(counts).texts if text.text.replace(".", "").isdigit()]
    assert not [tick for tick in ticks if "." in tick]


def test_an_empty_chart_says_what_is_missing():
    drawing = drawn(nothing())
    assert " ".join(words(drawing)).endswith("nothing yet: no death was logged, and no cohort was closed")
    assert drawing.hits == ()
    assert "Nothing yet" in drawing.about


def test_a_picture_too_small_for_words_hands_its_texts_on():
    chart = survival()
    drawing = drawn(chart, 60, 40)
    assert drawing.texts == ()
    assert drawing.left_out == (chart.title, *chart.notes)


def test_values_that_are_not_numbers_are_left_out():
    chart = Chart(
        "t",
        number_axis("age", "d", 0, 3),
        number_axis("alive", "share", 0, 1),
        (Steps("s", Role.MAIN, (0.0, 1.0, 2.0), (1.0, math.nan, 0.5), 3.0),),
    )
    assert len(drawn(chart).hits) == 2


def test_a_tap_is_told_the_series_the_place_and_the_limits():
    told = drawn(SAMPLES["stages"]()).hits[0].label
    assert told == "stage egg\ngot through 0.82 (0.7 – 0.9)"
    assert drawn(feedings()).hits[0].label.startswith("week 2025-06-02\nfeedings ")
    assert any(hit.label.startswith("male · stage larva\nduration ") for hit in drawn(durations()).hits)


def test_bars_of_series_at_one_place_stand_side_by_side():
    series = tuple(Bars(name, Role.MAIN, (0.0, 1.0), (2.0, 1.0)) for name in "ab")
    chart = Chart("t", category_axis("", ("p", "q")), number_axis("n", "", 0, 2), series)
    bars = sorted(
        (s.x, s.x + s.width)
        for s in drawn(chart).shapes
        if isinstance(s, Rect) and s.paint is Role.MAIN and s.height > 15
    )
    assert len(bars) == 4
    assert all(before[1] <= after[0] for before, after in pairwise(bars))


def test_dots_of_one_place_are_moved_off_each_other_and_keep_their_height():
    chart = Chart(
        "t", category_axis("", ("p",)), number_axis("n", "", 0, 2), (Dots("d", Role.MAIN, (0.0,) * 12, (1.0,) * 12),)
    )
    dots = [s for s in drawn(chart).shapes if isinstance(s, Marker)]
    assert len(dots) == 12
    assert len({dot.y for dot in dots}) == 1
    spots = sorted(dot.x for dot in dots)
    assert min(b - a for a, b in pairwise(spots)) >= 1.9 * dots[0].radius


def test_neighbours_differ_by_more_than_colour():
    assert len(set(DASHES)) == len(DASHES)
    assert len({dash(i, 1.0) for i in range(5)}) == 5
    assert len({(form(i), is_hollow(i)) for i in range(4)}) == 4 == len(FORMS)
    for name, sample in SAMPLES.items():
        kinds = textures(sample())
        assert all(a != b for a, b in combinations(kinds, 2)), name


def test_a_stage_has_one_texture_in_every_chart():
    whole = dict(zip((s.name for s in timeline().series), textures(timeline()), strict=True))
    part = replace(timeline(), series=timeline().series[1:3])
    assert textures(part) == (whole["larvae"], whole["prepupae"])


@pytest.mark.parametrize("texture", [t for t in Texture if t is not Texture.PLAIN])
def test_a_texture_stays_inside_its_area(texture):
    box = ((10.0, 20.0), (110.0, 20.0), (110.0, 80.0), (10.0, 80.0))
    (hatch,) = hatched(box, texture, 1.0)
    assert isinstance(hatch, Hatch)
    assert len(hatch.segments) > 8
    for x, y in (point for segment in hatch.segments for point in segment):
        assert 10 - 1e-9 <= x <= 110 + 1e-9
        assert 20 - 1e-9 <= y <= 80 + 1e-9


def test_a_dash_covers_its_share_of_a_line():
    line = Polyline(((0.0, 0.0), (60.0, 0.0), (60.0, 40.0)), Role.MAIN, 1.0, (6.0, 4.0))
    pieces = dashes(line)
    length = sum(math.dist(a, b) for piece in pieces for a, b in pairwise(piece))
    assert length == pytest.approx(60.0)
    assert len(pieces) == 10


# W3C 2023, Web Content Accessibility Guidelines 2.2: 1.4.3 asks 4.5:1 of text, 1.4.11 asks 3:1 of graphics.
@pytest.mark.parametrize("theme", CHART_PALETTES)
def test_every_colour_stands_out_from_the_ground(theme):
    palette = CHART_PALETTES[theme]
    ground = rgb_of(palette["ground"])
    for paint in (*Role, Ink.AXIS):
        assert contrast(rgb_of(palette[paint]), ground) >= 3.0, paint
    for paint in (Ink.TEXT, Ink.SOFT):
        assert contrast(rgb_of(palette[paint]), ground) >= 4.5, paint


@pytest.mark.parametrize("theme", CHART_PALETTES)
def test_words_in_a_picture_stand_on_the_ground(theme):
    """Numbers and names over an area have a plate in the colour of the ground below them."""
    for name in ("timeline", "losses"):
        drawing = drawn(SAMPLES[name]())
        areas = [s for s in drawing.shapes if isinstance(s, Rect | Strip) and s.paint is not Ink.GROUND]
        plates = [s for s in drawing.shapes if isinstance(s, Rect) and s.paint is Ink.GROUND][1:]
        over = [t for t in drawing.texts if any(_is_over(t, a) for a in areas)]
        assert over
        for text in over:
            left, top, right, bottom = text.box
            assert any(
                p.x <= left and right <= p.x + p.width and p.y <= top + 0.01 and bottom <= p.y + p.height + 0.01
                for p in plates
            )


def _is_over(text, area):
    left, top, right, bottom = text.box
    if isinstance(area, Rect):
        return left < area.x + area.width and area.x < right and top < area.y + area.height and area.y < bottom
    return any(
        left < x < right and y0 < bottom and top < y1 for (x, y0), (_, y1) in zip(area.upper, area.lower, strict=True)
    )


def test_every_palette_has_every_paint_and_red_keeps_green_and_blue_off():
    for palette in CHART_PALETTES.values():
        assert set(palette) == {*map(str, Role), *map(str, Ink)}
    assert all(code[3:] == "0000" for code in CHART_PALETTES["red"].values())


def test_a_scale_of_nothing_is_refused():
    with pytest.raises(ValueError, match="scale"):
        drawn(losses(), scale=0.0)
