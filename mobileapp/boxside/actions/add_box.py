"""New boxes with what lives in them, one or a whole shelf at once."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from boxside.actions.context import profile, setting, today
from boxside.actions.labels import check_label
from boxside.actions.log_event import log_all, saved
from boxside.actions.services import Services
from boxside.actions.stamping import new_id
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Draft, Json
from boxside.core.values.stages import Stage
from boxside.core.values.views import NewBox, NewBoxView, Saved
from boxside.store import reading

_STAGES = (("larva", "Larvae"), ("egg", "Eggs"), ("prepupa", "Prepupae"), ("pupa", "Pupae"), ("adult", "Adults"))


def new_box_view(services: Services) -> NewBoxView:
    """Return what the form for a new box starts with."""
    own = profile(services)
    return NewBoxView(
        next_label=next_label(services),
        cohorts=tuple((cohort.id, cohort.shown) for cohort in reading.entities(services.store, "cohort")),
        areas=tuple((area.id, area.shown) for area in reading.entities(services.store, "area")),
        stages=_STAGES,
        instars=max(own.days("instars.female"), own.days("instars.male")),
    )


def next_label(services: Services) -> str:
    """Return the next free code: one more than the greatest number in use, in the same form."""
    numbers = [re.fullmatch(r"([A-Za-z]*)(\d+)", box.label) for box in reading.entities(services.store, "box")]
    found = [(match[1], match[2]) for match in numbers if match]
    if not found:
        return "B01"
    prefix, digits = max(found, key=lambda item: int(item[1]))
    return f"{prefix}{int(digits) + 1:0{len(digits)}d}"


def add_box(services: Services, new: NewBox) -> Saved:
    """Make one box, with a cohort of its own where none is named."""
    return add_boxes(services, (new,))


def add_boxes(services: Services, new: Sequence[NewBox]) -> Saved:
    """Make several boxes, all or none; one undo takes back all of them.

    Raises
    ------
    EntryError : for a code that is empty, too long, in use, or given twice, or animals that make no sense
    """
    if not new:
        raise EntryError("No box was entered. Nothing was saved.")
    _check_labels(services, [box.label for box in new])
    names = cohort_names(services)
    drafts = [draft for box in new for draft in _drafts(services, box, names)]
    events = log_all(services, drafts)
    made = [event for event in events if event.kind == "box_made"]
    return saved(services, made[-1], (), was_due=False, act=events)


def _check_labels(services: Services, labels: Sequence[str]) -> None:
    same = [label.strip().upper() for label in labels]
    for label in labels:
        check_label(services, label)
        if same.count(label.strip().upper()) > 1:
            raise EntryError(f"The code {label} is given to two boxes. Nothing was saved. Choose another code.")


def _drafts(services: Services, new: NewBox, names: Iterator[str]) -> list[Draft]:
    """Return the events that make one box, in one visit."""
    now_ms = services.clock.now_ms()
    box_id, visit = new_id(services, now_ms), new_id(services, now_ms)
    fields: dict[str, Json] = {"label": new.label.strip(), "area": new.area_id or None}
    drafts = [Draft("box_made", "box", box_id, fields, visit=visit)]
    if not new.stage:
        return drafts
    if new.n is None or new.n < 1:
        raise EntryError(f"{new.label}: say about how many animals live in it. Nothing was saved.")
    if new.fed == "about" and new.fed_days is None:
        raise EntryError(f"{new.label}: say about how many days ago it was fed. Nothing was saved.")
    cohort = new.cohort_id
    if not cohort:
        cohort = new_id(services, now_ms)
        started: dict[str, Json] = {"name": next(names), "species": setting(services, "species"), "stage": new.stage}
        drafts.append(Draft("cohort_started", "cohort", cohort, started, visit=visit))
    stocked: dict[str, Json] = {
        "cohort": cohort, "n": new.n, "stage": new.stage, "instar": new.instar, "sex": new.sex or None,
    }  # fmt: skip
    drafts.append(Draft("stocked", "box", box_id, stocked, visit=visit))
    if new.stage == Stage.LARVA:
        last: dict[str, Json] = {"basis": new.fed, "days": new.fed_days if new.fed == "about" else None}
        drafts.append(Draft("last_fed", "box", box_id, last, visit=visit))
    return drafts


def cohort_names(services: Services) -> Iterator[str]:
    """Yield names for new cohorts: the year and the next free letters."""
    used = {cohort.label for cohort in reading.entities(services.store, "cohort")}
    year = today(services).year
    for n in range(26 * 27):
        tens, ones = divmod(n, 26)
        letters = (chr(64 + tens) if tens else "") + chr(65 + ones)
        if (name := f"{year} {letters}") not in used:
            yield name
