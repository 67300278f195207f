"""Samples of a channel in parts of a month at most: written piece by piece, read back lazily.

A part holds `step` (time since the sample before [µs]; of the first one 0), `v` and `flag` as they are, and
`rows` (row less the row before; of the first one 0). Times and rows that run on evenly so take next to no
room; what they begin with stands in the manifest.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import cast

import polars as pl

from steadyhead.records.logger import SAMPLES
from steadyhead.register.logs.layout import on_disk
from steadyhead.register.logs.manifest import Part

MOST = 1_000_000
"""Most samples of a part: eleven days at one a second; memory is bounded by it."""
GROUP = 604_800
"""Samples in a row group: a week at one a second."""
BATCH = 500_000
US = 1_000_000


def month_of(micros: int) -> str:
    """Return year and month of a time, UTC. [µs since 1970]

    Examples
    --------
    >>> month_of(1_801_526_400_000_000)
    '2027-02'
    """
    return datetime.fromtimestamp(micros // US, UTC).strftime("%Y-%m")


def month_ends(micros: int) -> int:
    """Return when the month of a time ends. [µs since 1970 UTC]"""
    now = datetime.fromtimestamp(micros // US, UTC)
    year, month = (now.year + 1, 1) if now.month == 12 else (now.year, now.month + 1)
    return round(datetime(year, month, 1, tzinfo=UTC).timestamp()) * US


class NotInOrder(ValueError):
    """Samples whose times step back or have no time; the reading must put them in order."""


def write_parts(frame: pl.LazyFrame, folder: Path, prefix: str) -> Iterator[tuple[Path, Part]]:
    """Write a channel's samples and yield each part with its file; memory holds one part at most.

    prefix: begins the names of the files; `Part.name` is that of the file alone.

    Raises
    ------
    NotInOrder
        The times step back.
    """
    left = pl.DataFrame()
    number, last = 0, cast("datetime | None", None)
    for batch in frame.select(SAMPLES).collect_batches(chunk_size=BATCH, maintain_order=True):
        if batch["t"].null_count() or not _runs_on(last, batch["t"]):
            raise NotInOrder("a sample has no time, or the times step back")
        last = batch["t"][-1] if batch.height else last
        left = batch if left.is_empty() else pl.concat([left, batch])
        while (size := _ready(left)) > 0:
            yield _write(left[:size], folder, f"{prefix}-{number}.parquet")
            left, number = left[size:], number + 1
    while left.height:
        size = _ready(left) or left.height
        yield _write(left[:size], folder, f"{prefix}-{number}.parquet")
        left, number = left[size:], number + 1


def _runs_on(last: datetime | None, times: pl.Series) -> bool:
    return times.is_empty() or (times.is_sorted() and (last is None or times[0] >= last))


def _ready(left: pl.DataFrame) -> int:
    """Return how many samples make a full part: a whole month with more behind it, or as many as fit."""
    if left.is_empty():
        return 0
    times = left["t"].dt.epoch("us")
    within = int(times.search_sorted(month_ends(int(times[0])), side="left"))
    size = min(within, MOST)
    return size if size < left.height else 0


def _write(some: pl.DataFrame, folder: Path, name: str) -> tuple[Path, Part]:
    times = some["t"].dt.epoch("us")
    rows = some["row"].cast(pl.Int64)
    kept = pl.DataFrame(
        {
            "step": times.diff().fill_null(0),
            "v": some["v"],
            "flag": some["flag"],
            "rows": rows.diff().fill_null(0),
        }
    )
    path = folder / name
    kept.write_parquet(path, compression="zstd", row_group_size=GROUP, statistics=True)
    on_disk(path)
    first, last = int(times[0]), int(times[-1])
    part = Part(
        name, month_of(first), some.height, some["v"].null_count(), first, last, int(rows[0]),
        path.stat().st_size, digest_of(path),
    )  # fmt: skip
    return path, part


def digest_of(path: Path) -> str:
    """Return the SHA-256 of a file."""
    with path.open("rb") as source:
        return hashlib.file_digest(source, "sha256").hexdigest()


def named(part: Part, station: str, key: str) -> Part:
    """Return a part under the name it has in the folder of samples."""
    return replace(part, name=f"{station}/{key}/{part.month}/{part.name}")


def read_part(path: Path, part: Part) -> pl.LazyFrame:
    """Return the samples of a part as they were given, lazily."""
    steps = pl.col("step").cum_sum() + part.first
    rows = pl.col("rows").cum_sum() + part.row
    return pl.scan_parquet(path).select(
        steps.cast(pl.Datetime("us", "UTC")).alias("t"), "v", "flag", rows.cast(pl.UInt64).alias("row")
    )


def no_samples() -> pl.LazyFrame:
    """Return a frame of samples without any."""
    kinds = (pl.Datetime("us", "UTC"), pl.Float64, pl.UInt32, pl.UInt64)
    return pl.LazyFrame(schema=pl.Schema(zip(SAMPLES, kinds, strict=True)))
