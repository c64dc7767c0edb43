"""Relatedness of cohorts and individuals, effective size, gene diversity, newcomers and pairings.

Values in, values out. A line is a sequence of `boxside.core.values.lineage.Cohort`; `kinships` says how all
of them are related, everything else reads that table.
"""

from boxside.core.breeding.choice import Choice, choice_of
from boxside.core.breeding.contributions import Contributions, best_contributions
from boxside.core.breeding.diversity import (
    Diversity,
    Scheme,
    diversity_ahead,
    founder_genomes,
    kinship_ahead,
    living_diversity,
)
from boxside.core.breeding.kinship import Kinships, kinships, paternity_range, with_cohort
from boxside.core.breeding.newcomers import (
    kinship_with_newcomers,
    newcomer_share,
    newcomers_as_equals,
    newcomers_each_generation,
    newcomers_once,
)
from boxside.core.breeding.order import check_cohort, check_introduction, ordered_line
from boxside.core.breeding.pairings import best_pairings
from boxside.core.breeding.pedigree import Animal, Pedigree, pedigree
from boxside.core.breeding.size import (
    differentiation,
    diversity_after,
    effective_number,
    family_variance,
    inbreeding_after,
    size_from_families,
    size_from_inbreeding,
    size_from_sexes,
    size_needed,
    size_over_generations,
)

__all__ = [
    "Animal",
    "Choice",
    "Contributions",
    "Diversity",
    "Kinships",
    "Pedigree",
    "Scheme",
    "best_contributions",
    "best_pairings",
    "check_cohort",
    "check_introduction",
    "choice_of",
    "differentiation",
    "diversity_after",
    "diversity_ahead",
    "effective_number",
    "family_variance",
    "founder_genomes",
    "inbreeding_after",
    "kinship_ahead",
    "kinship_with_newcomers",
    "kinships",
    "living_diversity",
    "newcomer_share",
    "newcomers_as_equals",
    "newcomers_each_generation",
    "newcomers_once",
    "ordered_line",
    "paternity_range",
    "pedigree",
    "size_from_families",
    "size_from_inbreeding",
    "size_from_sexes",
    "size_needed",
    "size_over_generations",
    "with_cohort",
]
