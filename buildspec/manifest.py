"""What the rendered Android project has to say, read from its files."""

from __future__ import annotations

import re
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path
from xml.etree import ElementTree

_NS = "{http://schemas.android.com/apk/res/android}"
PERMISSIONS = {"android.permission.POST_NOTIFICATIONS", "android.permission.RECEIVE_BOOT_COMPLETED"}
ACTIVITY = "org.kivy.android.PythonActivity"
RECEIVERS = {
    "org.boxside.nudge.NudgeReceiver": set(),
    "org.boxside.nudge.SystemReceiver": {
        "android.intent.action.BOOT_COMPLETED",
        "android.intent.action.MY_PACKAGE_REPLACED",
        "android.intent.action.TIME_SET",
        "android.intent.action.TIMEZONE_CHANGED",
    },
}
PROVIDER = "org.boxside.files.OwnFiles"
FRAMEWORK = Path("/usr/share/android-framework-res/framework-res.apk")
# Newer than the framework that Debian has (Android 10, API 29).
_TOO_NEW = r'\s+android:dataExtractionRules="[^"]*"'


def faults(project: Path, java: Path) -> list[str]:
    """Return what is wrong with a project, one line each; nothing is what is wanted."""
    text = (project / "src/main/AndroidManifest.xml").read_text(encoding="utf-8")
    root = ElementTree.fromstring(text)
    found = [*_of_permissions(root), *_of_parts(root, java), *_of_activity(root), *_of_backup(root, project)]
    return [*found, *_of_resources(project, java), *_of_gradle(project, java)]


def _of_permissions(root: ElementTree.Element) -> Iterator[str]:
    asked = {one.get(f"{_NS}name", "") for one in root.iter("uses-permission")}
    for name in sorted(asked ^ PERMISSIONS):
        yield f"permission {name} is {'asked for but not wanted' if name in asked else 'missing'}"
    for one in root.iter("uses-sdk"):
        levels = one.get(f"{_NS}minSdkVersion"), one.get(f"{_NS}targetSdkVersion")
        if levels not in {("26", "35"), ("26", "36")}:
            yield f"API levels are {levels}"


def _of_parts(root: ElementTree.Element, java: Path) -> Iterator[str]:
    receivers = {one.get(f"{_NS}name", ""): one for one in root.iter("receiver")}
    if len(receivers) != len(list(root.iter("receiver"))) or set(receivers) != set(RECEIVERS):
        yield f"receivers are {sorted(receivers)}, each once is wanted: {sorted(RECEIVERS)}"
    for name, one in receivers.items():
        actions = {action.get(f"{_NS}name", "") for action in one.iter("action")}
        if actions != RECEIVERS.get(name):
            yield f"{name} listens to {sorted(actions)}"
    providers = list(root.iter("provider"))
    if [one.get(f"{_NS}name") for one in providers] != [PROVIDER]:
        yield f"providers are {[one.get(f'{_NS}name') for one in providers]}"
    for one in (*receivers.values(), *providers, *root.iter("service")):
        name = one.get(f"{_NS}name", "")
        if one.get(f"{_NS}exported") != "false":
            yield f"{name} may be reached by other apps"
        if not (java / (name.replace(".", "/") + ".java")).is_file():
            yield f"{name} has no Java"


def _of_activity(root: ElementTree.Element) -> Iterator[str]:
    activities = list(root.iter("activity"))
    if [one.get(f"{_NS}name") for one in activities] != [ACTIVITY]:
        yield f"activities are {[one.get(f'{_NS}name') for one in activities]}"
    elif activities[0].get(f"{_NS}launchMode") != "singleTask":
        yield "a tap on a nudge would start the app a second time: launchMode is not singleTask"


def _of_backup(root: ElementTree.Element, project: Path) -> Iterator[str]:
    app = root.find("application")
    for key in ("fullBackupContent", "dataExtractionRules"):
        named = (app.get(f"{_NS}{key}") or "") if app is not None else ""
        path = project / "src/main/res" / f"{named.removeprefix('@')}.xml"
        if not named or not path.is_file():
            yield f"{key} names {named or 'nothing'}, which is not there"
            continue
        rules = ElementTree.parse(path).getroot()
        clouds = [rules] if rules.tag == "full-backup-content" else list(rules.iter("cloud-backup"))
        kept = [one.get("path") for cloud in clouds for one in cloud.iter("include")]
        if kept != ["boxside/snapshots/"]:
            yield f"{path.name} backs {kept} up; only the snapshots are wanted"
        everywhere = [one.get("path") or "" for one in rules.iter("include")]
        if any("boxside.db" in one or one.strip("/") == "boxside" for one in everywhere):
            yield f"{path.name} copies the live database, which may be torn"


def _of_resources(project: Path, java: Path) -> Iterator[str]:
    res = project / "src/main/res"
    strings = {
        one.get("name")
        for path in (res / "values").glob("*.xml")
        for one in ElementTree.parse(path).getroot().iter("string")
    }
    for path in java.rglob("*.java"):
        text = path.read_text(encoding="utf-8")
        for name in re.findall(r'"(boxside_[a-z]+)"', text):
            if name not in strings and name != "boxside_place":
                yield f"{path.name} says {name}, which has no words"
        for name in re.findall(r'"(ic_[a-z]+)"', text):
            if not (res / "drawable" / f"{name}.xml").is_file():
                yield f"{path.name} shows {name}, which is not there"
    for pattern in ("mipmap-anydpi-v26/*.xml", "mipmap*/icon*.png", "drawable*/presplash.*"):
        if not list(res.glob(pattern)):
            yield f"no {pattern} among the resources"


def _of_gradle(project: Path, java: Path) -> Iterator[str]:
    text = (project / "build.gradle").read_text(encoding="utf-8")
    if re.findall(r"java \{(.*)\}", text) != [f"srcDir '{java}'"]:
        yield "build.gradle does not take our Java as its one added folder"
    if "minifyEnabled true" in text:
        yield "build.gradle would rename the receivers"


def missing_aapt() -> str:
    """Return what keeps Android's resource compiler from running here."""
    if shutil.which("aapt") is None:
        return "aapt is not installed (apt-get install aapt android-framework-res)"
    return "" if FRAMEWORK.is_file() else "the framework is not installed (apt-get install android-framework-res)"


def aapt(project: Path) -> str:
    """Have aapt read manifest and resources, and return what it makes of them; ValueError where it refuses them."""
    text = (project / "src/main/AndroidManifest.xml").read_text(encoding="utf-8")
    text = re.sub(_TOO_NEW, "", text).replace("${applicationId}", "org.boxside.boxside")
    text = text.replace("<manifest ", '<manifest package="org.boxside.boxside" ', 1)
    with tempfile.TemporaryDirectory() as folder:
        manifest, packed = Path(folder) / "AndroidManifest.xml", Path(folder) / "resources.apk"
        res = shutil.copytree(project / "src/main/res", Path(folder) / "res")
        (res / "xml" / "boxside_extraction.xml").unlink()
        manifest.write_text(text, encoding="utf-8")
        words = ["aapt", "package", "-f", "-M", str(manifest), "-S", str(res), "-I", str(FRAMEWORK), "-F", str(packed)]
        done = subprocess.run(words, capture_output=True, text=True, check=False)
        if done.returncode:
            raise ValueError(f"aapt refuses the project: {done.stderr.strip()[-800:]}")
        told = subprocess.run(["aapt", "dump", "badging", str(packed)], capture_output=True, text=True, check=True)
        return told.stdout
