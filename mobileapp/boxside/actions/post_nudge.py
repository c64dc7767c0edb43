"""Nudges: what today's says, posting it, and the plan of the coming sixty days."""

from __future__ import annotations

from dataclasses import replace

from boxside.actions.context import setting, today, zone_of
from boxside.actions.dues import all_tasks
from boxside.actions.services import Services
from boxside.actions.wording import who_text
from boxside.core.care import plan, plan_json
from boxside.core.care.digest import content
from boxside.core.values.due import Due
from boxside.core.values.moments import from_ms, local_ms
from boxside.core.values.nudge import BoxDues, NudgePlan, NudgePrefs
from boxside.core.values.views import Notice, NudgeView
from boxside.store import reading, saving

MAX_LINES = 4
_POSTED, _REFUSED, _TOLD = "nudge posted", "nudges refused", "nudge told in the app"


def nudge_view(services: Services) -> NudgeView:
    """Return what today's nudge says; no title where nothing is due."""
    day = today(services)
    said = content(box_dues(services), day, MAX_LINES, repeat=False, at_dusk=True)
    if said is None:
        return NudgeView(day, "", (), posted=False)
    return NudgeView(day, said.title, said.lines, posted=False, brief=said.brief)


def post_nudge(services: Services) -> NudgeView:
    """Post today's nudge where something is due and nudges are wanted; say plainly if it was not handed over."""
    view = nudge_view(services)
    if not view.title or setting(services, "nudges_on") == "off":
        return view
    delivery = services.device.nudges.post(view.title, view.lines)
    if delivery.handed_over:
        _remember(services)
        return replace(view, posted=True)
    notice = Notice(f"The nudge was not shown: {delivery.why}.", "The log is as before.", delivery.do, bad=True)
    return replace(view, notice=notice)


def nudge_if_time(services: Services) -> NudgeView | None:
    """Post today's nudge if its hour has come and it was not posted since; for an app that stays open.

    Returns None where it is not time, where nothing is due, or where today's was posted already.
    """
    wanted = prefs(services)
    slot = _slot_now(services, wanted)
    if slot is None or not wanted.wanted or services.store.meta(_POSTED) >= slot:
        return None
    view = post_nudge(services)
    return view if view.title else None


def _slot_now(services: Services, wanted: NudgePrefs) -> str | None:
    """Return the newest slot of today whose hour has come, None before the first and in the quiet hours."""
    zone, now_ms = zone_of(services), services.clock.now_ms()
    now = from_ms(now_ms, zone)
    come = [minute for minute in wanted.slots if local_ms(now.date(), minute, zone) <= now_ms]
    if not come or wanted.is_quiet(now.hour * 60 + now.minute):
        return None
    return f"{now.date().isoformat()} {max(come):04d}"


def _remember(services: Services) -> None:
    """Note for which slot a nudge was posted, so that an open app and a timer do not both post it."""
    slot = _slot_now(services, prefs(services))
    if slot is not None:
        _note(services, _POSTED, slot)


def planned(services: Services) -> NudgePlan:
    """Return the dated digests from now on, as if nothing were done in between."""
    known = services.device.nudges.memory()
    wanted = replace(prefs(services), later=known.later)
    return plan(box_dues(services), wanted, services.clock.now_ms(), zone_of(services), known.posted)


def arm_plan(services: Services) -> Notice | None:
    """Hand the plan to the device, so that nudges come with the app closed.

    Where it cannot: once a notice with the reason, what to do, and what today's nudge would have said; from then
    on that alone, once a day, since whoever has refused nudges need not be told of it again.
    """
    delivery = services.device.nudges.arm(plan_json(planned(services)))
    why = "" if delivery.handed_over else f"Nudges come only while Boxside is open: {delivery.why}."
    was, said = why_refused(services), nudge_view(services)
    if why != was:
        _note(services, _REFUSED, why)
    if not why:
        return None
    today_text = said.day.isoformat() if said.title else ""
    if why == was and (not today_text or services.store.meta(_TOLD) == today_text):
        return None
    _note(services, _TOLD, today_text)
    if why == was:
        return Notice(f"{said.brief}.")
    would = f"Today’s nudge would say: {said.title}." if said.title else ""
    return Notice(why, would, delivery.do)


def why_refused(services: Services) -> str:
    """Return why nudges do not come with the app closed, as the device said last; empty where they do."""
    return services.store.meta(_REFUSED)


def _note(services: Services, key: str, value: str) -> None:
    if not services.store.why_read_only:
        with saving(services.store) as log:
            log.store.set_meta(key, value)


def keep_armed(services: Services) -> Notice | None:
    """Hand over a new plan where the device takes plans; the one call after every event, at start and at pause."""
    return arm_plan(services) if services.device.nudges.takes_plans else None


def prefs(services: Services) -> NudgePrefs:
    """Return when the keeper wants to be nudged; slots within the quiet hours are left out."""
    quiet_from, quiet_to = int(setting(services, "quiet_from")), int(setting(services, "quiet_to"))
    asked = [setting(services, key) for key in ("nudge_minute", "nudge_second", "nudge_third")]
    minutes = sorted({int(text) for text in asked if text.isdigit()})
    slots = tuple(m for m in minutes if not _is_quiet(m, quiet_from, quiet_to))
    return NudgePrefs(
        slots=slots or (quiet_to,),
        quiet_from=quiet_from,
        quiet_to=quiet_to,
        zone=zone_of(services).key,
        wanted=setting(services, "nudges_on") == "on" and bool(slots),
        max_lines=MAX_LINES,
    )


def _is_quiet(minute: int, quiet_from: int, quiet_to: int) -> bool:
    if quiet_from <= quiet_to:
        return quiet_from <= minute < quiet_to
    return minute >= quiet_from or minute < quiet_to


def box_dues(services: Services) -> list[BoxDues]:
    """Return every open box with its tasks, due or coming, and who lives in it."""
    tasks: dict[str, list[Due]] = {}
    for due in all_tasks(services):
        tasks.setdefault(due.box, []).append(due)
    lines = reading.lines(services.store, list(tasks))
    boxes = [box for box in reading.open_boxes(services.store) if box.id in tasks]
    return [BoxDues(box.id, box.shown, who_text(lines[box.id]), tuple(tasks[box.id])) for box in boxes]
