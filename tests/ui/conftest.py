"""Runs the real app in a window without a display, on an invented colony, with a clock of the test's own."""

from __future__ import annotations

import ctypes
import gc
import os
import shutil
import warnings
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from datetime import date
from pathlib import Path
from typing import Any

import pytest

INSTALL = "apt-get install -y --no-install-recommends libgl1 libegl1"
SIZE = (360, 780)
DEMO_DAY = date(2026, 11, 25)
MUST_RUN = "BOXSIDE_SCREENS_MUST_RUN"


def missing_library() -> str:
    """Return the name of a library that drawing needs and that is not there."""
    for name in ("libGL.so.1", "libEGL.so.1"):
        try:
            ctypes.CDLL(name)
        except OSError:
            return name
    return ""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Skip what needs a window where there can be none; fail instead where `BOXSIDE_SCREENS_MUST_RUN` is set."""
    missing = missing_library()
    if missing and os.environ.get(MUST_RUN):
        raise pytest.UsageError(f"{MUST_RUN} is set, but {missing} is missing: {INSTALL}")
    if missing:
        reason = pytest.mark.skip(reason=f"{missing} is missing: {INSTALL}")
        for item in items:
            if item.get_closest_marker("screen"):
                item.add_marker(reason)


@pytest.fixture(scope="session")
def window() -> Any:
    """Return the window, 360 x 780 dp at density 1, offscreen."""
    os.environ.update(KIVY_METRICS_DENSITY="1", KIVY_METRICS_FONTSCALE="1")
    from boxside.app.phone import prepare_kivy

    prepare_kivy(True, SIZE)
    with warnings.catch_warnings():
        # Kivy 2.3.1 warns of its own imports; ours are loaded in the tests and do count.
        warnings.simplefilter("ignore", DeprecationWarning)
        import kivy.input.providers  # noqa: F401
        from kivy.core.window import Window
    # Each app that a test starts is thousands of objects: what is there already need not be gone through each time.
    gc.freeze()
    gc.set_threshold(50_000, 20, 50)
    return Window


@pytest.fixture(scope="session")
def demo_log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with the demo colony as it stands on `DEMO_DAY`; to be copied, not written to."""
    from boxside.actions.start import begin_demo
    from boxside.app import wiring

    folder = tmp_path_factory.mktemp("demo")
    services = wiring.build(folder, on=DEMO_DAY)
    begin_demo(services)
    services.store.close()
    return folder


@pytest.fixture
def demo(demo_log: Path, tmp_path: Path) -> Path:
    """Return a folder of the test's own with the demo colony."""
    return Path(shutil.copytree(demo_log, tmp_path / "data"))


@pytest.fixture
def start(window: Any) -> Iterator[Callable[..., Any]]:
    """Start the app on a colony: `start(services, **changed_actions)` returns a driver."""
    from tests.ui.driver import Driver
    from tests.ui.scenes import running

    with ExitStack() as stack:

        def run(services: Any, theme: str = "day", desk: Any = None, **changed: Any) -> Driver:
            return Driver(stack.enter_context(running(services, theme, desk, **changed)))

        yield run


@pytest.fixture(autouse=True, scope="module")
def _let_apps_go() -> Iterator[None]:
    """Free the apps that a file of tests started: left to itself the collector would keep hundreds of them."""
    yield
    gc.collect()
