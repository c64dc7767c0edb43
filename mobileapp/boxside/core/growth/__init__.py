"""Growth: sizes over time, rates, instars by Dyar's rule, runts, near-mature larvae, earlier cohorts."""

from boxside.core.growth.compare import Measured, Pace, PaceComparison, compare_at_age
from boxside.core.growth.dyar import DyarFit, dyar_fit
from boxside.core.growth.expected import Frame, InstarGuess, expected_length_mm, guess_instars
from boxside.core.growth.instars import (
    CannotTell,
    InstarRule,
    InstarSplit,
    instar_probability,
    instars_of,
)
from boxside.core.growth.mixture import Mixture, MixtureRule, best_mixture, fit_mixture
from boxside.core.growth.overlap import Cut, Group, cut_between
from boxside.core.growth.pictures import size_chart
from boxside.core.growth.pupation import NearMature, near_mature
from boxside.core.growth.rates import (
    GrowthPerDay,
    growth_line,
    growth_of_pairs,
    growth_per_day,
    growth_per_moult,
)
from boxside.core.growth.sizes import Body, SizeDay, sizes_by_day
from boxside.core.growth.spread import SizeSpread, SpreadRule, size_spread

__all__ = [
    "Body",
    "CannotTell",
    "Cut",
    "DyarFit",
    "Frame",
    "Group",
    "GrowthPerDay",
    "InstarGuess",
    "InstarRule",
    "InstarSplit",
    "Measured",
    "Mixture",
    "MixtureRule",
    "NearMature",
    "Pace",
    "PaceComparison",
    "SizeDay",
    "SizeSpread",
    "SpreadRule",
    "best_mixture",
    "compare_at_age",
    "cut_between",
    "dyar_fit",
    "expected_length_mm",
    "fit_mixture",
    "growth_line",
    "growth_of_pairs",
    "growth_per_day",
    "growth_per_moult",
    "guess_instars",
    "instar_probability",
    "instars_of",
    "near_mature",
    "size_chart",
    "size_spread",
    "sizes_by_day",
]
