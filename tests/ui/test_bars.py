"""The bars for wet thumbs, on every scene: the live widget tree at phone sizes and font scales."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.ui.fake_colony import colony

pytestmark = pytest.mark.screen
AUDIT = Path(__file__).with_name("audit.py")


SCALES = ("1.0", "2.0")


@pytest.mark.slow
@pytest.mark.parametrize(
    ("size", "share", "look"),
    [
        *[("360x640", share, ()) for share in ("0/2", "1/2")],
        *[("360x780", share, ()) for share in ("0/2", "1/2")],
        *[("411x891", share, ("colours",)) for share in ("0/4", "1/4", "2/4", "3/4")],
    ],
)
def test_nothing_is_small_close_cut_hidden_or_faint(
    tmp_path: Path, size: str, share: str, look: tuple[str, ...]
) -> None:
    """A window's geometry is fixed in a process, so each size has its own; both font scales share it.
    The scenes are dealt out, so that several cores have something to do.

    The largest window shows most of each scene: there the colours of the three themes are looked at too.
    """
    out = tmp_path / "findings.json"
    clean = {key: value for key, value in os.environ.items() if not key.startswith("KIVY")}
    done = subprocess.run(
        [sys.executable, str(AUDIT), str(out), size, "1", ",".join(SCALES), share, *look],
        env=clean,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-2000:]
    walks = json.loads(out.read_text(encoding="utf-8"))
    assert [walk["scale"] for walk in walks] == list(SCALES)
    assert [walk["found"] for walk in walks] == [[], []]
    for walk in walks:
        assert walk["n_scenes"] >= 240 // int(share.split("/")[1])
        assert walk["n_targets"] > 5 * walk["n_scenes"]
        assert walk["n_texts"] > 10 * walk["n_scenes"]


def findings(driver: Any) -> set[str]:
    """Return what is wrong with what shows now."""
    from tests.ui.audit import Audit

    audit = Audit(driver.app, "control")
    audit.geometry()
    audit.contrast()
    return {found["what"] for found in audit.found}


def spoil_size(driver: Any) -> None:
    driver.find("Fed").height = 110


def spoil_gap(driver: Any) -> None:
    driver.find("Fed").parent.spacing = 4


def spoil_text(driver: Any) -> None:
    driver.find("Fed").text = "Incomprehensibilities"


def spoil_type(driver: Any) -> None:
    label = driver.find("Fed").children[0]
    label.font_size = 12


def spoil_reach(driver: Any) -> None:
    driver.find("Fed").y = -20


def spoil_contrast(driver: Any) -> None:
    driver.find("Fed").ink = (0.4, 0.5, 0.4, 1)


def spoil_overlap(driver: Any) -> None:
    label = driver.find("Fed").children[0]
    label.pos = driver.find("Look").children[0].pos


@pytest.mark.parametrize(
    ("spoil", "expected"),
    [
        (spoil_size, "small target"),
        (spoil_gap, "gap too small"),
        (spoil_text, "text cut"),
        (spoil_type, "text below 16 sp"),
        (spoil_reach, "off screen"),
        (spoil_contrast, "low contrast"),
        (spoil_overlap, "texts over each other"),
    ],
)
def test_the_walk_sees_each_kind_of_damage(start: Any, spoil: Any, expected: str) -> None:
    """The control: a walk that finds nothing proves nothing."""
    from boxside.app.pictures import frames

    driver = start(colony())
    assert findings(driver) == set()
    spoil(driver)
    if spoil in (spoil_gap, spoil_text):
        frames(3)
    assert expected in findings(driver)
