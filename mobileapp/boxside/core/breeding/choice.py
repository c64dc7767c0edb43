"""Which females could meet which males, and what their families would do to the next pool."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from boxside.core.breeding.draw import Floats
from boxside.core.breeding.kinship import Kinships
from boxside.core.breeding.transport import Allowed, Counts, most_families
from boxside.core.values.errors import EntryError
from boxside.core.values.lineage import Available, PairingRequest, Window
from boxside.core.values.stages import Sex


@dataclass(frozen=True, slots=True)
class Choice:
    """All that the choice of pairings depends on; females are rows, males columns.

    Parameters
    ----------
    females, males : what is available, ids in order
    allowed : (females, males), dates overlap and kinship is not too close
    kinship : (females, males); `among_females` (females, females) and `among_males` (males, males): of distinct
        animals; `own_f`, `own_m`: of an animal with itself
    most_f, most_m : families that each source can have
    to_standing_f, to_standing_m : mean kinship to the standing animals; `standing`: among these
    offspring_frac : share of the offspring in the next pool
    """

    females: tuple[Available, ...]
    males: tuple[Available, ...]
    allowed: Allowed
    kinship: Floats
    among_females: Floats
    among_males: Floats
    own_f: Floats
    own_m: Floats
    most_f: Counts
    most_m: Counts
    to_standing_f: Floats
    to_standing_m: Floats
    standing: float
    offspring_frac: float


def choice_of(known: Kinships, available: Sequence[Available], request: PairingRequest) -> Choice:
    """Return the choice; EntryError, saying why, if the families that are asked for cannot be had."""
    _check_request(request)
    females = _of_sex(available, Sex.FEMALE)
    males = _of_sex(available, Sex.MALE)
    rows = np.array([known.row(item.cohort) for item in females], dtype=np.intp)
    columns = np.array([known.row(item.cohort) for item in males], dtype=np.intp)
    _refuse_empty(females, males)
    kinship = known.between[np.ix_(rows, columns)]
    allowed = _meeting(females, males) & (kinship <= request.max_kinship)
    own = (1.0 + known.inbreeding) / 2.0
    to_standing, standing = _standing(known, request)
    choice = Choice(
        females,
        males,
        allowed,
        kinship,
        known.between[np.ix_(rows, rows)],
        known.between[np.ix_(columns, columns)],
        own[rows],
        own[columns],
        np.array([item.n for item in females]),
        np.array([item.n * request.clutches_per_male for item in males]),
        to_standing[rows],
        to_standing[columns],
        standing,
        1.0 - request.standing_frac,
    )
    _refuse_too_few(choice, request)
    return choice


def overlap_of(female: Available, male: Available) -> tuple[bool, Window | None]:
    """Return whether both can meet, and when (None: at any time)."""
    if female.window is None or male.window is None:
        return True, female.window or male.window
    both = female.window.overlap(male.window)
    return both is not None, both


def _check_request(request: PairingRequest) -> None:
    if request.n_families < 1 or request.clutches_per_male < 1:
        raise EntryError("Ask for at least one family, and at least one clutch for each male.")
    if request.most_families and request.most_families < request.n_families:
        raise EntryError("The most families cannot be fewer than the least. Enter another number.")
    if not 0.0 <= request.standing_frac < 1.0 or (request.standing_frac > 0 and not request.standing):
        raise EntryError("The share of standing animals lies from 0 to below 1, and needs these animals named.")


def _of_sex(available: Sequence[Available], sex: Sex) -> tuple[Available, ...]:
    if any(item.n < 0 or item.sex is Sex.UNKNOWN for item in available):
        raise EntryError("Animals to breed from must be sexed and 0 or more. Sex them as pupae or adults first.")
    return tuple(sorted((x for x in available if x.sex is sex and x.n > 0), key=lambda x: x.cohort))


def _refuse_empty(females: tuple[Available, ...], males: tuple[Available, ...]) -> None:
    missing = [word for word, items in (("female", females), ("male", males)) if not items]
    if missing:
        raise EntryError(
            f"No {' and no '.join(missing)} is available, so nothing can be paired. "
            "Wait for the next to emerge, or ask another keeper."
        )


def _meeting(females: Sequence[Available], males: Sequence[Available]) -> Allowed:
    return np.array([[overlap_of(female, male)[0] for male in males] for female in females], dtype=np.bool_)


def _standing(known: Kinships, request: PairingRequest) -> tuple[Floats, float]:
    counts = np.zeros(len(known.cohorts))
    for item in request.standing:
        counts[known.row(item.cohort)] += item.n
    n = counts.sum()
    if n <= 0:
        return counts, 0.0
    to_each = known.between @ counts / n
    own = (1.0 + known.inbreeding) / 2.0 - known.between.diagonal()
    return to_each, float(counts @ to_each / n + counts @ own / n**2)


def _refuse_too_few(choice: Choice, request: PairingRequest) -> None:
    possible = int(most_families(choice.allowed, choice.most_f, choice.most_m).sum())
    if possible >= request.n_families:
        return
    wanted = "1 family was" if request.n_families == 1 else f"{request.n_families} families were"
    raise EntryError(
        f"{wanted} asked for, but only {possible} can be had. "
        f"{_limits(choice, request)} Ask for fewer, let a male serve more clutches, or allow closer kin."
    )


def _limits(choice: Choice, request: PairingRequest) -> str:
    texts = []
    if choice.most_f.sum() < request.n_families:
        texts.append(f"There are {int(choice.most_f.sum())} females.")
    if choice.most_m.sum() < request.n_families:
        texts.append(f"The males can serve {int(choice.most_m.sum())} clutches.")
    for i, item in enumerate(choice.females):
        if not choice.allowed[i].any():
            why = _why_alone(choice, i)
            texts.append(f"{why[:1].upper()}{why[1:]} for the females of {item.cohort}.")
    return " ".join(texts) or "The animals that are adult together are too few."


def _why_alone(choice: Choice, row: int) -> str:
    meets = any(overlap_of(choice.females[row], male)[0] for male in choice.males)
    return "all males are too closely related" if meets else "no male is adult at the right time"
