"""Random histories of two and three phones: in whatever order they merge, the season's tables are the same bytes."""

from __future__ import annotations

import hashlib
import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, given, settings

from boxside.actions import make_archive, merge_archive
from boxside.actions.season_rows import ROWS
from boxside.actions.services import Services
from boxside.actions.spans import span_of
from boxside.catalog.catalog import Catalog
from boxside.core.tables import csv_line
from boxside.device import fake
from boxside.store import Store
from tests.store.phones import START_MS, Phones, histories, opened
from tests.torture.onto import synchronous

NOW_MS = START_MS + 10 * 86_400_000
few = settings(max_examples=5, deadline=None, phases=(Phase.generate,), suppress_health_check=list(HealthCheck))


def keeper(folder: Path, store: Store, catalog: Catalog) -> Services:
    return Services(store, fake.build(folder, NOW_MS), catalog)


def tables(services: Services) -> dict[str, str]:
    """Return the sha256 of each table of the whole log, as an export would write it."""
    span = span_of(services, None, None)
    found = {}
    for name, rows in ROWS.items():
        text = "".join(csv_line(row) for row in rows(services, span))
        found[name] = f"{len(text)} {hashlib.sha256(text.encode()).hexdigest()}"
    return found


@pytest.mark.parametrize("n_phones", [2, 3])
def test_tables_are_the_same_bytes_after_an_exchange_in_any_order(n_phones: int, catalog: Catalog) -> None:
    @few
    @given(histories(n_phones))
    def exchange(phones: Phones) -> None:
        with tempfile.TemporaryDirectory() as name, synchronous(0):
            folder = Path(name)
            all_phones = [
                keeper(folder / str(n), opened(folder / str(n), log), catalog) for n, log in enumerate(phones.logs)
            ]
            archives = []
            for n, phone in enumerate(all_phones):
                archives.append(folder / f"{n}.zip")
                make_archive.make_archive(phone, archives[-1])
            written = []
            for n, phone in enumerate(all_phones):
                for path in (archives[n + 1 :] + archives[:n])[:: -1 if n % 2 else 1]:
                    merge_archive.merge_archive(phone, path)
                written.append(tables(phone))
                make_archive.make_archive(phone, folder / f"whole-{n}.zip")
            assert all(one == written[0] for one in written)
            wholes = {(folder / f"whole-{n}.zip").read_bytes() for n in range(n_phones)}
            assert len(wholes) == 1
            for phone in all_phones:
                phone.store.close()

    exchange()
