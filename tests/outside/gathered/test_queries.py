"""A hundred archives gathered, and asked by the README's own lines: DuckDB, and Dask on a cluster of processes."""

from __future__ import annotations

import json
import os
import re
import socket
import subprocess
import sys
import zipfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pandas as pd
import pytest

from boxside.actions import gather
from boxside.catalog.catalog import Catalog
from tests.actions.gathering import archives

ROOT = Path(__file__).parents[3]
N_ARCHIVES = 100


def lines_of(name: str) -> str:
    """Return the README's lines under a mark."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    found = re.search(rf"<!-- {name} -->\n```python\n(.*?)```", text, re.DOTALL)
    assert found, name
    return found[1]


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory, catalog: Catalog) -> Path:
    """A folder with the archives and the data set `colonies`."""
    work = tmp_path_factory.mktemp("gathered")
    done = gather.gather(catalog, archives(work, catalog, N_ARCHIVES), work / "colonies")
    assert (done.n_archives, done.n_keepers) == (N_ARCHIVES, N_ARCHIVES)
    return work


@pytest.fixture(scope="module")
def said(place: Path) -> list[dict[str, object]]:
    """All events as the archives themselves hold them, read by json alone; nothing in them is taken back."""
    found = []
    for path in place.glob("*.zip"):
        with zipfile.ZipFile(path) as archive:
            found += [json.loads(line) for line in archive.read("events.jsonl").splitlines()]
    assert not [event for event in found if event["kind"] == "void"]
    return found


def run(code: str, place: Path, **environ: str) -> None:
    """Run lines as a program of their own in a folder."""
    (place / "asked.py").write_text(code, encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "asked.py"], cwd=place, env={**os.environ, **environ}, capture_output=True, text=True,
        timeout=240, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-2000:]


def test_duckdb_counts_the_feedings_of_every_keeper(place: Path, said: list[dict[str, object]]) -> None:
    run(lines_of("the DuckDB query"), place)
    found = pd.read_csv(place / "feedings.csv").set_index("keeper")
    n, prey = Counter[str](), Counter[str]()
    for event in said:
        if event["kind"] == "fed":
            n[str(event["device"])] += 1
            prey[str(event["device"])] += event["fields"]["amount"]  # type: ignore[index]
    assert found["feedings"].to_dict() == dict(n)
    assert found["prey"].to_dict() == dict(prey)
    assert len(found) == N_ARCHIVES


@pytest.fixture
def cluster() -> Iterator[str]:
    """The address of a scheduler with two workers, each a process of its own."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        address = f"tcp://127.0.0.1:{free.getsockname()[1]}"
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    dask = [sys.executable, "-m", "dask"]
    port = address.rpartition(":")[2]
    started = [
        subprocess.Popen([*dask, "scheduler", "--host", "127.0.0.1", "--port", port, "--no-dashboard"], **quiet),  # type: ignore[call-overload]
        *(
            subprocess.Popen([*dask, "worker", address, "--nthreads", "1", "--no-dashboard", "--no-nanny"], **quiet)  # type: ignore[call-overload]
            for _ in range(2)
        ),
    ]
    yield address
    for process in reversed(started):
        process.terminate()
        process.wait(30)


@pytest.mark.slow
def test_dask_adds_up_the_dead_of_every_keeper_on_a_cluster(
    place: Path, said: list[dict[str, object]], cluster: str
) -> None:
    run(lines_of("the Dask query"), place, DASK_SCHEDULER_ADDRESS=cluster)
    found = pd.read_csv(place / "dead.csv").set_index("keeper")["change"]
    dead = Counter(str(event["device"]) for event in said if event["kind"] == "died")
    assert {keeper: n for keeper, n in found.to_dict().items() if n} == dict(dead)
    assert sum(dead.values()) == sum(nth % 3 for nth in range(N_ARCHIVES))
