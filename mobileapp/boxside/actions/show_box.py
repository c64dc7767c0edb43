"""One box: who lives there, what is due, its history."""

from __future__ import annotations

from boxside.actions.buttons import box_acts, round_acts
from boxside.actions.context import profile, today, zone_of
from boxside.actions.dues import tasks_of
from boxside.actions.facts import box_facts
from boxside.actions.list_due import due_lines
from boxside.actions.services import Services
from boxside.actions.wording import day_text, event_detail, event_label, is_about, moment_text, stage_words, who_text
from boxside.core.care import pressing
from boxside.core.ledger import Standing
from boxside.core.values.errors import EntryError
from boxside.core.values.event import Event
from boxside.core.values.moments import day_of
from boxside.core.values.views import BoxView, HistoryRow
from boxside.store import photos, reading

_STRUCK = {"voided": "taken back", "replaced": "corrected", "outdone": "corrected otherwise"}
_COUNTED = ("misted", "fed", "count", "transfer", "substrate_renewed")


def box_view(services: Services, box_id: str, limit: int = 30) -> BoxView:
    """Return all that a keeper wants to know of one box, with the newest `limit` entries of its history."""
    box = reading.entity(services.store, "box", box_id)
    if box is None:
        raise EntryError("There is no such box. Nothing was changed.")
    day = today(services)
    lines = reading.lines(services.store, [box_id])[box_id]
    dues = sorted(tasks_of(services, box_id), key=lambda due: pressing(due, day))
    entries = reading.history(services.store, "box", box_id, limit + 1)
    who = who_text(lines, is_about(services, box_id))
    return BoxView(
        box_id=box_id,
        label=box.shown,
        who=who[:1].upper() + who[1:],
        facts=_facts(services, box),
        due=due_lines(dues, day),
        acts=box_acts(services, box_facts(services, [box_id])[box_id], day),
        history=tuple(_row(services, event, struck) for event, struck in entries[:limit]),
        more_history=len(entries) > limit,
        signs=round_acts(services, lines, (), ())[2],
        photos=_photos(services, entries),
        cautions=tuple(c.text for c in profile(services).cautions if c.where in ("handle", "feed")),
        is_open=box.open,
    )


def _facts(services: Services, box: reading.Entity) -> tuple[tuple[str, str], ...]:
    """Return what is known of a box, label by label."""
    zone, now_ms = zone_of(services), services.clock.now_ms()
    day = day_of(now_ms, zone)
    newest = {item.kind: item for item in reading.newest(services.store, "box", [box.id])[box.id]}
    lines = reading.lines(services.store, [box.id])[box.id]
    names = [reading.entity(services.store, "cohort", line.cohort) for line, _ in lines if line.cohort]
    facts = [("Cohort", ", ".join(dict.fromkeys(cohort.shown for cohort in names if cohort)))]
    for kind in _COUNTED:
        if kind in newest:
            said = services.catalog.vocabulary.kinds[kind].said
            n = newest[kind].fields.get("n")
            number = f"{n}, " if kind == "count" and isinstance(n, int) else ""
            facts.append((said, number + moment_text(newest[kind].at_ms, zone, now_ms)))
    if "last_fed" in newest and "fed" not in newest:
        facts.append(("Fed", f"{newest['last_fed'].fields.get('basis')}, as remembered"))
    area = reading.entity(services.store, "area", str(box.data.get("area", "")))
    position = box.data.get("position")
    facts.append(("Stands in", " ".join(part for part in (area.shown if area else "", str(position or "")) if part)))
    made = newest.get("box_made")
    facts.append(("Since", day_text(day_of(made.at_ms, zone), day) if made else ""))
    dead = [line for line in reading.lost(services.store, box.id) if line[1]]
    facts.append(("Dead", ", ".join(stage_words(stage, n) for stage, n in dead)))
    return tuple((label, value) for label, value in facts if value)


def _row(services: Services, event: Event, struck: Standing | None) -> HistoryRow:
    kind = services.catalog.vocabulary.get(event.kind)
    detail = event_detail(services, event)
    if event.kind == "void":
        target = reading.event(services.store, event.voids or "")
        detail = event_label(services, target).lower() if target else "an entry that is not here"
    by = f" · {event.by}" if event.by else ""
    return HistoryRow(
        event_id=event.id,
        kind=event.kind,
        when=moment_text(event.at_ms, zone_of(services), services.clock.now_ms()) + by,
        label=event_label(services, event),
        detail=detail,
        at_ms=event.at_ms,
        note=event.note or "",
        struck=_STRUCK[struck.why] if struck else "",
        visit=event.visit,
        values=dict(event.fields),
        fields=kind.fields if kind else (),
        can_correct=struck is None and event.kind != "void" and kind is not None,
    )


def _photos(services: Services, entries: list[tuple[Event, Standing | None]]) -> tuple[str, ...]:
    """Return the paths of the newest photos that stand."""
    names = [str(e.fields.get("sha256")) for e, struck in entries if e.kind == "photo" and struck is None]
    paths = [photos.path_of(services.device.data_dir, name) for name in names]
    return tuple(str(path) for path in paths if path.exists())
