"""From the spec to the Android project that Gradle would be given, by buildozer's and python-for-android's own code.

What needs SDK, NDK or a network is left out: the project is that of python-for-android's `build.py`, without binaries.
"""

from __future__ import annotations

import contextlib
import importlib.util
import json
import os
import shutil
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from buildspec.graph import Resolved, quiet

HERE = Path(__file__).resolve().parent
# What python-for-android's toolchain takes for itself; the rest goes on to build.py.
_OWN_WITH_VALUE = {"--bootstrap", "--dist_name", "--ndk-api", "--arch", "--local-recipes", "--android_api"}
_OWN = ("--copy-libs", "--ignore-setup-py", "--debug", "--color=", "--storage-dir=", "--ndk-api=", "--hook=")
_RENAMED = {"--add-resource": "--resource", "--add-asset": "--asset"}


@contextlib.contextmanager
def inside(folder: Path) -> Iterator[None]:
    """Stand in a folder for a while, with what was imported and where put back after."""
    before, path = Path.cwd(), list(sys.path)
    os.chdir(folder)
    try:
        yield
    finally:
        os.chdir(before)
        sys.path[:] = path


def known_keys() -> set[str]:
    """Return every key of buildozer's own spec, those that are commented out too."""
    import re

    import buildozer

    text = (Path(buildozer.__file__).parent / "default.spec").read_text(encoding="utf-8")
    return set(re.findall(r"^#?\s*([a-z][\w.]*)\s*=", text, flags=re.MULTILINE))


def buildozer_of(spec: Path) -> tuple[Any, list[str]]:
    """Return buildozer with the spec read, and the command it would give python-for-android.

    Raises
    ------
    ValueError : where buildozer refuses the spec
    """
    from buildozer import Buildozer
    from buildozer.targets.android import TargetAndroid

    seen: list[list[str]] = []

    class Captured(Exception):  # noqa: N818
        """The command is known; no build begins."""

    class Listening(TargetAndroid):  # type: ignore[misc]
        def _p4a(self, cmd: list[str], env: Any, **_: Any) -> None:
            seen.append([*cmd, *self.extra_p4a_args])
            raise Captured

        def _update_libraries_references(self, dist_dir: str) -> None: ...

        def _generate_whitelist(self, dist_dir: str) -> None: ...

    with inside(spec.parent), quiet() as said:
        built = Buildozer(str(spec))
        built.targetname, built.build_mode = "android", "debug"
        built.target = Listening(built)
        built.target.build_mode, built.target.artifact_format = "debug", "apk"
        try:
            built.target.check_configuration_tokens()
            built.target.build_package()
        except Captured:
            return built, seen[0]
        except SystemExit as error:
            raise ValueError(f"buildozer refuses the spec: {said.getvalue().strip()[-800:]}") from error
    raise ValueError("buildozer gave python-for-android nothing to do")


def arguments(command: list[str], staged: Path) -> list[str]:
    """Return what build.py is handed of the command; the app is the staged folder."""
    command = list(command)
    command[command.index("--private") + 1] = str(staged)
    found: list[str] = []
    words = iter(command[1:])
    for word in words:
        if word in _OWN_WITH_VALUE:
            next(words)
        elif not word.startswith(_OWN):
            found.append(_RENAMED.get(word, word))
    return [*found, "--no-byte-compile-python"]  # what is compiled says nothing of the manifest


def render(resolved: Resolved, args: list[str], out: Path) -> None:
    """Make the project in `out`, then run our hook on it twice, as a build does.

    Raises
    ------
    ValueError : where build.py refuses its arguments
    """
    context, bootstrap = resolved.context, resolved.bootstrap
    with quiet():
        context.recipe_build_order = resolved.order
        bootstrap.ctx = context
        bootstrap.prepare_build_dir()
    shutil.copytree(bootstrap.build_dir, out)
    _fill(resolved, out)
    with inside(out):
        sys.path.insert(0, str(out))
        with quiet() as said:
            try:
                _module(out / "build.py", "build").parse_args_and_make_package(args)
            except SystemExit as error:
                raise ValueError(f"build.py refuses its arguments: {said.getvalue().strip()[-800:]}") from error
        hook = _module(HERE / "hook.py", "boxside_hook")
        hook.after_apk_build(None)
        hook.after_apk_build(None)


def _fill(resolved: Resolved, out: Path) -> None:
    """Add what a distribution has beside the project: empty here, since nothing was compiled."""
    context = resolved.context
    sdk = Path(tempfile.mkdtemp(prefix="boxside-sdk-"))
    (sdk / "build-tools" / "35.0.0").mkdir(parents=True)
    (out / "local.properties").write_text(f"sdk.dir={sdk}", encoding="utf-8")
    archs = [arch.arch for arch in context.archs]
    for arch in archs:
        (out / f"_python_bundle__{arch}" / "_python_bundle").mkdir(parents=True)
        (out / "libs" / arch).mkdir(parents=True, exist_ok=True)
    info = {
        "bootstrap": resolved.bootstrap.name, "hostpython": sys.executable, "archs": archs,
        "ndk_api": context.ndk_api, "android_api": context.android_api, "use_setup_py": False,
        "recipes": list(resolved.recipes), "python_modules": list(resolved.packages), "dist_name": "boxside",
    }  # fmt: skip
    (out / "dist_info.json").write_text(json.dumps(info), encoding="utf-8")


def _module(path: Path, name: str) -> Any:
    spec = importlib.util.spec_from_file_location(name, path)
    if spec is None or spec.loader is None:
        raise ValueError(f"{path} cannot be loaded")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
