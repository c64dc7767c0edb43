"""A visit with three due tasks, the app killed in the middle of a save and started again."""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import date, timedelta
from pathlib import Path

import pytest

from boxside.actions import add_box, log_event
from boxside.actions.entry import box_named
from boxside.actions.list_due import due_json
from boxside.app import wiring
from boxside.core.values.event import Draft
from boxside.core.values.views import NewBox
from boxside.store import reading

pytestmark = pytest.mark.screen
ROOT = Path(__file__).parents[2]
DAY = date(2026, 5, 20)


def log(data: Path, days_ago: int, *acts: tuple[str, str]) -> None:
    """Log acts at boxes some days ago."""
    services = wiring.build(data, on=DAY - timedelta(days=days_ago))
    for code, kind in acts:
        if kind == "made":
            add_box.add_box(services, NewBox(code, "larva", 30, 2, fed="today"))
        else:
            log_event.log_event(services, Draft(kind, "box", box_named(services, code).id))
    services.store.close()


def counted(data: Path) -> dict[str, int]:
    """Return how often each kind stands in the history of B01."""
    services = wiring.build(data, on=DAY)
    box = box_named(services, "B01")
    kinds = [event.kind for event, struck in reading.history(services.store, "box", box.id, 99) if struck is None]
    services.store.close()
    return {kind: kinds.count(kind) for kind in ("misted", "meal_taken_out", "fed", "died", "void")}


def app(data: Path, theme: str, *steps: str) -> subprocess.Popen[str]:
    """Start the app on a script of touches."""
    command = [sys.executable, "-m", "tests.ui.killed_round", str(data), DAY.isoformat(), theme, *steps]
    env = {**os.environ, "PYTHONPATH": f"{ROOT / 'mobileapp'}{os.pathsep}{ROOT}", "KIVY_METRICS_DENSITY": "1"}
    return subprocess.Popen(command, cwd=ROOT, env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """Return a log in which B01 has three due tasks and B02 one."""
    log(tmp_path, 40, ("B01", "made"), ("B02", "made"), ("B03", "made"))
    log(tmp_path, 15, ("B01", "cleaned"), ("B02", "cleaned"), ("B03", "cleaned"))
    log(tmp_path, 9, ("B01", "fed"))
    log(tmp_path, 8, ("B02", "fed"), ("B02", "looked"), ("B03", "fed"), ("B03", "looked"))
    log(tmp_path, 5, ("B02", "meal_taken_out"), ("B03", "meal_taken_out"))
    log(tmp_path, 1, ("B02", "looked"), ("B03", "looked"))
    return tmp_path


def test_a_killed_visit_loses_nothing_and_doubles_nothing(data: Path) -> None:
    """Mist; the meal taken out while the app is killed; again; feed, one dead, undone; the next box comes."""
    services = wiring.build(data, on=DAY)
    due = [(row["box"], row["task"]) for row in due_json(services)["boxes"]]  # type: ignore[attr-defined]
    services.store.close()
    assert sorted(task for box, task in due if box == "B01") == ["feed", "meal_out", "moisture"]
    assert [task for box, task in due if box == "B02"] == ["feed"]

    before = counted(data)
    first = app(data, "day", "Misted", "~Meal out", "Next")
    assert first.stdout is not None
    for line in first.stdout:
        if line.strip() == "done ~Meal out":
            break
    first.kill()
    first.communicate()
    after = counted(data)
    assert after["misted"] == before["misted"] + 1
    assert after["meal_taken_out"] - before["meal_taken_out"] in (0, 1)

    again = ["Meal out"] if after["meal_taken_out"] == before["meal_taken_out"] else []
    second = app(data, "red", *again, "Fed", "Other", "Dead", "Done", "Skip", "Undo", "Next", "Fed", "await B03")
    out, err = second.communicate(timeout=120)
    assert second.returncode == 0, err[-2000:]
    end = counted(data)
    assert {kind: end[kind] - before[kind] for kind in end} == {
        "misted": 1, "meal_taken_out": 1, "fed": 1, "died": 0, "void": 1,
    }  # fmt: skip
    assert "box B03" in out
    assert "colours red" in out
