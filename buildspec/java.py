"""The Java of the app, compiled and run on this computer against stand-ins for Android's classes."""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent / "android"
LOOP = "org.boxside.nudge.PhoneLoop"


def missing() -> str:
    """Return which part of a JDK is missing, empty where all are there."""
    gone = [name for name in ("javac", "java") if shutil.which(name) is None]
    return f"no {' and no '.join(gone)} on the path (package default-jdk-headless)" if gone else ""


def compile_into(folder: Path) -> None:
    """Compile our Java, stand-ins and checks for Java 8, every warning an error; RuntimeError if that fails."""
    sources = [str(path) for part in ("java", "standins", "checks") for path in sorted((HERE / part).rglob("*.java"))]
    # -options: newer compilers warn that they will drop Java 8, which Android's tools still take.
    words = ["javac", "--release", "8", "-Xlint:all,-options", "-Werror", "-encoding", "UTF-8", "-d", str(folder)]
    done = subprocess.run([*words, *sources], capture_output=True, text=True, check=False)
    if done.returncode:
        raise RuntimeError(f"the Java does not compile:\n{done.stdout}{done.stderr}")


class JavaPhone:
    """The receiver as a process; takes the commands of `receiver.Receiver`."""

    def __init__(self, process: subprocess.Popen[str]) -> None:
        self._process = process

    def answer(self, asked: dict[str, Any]) -> dict[str, Any]:
        """Send one command and return its answer; RuntimeError if the process has ended."""
        to, back = self._process.stdin, self._process.stdout
        if to is None or back is None:
            raise RuntimeError("the phone has no ears")
        to.write(json.dumps(asked) + "\n")
        to.flush()
        line = back.readline()
        if not line:
            raise RuntimeError("the Java phone ended; see its stderr")
        found: dict[str, Any] = json.loads(line)
        return found


@contextmanager
def phone(classes: Path) -> Iterator[JavaPhone]:
    """Run the receiver on the JVM."""
    words = ["java", "-XX:TieredStopAtLevel=1", "-XX:+UseSerialGC", "-cp", str(classes), LOOP]
    with subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, encoding="utf-8") as process:
        try:
            yield JavaPhone(process)
        finally:
            if process.stdin is not None:
                process.stdin.close()
            process.wait(timeout=20)


def run_checks(classes: Path, folder: Path) -> str:
    """Run the plain-Java checks in a folder and return their last line; RuntimeError if one fails."""
    words = ["java", "-ea", "-cp", str(classes), "org.boxside.nudge.Checks", str(folder)]
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    if done.returncode:
        raise RuntimeError(f"the Java checks failed:\n{done.stdout}{done.stderr}")
    return done.stdout.strip().splitlines()[-1]
