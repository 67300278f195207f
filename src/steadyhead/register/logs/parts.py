"""Samples of a channel in parts of a month at most: written piece by piece, read back lazily.

A part holds `step` (time since the sample before [µs]; of the first one 0), `v` and `flag` as they are, and
`rows` (row less the row before; of the first one 0). Times and rows that run on evenly are left out, and so
are flags of which none is set; what times and rows begin with, and how they run on, stands in the manifest.
Parts written before these were left out hold all four, and their manifests say nothing of it: both are read.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import cast

import polars as pl

from steadyhead.errors import InputError
from steadyhead.records.logger import SAMPLES
from steadyhead.register.logs.layout import on_disk
from steadyhead.register.logs.manifest import Part

MOST = 1_000_000
"""Most samples of a part: eleven days at one a second; memory is bounded by it."""
GROUP = 604_800
"""Samples in a row group: a week at one a second."""
BATCH = 500_000
FEW = 16
"""Channels that come together with parts of `MOST` samples each; of more channels parts are smaller."""
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


def write_parts(
    frame: pl.LazyFrame, folder: Path, prefix: str, settle: Callable[[Path], None] = on_disk
) -> Iterator[tuple[Path, Part]]:
    """Write a channel's samples and yield each part with its file; memory holds one part at most.

    prefix: begins the names of the files; `Part.name` is that of the file alone; settle: sees that a file
    gets to the disk.

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
        while (size := _ready(left, MOST)) > 0:
            yield _write(left[:size], folder / f"{prefix}-{number}.parquet", settle)
            left, number = left[size:], number + 1
    while left.height:
        size = _ready(left, MOST) or left.height
        yield _write(left[:size], folder / f"{prefix}-{number}.parquet", settle)
        left, number = left[size:], number + 1


def _runs_on(last: datetime | None, times: pl.Series) -> bool:
    return times.is_empty() or (times.is_sorted() and (last is None or times[0] >= last))


def _ready(left: pl.DataFrame, most: int) -> int:
    """Return how many samples make a full part: a whole month with more behind it, or as many as fit."""
    if left.is_empty():
        return 0
    times = left["t"].dt.epoch("us")
    within = int(times.search_sorted(month_ends(int(times[0])), side="left"))
    size = min(within, most)
    return size if size < left.height else 0


