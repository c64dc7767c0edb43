from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxside.core.planning import (
    DateOrder,
    LoggerLayout,
    daily_extremes,
    logger_layouts,
    read_logger,
    read_stamp,
)
from boxside.core.values.errors import EntryError

PLAIN = LoggerLayout(";", ",", (0,), 1, DateOrder.DAY_FIRST)
quick = settings(deadline=None, max_examples=100)


def table(*rows: str) -> str:
    return "\n".join(rows) + "\n"


@pytest.mark.parametrize(
    ("text", "order", "expected"),
    [
        ("2026-03-04 05:06:07", DateOrder.YEAR_FIRST, datetime(2026, 3, 4, 5, 6, 7)),
        ("2026/3/4 5:06", DateOrder.YEAR_FIRST, datetime(2026, 3, 4, 5, 6)),
        ("04.03.2026 05:06", DateOrder.DAY_FIRST, datetime(2026, 3, 4, 5, 6)),
        ("04.03.26 05.06", DateOrder.DAY_FIRST, datetime(2026, 3, 4, 5, 6)),
        ("3/4/2026 12:30:15 AM", DateOrder.MONTH_FIRST, datetime(2026, 3, 4, 0, 30, 15)),
        ("03-04-26 12:30 p.m.", DateOrder.MONTH_FIRST, datetime(2026, 3, 4, 12, 30)),
        ("2026-03-04T05:06:07.250", DateOrder.YEAR_FIRST, datetime(2026, 3, 4, 5, 6, 7)),
        ("4.3.2026, 5:06", DateOrder.DAY_FIRST, datetime(2026, 3, 4, 5, 6)),
        ("2026-03-04", DateOrder.YEAR_FIRST, datetime(2026, 3, 4)),
        ("04.03.2026 05:06", DateOrder.YEAR_FIRST, None),
        ("13/13/2026", DateOrder.DAY_FIRST, None),
        ("29.02.2026", DateOrder.DAY_FIRST, None),
        ("2026-03-04 25:00", DateOrder.YEAR_FIRST, None),
        ("2026-03-04 13:00 PM", DateOrder.YEAR_FIRST, None),
        ("21,5", DateOrder.DAY_FIRST, None),
        ("", DateOrder.DAY_FIRST, None),
    ],
)
def test_dates_as_loggers_write_them(text, order, expected):
    stamp = read_stamp(text, order)
    assert (stamp.at if stamp else None) == expected


def test_an_offset_that_is_written_is_kept():
    assert read_stamp("2026-03-04T05:06:07Z", DateOrder.YEAR_FIRST).offset_min == 0
    assert read_stamp("2026-03-04T05:06+05:30", DateOrder.YEAR_FIRST).offset_min == 330
    assert read_stamp("2026-03-04 05:06 -0300", DateOrder.YEAR_FIRST).offset_min == -180
    assert read_stamp("2026-03-04 05:06", DateOrder.YEAR_FIRST).offset_min is None


@quick
@given(st.datetimes(datetime(2000, 1, 1), datetime(2099, 12, 31)), st.sampled_from(list(DateOrder)))
def test_a_date_written_in_an_order_is_read_in_it(moment, order):
    form = {"ymd": "%Y-%m-%d", "dmy": "%d.%m.%Y", "mdy": "%m/%d/%y"}[order.value]
    moment = moment.replace(microsecond=0)
    assert read_stamp(moment.strftime(form + " %H:%M:%S"), order).at == moment
    assert read_stamp(moment.strftime(form + " %I:%M:%S %p"), order).at == moment


def test_rows_are_read_with_their_lines():
    reading = read_logger("\ufeff" + table("01.05.2026 10:00;19,5", "", "01.05.2026 11:00;20"), PLAIN)
    assert [(row.line, row.temperature_c) for row in reading.rows] == [(1, 19.5), (3, 20.0)]
    assert reading.problems == ()


def test_one_bad_line_keeps_all_out_and_every_bad_line_is_named():
    text = table(
        "01.05.2026 10:00;19,5",
        "01.05.2026 11:00;19.5",
        "31.02.2026 12:00;20",
        "01.05.2026 13:00",
        "01.05.2026 14:00;200",
        "01.05.2026 15:00;21",
    )
    reading = read_logger(text, PLAIN)
    assert reading.rows == ()
    assert [problem.line for problem in reading.problems] == [2, 3, 4, 5]
    reasons = [problem.reason for problem in reading.problems]
    assert "“19.5” is no temperature with “,”" in reasons[0]
    assert "31.02.2026 12:00" in reasons[1]
    assert "1 columns" in reasons[2]
    assert "200.0 C" in reasons[3]


def test_a_missing_value_is_passed_over_only_where_the_keeper_says_so():
    text = table("01.05.2026 10:00;19,5", "01.05.2026 11:00;---")
    assert read_logger(text, PLAIN).problems[0].line == 2
    allowed = read_logger(text, replace(PLAIN, missing=("---",)))
    assert len(allowed.rows) == 1
    assert allowed.n_missing == 1


def test_an_empty_file_is_a_problem_and_not_a_success():
    for text in ("", "\n\n"):
        assert read_logger(text, PLAIN).problems != ()
    assert logger_layouts("").layouts == ()
    assert "date" in logger_layouts("hello;world\n1;2\n").question


