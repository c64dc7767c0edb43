"""Brings males to females, and parts them; a few taps each."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from boxside.core.values.dusk import DuskRow, Offer
from boxside.core.values.views import Notice
from boxside.ui.words import say, say_n

ALONE = ("alone", "waiting")


def bring(screen: Any, row: DuskRow, button: Any) -> None:
    """Ask which males, the least related first, then how many."""
    if not row.offers:
        screen.shell.show(Notice(say("no_males"), do=say("no_males_do")))
        return
    items = [(offer, offer.text, "male") for offer in row.offers]
    title = f"{row.label}: {say('bring_males')}"
    screen.shell.open_choices(title, items, lambda offer: _how_many(screen, row, offer, button), say("bring_hint"))


def _how_many(screen: Any, row: DuskRow, offer: Offer, button: Any) -> None:
    def save(n: int) -> None:
        screen.keep("introduce", (row.box_id, offer.box_id, n, offer.cohort_id), button)

    if offer.n == 1:
        save(1)
        return
    screen.shell.open_number(
        f"{row.label}: {say('bring_males')}", hint=offer.text, value=1, minimum=1, maximum=offer.n, then=save
    )


def males_for(rows: Sequence[DuskRow], males: DuskRow) -> list[tuple[DuskRow, Offer]]:
    """Return the females without a male that the males of a box could go to, the least related first."""
    found = [(row, offer) for row in rows if row.state in ALONE for offer in row.offers if offer.box_id == males.box_id]
    return sorted(found, key=lambda pair: (pair[0].state != "alone", pair[1].kinship is None, pair[1].kinship or 0.0))


def bring_to(screen: Any, row: DuskRow, button: Any) -> None:
    """Ask to which females the males of a box go, then how many."""
    items = [
        ((females, offer), _to(females, offer), "glow" if females.is_glowing else "female")
        for females, offer in males_for(screen.view.rows, row)
    ]
    title = f"{row.label}: {say('bring_to')}"
    screen.shell.open_choices(title, items, lambda pair: _how_many(screen, pair[0], pair[1], button), say("bring_hint"))


def _to(row: DuskRow, offer: Offer) -> str:
    """Return the females of a box as males could be brought to them, short enough for a button in large type."""
    females = say_n("n_females", row.n_females)
    related = "" if offer.kinship is None else ", " + say("kinship", value=f"{offer.kinship:.3f}").lower()
    return f"{row.label}: {females}{related}"


def part(screen: Any, row: DuskRow, button: Any) -> None:
    """Ask who goes, then to which box."""
    here = (("male", row.n_males), ("female", row.n_females))
    all_of = {"male": say_n("all_males", row.n_males), "female": say_n("all_females", row.n_females)}
    some_of = {"male": say("some_males"), "female": say("some_females")}
    items: list[Any] = [((sex, None), all_of[sex], sex) for sex, n in here if n]
    items += [((sex, n), some_of[sex], sex) for sex, n in here if n > 1]
    title = f"{row.label}: {say('part')}"

    def chosen(who: tuple[str, int | None]) -> None:
        sex, most = who
        if most is None:
            _where(screen, row, sex, None, button)
        else:
            screen.shell.open_number(
                title, value=1, minimum=1, maximum=most, then=lambda n: _where(screen, row, sex, n, button)
            )

    screen.shell.open_choices(title, items, chosen, say("part_hint"))


def _where(screen: Any, row: DuskRow, sex: str, n: int | None, button: Any) -> None:
    """Ask for the box that they go to: one that holds their sex only, or any other by its code."""

    def save(box: str) -> None:
        screen.keep("separate", (row.box_id, box, n, sex), button)

    def chosen(box: str) -> None:
        if box:
            save(box)
        else:
            screen.shell.open_boxes(say("part_to"), save)

    same = [one for one in screen.view.rows if one.box_id != row.box_id and _holds_only(one, sex)]
    items = [(one.box_id, f"{one.label}: {one.who}", "box") for one in same]
    if not items:
        chosen("")
        return
    screen.shell.open_choices(say("part_to"), [*items, ("", say("box_by_code"), "keypad")], chosen, row.label)


def _holds_only(row: DuskRow, sex: str) -> bool:
    return not (row.n_females if sex == "male" else row.n_males)


__all__ = ["bring", "bring_to", "males_for", "part"]
