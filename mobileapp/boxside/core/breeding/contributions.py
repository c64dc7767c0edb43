"""Optimal contributions: the least mean kinship of the next pool, as a convex quadratic program.

References
----------
Meuwissen T.H.E. 1997, Maximizing the response of selection with a predefined rate of inbreeding, Journal of
Animal Science 75:934-940 (contributions under constraints). Caballero A., Toro M.A. 2000, Interrelations
between effective population size and other pedigree tools for the management of conserved populations,
Genetical Research 75:331-343 (least coancestry keeps most diversity). Montgomery M.E. et al. 1997,
Minimizing kinship in captive breeding programs, Zoo Biology 16:377-389 (tried on 40 populations of
Drosophila).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from boxside.core.breeding.choice import Choice
from boxside.core.breeding.draw import Floats
from boxside.core.breeding.program import Program, minimised


@dataclass(frozen=True, slots=True)
class Contributions:
    """Shares of all families, (females, males), adding up to 1; the mean kinship that they give, and how "
    "sure."""

    families: Floats
    mean_kinship: float
    kkt_residual: float


def best_contributions(choice: Choice, n_families: int) -> Contributions:
    """Return the shares of families that minimise the mean kinship of the next pool.

    Parameters
    ----------
    choice : with `n_families` possible
    n_families : at least so many females lay, so that none has more than 1 / `n_families` of the offspring

    Notes
    -----
    Within a source all animals share alike, the best that can be done with animals that are not told apart. Only the
    totals of each source are unique, not who is paired with whom. The program is convex as long as no more animals
    of a cohort are available than it has left; nothing here can count them again.
    """
    program, pairs = quadratic_program(choice, n_families)
    optimum = minimised(program)
    families = np.zeros(choice.allowed.shape)
    families[pairs[0], pairs[1]] = optimum.x
    rest = (1.0 - choice.offspring_frac) ** 2 * choice.standing
    return Contributions(families, optimum.value + rest, optimum.kkt_residual)


def quadratic_program(choice: Choice, n_families: int) -> tuple[Program, tuple[NDArray[np.intp], NDArray[np.intp]]]:
    """Return the program over the allowed pairs, and their (rows, columns)."""
    rows, columns = np.nonzero(choice.allowed)
    n_f, n_m = choice.allowed.shape
    members = np.zeros((n_f + n_m, len(rows)))
    members[rows, np.arange(len(rows))] = 1.0
    members[n_f + columns, np.arange(len(rows))] = 1.0
    frac = choice.offspring_frac
    hessian = frac**2 / 2.0 * members.T @ _source_kinship(choice) @ members
    to_standing = np.concatenate([choice.to_standing_f, choice.to_standing_m])
    linear = frac * (1.0 - frac) * to_standing @ members
    limits = np.concatenate([choice.most_f, choice.most_m]) / n_families
    return Program(hessian, linear, members, limits), (rows, columns)


def _source_kinship(choice: Choice) -> Floats:
    """Kinship of two random animals of each two sources, the same animal with chance 1/n within one."""
    females = _with_own(choice.among_females, choice.own_f, np.array([x.n for x in choice.females]))
    males = _with_own(choice.among_males, choice.own_m, np.array([x.n for x in choice.males]))
    return np.block([[females, choice.kinship], [choice.kinship.T, males]])


def _with_own(among: Floats, own: Floats, n: Floats) -> Floats:
    whole: Floats = among + np.diag((own - among.diagonal()) / n)
    return whole
