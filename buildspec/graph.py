"""What a build would take: python-for-android's own resolver, run without SDK, NDK or network."""

from __future__ import annotations

import contextlib
import io
import json
import logging
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path
from typing import Any


@dataclass(frozen=True, slots=True)
class Resolved:
    """Recipes in building order with their versions, and the packages that pip would add."""

    recipes: dict[str, str]
    packages: dict[str, str]
    context: Any
    order: list[str]
    bootstrap: Any


def pins(requirements: Sequence[str]) -> dict[str, str]:
    """Return names with their pinned versions, empty where there is none."""
    return {name: version for name, _, version in (one.partition("==") for one in requirements)}


@contextlib.contextmanager
def quiet() -> Iterator[io.StringIO]:
    """Keep python-for-android's talk to itself; what it prints is in the text that comes back."""
    said = io.StringIO()
    level = logging.root.manager.disable
    logging.disable(logging.ERROR)
    try:
        with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
            yield said
    finally:
        logging.disable(level)


def resolve(requirements: Sequence[str], api: int, minapi: int, archs: Sequence[str], bootstrap: str) -> Resolved:
    """Return what the requirements come to.

    Raises
    ------
    ValueError : where they do not resolve, ask for a newer phone than `minapi`, or pin what a recipe pins otherwise
    """
    from pythonforandroid.bootstrap import Bootstrap
    from pythonforandroid.build import Context
    from pythonforandroid.graph import get_recipe_order_and_bootstrap
    from pythonforandroid.recipe import Recipe
    from pythonforandroid.util import BuildInterruptingException

    wanted = pins(requirements)
    with quiet():
        context = Context()
        context.setup_dirs(tempfile.mkdtemp(prefix="boxside-p4a-"))
        context._android_api, context._ndk_api = api, minapi
        context._sdk_dir = context._ndk_dir = os.path.join(context.storage_dir, "absent")  # noqa: PTH118
        context.local_recipes = None
        context.set_archs(list(archs))
        try:
            order, modules, chosen = get_recipe_order_and_bootstrap(
                context, list(wanted), Bootstrap.get_bootstrap(bootstrap, context)
            )
        except BuildInterruptingException as error:
            raise ValueError(f"the requirements do not resolve: {error}") from error
        recipes = {name: Recipe.get_recipe(name, context) for name in order}
    for name, recipe in recipes.items():
        needed = getattr(recipe, "min_ndk_api_support", 0)
        if minapi < needed:
            raise ValueError(f"{name} needs android.minapi of {needed} or more")
        if wanted.get(name) and wanted[name] != str(recipe.version):
            raise ValueError(f"{name} is pinned to {wanted[name]}, its recipe builds {recipe.version}")
    versions = {name: str(recipe.version) for name, recipe in recipes.items()}
    return Resolved(versions, {name: wanted.get(name, "") for name in sorted(modules)}, context, order, chosen)


@dataclass(frozen=True, slots=True)
class Package:
    """A package as pip would put it on the phone."""

    name: str
    version: str
    file: str
    n_bytes: int

    @property
    def is_pure(self) -> bool:
        """Whether it is pure Python, so that it runs on any phone."""
        return self.file.endswith("-none-any.whl")


def wheels(packages: dict[str, str], python: str, minapi: int) -> list[Package]:
    """Ask pip which wheels it would take for the phone.

    Raises
    ------
    ConnectionError : where pip reaches no index
    ValueError : where there is no wheel that the phone takes
    """
    names = [f"{name}=={version}" if version else name for name, version in packages.items()]
    with tempfile.TemporaryDirectory() as folder:
        report = Path(folder) / "report.json"
        done = subprocess.run(
            [sys.executable, "-m", "pip", "install", "--dry-run", "--ignore-installed", "--no-deps", "--quiet",
             "--only-binary=:all:", "--python-version", python, "--platform", f"android_{minapi}_arm64_v8a",
             "--target", str(Path(folder) / "none"), "--retries", "0", "--report", str(report), *names],
            capture_output=True, text=True, check=False,
        )  # fmt: skip
        if done.returncode:
            raise _trouble(done.stderr)
        found = json.loads(report.read_text(encoding="utf-8"))["install"]
    return [_package(one) for one in found]


def _fetched(name: str, version: str) -> int:
    """Return how large a pure package is unpacked, having fetched it; 0 where it cannot be had."""
    import zipfile

    with tempfile.TemporaryDirectory() as folder:
        words = ["--no-deps", "--quiet", "--only-binary=:all:", "--retries", "0", "--dest", folder]
        done = subprocess.run(
            [sys.executable, "-m", "pip", "download", *words, f"{name}=={version}"], capture_output=True, check=False
        )
        files = list(Path(folder).glob("*-none-any.whl"))
        if done.returncode or not files:
            return 0
        with zipfile.ZipFile(files[0]) as wheel:
            return sum(one.file_size for one in wheel.infolist())


def _trouble(said: str) -> Exception:
    last = said.strip().splitlines()[-1] if said.strip() else "pip failed without a word"
    if "NewConnectionError" in said or "Failed to establish" in said:
        return ConnectionError(last)
    return ValueError(last)


def _package(one: dict[str, Any]) -> Package:
    from urllib.parse import unquote, urlparse

    address = urlparse(one["download_info"]["url"])
    name = unquote(Path(address.path).name)
    said, version = one["metadata"]["name"], one["metadata"]["version"]
    n_bytes = Path(unquote(address.path)).stat().st_size if address.scheme == "file" else _installed(said, version)
    if not n_bytes and name.endswith("-none-any.whl"):
        n_bytes = _fetched(said, version)
    return Package(said, version, name, n_bytes)


def _installed(name: str, version: str) -> int:
    """Return how large a package of that version is unpacked here; 0 where it is not installed."""
    try:
        found = metadata.distribution(name)
    except metadata.PackageNotFoundError:
        return 0
    files = found.files or [] if found.version == version else []
    return sum(one.size or 0 for one in files)
