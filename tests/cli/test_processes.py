"""The command line as processes of its own: statuses, no Kivy, several at once, and optimised Python."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
DEMO = """
import sys
from boxside.app.command import main
from boxside.cli import app_commands
app_commands._start_app = lambda data, out, on: 0
sys.exit(main(sys.argv[1:]))
"""


def start(words: list[str], cwd: Path) -> subprocess.Popen[str]:
    """Start a Python process that finds the app."""
    place = {**os.environ, "PYTHONPATH": str(ROOT / "mobileapp")}
    return subprocess.Popen(
        [sys.executable, *words], cwd=cwd, env=place, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )


def ended(process: subprocess.Popen[str]) -> tuple[int, str, str]:
    """Wait for a process and return its status, output and errors."""
    out, err = process.communicate(timeout=120)
    return process.returncode, out, err


def test_bad_input_ends_with_status_2_and_one_line(tmp_path: Path) -> None:
    words = ["-m", "boxside.app.command", "log", "B01", "fed", "--data", "log", "--on", "2026-05-03"]
    status, out, err = ended(start(words, tmp_path))
    assert (status, out) == (2, "")
    assert err.splitlines() == ["boxside: There is no box 'B01'. Nothing was saved."]


def test_commands_never_load_kivy(tmp_path: Path) -> None:
    code = (
        "import sys\nfrom boxside.app.command import main\nmain(['due', '--data', 'log', '--on', '2026-05-03'])\n"
        "print(sorted({m.split('.')[0] for m in sys.modules} & {'kivy', 'cv2', 'pandas', 'plyer'}))"
    )
    status, out, err = ended(start(["-c", code], tmp_path))
    assert (status, err) == (0, "")
    assert out.splitlines()[-1] == "[]"


def test_two_keepers_at_once_both_get_saved(tmp_path: Path) -> None:
    """Two processes on one log wait for each other; neither entry is lost, and their numbers do not clash."""
    common = ["--data", "log"]
    for label in ("B01", "B02"):
        words = ["-m", "boxside.app.command", "add", label, "--stage", "larva", "--n", "9", *common]
        assert ended(start(words, tmp_path))[0] == 0
    both = [start(["-m", "boxside.app.command", "log", b, "fed", *common], tmp_path) for b in ("B01", "B02")]
    assert [ended(process)[0] for process in both] == [0, 0]
    status, out, _ = ended(start(["-m", "boxside.app.command", "rebuild", "--json", *common], tmp_path))
    assert status == 0
    assert '"events": 10' in out
    assert '"same": true' in out


def test_optimised_python_writes_the_same_demo_byte_for_byte(tmp_path: Path) -> None:
    """`-OO` drops asserts and docstrings: nothing of the app may lean on either."""
    runs = {}
    for name, flags in (("plain", []), ("optimised", ["-OO"])):
        words = [*flags, "-c", DEMO, "demo", "--data", f"{name}/log", "--out", f"{name}/out", "--on", "2026-05-03"]
        runs[name] = start(words, tmp_path)
    said = {name: ended(process) for name, process in runs.items()}
    assert [status for status, _, _ in said.values()] == [0, 0], said
    assert said["plain"][1].replace("plain/", "") == said["optimised"][1].replace("optimised/", "")
    season = tmp_path / "plain" / "out" / "season"
    files = sorted(str(path.relative_to(season)) for path in season.rglob("*") if path.is_file())
    assert len(files) >= 25, files
    for name in files:
        plain, optimised = (tmp_path / run / "out" / "season" / name for run in runs)
        assert plain.read_bytes() == optimised.read_bytes(), name


def test_a_long_answer_to_a_closed_pipe_says_nothing_on_stderr(tmp_path: Path) -> None:
    code = (
        "import sys\nfrom boxside.app import command\ncommand.run = lambda *_: print('x' * 200_000) or 0\n"
        "sys.exit(command.main([]))"
    )
    process = start(["-c", code], tmp_path)
    assert process.stdout is not None
    process.stdout.close()
    assert process.stderr is not None
    assert process.stderr.read() == ""
    process.stderr.close()
    assert process.wait(timeout=60) == 1
