"""The coming weeks: prey, leaving home, winter rest, heavy days, calendar files, a logger's temperatures."""

from boxside.core.planning.away import AwayPlan, Chore, DatedTask, Unattended, away_plan
from boxside.core.planning.calendar_text import CalendarEntry, calendar_file, entry_uid
from boxside.core.planning.figures import Figure, How, Term, product_of, sum_of
from boxside.core.planning.load import DayLoad, Moved, Smoothed, load_by_day, smoothed_load
from boxside.core.planning.logger_csv import (
    LineProblem,
    LoggerLayout,
    LoggerReading,
    LoggerRow,
    read_logger,
)
from boxside.core.planning.logger_dates import DateOrder, Stamp, read_stamp
from boxside.core.planning.logger_days import LoggerDays, daily_extremes
from boxside.core.planning.logger_layout import LayoutChoice, logger_layouts
from boxside.core.planning.prey import (
    BoxMeals,
    Breeder,
    Demand,
    PastMeal,
    PlannedMeal,
    SetAside,
    StockOut,
    demand,
    helping,
    meals_ahead,
    set_aside,
    stock_out,
)
from boxside.core.planning.prey_fit import (
    BatchMeal,
    BatchUse,
    PreyClass,
    PreyFit,
    SizeRule,
    batch_use,
    fitting_prey,
)
from boxside.core.planning.rest import Resting, RestRow, Waking, resting_rows, wakings

__all__ = [
    "AwayPlan",
    "BatchMeal",
    "BatchUse",
    "BoxMeals",
    "Breeder",
    "CalendarEntry",
    "Chore",
    "DateOrder",
    "DatedTask",
    "DayLoad",
    "Demand",
    "Figure",
    "How",
    "LayoutChoice",
    "LineProblem",
    "LoggerDays",
    "LoggerLayout",
    "LoggerReading",
    "LoggerRow",
    "Moved",
    "PastMeal",
    "PlannedMeal",
    "PreyClass",
    "PreyFit",
    "RestRow",
    "Resting",
    "SetAside",
    "SizeRule",
    "Smoothed",
    "Stamp",
    "StockOut",
    "Term",
    "Unattended",
    "Waking",
    "away_plan",
    "batch_use",
    "calendar_file",
    "daily_extremes",
    "demand",
    "entry_uid",
    "fitting_prey",
    "helping",
    "load_by_day",
    "logger_layouts",
    "meals_ahead",
    "product_of",
    "read_logger",
    "read_stamp",
    "resting_rows",
    "set_aside",
    "smoothed_load",
    "stock_out",
    "sum_of",
    "wakings",
]
