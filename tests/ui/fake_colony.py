"""An invented colony behind the screens: views as the actions would return them, and what was called."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

from boxside.core.values.errors import CorrectableError, StoreError
from boxside.core.values.event import Draft
from boxside.core.values.season import Group
from boxside.core.values.views import (
    Act,
    BoxView,
    DueLine,
    HistoryRow,
    NewBox,
    NewBoxView,
    Notice,
    RoundView,
    Saved,
    SettingRow,
    SettingsView,
    ShelfRow,
    ShelfView,
    StartView,
    Undo,
)
from boxside.core.values.vocabulary import Field, FieldType

N = Field("n", FieldType.INTEGER, "How many", minimum=1, maximum=500, default=1, required=True)
CAUSE = Field(
    "cause", FieldType.CHOICE, "Cause", choices=("unknown", "failed_moult", "mould", "drowned", "dried_out", "age")
)
TO = Field("from_box", FieldType.BOX, "From box", required=True)
NOTE = Field("text", FieldType.TEXT, "Note", required=True)
TEMPERATURE = Field("now_c", FieldType.NUMBER, "Now", unit="°C", minimum=-20, maximum=60, required=True)

FED = Act("Fed", "feed", kind="fed")
LOOK = Act("Look", "look", command="look")
COUNT = Act("Count", "count", command="count", kind="count")
NEXT = Act("Next", "next", command="next")
MORE = (
    Act("Meal out", "meal_out", kind="meal_taken_out"),
    Act("Misted", "mist", kind="misted"),
    Act("Dead", "dead", kind="died", asks=(N,)),
    Act("Later", "later", command="later"),
    Act("Photo", "photo", command="photo"),
    Act("Aired", "air", kind="aired"),
    Act("Fresh lining", "renew", kind="substrate_renewed"),
    Act("Cleaned", "clean", kind="cleaned"),
    Act("Introduced", "pair", kind="introduced", asks=(TO, N)),
)
SIGNS = (
    Act("All well", "look", kind="looked"),
    Act("Searching for food", "hunger", kind="appetite", preset={"appetite": "searching"}),
    Act("Plump and resting", "rest", kind="appetite", preset={"appetite": "plump"}),
    Act("Refused its meal", "meal_out", kind="appetite", preset={"appetite": "refused"}),
    Act("Moulting", "moult", kind="in_moult"),
    Act("Condensation", "drops", kind="condensation"),
    Act("Too dry", "dry", kind="dried_out"),
    Act("Mould or mites", "mould", kind="pest_seen"),
    Act("Escaped", "escape", kind="escaped", asks=(N,)),
)
ALL_ACTS = (
    FED, *MORE, *SIGNS, COUNT,
    Act("Temperature", "temperature", kind="temperature", asks=(TEMPERATURE,)),
    Act("Note", "note", kind="note", asks=(NOTE,)),
    Act("Moulted", "moult", kind="moulted"), Act("Prepupa", "prepupa", kind="prepupa"),
    Act("Pupated", "pupa", kind="pupated"), Act("Emerged", "adult", kind="emerged"),
    Act("Hatched", "hatch", kind="hatched"), Act("Empty", "empty", kind="confirmed_empty"),
)  # fmt: skip
CAUTION = "Snails can carry parasites: gloves on, wash your hands afterwards."
WHY = (
    "Larvae of the 3rd instar are fed every 4 days; the last meal was on Friday 20 November, and two were "
    "seen searching for food on Monday, which brings the next meal forward by one day."
)


@dataclass
class Haptics:
    """Remembers what was felt."""

    felt: list[str] = field(default_factory=list)

    def confirm(self) -> None:
        self.felt.append("confirm")

    def reject(self) -> None:
        self.felt.append("reject")


@dataclass
class Light:
    """Remembers whether the screen is kept awake."""

    awake: bool = False

    def keep_awake(self, awake: bool) -> None:
        self.awake = awake


@dataclass
class Photos:
    """Hands out one photo, chosen or taken."""

    path: str = ""
    taken: str = ""
    has_camera: bool = False

    def choose(self, then: Any) -> None:
        then(self.path)

    def take(self, then: Any) -> None:
        then(self.taken)


@dataclass
class Files:
    """Hands out one file, or none; remembers what was saved elsewhere."""

    path: str = ""
    has_share: bool = True
    saved: list[tuple[str, str]] = field(default_factory=list)

    def save_as(self, path: str, name: str, then: Any) -> None:
        self.saved.append((path, name))
        then(f"/elsewhere/{name}")

    def choose(self, then: Any) -> None:
        if self.path:
            then(self.path)


@dataclass
class Clock:
    """Stands still, on 25 November 2026, 20:00 UTC."""

    at_ms: int = 1_795_636_800_000

    def now_ms(self) -> int:
        return self.at_ms


@dataclass
class Device:
    """The parts of the device that screens use; `name` is not that of a desktop, which asks for its nudges."""

    haptics: Haptics = field(default_factory=Haptics)
    light: Light = field(default_factory=Light)
    photos: Photos = field(default_factory=Photos)
    clock: Clock = field(default_factory=Clock)
    files: Files | None = field(default_factory=Files)
    data_dir: str = "/data/boxside"
    name: str = "fake"


@dataclass
class Box:
    """One invented box."""

    box_id: str
    label: str
    who: str
    is_due: bool = True
    fed: bool = False


@dataclass
class Services:
    """What screens are handed: a device, and here the colony itself."""

    device: Device = field(default_factory=Device)
    boxes: list[Box] = field(default_factory=list)
    drafts: list[Draft] = field(default_factory=list)
    voided: list[str] = field(default_factory=list)
    corrected: list[tuple[str, dict[str, Any]]] = field(default_factory=list)
    added: list[NewBox] = field(default_factory=list)
    photos: list[str] = field(default_factory=list)
    settings: dict[str, Any] = field(default_factory=lambda: dict(SETTINGS))
    theme: str = "day"
    is_new: bool = False
    fail_next: str = ""
    history: list[HistoryRow] = field(default_factory=list)
    groups: tuple[Group, ...] = ()
    asked: list[tuple[str, Any]] = field(default_factory=list)
    moved_to_ms: list[int | None] = field(default_factory=list)

    @property
    def clock(self) -> Clock:
        return self.device.clock

    def calls(self, name: str) -> list[Any]:
        """Return what an action was given, call by call."""
        return [given for called, given in self.asked if called == name]


SETTINGS: dict[str, Any] = {
    "theme": "day", "nudge_minute": 1140, "language": "en", "keep_awake": "yes", "latitude_deg": 51, "keeper": "K.",
}  # fmt: skip


LARVAE = Group("34 larvae, instar 3, of Alder 2026", 34, "c1", "Alder 2026", "larva", 3)


def colony(n: int = 5, **values: Any) -> Services:
    """Return an invented colony of `n` boxes, the first three due."""
    whos = (
        "38 larvae, 3rd instar, cohort Alder 2026",
        "12 larvae, 5th instar, cohort Birch 2025",
        "about 60 eggs, laid 12 July, cohort Cedar 2026",
        "9 pupae: 4 females, 3 males, 2 not sexed",
        "1 female, glowing since Tuesday",
    )
    boxes = [Box(f"id{i}", f"B{i:02d}", whos[i % 5], is_due=i <= 3) for i in range(1, n + 1)]
    made = Services(boxes=boxes, **{"groups": (LARVAE,), **values})
    made.history = [
        HistoryRow(
            f"e{i}",
            "fed",
            f"{20 - i} Nov, 20:15",
            "Fed",
            "2 small snails" if i % 2 else "",
            SHOWN_MS - i * 86_400_000,
            values={"n": 2},
            fields=(N,),
        )
        for i in range(8)
    ]
    made.history[1] = replace(made.history[1], note="One stayed outside the shell the whole evening.")
    made.history[2] = replace(made.history[2], struck="Taken back on 19 November", can_correct=False)
    made.history[3] = replace(made.history[3], label="Counted", detail="36 of 38 expected, complete", kind="count")
    return made


# 20 November 2026, 20:15 in the keeper's zone: the newest entry of the history.
SHOWN_MS = 1_795_202_100_000


def _due(box: Box) -> tuple[DueLine, ...]:
    return (
        DueLine("feed", "Feeding", "due since Tuesday", WHY, late=True),
        DueLine("moisture", "Moisture", "due today", "Misted 3 days ago."),
    )


def _view(services: Services, box: Box, place: int = 1) -> RoundView:
    n_due = sum(b.is_due for b in services.boxes)
    done = {draft.kind for draft in services.drafts if draft.subject_id == box.box_id}
    main = tuple(replace(act, done=act.kind in done) for act in (FED, LOOK, COUNT, NEXT))
    return RoundView(
        box.box_id, box.label, "Feeding is due since Tuesday", box.who, WHY, due=_due(box), main=main, more=MORE,
        signs=SIGNS, visit=f"visit-{box.box_id}", place=place, total=max(1, n_due), cautions=(CAUTION,),
    )  # fmt: skip


def round_view(services: Services, passed: tuple[str, ...] = (), box_id: str = "") -> RoundView:
    """Return the first due box that was not passed over."""
    for place, box in enumerate(services.boxes, 1):
        if box.box_id == box_id or (not box_id and box.is_due and box.box_id not in passed):
            return _view(services, box, place)
    return RoundView("", "", "Nothing is due", "", "The next box is B04, on Thursday 26 November.")


def fail_if_told(services: Services) -> None:
    """Fail once where a test has said so; a message that speaks of correcting is a refusal."""
    if services.fail_next:
        message, services.fail_next = services.fail_next, ""
        raise (CorrectableError if "correction" in message else StoreError)(message)


def log_event(services: Services, draft: Draft, passed: tuple[str, ...] = (), as_correction: bool = False) -> Saved:
    """Keep a draft; feeding finishes a box."""
    fail_if_told(services)
    if as_correction:
        services.asked.append(("corrected", draft))
    services.drafts.append(draft)
    box = next(b for b in services.boxes if b.box_id == draft.subject_id)
    box.is_due = box.is_due and draft.kind != "fed"
    event_id = f"n{len(services.drafts)}"
    label = f"{box.label}: {draft.kind}"
    return Saved(event_id, Undo(event_id, label), _view(services, box), box_done=draft.kind == "fed")


def log_together(services: Services, drafts: tuple[Draft, ...], passed: tuple[str, ...] = ()) -> Saved:
    """Log several drafts; one undo for all of them."""
    kept = [log_event(services, draft, passed) for draft in drafts]
    undo = kept[-1].undo
    assert undo is not None
    return replace(kept[-1], undo=replace(undo, events=tuple(saved.event_id for saved in kept)))


def void_event(services: Services, event_id: str, passed: tuple[str, ...] = ()) -> Saved:
    """Take an entry back."""
    services.voided.append(event_id)
    if event_id.startswith("n"):
        draft = services.drafts[int(event_id[1:]) - 1]
        box = next(b for b in services.boxes if b.box_id == draft.subject_id)
        box.is_due = True
        services.drafts.remove(draft)
    else:
        box = services.boxes[0]
    return Saved("v1", None, _view(services, box))


def correct_event(services: Services, event_id: str, fields: Any, at_ms: Any = None, note: Any = None) -> Saved:
    """Remember a correction."""
    services.corrected.append((event_id, dict(fields)))
    services.moved_to_ms.append(at_ms)
    return Saved("c1", Undo("c1", "Corrected"), None)


def shelf_view(services: Services, search: str = "", offset: int = 0, limit: int = 50) -> ShelfView:
    """Return the boxes whose code holds what is searched for."""
    found = [b for b in services.boxes if search in b.label]
    rows = tuple(
        ShelfRow(
            b.box_id,
            b.label,
            b.who,
            "Feeding since Tuesday" if b.is_due else "Moisture on Friday",
            WHY,
            b.is_due,
            b.is_due,
        )
        for b in found[offset : offset + limit]
    )
    return ShelfView(rows, len(found), offset, search)


def box_view(services: Services, box_id: str, limit: int = 30) -> BoxView:
    """Return all there is about one box."""
    box = next(b for b in services.boxes if b.box_id == box_id)
    facts = (
        ("Last fed", "20 November, 2 small snails"), ("Headcount", "38 expected, 36 counted on 17 November"),
        ("Instar", "3rd, since 2 October"), ("Area", "Cellar shelf, left"), ("Lining", "Moss on plaster"),
    )  # fmt: skip
    return BoxView(
        box.box_id, box.label, box.who, facts, _due(box), ALL_ACTS, tuple(services.history[:limit]),
        more_history=len(services.history) > limit, signs=SIGNS, photos=tuple(services.photos), cautions=(CAUTION,),
    )  # fmt: skip


def new_box_view(services: Services) -> NewBoxView:
    """Return what the form for a new box starts with."""
    stages = (("egg", "Eggs"), ("larva", "Larvae"), ("pupa", "Pupae"), ("adult", "Adults"))
    return NewBoxView(
        f"B{len(services.boxes) + 1:02d}", (("c1", "Alder 2026"), ("c2", "Birch 2025")),
        (("a1", "Cellar shelf"), ("a2", "Window sill")), stages, 7,
    )  # fmt: skip


def add_box(services: Services, new: NewBox) -> Saved:
    """Add one box."""
    return add_boxes(services, (new,))


def add_boxes(services: Services, new: tuple[NewBox, ...]) -> Saved:
    """Add boxes."""
    services.added.extend(new)
    for box in new:
        services.boxes.append(Box(f"id{len(services.boxes) + 1}", box.label, f"{box.n or 'some'} {box.stage}"))
    return Saved("b1", Undo("b1", f"{len(new)} added"), None)


def keep_photo(services: Services, box_id: str, path: str, visit: str = "") -> Saved:
    """Keep a photo."""
    services.photos.append(path)
    return Saved("p1", Undo("p1", "Photo kept"), None)


def settings_view(services: Services) -> SettingsView:
    """Return all settings."""
    now = services.settings
    minute = int(now["nudge_minute"])
    rows = (
        SettingRow("theme", "Screen", "Theme", now["theme"], str(now["theme"]).capitalize(), "choice",
                   (("day", "Day"), ("dim", "Dim"), ("red", "Red")), hint="Red keeps green and blue light off."),
        SettingRow("keep_awake", "Screen", "Screen stays awake", now["keep_awake"], "Yes", "choice",
                   (("yes", "Yes"), ("no", "No"))),
        SettingRow("nudge_minute", "Nudges", "Time of the nudge", minute, f"{minute // 60:02d}:{minute % 60:02d}",
                   "minute"),
        SettingRow("latitude_deg", "Place", "Latitude", now["latitude_deg"], f"{now['latitude_deg']}°", "number",
                   minimum=-66, maximum=66, step=1, unit="°", hint="For day length only; it stays on this device."),
        SettingRow("print_scale", "Measuring", "Printed check line", 50.0, "50.0 mm", "number", unit="mm"),
        SettingRow("keeper", "Place", "Your initials", now["keeper"], str(now["keeper"]), "text"),
    )  # fmt: skip
    cautions = (
        ("Snails and slugs", CAUTION),
        ("Protected species", "Take and keep glow-worms only where it is allowed. Do not release captive stock."),
    )
    return SettingsView(
        rows, cautions, ("3 boxes are due", "B01 feeding, B02 feeding, B03 moisture"), (("Version", "0.1.0"),)
    )


def change_setting(services: Services, key: str, value: Any) -> SettingsView:
    """Change one setting."""
    services.settings[key] = value
    return settings_view(services)


def start_view(services: Services) -> StartView:
    """Return whether the log is new, and the theme."""
    return StartView(services.is_new, services.theme)


def begin_demo(services: Services) -> StartView:
    """Begin with the invented colony."""
    services.is_new = False
    return start_view(services)


def begin_empty(services: Services) -> StartView:
    """Begin with nothing."""
    services.is_new, services.boxes = False, []
    return start_view(services)


NAMES = (
    "add_box", "add_boxes", "begin_demo", "begin_empty", "box_view", "change_setting", "correct_event", "keep_photo",
    "log_together",
    "log_event", "new_box_view", "round_view", "settings_view", "shelf_view", "start_view", "void_event",
)  # fmt: skip
ACTIONS: dict[str, Any] = {name: globals()[name] for name in NAMES}

__all__ = ["ACTIONS", "LARVAE", "Notice", "Services", "colony", "fail_if_told"]
