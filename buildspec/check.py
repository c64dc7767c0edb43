"""Everything about the phone's build that can be checked without a phone, SDK, NDK: `python -m buildspec.check`.

`--python PATH` runs the app's own checks with another Python, such as that of an environment without the extras.

Prints a line for each check: `ok`, `FAILED` with the reason, or `not run here` with the reason. The exit status is 1
where something failed.
"""

from __future__ import annotations

import argparse
import configparser
import hashlib
import importlib.util
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from buildspec import golden, graph, java, manifest, render, stage
from buildspec.receiver import Receiver

HERE = Path(__file__).resolve().parent
SPEC = HERE / "buildozer.spec"
BOOTSTRAP = "sdl2"
# Import names where they differ from the requirement's.
_IMPORTS = {"pillow": "PIL", "opencv": "cv2", "peewee": "peewee playhouse", "pyjnius": "jnius"}
# On a phone from recipes; here the parts that need them are imported without.
_NOT_HERE = {"jnius", "android"}


class NotHereError(Exception):
    """A check needs what this computer lacks."""


@dataclass(slots=True)
class Checked:
    """What the checks share as they go on."""

    folder: Path
    spec: configparser.RawConfigParser
    python: str = sys.executable
    command: list[str] = field(default_factory=list)
    resolved: graph.Resolved | None = None

    @property
    def requirements(self) -> list[str]:
        """The requirements as the spec names them."""
        return [one.strip() for one in self.spec["app"]["requirements"].split(",")]

    def need(self) -> graph.Resolved:
        """Return what the requirements come to; NotHereError where that was not found out."""
        if self.resolved is None:
            raise NotHereError("the requirements were not resolved")
        return self.resolved