class AsTheyCome:
    """Parts of channels whose samples come together, as a reader hands them on.

    Memory holds one part of each channel.

    folder, prefix: where the parts are written, and what their names begin with; settle: sees that a file
    gets to the disk; heed: told how many samples of the first group came, may stop it by what it raises.
    """

    def __init__(
        self,
        folder: Path,
        prefix: str,
        settle: Callable[[Path], None] = on_disk,
        heed: Callable[[int], None] = lambda _: None,
    ) -> None:
        self.folder = folder
        self.prefix = prefix
        self.settle = settle
        self.heed = heed
        self.count = 0
        self.written: list[list[tuple[Path, Part]]] = []
        self.frames: list[pl.LazyFrame] = []
        self._groups: list[list[int]] = []
        self._left: list[pl.DataFrame] = []
        self._most = MOST

    def begin(self, groups: list[list[int]]) -> None:
        """Begin anew with channels by number; those of one group share their times."""
        self.drop()
        self._groups = groups
        self._left = [pl.DataFrame() for _ in groups]
        count = sum(len(group) for group in groups)
        self.written = [[] for _ in range(count)]
        self._most = min(MOST, max(BATCH // 5, FEW * MOST // max(count, 1)))
        self.folder.mkdir(parents=True, exist_ok=True)

    def add(self, group: int, samples: pl.DataFrame) -> None:
        """Take samples of a group: `t`, `row`, and `v` and the number of each of its channels."""
        if not group:
            self.count += samples.height
            self.heed(self.count)
        left = self._left[group]
        left = samples if left.is_empty() else pl.concat([left, samples])
        while (size := _ready(left, self._most)) > 0:
            self._write(group, left[:size])
            left = left[size:]
        self._left[group] = left

    def end(self) -> list[pl.LazyFrame]:
        """Write what is left and return the samples of each channel."""
        for group, left in enumerate(self._left):
            while left.height:
                size = _ready(left, self._most) or left.height
                self._write(group, left[:size])
                left = left[size:]
        self._left = []
        self.frames = [
            pl.concat([read_part(*one) for one in parts]) if parts else no_samples() for parts in self.written
        ]
        return self.frames

    def drop(self) -> None:
        """Take away what was written."""
        for path, _ in (one for parts in self.written for one in parts):
            path.unlink(missing_ok=True)
        self.written, self.frames, self._left, self.count = [], [], [], 0

    def _write(self, group: int, some: pl.DataFrame) -> None:
        times, rows = some["t"].dt.epoch("us"), some["row"].cast(pl.Int64)
        steps = _steps(times, rows)
        for number in self._groups[group]:
            name = f"{self.prefix}-{number}-{len(self.written[number])}.parquet"
            ends = (int(times[0]), int(times[-1]), int(rows[0]))
            made = _written(steps, some[f"v{number}"], None, ends, self.folder / name)
            self.settle(self.folder / name)
            self.written[number].append((self.folder / name, made))


def _write(some: pl.DataFrame, path: Path, settle: Callable[[Path], None]) -> tuple[Path, Part]:
    times, rows = some["t"].dt.epoch("us"), some["row"].cast(pl.Int64)
    flag = some["flag"] if (some["flag"] != 0).any() else None
    ends = (int(times[0]), int(times[-1]), int(rows[0]))
    made = _written(_steps(times, rows), some["v"], flag, ends, path)
    settle(path)
    return path, made


@dataclass(frozen=True, slots=True)
class _Steps:
    """How times or rows run on: by the same step each (`even`; None: they do not), or as the column tells."""

    even: int | None
    column: pl.Series


def _steps(times: pl.Series, rows: pl.Series) -> tuple[_Steps, _Steps]:
    found = (times.diff().fill_null(0), rows.diff().fill_null(0))
    return _Steps(_even(found[0]), found[0]), _Steps(_even(found[1]), found[1])


def _written(
    steps: tuple[_Steps, _Steps],
    v: pl.Series,
    flag: pl.Series | None,
    ends: tuple[int, int, int],
    path: Path,
) -> Part:
    """Write a part and return what is told of it; ends: its first and last time, and its first row."""
    columns = {"v": v}
    if steps[0].even is None:
        columns["step"] = steps[0].column
    if flag is not None:
        columns["flag"] = flag
    if steps[1].even is None:
        columns["rows"] = steps[1].column
    kept = pl.DataFrame(columns)
    kept.write_parquet(path, compression="zstd", compression_level=1, row_group_size=GROUP, statistics=False)
    first, last, row = ends
    return Part(
        path.name, month_of(first), len(v), v.null_count(), first, last, row, path.stat().st_size,
        digest_of(path), steps[0].even, steps[1].even,
    )  # fmt: skip


def _even(steps: pl.Series) -> int | None:
    """Return how times or rows run on, where each step but the first is the same; None: they do not."""
    if len(steps) < 2:
        return 0
    first = int(steps[1])
    return first if bool((steps[1:] == first).all()) else None


def digest_of(path: Path) -> str:
    """Return the SHA-256 of a file."""
    with path.open("rb") as source:
        return hashlib.file_digest(source, "sha256").hexdigest()


def named(part: Part, station: str, key: str) -> Part:
    """Return a part under the name it has in the folder of samples."""
    return replace(part, name=f"{station}/{key}/{part.month}/{part.name}")


def read_part(path: Path, part: Part) -> pl.LazyFrame:
    """Return the samples of a part as they were given, lazily.

    Raises
    ------
    InputError
        The file is no part, or lacks what its manifest says it holds.
    """
    frame = pl.scan_parquet(path, row_index_name="at")
    columns = _columns(frame, path)
    wanted = ("v", *(name for name in ("step", "rows") if getattr(part, name) is None))
    if lacking := [name for name in wanted if name not in columns]:
        raise _no_part(path, f"has no {' and no '.join(lacking)}")
    at = pl.col("at").cast(pl.Int64)
    steps = (pl.col("step").cum_sum() if part.step is None else at * part.step) + part.first
    rows = (pl.col("rows").cum_sum() if part.rows is None else at * part.rows) + part.row
    flag = pl.col("flag") if "flag" in columns else pl.lit(0, pl.UInt32)
    return frame.select(
        steps.cast(pl.Datetime("us", "UTC")).alias("t"),
        "v",
        flag.alias("flag"),
        rows.cast(pl.UInt64).alias("row"),
    )


def _columns(frame: pl.LazyFrame, path: Path) -> list[str]:
    try:
        return frame.collect_schema().names()
    except (pl.exceptions.PolarsError, OSError) as problem:
        raise _no_part(path, f"cannot be read: {str(problem).splitlines()[0][:120]}") from None


def _no_part(path: Path, problem: str) -> InputError:
    return InputError(
        "logger data", f"{path} {problem}.",
        "Put it back from a copy; or undo its import (steadyhead logs undo) and read the files, which lie as "
        "given in raw, again (steadyhead logs read). steadyhead verify names everything that is not whole.",
    )  # fmt: skip


def no_samples() -> pl.LazyFrame:
    """Return a frame of samples without any."""
    kinds = (pl.Datetime("us", "UTC"), pl.Float64, pl.UInt32, pl.UInt64)
    return pl.LazyFrame(schema=pl.Schema(zip(SAMPLES, kinds, strict=True)))
