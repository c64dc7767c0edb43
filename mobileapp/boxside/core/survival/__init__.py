"""Survival: curves, group tests, stages, life tables, shares, and whether a loss is more than deaths explain.

Few animals are the rule in a colony, so every result says how many events it rests on, and what limits it.
"""

from boxside.core.survival.bootstrap import (
    bootstrap,
    bootstrap_interval_quantile,
    bootstrap_quantile,
    bootstrap_survival,
    percentile_interval,
)
from boxside.core.survival.broods import Brood, GrowthEstimates, bootstrap_growth, table_of_broods
from boxside.core.survival.curve import (
    Band,
    Life,
    SurvivalCurve,
    quantile_day,
    quantile_interval,
    survival_curve,
)
from boxside.core.survival.inspections import Between
from boxside.core.survival.interval_curve import (
    IntervalCurve,
    QuantileRange,
    interval_curve,
    interval_quantile,
)
from boxside.core.survival.life_table import LifeTable, life_table
from boxside.core.survival.logrank import GroupTest, Weighting, group_test
from boxside.core.survival.losses import LossJudgement, LossVerdict, judge_loss
from boxside.core.survival.pictures import counts_chart, stage_chart, survival_chart
from boxside.core.survival.proportions import binomial_test, clopper_pearson, share_difference, wilson
from boxside.core.survival.stage_table import StageLine, StageTable, stage_table, table_of_shares
from boxside.core.survival.stages import (
    Fate,
    Missing,
    Span,
    StageLength,
    StageSurvival,
    Stay,
    both_ways,
    life_table_of_stages,
    stage_survival,
)

__all__ = [
    "Band",
    "Between",
    "Brood",
    "Fate",
    "GroupTest",
    "GrowthEstimates",
    "IntervalCurve",
    "Life",
    "LifeTable",
    "LossJudgement",
    "LossVerdict",
    "Missing",
    "QuantileRange",
    "Span",
    "StageLength",
    "StageLine",
    "StageSurvival",
    "StageTable",
    "Stay",
    "SurvivalCurve",
    "Weighting",
    "binomial_test",
    "bootstrap",
    "bootstrap_growth",
    "bootstrap_interval_quantile",
    "bootstrap_quantile",
    "bootstrap_survival",
    "both_ways",
    "clopper_pearson",
    "counts_chart",
    "group_test",
    "interval_curve",
    "interval_quantile",
    "judge_loss",
    "life_table",
    "life_table_of_stages",
    "percentile_interval",
    "quantile_day",
    "quantile_interval",
    "share_difference",
    "stage_chart",
    "stage_survival",
    "stage_table",
    "survival_chart",
    "survival_curve",
    "table_of_broods",
    "table_of_shares",
    "wilson",
]
