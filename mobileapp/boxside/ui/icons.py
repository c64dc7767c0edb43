"""The glyphs of the bundled icon font by our own names; `assets/fonts/README.md` says where it is from."""

from __future__ import annotations

GLYPHS: dict[str, str] = {
    "about": "\U000f0692",  # calendar-question
    "add": "\U000f0419",  # plus-circle-outline
    "adult": "\U000f082d",  # ladybug
    "ahead": "\U000f00f6",  # calendar-today
    "air": "\U000f059d",  # weather-windy
    "area": "\U000f0a1d",  # view-dashboard-outline
    "away": "\U000f05fd",  # logout-variant
    "back": "\U000f004d",  # arrow-left
    "bell": "\U000f009c",  # bell-outline
    "blend": "\U000f14e0",  # set-merge
    "box": "\U000f03d7",  # package-variant-closed
    "caution": "\U000f0ce6",  # alert-octagon-outline
    "check": "\U000f0e1e",  # check-bold
    "clean": "\U000f00e2",  # broom
    "close": "\U000f0156",  # close
    "cohort": "\U000f0b58",  # account-group-outline
    "correct": "\U000f0cb6",  # pencil-outline
    "count": "\U000f0199",  # counter
    "dead": "\U000f0bc8",  # skull-outline
    "deformed": "\U000f0ce5",  # alert-decagram-outline
    "demo": "\U000f09f0",  # flower-outline
    "done": "\U000f05e1",  # check-circle-outline
    "dot": "\U000f09de",  # circle-medium
    "down": "\U000f0140",  # chevron-down
    "drops": "\U000f0e0a",  # water-outline
    "dry": "\U000f1508",  # water-off-outline
    "due": "\U000f009f",  # bell-ring-outline
    "dusk": "\U000f059b",  # weather-sunset-down
    "egg": "\U000f13f2",  # egg-outline
    "empty": "\U000f01a7",  # cube-outline
    "erase": "\U000f0b5c",  # backspace-outline
    "escape": "\U000f046e",  # run-fast
    "eye": "\U000f0d05",  # eye-check-outline
    "feed": "\U000f0a70",  # silverware-fork-knife
    "female": "\U000f029c",  # gender-female
    "find": "\U000f0349",  # magnify
    "found": "\U000f12fb",  # map-marker-check-outline
    "founders": "\U000f0b58",  # account-group-outline
    "full": "\U000f1296",  # tray-full
    "glow": "\U000f06e9",  # lightbulb-on-outline
    "glow_off": "\U000f0e50",  # lightbulb-off-outline
    "hatch": "\U000f0ab0",  # egg-easter
    "history": "\U000f02da",  # history
    "humidity": "\U000f058e",  # water-percent
    "hunger": "\U000f0349",  # magnify
    "info": "\U000f02fd",  # information-outline
    "keypad": "\U000f061c",  # dialpad
    "larva": "\U000f0a30",  # bug-outline
    "late": "\U000f002a",  # alert-outline
    "later": "\U000f0150",  # clock-outline
    "left": "\U000f0141",  # chevron-left
    "leftovers": "\U000f1916",  # food-outline
    "letters": "\U000f100d",  # alphabetical-variant
    "light": "\U000f0599",  # weather-sunny
    "line": "\U000f160e",  # family-tree
    "list": "\U000f0279",  # format-list-bulleted
    "look": "\U000f06d0",  # eye-outline
    "male": "\U000f029d",  # gender-male
    "mark": "\U000f04fc",  # tag-outline
    "meal_out": "\U000f1299",  # tray-remove
    "minus": "\U000f0374",  # minus
    "mist": "\U000f0665",  # spray
    "mites": "\U000f1c75",  # spider-outline
    "moon": "\U000f0594",  # weather-night
    "more": "\U000f01d8",  # dots-horizontal
    "mould": "\U000f07e0",  # mushroom-outline
    "moult": "\U000f09fe",  # layers-outline
    "next": "\U000f0734",  # arrow-right-bold
    "note": "\U000f0cb6",  # pencil-outline
    "out": "\U000f05fd",  # logout-variant
    "pair": "\U000f18a0",  # heart-outline
    "pairings": "\U000f18a0",  # heart-outline
    "pending": "\U000f051f",  # timer-sand
    "photo": "\U000f0d5d",  # camera-outline
    "place": "\U000f07d9",  # map-marker-outline
    "plump": "\U000f0ec3",  # record-circle-outline
    "plus": "\U000f0415",  # plus
    "prepupa": "\U000f051f",  # timer-sand
    "prey": "\U000f1677",  # snail
    "profile": "\U000f0b78",  # card-text-outline
    "pupa": "\U000f04b2",  # sleep
    "quarantine": "\U000f0ecd",  # shield-alert-outline
    "red": "\U000f17d0",  # lamp-outline
    "refused": "\U000f1915",  # food-off-outline
    "renew": "\U000f006a",  # autorenew
    "rest": "\U000f0717",  # snowflake
    "retire": "\U000f125a",  # archive-arrow-down-outline
    "retry": "\U000f0453",  # reload
    "right": "\U000f0142",  # chevron-right
    "round": "\U000f0583",  # walk
    "ruler": "\U000f046d",  # ruler
    "same": "\U000f018f",  # content-copy
    "save": "\U000f0818",  # content-save-outline
    "search": "\U000f1276",  # magnify-scan
    "season": "\U000f0679",  # calendar-range
    "separate": "\U000f093c",  # arrow-split-vertical
    "setting": "\U000f1542",  # tune-variant
    "settings": "\U000f08bb",  # cog-outline
    "sex": "\U000f029e",  # gender-male-female
    "shelf": "\U000f148b",  # view-list-outline
    "sick": "\U000f01f8",  # emoticon-sad-outline
    "stage": "\U000f0e93",  # chart-timeline-variant
    "sun": "\U000f05a8",  # white-balance-sunny
    "surroundings": "\U000f050f",  # thermometer
    "temperature": "\U000f050f",  # thermometer
    "theme": "\U000f050e",  # theme-light-dark
    "today": "\U000f00f6",  # calendar-today
    "transfer": "\U000f0bcd",  # swap-horizontal-bold
    "undo": "\U000f054d",  # undo-variant
    "unknown": "\U000f0625",  # help-circle-outline
    "up": "\U000f0143",  # chevron-up
    "wake": "\U000f059c",  # weather-sunset-up
    "weight": "\U000f0472",  # scale
}


def glyph(name: str) -> str:
    """Return the character that draws the icon of that name; a plain dot for a name not known."""
    return GLYPHS.get(name, GLYPHS["dot"])


__all__ = ["GLYPHS", "glyph"]
