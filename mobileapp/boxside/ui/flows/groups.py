"""Asks which animals are meant where a box holds several groups; without a tap where it holds one."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from boxside.core.values.event import Json
from boxside.core.values.season import Group
from boxside.ui.flows.stop import Stop
from boxside.ui.words import say

# Kinds that take animals away or tell them apart, so that it matters which they were.
PICKS = ("died", "cannibalism", "failed_moult", "escaped", "given_away", "unhatched")


def ask_group(stop: Stop, groups: Sequence[Group], title: str, then: Callable[[Stop, dict[str, Json]], None]) -> None:
    """Ask for the cohort, stage and sex of the animals meant, then go on with what selects them."""
    kinds: dict[tuple[str, str, str], list[Group]] = {}
    for group in groups:
        kinds.setdefault((group.cohort, group.stage, group.sex), []).append(group)
    if len(kinds) < 2:
        then(stop, {})
        return

    def chosen(key: tuple[str, str, str] | None) -> None:
        then(stop, {} if key is None else selectors(*key))

    items: list[tuple[tuple[str, str, str] | None, str, str]] = [
        (key, said(found), found[0].stage) for key, found in kinds.items()
    ]
    items.append((None, say("which_unknown"), "unknown"))
    stop.shell.open_choices(f"{title}: {say('which')}", items, chosen)


def said(found: Sequence[Group]) -> str:
    """Return groups that differ by instar only, in words."""
    if len(found) == 1:
        return found[0].label
    first = found[0]
    return f"{sum(group.n for group in found)} · {first.stage} · {first.cohort_name}"


def selectors(cohort: str, stage: str, sex: str) -> dict[str, Json]:
    """Return the fields that narrow an entry down to such animals."""
    picked: dict[str, Json] = {"cohort": cohort or None, "stage": stage, "sex": None if sex == "unknown" else sex}
    return {name: value for name, value in picked.items() if value}


def pick_several(
    stop: Stop, title: str, items: Sequence[tuple[str, str]], least: int, then: Callable[[tuple[str, ...]], None],
    picked: tuple[str, ...] = (),
) -> None:  # fmt: skip
    """Ask for several of the (key, words) given: each tap takes one in or out, until it is said that these are it."""

    def chosen(key: str) -> None:
        if key == "":
            then(picked)
            return
        changed = tuple(k for k in picked if k != key) if key in picked else (*picked, key)
        pick_several(stop, title, items, least, then, changed)

    shown = [(key, words, "check" if key in picked else "add") for key, words in items]
    if len(picked) >= least:
        shown.append(("", say("these", n=len(picked)), "right"))
    stop.shell.open_choices(title, shown, chosen, say("pick_several"))


__all__ = ["PICKS", "ask_group", "pick_several", "said", "selectors"]
