"""`boxside nudge` and `boxside open`."""

from __future__ import annotations

import pytest

from boxside.cli import app_commands
from boxside.device.desktop.nudges import DesktopNudges
from boxside.device.ports import Delivery
from tests.cli.conftest import Shell


def test_nothing_due_posts_nothing(shell: Shell, monkeypatch: pytest.MonkeyPatch) -> None:
    def never(self: DesktopNudges, title: str, lines: object) -> Delivery:
        raise AssertionError(f"posted {title!r}")

    monkeypatch.setattr(DesktopNudges, "post", never)
    assert shell.ok("nudge").out == "Nothing is due today.\n"
    assert shell.ok("nudge", "--json").data == {"on": "2026-05-03", "title": "", "lines": [], "posted": False}


def test_a_nudge_says_who_and_why_and_is_handed_over(colony: Shell, monkeypatch: pytest.MonkeyPatch) -> None:
    posted: list[tuple[str, tuple[str, ...]]] = []

    def post(self: DesktopNudges, title: str, lines: tuple[str, ...]) -> Delivery:
        posted.append((title, tuple(lines)))
        return Delivery(True)

    monkeypatch.setattr(DesktopNudges, "post", post)
    answer = colony.ok("nudge", "--json").data
    assert posted == [(answer["title"], tuple(answer["lines"]))]
    assert answer["posted"] is True
    due = list(dict.fromkeys(row["box"] for row in colony.ok("due", "--json").data["boxes"]))
    assert answer["title"] == f"{', '.join(due[:3])} and {len(due) - 3} more are due"
    assert [line.split(",")[0] for line in answer["lines"][:4]] == due[:4]
    assert answer["lines"][4] == f"and {len(due) - 4} more"


def test_a_nudge_that_nobody_hears_is_told(colony: Shell, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a message bus the words still come, the reason too, and the status says so."""
    monkeypatch.delenv("DBUS_SESSION_BUS_ADDRESS", raising=False)
    monkeypatch.setattr("boxside.device.desktop.nudges.sys.platform", "linux")
    answer = colony("nudge")
    assert answer.status == 1
    assert "more are due" in answer.out
    assert len(answer.err.splitlines()) == 1
    assert "there is no message bus in this session" in answer.err
    assert "boxside due" in answer.err


def test_open_without_graphics_says_what_to_install(shell: Shell, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(app_commands, "missing_gl", lambda: "libGL missing")
    answer = shell("open")
    assert (answer.status, answer.out) == (1, "")
    assert answer.err.startswith("boxside: The app cannot open a window: libGL missing. Install it: apt-get install")


def test_open_starts_the_app_on_the_data_folder(shell: Shell, monkeypatch: pytest.MonkeyPatch) -> None:
    started: list[list[str]] = []

    class Ended:
        returncode = 0

    def run(words: list[str], **_: object) -> Ended:
        started.append(words)
        return Ended()

    monkeypatch.setattr(app_commands, "missing_gl", lambda: "")
    monkeypatch.setattr(app_commands.subprocess, "run", run)
    shell.ok("open")
    (words,) = started
    assert words[1:3] == ["-c", app_commands.APP]
    assert words[3:] == ["--data", str(shell.folder)]
