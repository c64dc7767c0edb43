"""The checks of the phone's build, each with something that it has to refuse."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from buildspec import check, graph, imports, java, manifest, render, stage

pytest.importorskip("pythonforandroid", reason="python-for-android is not installed (extra `phone`)")
pytest.importorskip("buildozer", reason="buildozer is not installed (extra `phone`)")

ROOT = Path(__file__).parents[2]
SPEC = check.SPEC.read_text(encoding="utf-8")
# python-for-android and buildozer warn of Python's newer ways; that is theirs to mend.
pytestmark = pytest.mark.filterwarnings("ignore")


@pytest.fixture(scope="module")
def at(tmp_path_factory: pytest.TempPathFactory) -> check.Checked:
    """The build's checks as far as the project that Gradle would be given."""
    made = check.Checked(tmp_path_factory.mktemp("build"), check.spec_of(check.SPEC))
    check.spec_is_known(made)
    check.command_is_captured(made)
    check.requirements_resolve(made)
    check.project_is_as_wanted(made)
    return made


def spec_with(tmp_path: Path, old: str, new: str) -> check.Checked:
    assert old in SPEC
    path = tmp_path / "buildozer.spec"
    path.write_text(SPEC.replace(old, new), encoding="utf-8")
    return check.Checked(tmp_path, check.spec_of(path))


def test_the_project_is_as_wanted(at: check.Checked) -> None:
    assert manifest.faults(at.folder / "project", java.HERE / "java") == []


def test_requirements_are_the_ones_that_were_tried(at: check.Checked) -> None:
    """Should python-for-android move on, build once on a phone before this is moved too."""
    recipes = at.need().recipes
    assert {name: recipes[name] for name in ("python3", "kivy", "pillow", "opencv", "sqlite3")} == {
        "python3": "3.14.2", "kivy": "2.3.1", "pillow": "11.3.0", "opencv": "4.12.0", "sqlite3": "3.50.4"
    }  # fmt: skip
    assert {"peewee", "segno", "tzdata"} <= set(at.need().packages)


@pytest.mark.parametrize(
    ("old", "new", "why"),
    [
        ("android.minapi", "android.mniapi", "unknown keys"),
        ("orientation = portrait", "orientation = portrait\nandroid.features = x", "android.features breaks"),
        ("android.add_src = android/java", "android.add_src = android/java,other", "two folders"),
        ("version = 0.1.0", "version = 9.9.9", "the spec is of version"),
    ],
)
def test_a_spec_that_would_not_build_is_refused(tmp_path: Path, old: str, new: str, why: str) -> None:
    with pytest.raises(ValueError, match=why):
        check.spec_is_known(spec_with(tmp_path, old, new))


@pytest.mark.parametrize(
    ("old", "new", "why"),
    [
        ("numpy,", "numpy==2.3.0,", "numpy is pinned to 2.3.0, its recipe builds v2.3.0"),
        ("android.minapi = 26", "android.minapi = 21", "android.minapi of 24"),
        ("python3,", "python3,sdl3,", "do not resolve"),
    ],
)
def test_requirements_that_do_not_resolve_are_refused(tmp_path: Path, old: str, new: str, why: str) -> None:
    with pytest.raises(ValueError, match=why):
        check.requirements_resolve(spec_with(tmp_path, old, new))


def test_what_is_neither_recipe_nor_pure_is_refused(at: check.Checked, monkeypatch: pytest.MonkeyPatch) -> None:
    mixed = graph.Package("scipy", "1.0", "scipy-1.0-cp314-cp314-android_24_arm64_v8a.whl", 1)
    monkeypatch.setattr(graph, "wheels", lambda *_: [mixed])
    with pytest.raises(ValueError, match="neither recipe nor pure Python"):
        check.packages_are_pure(at)


@pytest.mark.parametrize(
    ("old", "new", "why"),
    [
        (
            "android.permission.POST_NOTIFICATIONS",
            "android.permission.INTERNET",
            "INTERNET is asked for but not wanted",
        ),
        (
            '.nudge.NudgeReceiver" android:exported="false"',
            '.nudge.NudgeReceiver" android:exported="true"',
            "other apps",
        ),
        ("android.intent.action.BOOT_COMPLETED", "android.intent.action.BOOT", "listens to"),
        (".files.OwnFiles", ".files.AllFiles", "has no Java"),
        ("singleTask", "standard", "a second time"),
        ("@xml/boxside_backup", "@xml/other", "which is not there"),
        ('targetSdkVersion="35"', 'targetSdkVersion="33"', "API levels"),
    ],
)
def test_a_manifest_that_says_something_else_is_seen(
    at: check.Checked, tmp_path: Path, old: str, new: str, why: str
) -> None:
    project = copied(at, tmp_path)
    path = project / "src/main/AndroidManifest.xml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")
    assert [one for one in manifest.faults(project, java.HERE / "java") if why in one]


def test_a_backup_of_live_files_or_photos_is_seen(at: check.Checked, tmp_path: Path) -> None:
    project = copied(at, tmp_path)
    rules = project / "src/main/res/xml/boxside_extraction.xml"
    rules.write_text(rules.read_text(encoding="utf-8").replace("boxside/snapshots/", "boxside/"), encoding="utf-8")
    found = manifest.faults(project, java.HERE / "java")
    assert any("only the snapshots" in one for one in found)
    assert any("may be torn" in one for one in found)


