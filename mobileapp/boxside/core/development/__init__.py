"""How warmth and time drive development: temperature sums, expected dates, light, moisture."""

from boxside.core.development.climate import Climate, fill_gaps, fit_climate, steady_climate
from boxside.core.development.degree_days import (
    Averaging,
    double_sine,
    double_triangle,
    simple_average,
    single_sine,
    single_triangle,
)
from boxside.core.development.expectation import expected_date
from boxside.core.development.humidity import (
    Salt,
    SaltTest,
    condenses,
    dew_point_c,
    salt_humidity_percent,
    salt_test,
    saturation_hpa,
)
from boxside.core.development.light import LampHours, LightDay, Span, light_day
from boxside.core.development.many import Asked, expected_dates
from boxside.core.development.need import Need, learned_need, prior_need
from boxside.core.development.rate_curve import (
    RateCurve,
    briere_optimum_c,
    briere_rate,
    curve_of,
)
from boxside.core.development.rate_line import RateLine, ikemoto_takai_line, rate_line
from boxside.core.development.sexes import Meeting, Pupae, Range, Treatment, meetings
from boxside.core.development.simulate import Started
from boxside.core.development.sun import Crossing, HeightTimes, SunDay, height_times, sun_day

__all__ = [
    "Asked",
    "Averaging",
    "Climate",
    "Crossing",
    "HeightTimes",
    "LampHours",
    "LightDay",
    "Meeting",
    "Need",
    "Pupae",
    "Range",
    "RateCurve",
    "RateLine",
    "Salt",
    "SaltTest",
    "Span",
    "Started",
    "SunDay",
    "Treatment",
    "briere_optimum_c",
    "briere_rate",
    "condenses",
    "curve_of",
    "dew_point_c",
    "double_sine",
    "double_triangle",
    "expected_date",
    "expected_dates",
    "fill_gaps",
    "fit_climate",
    "height_times",
    "ikemoto_takai_line",
    "learned_need",
    "light_day",
    "meetings",
    "prior_need",
    "rate_line",
    "salt_humidity_percent",
    "salt_test",
    "saturation_hpa",
    "simple_average",
    "single_sine",
    "single_triangle",
    "steady_climate",
    "sun_day",
]
