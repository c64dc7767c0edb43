"""The parents of one sex that a clutch is said, or thought, to have."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Protocol

from boxside.actions.stays import Stay
from boxside.core.values.event import Json
from boxside.core.values.lineage import Cohort, Parents, Source
from boxside.core.values.stages import Sex

_WORDS = {Sex.FEMALE: "females", Sex.MALE: "males"}


class Names(Protocol):
    """The names under which cohorts stand in the line, by id."""

    @property
    def names(self) -> Mapping[str, str]:
        """Names by id."""
        ...


@dataclass(slots=True)
class Claim:
    """Possible parents of one sex.

    `numbers` says how many of each cohort, by name; `n` how many of them bred. `weights` are chances where these were
    entered. `basis` is entered, together (they were in the box), mother or unknown. `pooled` names, for a
    cohort, the animals in one box that several clutches share; `before` are such pools that stand before this clutch.
    """

    sex: Sex
    numbers: dict[str, int]
    n: int
    basis: str
    weights: dict[str, float] = field(default_factory=dict)
    is_stated_n: bool = False
    are_sexed: bool = True
    pooled: dict[str, str] = field(default_factory=dict)
    before: list[Cohort] = field(default_factory=list)

    @property
    def n_possible(self) -> int:
        """How many animals come into question."""
        return sum(self.numbers.values())

    @property
    def is_sure(self) -> bool:
        """Whether all that come into question are parents."""
        return self.n >= self.n_possible and not self.weights

    def parents(self) -> Parents:
        """Return them as the line takes them: counted where all of them bred, else by chance."""
        if self.is_sure:
            return Parents(tuple(Source(self.pooled.get(name, name), n=n) for name, n in self.numbers.items()))
        shares = self.weights or {name: float(n) for name, n in self.numbers.items()}
        one = len(self.numbers) == 1
        sources = tuple(
            Source(self.pooled.get(name, name), weight=None if one else shares.get(name, 1.0)) for name in self.numbers
        )
        return Parents(sources, n=max(self.n, 1))


def claim_of(data: Mapping[str, Json], sex: Sex, line: Names, stay: Stay | None, mother: str) -> Claim:
    """Return the possible dams or sires of a clutch: as entered, else its mother, else who was together."""
    claim = _entered(data, sex, line) or _mother(line, sex, mother) or _together(line, sex, stay)
    stated = data.get("n_dams" if sex is Sex.FEMALE else "n_sires")
    laid_by = data.get("laid_by") if sex is Sex.FEMALE else None
    if laid_by in ("female", "group"):
        claim.n, claim.is_stated_n = claim.n_possible if laid_by == "group" else 1, True
    elif isinstance(stated, int) and not isinstance(stated, bool) and stated > 0:
        claim.n, claim.is_stated_n = stated, True
    elif laid_by == "some":
        claim.n = 1
    if claim.numbers and not claim.weights and claim.n > claim.n_possible:
        _raise_to(claim)
    return claim


def _raise_to(claim: Claim) -> None:
    """More were said to have bred than were listed: the list gave chances, not numbers."""
    claim.weights = {name: float(n) for name, n in claim.numbers.items()}


def _entered(data: Mapping[str, Json], sex: Sex, line: Names) -> Claim | None:
    listed = data.get("parents")
    numbers: dict[str, int] = {}
    weights: dict[str, float] = {}
    for part in listed if isinstance(listed, list) else ():
        if not isinstance(part, dict) or part.get("sex") != sex.value:
            continue
        name = line.names.get(str(part.get("cohort")))
        if name is None:
            continue
        n, weight = part.get("n"), part.get("weight")
        numbers[name] = numbers.get(name, 0) + (n if isinstance(n, int) and n > 0 else 1)
        if isinstance(weight, (int, float)) and weight > 0:
            weights[name] = weights.get(name, 0.0) + float(weight)
    if not numbers:
        return None
    if len(weights) < len(numbers):
        return Claim(sex, numbers, sum(numbers.values()), "entered")
    return Claim(sex, numbers, 1, "entered", weights)


def _mother(line: Names, sex: Sex, mother: str) -> Claim | None:
    name = line.names.get(mother) if sex is Sex.FEMALE else None
    return Claim(sex, {name: 1}, 1, "mother") if name else None


def _together(line: Names, sex: Sex, stay: Stay | None) -> Claim:
    """One female a clutch, unless it is said otherwise; any of the males that had been with her."""
    there = (stay.females if sex is Sex.FEMALE else stay.males) if stay else {}
    numbers: dict[str, int] = {}
    for cohort, n in there.items():
        if cohort in line.names:
            numbers[line.names[cohort]] = n
    if not numbers:
        return Claim(sex, {}, 1, "unknown")
    n = 1 if sex is Sex.FEMALE else sum(numbers.values())
    return Claim(sex, numbers, n, "together", are_sexed=stay.are_sexed if stay else True)


def noted(claim: Claim) -> list[str]:
    """Return what is assumed of these parents, in sentences."""
    if claim.basis in ("unknown", "mother"):
        return []
    many = _WORDS[claim.sex]
    texts = []
    if not claim.are_sexed:
        texts.append(f"The adults were not sexed: any of the {claim.n_possible} may be its {many}.")
    if claim.sex is Sex.FEMALE and not claim.is_sure and not claim.is_stated_n:
        texts.append(
            f"Laid by {claim.n} of {claim.n_possible} {many}: how many was not said, so one is counted, "
            "which makes its animals full sibs. Say how many if there were more."
        )
    elif not claim.is_sure:
        texts.append(f"{claim.n} of {max(claim.n_possible, claim.n)} possible {many}.")
    if claim.basis == "together" and claim.sex is Sex.MALE and claim.n_possible > 1:
        texts.append(f"Any of the {claim.n_possible} males that were with the females may be the father.")
    return texts