def spec_is_known(at: Checked) -> str:
    """Every key of ours is one of buildozer's; versions, API levels and names agree."""
    app, known = at.spec["app"], render.known_keys()
    if unknown := sorted(set(app) - known | set(at.spec["buildozer"]) - known):
        raise ValueError(f"unknown keys: {unknown}")
    if "android.features" in app:
        raise ValueError("android.features breaks the build (buildozer#1715); use android.extra_manifest_xml")
    if len(app["android.add_src"].split(",")) != 1:
        raise ValueError("two folders in android.add_src end up on one line of build.gradle")
    import tomllib

    version = tomllib.loads((stage.ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["version"]
    if version != app["version"]:
        raise ValueError(f"the spec is of version {app['version']}, the package of {version}")
    return f"{len(app)} keys, version {version}, API {app['android.minapi']} to {app['android.api']}"


def command_is_captured(at: Checked) -> str:
    """The spec is read by buildozer itself, which gives python-for-android its arguments."""
    n_bytes = stage.stage(at.folder / "stage")
    _, at.command = render.buildozer_of(SPEC)
    return f"{len(at.command)} arguments; {n_bytes:,} bytes staged"


def requirements_resolve(at: Checked) -> str:
    """python-for-android's own resolver takes the requirements; pins agree with its recipes."""
    app = at.spec["app"]
    archs = [one.strip() for one in app["android.archs"].split(",")]
    at.resolved = graph.resolve(at.requirements, int(app["android.api"]), int(app["android.minapi"]), archs, BOOTSTRAP)
    for name, version in at.resolved.recipes.items():
        print(f"     recipe   {name:12} {version:8} (built from source; its size is not known here)")
    return f"{len(at.resolved.recipes)} recipes, {len(at.resolved.packages)} packages without one"


def packages_are_pure(at: Checked) -> str:
    """What has no recipe is pure Python, by the wheel that pip would take for the phone."""
    needed = at.need()
    try:
        found = graph.wheels(needed.packages, needed.recipes["python3"], int(at.spec["app"]["android.minapi"]))
    except ConnectionError as error:
        raise NotHereError(f"pip reaches no index: {error}") from error
    for one in found:
        size = f"{one.n_bytes:9,} bytes" if one.n_bytes else "size not told  "
        print(f"     package  {one.name:12} {one.version:16} {size}  {one.file}")
    if mixed := [one.name for one in found if not one.is_pure]:
        raise ValueError(f"neither recipe nor pure Python: {mixed}")
    return f"{len(found)} packages, all pure Python"


def project_is_as_wanted(at: Checked) -> str:
    """The Android project, rendered by build.py and our hook, says what it has to."""
    project = at.folder / "project"
    render.render(at.need(), render.arguments(at.command, at.folder / "stage"), project)
    if wrong := manifest.faults(project, java.HERE / "java"):
        raise ValueError("; ".join(wrong))
    return f"{len(manifest.PERMISSIONS)} permissions, none of them INTERNET; receivers and provider not exported"


def aapt_takes_it(at: Checked) -> str:
    """Android's resource compiler takes manifest and resources."""
    if missing := manifest.missing_aapt():
        raise NotHereError(missing)
    told = manifest.aapt(at.folder / "project")
    implied = [line for line in told.splitlines() if line.startswith("  uses-feature:") and "camera" in line]
    if implied:
        raise ValueError(f"a camera would be required: {implied}")
    return f"{told.splitlines()[0].split(' platformBuild')[0]} (attributes newer than API 29 left out)"


def java_compiles_and_agrees(at: Checked) -> str:
    """Our Java compiles for Java 8, passes its checks, and does with the golden plans what Python does."""
    if missing := java.missing():
        raise NotHereError(missing)
    classes = at.folder / "classes"
    classes.mkdir()
    java.compile_into(classes)
    said = java.run_checks(classes, at.folder)
    stories = [json.loads(path.read_text(encoding="utf-8")) for path in sorted(golden.FOLDER.glob("*.json"))]
    with java.phone(classes) as phone:
        for story in stories:
            for name, one in (("Java", phone), ("Python", Receiver())):
                if wrong := list(golden.differences(story, one)):
                    raise ValueError(f"{name}, {story['about']} {wrong[0]}")
    n_steps = sum(len(story["steps"]) for story in stories)
    return f"{said}; {len(stories)} golden plans, {n_steps} steps, alike in Java and Python"


def app_imports(at: Checked) -> str:
    """The staged app imports with the phone's packages only, under -OO."""
    needed = at.need()
    names = [*needed.recipes, *needed.packages]
    tops = {top for name in names for top in _IMPORTS.get(name, name).split()} - _NOT_HERE
    env = {
        **os.environ,
        "SDL_VIDEODRIVER": "offscreen",
        "KIVY_HOME": str(at.folder / "kivy"),
        "KIVY_CLIPBOARD": "dummy",
    }
    words = [at.python, "-OO", str(HERE / "imports.py"), str(_staged(at)), *sorted(tops)]
    done = subprocess.run(words, capture_output=True, text=True, check=False, env=env)
    if not done.stdout.strip():
        said = done.stderr.strip()[-600:]
        if any(sign in done.stderr for sign in ("libGL", "libEGL", "Unable to get a Window")):
            raise NotHereError(f"Kivy opens no window (apt-get install libgl1 libegl1): {said}")
        raise ValueError(said)
    told = json.loads(done.stdout.strip().splitlines()[-1])
    if told["failed"]:
        raise ValueError(f"modules ask for what is not on the phone: {told['failed']}")
    without = ", ".join(told["optional"]) or "nothing else"
    return f"{told['imported']} modules under python -OO; asked for and done without: {without}"


def demo_is_alike(at: Checked) -> str:
    """The demo's export is the same, byte for byte, with and without -OO."""
    found = {}
    for name, flags in (("plain", []), ("OO", ["-OO"])):
        out = at.folder / name
        words = [
            at.python,
            *flags,
            str(HERE / "exported.py"),
            str(_staged(at)),
            str(out / "data"),
            str(out / "out"),
        ]
        done = subprocess.run(words, capture_output=True, text=True, check=False)
        if done.returncode:
            raise ValueError(f"the export failed ({name}): {done.stderr.strip()[-600:]}")
        found[name] = _digests(out / "out")
    if found["plain"] != found["OO"]:
        differing = sorted(one for one in found["plain"] if found["plain"][one] != found["OO"].get(one))
        raise ValueError(f"the exports differ: {differing}")
    return f"{len(found['OO'])} files of the demo's export are alike"


def _staged(at: Checked) -> Path:
    """Stage with the desktop's parts, which stand in for the phone's, since they are what runs here."""
    folder = at.folder / "with-desktop"
    if not folder.exists():
        stage.stage(folder)
        desktop = "boxside/device/desktop"
        shutil.copytree(stage.ROOT / "mobileapp" / desktop, folder / desktop)
    return folder


def _digests(folder: Path) -> dict[str, str]:
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


CHECKS: dict[str, Callable[[Checked], str]] = {
    "spec": spec_is_known,
    "arguments": command_is_captured,
    "requirements": requirements_resolve,
    "packages": packages_are_pure,
    "manifest": project_is_as_wanted,
    "aapt": aapt_takes_it,
    "java": java_compiles_and_agrees,
    "imports": app_imports,
    "demo under -OO": demo_is_alike,
}
_NEEDS_P4A = {"spec", "arguments", "requirements", "packages", "manifest", "aapt", "imports"}
NEVER_HERE = (
    "compiling the recipes (needs the NDK), above all opencv",
    "Gradle, d8 and aapt2 on the project (need Google's Maven), so: an APK",
    "Android's own classes: our Java was compiled against small stand-ins",
    "pyjnius calling our Java, alarms in Doze, makers' battery savers, the camera and picker apps: on a phone only",
    "kivy-ios and an iPhone's notifications: need a Mac",
)


def run(names: tuple[str, ...] = tuple(CHECKS), python: str = sys.executable) -> int:
    """Run checks by name and print what came of each; returns how many failed."""
    at = Checked(Path(tempfile.mkdtemp(prefix="boxside-check-")), spec_of(SPEC), python)
    n_failed = 0
    for name in names:
        try:
            print(f"ok   {name}: {_checked(name, at)}", flush=True)
        except NotHereError as error:
            print(f"not run here: {name}: {error}")
        except (ValueError, RuntimeError) as error:
            n_failed += 1
            print(f"FAILED {name}: {error}")
    for one in NEVER_HERE:
        print(f"not run here: {one}")
    shutil.rmtree(at.folder)
    return n_failed


def _checked(name: str, at: Checked) -> str:
    has_p4a = all(importlib.util.find_spec(one) for one in ("pythonforandroid", "buildozer"))
    if name in _NEEDS_P4A and not has_p4a:
        raise NotHereError("python-for-android and buildozer are not installed (pip install '.[phone]')")
    return CHECKS[name](at)


def spec_of(path: Path) -> configparser.RawConfigParser:
    """Return a spec, read as buildozer reads it."""
    read = configparser.RawConfigParser(allow_no_value=True)
    read.optionxform = str  # type: ignore[assignment,method-assign]
    read.read(path, encoding="utf-8")
    return read


def main() -> int:
    """Run all checks; the exit status is 1 where one failed."""
    parser = argparse.ArgumentParser(prog="python -m buildspec.check", description=__doc__)
    parser.add_argument("--python", default=sys.executable, help="runs the app's own checks (default: this one)")
    return 1 if run(python=parser.parse_args().python) else 0


if __name__ == "__main__":
    raise SystemExit(main())
