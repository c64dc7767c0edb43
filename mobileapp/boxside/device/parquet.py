"""Rows as one partitioned Parquet data set, streamed; needs pyarrow, which comes with the extra `gather`."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

from boxside.core.values.errors import DeviceError, StoreError

_BATCH = 10_000
_OPEN_FILES = 256


def check_parquet() -> None:
    """Refuse where Parquet cannot be written.

    Raises
    ------
    DeviceError : saying what to install
    """
    try:
        import pyarrow  # noqa: F401
    except ImportError as error:
        raise DeviceError(
            "Parquet needs pyarrow, which is not installed. Nothing was written. Install it: "
            "pip install 'boxside[gather]'"
        ) from error


def write_parquet(
    folder: Path, columns: Sequence[tuple[str, str]], partitions: Sequence[str], rows: Iterable[Sequence[object]]
) -> int:
    """Write rows into a folder, one folder a value of each partition; return how many rows.

    Parameters
    ----------
    columns : (name, type): string, int16, int32, int64, bool, date (days since 1970) or instant (milliseconds UTC)
    partitions : names of columns that become folders, as `keeper=...`

    Raises
    ------
    StoreError : if the disk refuses
    """
    import pyarrow as pa
    import pyarrow.dataset as ds

    types = {
        "string": pa.string(), "int16": pa.int16(), "int32": pa.int32(), "int64": pa.int64(), "bool": pa.bool_(),
        "date": pa.date32(), "instant": pa.timestamp("ms", tz="UTC"),
    }  # fmt: skip
    schema = pa.schema([(name, types[kind]) for name, kind in columns])
    count = _Count()
    reader = pa.RecordBatchReader.from_batches(schema, _batches(pa, schema, rows, count))
    hive = ds.partitioning(pa.schema([schema.field(name) for name in partitions]), flavor="hive")
    try:
        folder.mkdir(parents=True)
        ds.write_dataset(
            reader, folder, format="parquet", partitioning=hive, basename_template="part-{i}.parquet",
            max_open_files=_OPEN_FILES, max_partitions=1 << 20, use_threads=False,
        )  # fmt: skip
    except OSError as error:
        raise StoreError(f"{folder} was not written: {error}. Free some space.") from error
    return count.n


class _Count:
    """How many rows went by."""

    def __init__(self) -> None:
        self.n = 0


def _batches(pa: Any, schema: Any, rows: Iterable[Sequence[object]], count: _Count) -> Iterator[Any]:
    waiting = iter(rows)
    while page := list(itertools.islice(waiting, _BATCH)):
        count.n += len(page)
        arrays = [pa.array(column, field.type) for column, field in zip(zip(*page, strict=True), schema, strict=True)]
        yield pa.RecordBatch.from_arrays(arrays, schema=schema)
