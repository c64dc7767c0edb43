"""What is believed about the survival of a stage, and a loss in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from boxside.core.values.estimates import BetaBelief
from boxside.core.values.ledger import Account
from boxside.core.values.stages import Stage

PRIOR_ANIMALS = 8.0
"""How many animals the starting value of a stage's survival counts for (common practice, no source)."""

STARTING_SURVIVAL: Mapping[Stage, float] = {
    Stage.EGG: 0.7, Stage.LARVA: 0.5, Stage.PREPUPA: 0.9, Stage.PUPA: 0.85, Stage.ADULT: 0.05,
}  # fmt: skip
"""Share that survives a stage before the colony has shown its own (common practice, no source)."""


def stage_beliefs(sums: Mapping[tuple[str, str], int]) -> dict[Stage, BetaBelief]:
    """Return what is believed about the share that survives each stage, from the colony's own balances.

    Parameters
    ----------
    sums : balance by (stage, account), the account of animals in boxes being empty

    Notes
    -----
    Whoever is past a stage went through it: by the double entry the balances of a stage and of all before
    it add up to minus the number that went on. Only animals found dead count as dead; unaccounted ones do not,
    or a leak would come to look like ordinary mortality. Animals that came in at a later stage went through
    nothing. Each belief starts as `PRIOR_ANIMALS` animals of `STARTING_SURVIVAL`. Adults all die: theirs is the
    starting value, a share alive at the end of the usual life.
    """
    beliefs, carried = {}, 0
    for stage in Stage:
        carried += sum(n for (name, _), n in sums.items() if name == stage)
        through, dead = max(0, -carried), max(0, sums.get((stage, Account.DEAD), 0))
        if stage is Stage.ADULT:
            through, dead = 0, 0
        share = STARTING_SURVIVAL[stage]
        beliefs[stage] = BetaBelief(PRIOR_ANIMALS * share + through, PRIOR_ANIMALS * (1 - share) + dead)
    return beliefs


def chance_words(p: float) -> str:
    """Return a chance as a keeper says it.

    Examples
    --------
    >>> chance_words(0.2), chance_words(0.004), chance_words(1e-9)
    ('about 1 in 5', 'about 1 in 250', 'fewer than 1 in 10,000')
    """
    if p >= 0.5:
        return "every other or more"
    if p < 1e-4:
        return "fewer than 1 in 10,000"
    return f"about 1 in {round(1 / p):,}"


def loss_sentence(
    what: str, n_expected: int, n_counted: int, days: int, most_lost: int, p_value: float, is_more: bool
) -> str:
    """Return a loss at a complete count and whether deaths explain it, in one or two sentences.

    Parameters
    ----------
    what : the animals in words, plural, such as larvae
    days : since they were last all accounted for
    most_lost : the most that die in 95 % of such boxes in that time
    p_value : chance of losing so many or more by deaths alone
    is_more : whether that is more than deaths explain
    """
    lost = n_expected - n_counted
    since = f"in {days} day{'' if days == 1 else 's'}"
    head = f"{lost} of {n_expected} {what} {'is' if lost == 1 else 'are'} missing {since}"
    usual = "hardly any" if most_lost == 0 else f"up to {most_lost}"
    if is_more:
        return (
            f"{head}, more than deaths explain: ordinary are {usual}, and a loss like this "
            f"comes to {chance_words(p_value)} such boxes"
        )
    return f"{head}; deaths alone may explain it: {usual} in that time {'is' if most_lost < 2 else 'are'} ordinary"


def look_where(stages: Sequence[Stage], vents: str = "", old_box: str = "") -> tuple[str, ...]:
    """Return where to look for missing animals, likeliest place first (common practice, no source).

    Parameters
    ----------
    stages : of the animals missing
    vents : how the box is ventilated, in the keeper's word
    old_box : code of the box they came from last, empty where that is long ago or empty already
    """
    places = [f"The old box {old_box}: in and under the lining"] if old_box else []
    if Stage.LARVA in stages or Stage.PREPUPA in stages:
        places.append("Under the lining, in folds and in empty snail shells")
    places.append("Under the lid and along its rim")
    if Stage.EGG in stages:
        return (*places, "In the lining: eggs stick to moss and paper, and shrivelled ones are easily missed")
    small = "newly hatched larvae leave through the smallest holes" if Stage.LARVA in stages else "any gap"
    places.append(f"The {vents + ' ' if vents else ''}vents and gauze: {small}")
    places.append("The shelf around the box, and the boxes next to it")
    return tuple(places)
