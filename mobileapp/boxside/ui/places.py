"""Where one can go: one table of all screens. A new screen is one line here, its icon, its word and its folder."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Place:
    """A screen. Its name is that of its folder and, where it has a button, of its icon and its word.

    `on` says where the button is: on the `bar`, on the page `more`, or on neither; `under` is the button of
    the bar that stands out while it shows; without `has_bar` nothing leads past it.
    """

    name: str
    screen: str
    on: str = ""
    under: str = ""
    has_bar: bool = True


PLACES: tuple[Place, ...] = (
    Place("start", "StartScreen", has_bar=False),
    Place("occupied", "OccupiedScreen"),
    Place("round", "RoundScreen", on="bar", under="round"),
    Place("shelf", "ShelfScreen", on="bar", under="shelf"),
    Place("season", "SeasonScreen", on="bar", under="season"),
    Place("more", "MoreScreen", on="bar", under="more"),
    Place("box", "BoxScreen"),
    Place("photo", "PhotoScreen", has_bar=False),
    Place("growth", "GrowthScreen"),
    Place("add_box", "AddBoxScreen"),
    Place("ahead", "AheadScreen", on="more", under="more"),
    Place("prey", "PreyScreen", on="more", under="more"),
    Place("away", "AwayScreen", on="more", under="more"),
    Place("surroundings", "SurroundingsScreen", on="more", under="more"),
    Place("dusk", "DuskScreen", on="more", under="more"),
    Place("line", "LineScreen", on="more", under="more"),
    Place("pairings", "PairingsScreen", on="more", under="more"),
    Place("founders", "FoundersScreen", under="more"),
    Place("settings", "SettingsScreen", on="more", under="more"),
    Place("card", "CardScreen", under="more"),
)
BY_NAME = {place.name: place for place in PLACES}
ON_BAR = tuple(place for place in PLACES if place.on == "bar")
ON_MORE = tuple(place for place in PLACES if place.on == "more")

__all__ = ["BY_NAME", "ON_BAR", "ON_MORE", "PLACES", "Place"]
