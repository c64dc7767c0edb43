"""The golden plans in `shared/golden`: plans as Boxside makes them, and what a phone has to do with them.

What is expected was written by hand, from `shared/nudge-plan.schema.json`; the plans are made by `boxside.core.care`.
`python -m buildspec.golden` writes the files anew; a test compares them with what is in the repository.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any, Protocol
from zoneinfo import ZoneInfo

from boxside.core.care import plan, plan_json
from boxside.core.values.due import Due, Reason
from boxside.core.values.nudge import BoxDues, LaterMove, NudgePrefs, Posted
from buildspec.receiver import Receiver

FOLDER = Path(__file__).resolve().parents[1] / "shared" / "golden"
_DAYS = 3
_REASON = Reason("feeding.young", "e", 7, "Last fed on 27 April; young larvae eat about every week.")
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


class Phone(Protocol):
    """The receiver in Python or Java."""

    def answer(self, asked: dict[str, Any]) -> dict[str, Any]:
        """Do a command."""
        ...


@dataclass(frozen=True, slots=True)
class Step:
    """One moment: what happens, and what the phone has to do; `expect` as "post 1; cancel 2; next 18:00"."""

    at: str
    expect: str
    due: tuple[str, ...] | None = None
    """Where given, the app is open and plans: for each box the day on which it is due."""
    zone: str = ""
    later: int = 0
    later_on: str = ""
    """The day of the digest on which Later is pressed, where it is another than `at`."""
    swiped: tuple[int, ...] = ()
    allowed: bool = True
    boot: int = 1
    clock: str = ""
    """What the phone's clock shows, where it is wrong."""


@dataclass(frozen=True, slots=True)
class Story:
    """A keeper's hours with one phone."""

    about: str
    prefs: NudgePrefs
    steps: tuple[Step, ...]


def moment_ms(text: str, zone: str) -> int:
    """Return the moment of a wall time; a trailing `~` means the second of two equal ones."""
    wall = datetime.fromisoformat(text.rstrip("~")).replace(tzinfo=ZoneInfo(zone), fold=int(text.endswith("~")))
    return (wall.astimezone(UTC) - _EPOCH) // timedelta(milliseconds=1)


def made(story: Story) -> dict[str, Any]:
    """Return a story as it stands in its file."""
    phone, zone, steps, plans = Receiver(), story.prefs.zone, [], []
    for step in story.steps:
        zone = step.zone or zone
        now_ms, text = moment_ms(step.clock or step.at, zone), None
        if step.due is not None:
            text = plan_text(step.due, replace(story.prefs, zone=zone), now_ms, phone.memory.text())
            plans.append(text)
        command = {
            "fresh": not steps, "plan": text, "now": now_ms, "zone": zone, "allowed": step.allowed,
            "swiped": list(step.swiped), "boot": step.boot, "up": _up_ms(story, step),
            "later": f"{step.later_on or step.at[:10]}.{step.later}" if step.later else None,
        }  # fmt: skip
        phone.answer(command)
        shown = {**command, "plan": len(plans) - 1 if text is not None else None}
        steps.append({"about": f"{step.at} {zone}", "do": shown, "expect": expected(step, zone)})
    return {"about": story.about, "plans": [json.loads(text) for text in plans], "steps": steps}


def plan_text(due: tuple[str, ...], prefs: NudgePrefs, now_ms: int, memory: str) -> str:
    """Return the plan for boxes that are due on these days, as the app would make it with what the phone remembers."""
    known = json.loads(memory)
    posted = tuple(Posted(one["digest"], one["at_ms"], one["showing"]) for one in known["posted"])
    later = tuple(LaterMove(one["digest"], one["asked_ms"], one["minutes"]) for one in known["later"])
    boxes = [
        BoxDues(f"b{n}", f"B{n:02d}", "12 young larvae", (_due(f"b{n}", date.fromisoformat(on)),))
        for n, on in enumerate(due, start=1)
    ]
    wanted = replace(prefs, later=later)
    return plan_json(plan(boxes, wanted, now_ms, ZoneInfo(prefs.zone), posted, days=_DAYS))


def _due(box: str, on: date) -> Due:
    return Due(box, "feed", on, on, on + timedelta(days=2), (_REASON,), 20)


def _up_ms(story: Story, step: Step) -> int:
    """The time since the phone was started: it goes on by the true time, whatever the clock says."""
    zone = story.prefs.zone
    first = next(one for one in story.steps if one.boot == step.boot)
    return moment_ms(step.at, step.zone or zone) - moment_ms(first.at, first.zone or zone)


def expected(step: Step, zone: str) -> dict[str, Any]:
    """Return an expectation in full: ids for slots, the moment for the next alarm."""
    found: dict[str, Any] = {"post": [], "replace": [], "cancel": [], "next": None}
    for part in filter(None, (one.strip() for one in step.expect.split(";"))):
        verb, what = part.split(" ", 1)
        day = (step.clock or step.at)[:10]
        if verb == "next":
            found["next"] = moment_ms(what if "T" in what else f"{day}T{what}", zone)
        elif verb == "cancel":
            found["cancel"].append(int(what))
        else:
            found[verb].append(f"{day}.{what}")
    return found


def differences(story: dict[str, Any], phone: Phone) -> Iterator[str]:
    """Run a golden story on a phone; yields one line for each answer that is not as expected."""
    for step in story["steps"]:
        plan_at = step["do"]["plan"]
        text = None if plan_at is None else canonical(story["plans"][plan_at])
        answer = phone.answer({**step["do"], "plan": text})
        found = {name: answer[name] for name in step["expect"]}
        if found != step["expect"]:
            yield f"{step['about']}: expected {step['expect']}, found {found}"


def canonical(plan: dict[str, Any]) -> str:
    """Return a plan as the app writes it."""
    return json.dumps(plan, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def file_text(story: Story) -> str:
    """Return a story's file."""
    return json.dumps(made(story), indent=1, ensure_ascii=False) + "\n"


def main() -> int:
    """Write all golden files."""
    from buildspec.golden_stories import STORIES

    FOLDER.mkdir(exist_ok=True)
    for name, story in STORIES.items():
        (FOLDER / f"{name}.json").write_text(file_text(story), encoding="utf-8")
    print(f"{len(STORIES)} golden plans written to {FOLDER}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