def test_fahrenheit_becomes_celsius():
    text = table("Time;Temperature (°F)", "01.05.2026 10:00;68", "31.05.2026 10:00;50")
    (layout,) = {replace(option, decimal=".") for option in logger_layouts(text).layouts}
    assert layout.fahrenheit
    assert [row.temperature_c for row in read_logger(text, layout).rows] == pytest.approx([20, 10])


def test_a_table_with_heading_number_column_and_humidity_is_recognised():
    text = table(
        "Device 0815",
        "#;Date;Time;Humidity %;Temp. °C",
        "1;13.05.2026;10:00;85,5;19,5",
        "2;13.05.2026;11:00;86,0;19,9",
    )
    choice = logger_layouts(text)
    (layout,) = choice.layouts
    assert choice.question == ""
    assert choice.columns[layout.value] == "Temp. °C"
    assert (layout.when, layout.decimal, layout.order) == ((1, 2), ",", DateOrder.DAY_FIRST)
    assert layout.first_line == 3
    assert [row.temperature_c for row in read_logger(text, layout).rows] == [19.5, 19.9]


def test_day_and_month_that_cannot_be_told_apart_are_asked_for():
    text = table("time,temp", "03/04/2026 10:00,19.5", "05/04/2026 10:00,19.9")
    choice = logger_layouts(text)
    assert {layout.order for layout in choice.layouts} == {DateOrder.DAY_FIRST, DateOrder.MONTH_FIRST}
    assert choice.question == "Is the day or the month written first?"
    settled = logger_layouts(text + "13/04/2026 10:00,20.0\n")
    assert [layout.order for layout in settled.layouts] == [DateOrder.DAY_FIRST]


def test_two_number_columns_without_a_heading_are_asked_for():
    choice = logger_layouts(table("2026-05-01 10:00\t19.5\t45.5", "2026-05-01 11:00\t19.6\t45.0"))
    assert choice.question == "Which column is the temperature: 2, 3?"
    assert [layout.value for layout in choice.layouts] == [1, 2]
    # A column that is too hot for any room is none of temperatures.
    moist = logger_layouts(table("2026-05-01 10:00\t19.5\t85.5", "2026-05-01 11:00\t19.6\t85.0"))
    assert [layout.value for layout in moist.layouts] == [1]


def test_a_separator_line_is_believed():
    text = table("sep=|", "when|temp", "2026-05-01 10:00|19.5")
    (layout,) = logger_layouts(text).layouts
    assert layout.delimiter == "|"
    assert layout.first_line == 3


def test_a_file_with_a_bad_line_is_still_offered_so_that_the_line_can_be_named():
    text = table("when;temp", "2026-05-01 10:00;19.5", "2026-05-01 11:00;broken")
    (layout,) = logger_layouts(text).layouts
    assert [problem.line for problem in read_logger(text, layout).problems] == [3]


def hourly(first: datetime, hours: int, form="%Y-%m-%d %H:%M") -> str:
    rows = [f"{(first + timedelta(hours=i)).strftime(form)};{15 + i % 24 / 2}" for i in range(hours)]
    return table("when;temp", *rows)


def days_of(text: str, offset_min: int = 0):
    (layout,) = logger_layouts(text).layouts
    return daily_extremes(read_logger(text, layout).rows, lambda _: offset_min)


def test_whole_days_get_their_extremes_and_partial_days_are_named():
    found = days_of(hourly(datetime(2026, 5, 1, 0), 60))
    assert [(day.on, day.min_c, day.max_c, day.filled) for day in found.days] == [
        (date(2026, 5, 1), 15.0, 26.5, False),
        (date(2026, 5, 2), 15.0, 26.5, False),
    ]
    assert found.partial == (date(2026, 5, 3),)


def test_times_written_in_utc_fall_on_the_keepers_day():
    # 22:00 UTC is midnight two hours east.
    found = days_of(hourly(datetime(2026, 5, 1, 22), 24, "%Y-%m-%dT%H:%MZ"), 120)
    assert [day.on for day in found.days] == [date(2026, 5, 2)]
    assert found.partial == ()


@quick
@given(st.lists(st.floats(-10, 40), min_size=24, max_size=24), st.randoms(use_true_random=False))
def test_the_order_of_rows_does_not_matter(values, chance):
    rows = [f"2026-05-01 {hour:02d}:00;{value:.2f}" for hour, value in enumerate(values)]
    layout = LoggerLayout(";", ".", (0,), 1, DateOrder.YEAR_FIRST)
    straight = daily_extremes(read_logger(table(*rows), layout).rows, lambda _: 0)
    chance.shuffle(rows)
    assert daily_extremes(read_logger(table(*rows), layout).rows, lambda _: 0) == straight
    (day,) = straight.days
    assert day.min_c <= day.max_c


def test_a_quote_that_swallows_the_rest_of_a_file_is_told_with_its_line() -> None:
    text = 'Time,Temp\n2026-06-10 00:00,15\n"2026-06-10 01:00,' + "x" * 200_000
    with pytest.raises(EntryError, match=r"Line \d+ is no line of a table"):
        logger_layouts(text)
