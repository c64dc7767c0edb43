"""Nudges on a desktop as they arrive: sent over a real message bus to a notification service of the tests' own."""

from __future__ import annotations

import json
import os
import shutil
import sys
from pathlib import Path

import pytest

from boxside.device.desktop.nudges import DesktopNudges
from tests.device import conftest
from tests.device.conftest import DESK, Desktop, Ended

POST = (
    "import json, sys; from boxside.device.desktop.nudges import DesktopNudges; "
    "d = DesktopNudges().post(sys.argv[1], sys.argv[2:]); print(json.dumps([d.handed_over, d.why, d.do]))"
)
linux = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="what is missing on a Linux desktop")


@pytest.fixture
def log(demo_folder: Path, tmp_path: Path) -> Path:
    """A log of the invented colony."""
    shutil.copytree(demo_folder, tmp_path / "log")
    return tmp_path / "log"


def nudge(log: Path) -> list[str]:
    """Return `boxside nudge` as a timer would run it."""
    return [sys.executable, "-m", "boxside.app.command", "nudge", "--json", "--data", str(log), "--on", "2026-05-03"]


def post(title: str, *lines: str) -> list[str]:
    return [sys.executable, "-c", POST, title, *lines]


def refused(ended: Ended) -> str:
    """Return the reason that a post gave, which must not pass for handed over."""
    handed_over, why, do = json.loads(ended.out)
    assert handed_over is False
    assert ended.shown == []
    assert "boxside due" in do
    assert ended.err == "", "the reason comes back as a value; nothing else is printed"
    return str(why)


def told(ended: Ended) -> str:
    """Return the one line of `boxside nudge` that was not handed over."""
    assert ended.status == 1
    assert json.loads(ended.out)["posted"] is False
    (line,) = ended.err.splitlines()
    assert line.startswith("boxside: The nudge was not shown: ")
    return line


def test_what_nudge_posts_arrives_with_its_title_and_lines(desktop: Desktop, log: Path) -> None:
    ended = desktop.run("takes", *nudge(log))
    assert (ended.status, ended.err) == (0, "")
    said = json.loads(ended.out)
    assert said["posted"] is True
    assert said["title"].endswith("more are due")
    assert len(said["lines"]) == 5
    (shown,) = ended.shown
    assert shown["title"] == said["title"]
    assert shown["body"].split("\n") == said["lines"]
    assert (shown["app"], shown["timeout_ms"], shown["actions"]) == ("Boxside", 30_000, [])


AWKWARD = ["B01 fed, <b>not</b> & so", r"C:\new\t\101 100 %", "-u critical", "ünïcödé ♀ 3 × 4", '"quoted" $HOME `id`']


@pytest.mark.parametrize("title", ["B01 is due", "-B01 is due", "--help", "A&B <i>is</i> due"])
def test_every_sign_arrives_as_it_was_written(desktop: Desktop, title: str) -> None:
    ended = desktop.run("takes", *post(title, *AWKWARD))
    assert json.loads(ended.out) == [True, "", ""]
    (shown,) = ended.shown
    assert (shown["title"], shown["body"]) == (title, "\n".join(AWKWARD))


def test_a_service_that_reads_markup_is_sent_the_signs_as_such(desktop: Desktop) -> None:
    (shown,) = desktop.run("markup", *post("A&B is due", "B01 <b>not</b> & so")).shown
    assert shown["title"] == "A&B is due", "the summary is plain text by the specification"
    assert shown["body"] == "B01 &lt;b&gt;not&lt;/b&gt; &amp; so"


def test_a_service_that_the_bus_has_to_start_is_started(desktop: Desktop, tmp_path: Path) -> None:
    arrived = tmp_path / "arrived.json"
    desktop.startable(f"{sys.executable} {DESK} serve {arrived}")
    ended = desktop.run("none", *post("B01 is due", "larvae"))
    assert json.loads(ended.out) == [True, "", ""]
    (shown,) = json.loads(arrived.read_text(encoding="utf-8"))
    assert (shown["title"], shown["body"]) == ("B01 is due", "larvae")


def test_a_bus_without_a_service_is_told(desktop: Desktop, log: Path) -> None:
    assert "no notification service runs on this desktop" in told(desktop.run("none", *nudge(log)))


def test_a_service_that_does_not_start_is_told(desktop: Desktop) -> None:
    desktop.startable("/bin/false")
    assert refused(desktop.run("none", *post("B01 is due"))).startswith("the notification service does not answer: ")


def test_a_service_that_refuses_is_told(desktop: Desktop, log: Path) -> None:
    line = told(desktop.run("refuses", *nudge(log)))
    assert "the desktop refused the message: " in line
    assert "too many messages" in line


def test_a_desktop_without_notify_send_is_told(desktop: Desktop, log: Path, tmp_path: Path) -> None:
    line = told(desktop.run("takes", "/usr/bin/env", f"PATH={tmp_path}", *nudge(log)))
    assert "notify-send is not installed (package libnotify-bin)" in line


@linux
@pytest.mark.parametrize(
    ("address", "why"),
    [
        (None, "there is no message bus in this session (DBUS_SESSION_BUS_ADDRESS is not set)"),
        ("", "there is no message bus in this session (DBUS_SESSION_BUS_ADDRESS is not set)"),
        ("unix:path=/nowhere/bus", "the message bus does not answer: "),
        ("tcp:host=127.0.0.1,port=9", "the message bus does not answer: "),
        ("nonsense", "the message bus does not answer: "),
    ],
)
def test_a_session_without_a_bus_is_told(
    address: str | None, why: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    program = tmp_path / "notify-send"
    program.write_text("#!/bin/sh\nexit 0\n", encoding="utf-8")
    program.chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.delenv("DBUS_SESSION_BUS_ADDRESS", raising=False)
    if address is not None:
        monkeypatch.setenv("DBUS_SESSION_BUS_ADDRESS", address)
    delivery = DesktopNudges().post("B01 is due", ["larvae"])
    assert delivery.handed_over is False
    assert delivery.why.startswith(why)
    assert "boxside due" in delivery.do


def test_a_desktop_says_that_it_keeps_no_plan() -> None:
    delivery = DesktopNudges().arm("{}")
    assert delivery.handed_over is False
    assert "timer" in delivery.do


@linux
def test_where_the_bus_is_missing_these_tests_say_so_and_fail_where_they_must_run(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    wanted = r"dbus-run-session and notify-send missing: apt-get install .* dbus libnotify-bin"
    monkeypatch.delenv("BOXSIDE_SCREENS_MUST_RUN", raising=False)
    with pytest.raises(pytest.skip.Exception, match=wanted):
        conftest.need_bus()
    monkeypatch.setenv("BOXSIDE_SCREENS_MUST_RUN", "1")
    with pytest.raises(pytest.fail.Exception, match=wanted):
        conftest.need_bus()
    assert os.environ["PATH"] == str(tmp_path)
