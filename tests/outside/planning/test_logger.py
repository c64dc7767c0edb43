from __future__ import annotations

import io

import numpy as np
import pandas as pd

from boxside.core.planning import daily_extremes, logger_layouts, read_logger


def test_decimal_comma_and_day_first_match_pandas_read_csv():
    rng = np.random.default_rng(12)
    moments = pd.date_range("2026-02-01", periods=400, freq="h")
    warmth = np.round(rng.normal(18, 3, 400), 1)
    lines = ["Nr;Datum Uhrzeit;Temp. (°C);rF (%)"]
    for i, (moment, celsius) in enumerate(zip(moments, warmth, strict=True)):
        lines.append(f"{i};{moment:%d.%m.%Y %H:%M};{str(celsius).replace('.', ',')};85,0")
    text = "\r\n".join(lines) + "\r\n"
    choice = logger_layouts(text)
    (layout,) = choice.layouts
    ours = daily_extremes(read_logger(text, layout).rows, lambda _: 0)
    frame = pd.read_csv(io.StringIO(text), sep=";", decimal=",", parse_dates=[1], date_format="%d.%m.%Y %H:%M")
    theirs = frame.groupby(frame["Datum Uhrzeit"].dt.date)["Temp. (°C)"].agg(["min", "max"])
    whole = theirs[frame.groupby(frame["Datum Uhrzeit"].dt.date).size() == 24]
    assert len(ours.days) == len(whole) == 16
    for day in ours.days:
        assert (day.min_c, day.max_c) == tuple(whole.loc[day.on])
    assert len(ours.partial) == 1