def copied(at: check.Checked, tmp_path: Path) -> Path:
    """A copy of the project's files that are looked at."""
    import shutil

    wanted = shutil.copytree(at.folder / "project" / "src", tmp_path / "project" / "src")
    shutil.copy(at.folder / "project" / "build.gradle", tmp_path / "project")
    return wanted.parent


def test_the_hook_puts_its_parts_in_once(at: check.Checked) -> None:
    text = (at.folder / "project/src/main/AndroidManifest.xml").read_text(encoding="utf-8")
    assert text.count("org.boxside.nudge.NudgeReceiver") == 1
    with render.inside(at.folder / "project"):
        before = text
        render._module(render.HERE / "hook.py", "hook").after_apk_build(None)
    assert (at.folder / "project/src/main/AndroidManifest.xml").read_text(encoding="utf-8") == before


def test_aapt_takes_the_project(at: check.Checked) -> None:
    if missing := manifest.missing_aapt():
        pytest.skip(missing)
    assert "org.boxside.boxside" in check.aapt_takes_it(at)


def test_no_dotted_or_cached_folder_is_staged(tmp_path: Path) -> None:
    stage.stage(tmp_path / "stage")
    names = {path.relative_to(tmp_path / "stage").as_posix() for path in (tmp_path / "stage").rglob("*")}
    assert {"main.py", "boxside/app/phone.py", "shared/events.toml", "assets/icon.png"} <= names
    inner = {name for name in names if name != stage.MARK}
    assert not [name for name in inner if "/." in f"/{name}" or "__pycache__" in name or name.endswith(".pyc")]
    assert not [name for name in inner if "desktop" in name or name.startswith("shared/checks")]
    (tmp_path / "mine").mkdir()
    with pytest.raises(RuntimeError, match="nothing was deleted"):
        stage.stage(tmp_path / "mine")


def test_spec_includes_every_kind_of_file_that_is_staged() -> None:
    """buildozer drops what `source.include_exts` does not name, without a word."""
    kinds = set(check.spec_of(check.SPEC)["app"]["source.include_exts"].split(","))
    assert {Path(place).suffix[1:] for place in stage.staged() if "README" not in place} - kinds == set()


def test_what_a_phone_does_not_have_is_hidden() -> None:
    code = (
        "import sys; sys.path.insert(0, sys.argv[1]); from buildspec.imports import OnlyThese\n"
        "sys.meta_path.insert(0, OnlyThese({'numpy'}))\n"
        "import json, numpy\n"
        "try:\n    import scipy\nexcept ModuleNotFoundError as error:\n    print(error)\n"
    )
    done = subprocess.run([sys.executable, "-c", code, str(ROOT)], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "scipy is not on the phone"
    assert imports.OnlyThese(set()).names >= {"json", "boxside"}


def test_the_app_imports_with_the_phones_packages_only(at: check.Checked) -> None:
    assert "modules under python -OO" in here(check.app_imports, at)


def test_a_module_that_asks_for_more_is_seen(at: check.Checked) -> None:
    """The control of the test above."""
    more = check._staged(at) / "boxside" / "more.py"
    more.write_text("import scipy\n", encoding="utf-8")
    try:
        with pytest.raises(ValueError, match=r"boxside\.more.*scipy is not on the phone"):
            here(check.app_imports, at)
    finally:
        more.unlink()


def test_the_demo_exports_the_same_under_oo(at: check.Checked) -> None:
    assert "of the demo's export are alike" in check.demo_is_alike(at)


def test_an_export_that_differs_under_oo_is_seen(
    at: check.Checked, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The control of the test above: a program that leans on what -OO takes away."""
    (tmp_path / "exported.py").write_text(
        "import sys, pathlib\n"
        "out = pathlib.Path(sys.argv[3])\nout.mkdir(parents=True)\n"
        "def said():\n    'a docstring'\n"
        "(out / 'boxes.csv').write_text(str(said.__doc__))\n"
        "(out / 'same.csv').write_text('same')\n",
        encoding="utf-8",
    )
    other = check.Checked(tmp_path, at.spec)
    (tmp_path / "with-desktop").mkdir()
    monkeypatch.setattr(check, "HERE", tmp_path)
    with pytest.raises(ValueError, match=r"the exports differ: \['boxes\.csv'\]"):
        check.demo_is_alike(other)


def here(checked: Callable[[check.Checked], str], at: check.Checked) -> str:
    """Run a check; skip where this computer lacks what it needs."""
    try:
        return checked(at)
    except check.NotHereError as error:
        pytest.skip(str(error))


def test_a_failed_check_is_counted_and_a_missing_tool_is_not(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(_: check.Checked) -> str:
        raise ValueError("it is broken")

    def without(_: check.Checked) -> str:
        raise check.NotHereError("no JDK")

    checks: dict[str, Callable[[check.Checked], str]] = {"a": broken, "b": without}
    monkeypatch.setattr(check, "CHECKS", checks)
    assert check.run(("a", "b")) == 1
    said = capsys.readouterr().out
    assert "FAILED a: it is broken" in said
    assert "not run here: b: no JDK" in said
