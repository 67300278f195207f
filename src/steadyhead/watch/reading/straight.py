"""Long clean files read in one go: samples are handed on as they are parsed.

A file is clean where every cell that is used reads as the samples of it promise and times run on. At the
first row that does not, nothing counts and the file is read with more care (`big`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Protocol

import numpy as np
import polars as pl

from steadyhead.records.logger import Channel, Context
from steadyhead.watch.reading.columns import (
    has_point,
    is_plain,
    plain,
    plain_kinds,
    scan,
    uses_all,
    wall_clock,
    without_sentinels,
)
from steadyhead.watch.reading.joining import join
from steadyhead.watch.reading.lost_clock import APART
from steadyhead.watch.reading.sampling import Plan
from steadyhead.watch.reading.stamps import US
from steadyhead.watch.reading.zones import changes, to_utc

BATCH = 250_000
"""Rows handed on at a time."""
NEAR = 3 * 3600 * US
"""How far about a change of the clocks rows are looked at together. [µs]"""
YEARS = 60 * 366 * 86_400 * US
"""How far beyond its first stamp a file may run. [µs]"""


class Keeper(Protocol):
    """Keeps samples of channels as they come, in order of time."""

    def begin(self, groups: list[list[int]]) -> None:
        """Begin anew with channels by number; those of one group share their times."""

    def add(self, group: int, samples: pl.DataFrame) -> None:
        """Take samples of a group: `t`, `row`, and `v` and the number of each of its channels."""

    def end(self) -> list[pl.LazyFrame]:
        """Keep what is left and return the samples of each channel."""

    def drop(self) -> None:
        """Let go of everything."""


class _Unfit(Exception):
    """A row that must be read with more care."""


def straight(
    path: Path, made: Plan, sha: Callable[[], str], context: Context, keeper: Keeper
) -> tuple[tuple[tuple[Channel, pl.LazyFrame], ...], int] | None:
    """Hand the samples of a clean file on; return its channels and number of rows, None: not clean.

    sha: gives the checksum of the file, once all of it is read.
    """
    if not _is_clean(made):
        return None
    sources = range(len(made.lies.times.sources))
    groups = [[at for at, one in enumerate(made.series) if one.raw.source == source] for source in sources]
    clocks = [_Clock(made, context) for _ in sources]
    keeper.begin(groups)
    rows = 0
    try:
        for batch in _batches(path, made):
            rows += batch.height
            if batch.drop_in_place("point").any():
                raise _Unfit
            if len(groups) > 1 and batch.select(pl.all_horizontal(pl.col("^t\\d+$").is_null()).any()).item():
                raise _Unfit
            for source, clock in enumerate(clocks):
                _hand_on(keeper, source, groups[source], clock.turned(batch, source))
        for source, clock in enumerate(clocks):
            _hand_on(keeper, source, groups[source], clock.rest())
        frames = keeper.end()
    except (_Unfit, pl.exceptions.PolarsError):
        keeper.drop()
        return None
    parts = [(0, 0, one, each) for one, each in zip(made.series, made.meant, strict=True)]
    joined = join(parts, (sha(),), made.rule.zone)
    return tuple((one.channel, frame) for one, frame in zip(joined, frames, strict=True)), rows


def _is_clean(made: Plan) -> bool:
    """Return whether the samples of a file show nothing that wants more care."""
    lies = made.lies
    if made.cut or made.began or not is_plain(made) or lies.roles[0].name is not None or lies.roles[0].flags:
        return False
    if lies.parted.footer or lies.parted.events or len(lies.parted.segments) > 1:
        return False
    return not any(one.exception for one in made.series)


def _batches(path: Path, made: Plan) -> Iterator[pl.DataFrame]:
    guarded = not uses_all(made)
    times = [
        wall_clock(made, at, guarded=guarded).dt.epoch("us").alias(f"t{at}")
        for at in range(len(made.lies.times.sources))
    ]
    values = [_value(made, number).alias(f"v{number}") for number in range(len(made.series))]
    frame = scan(path, made, plain_kinds(made), strict=True).select(
        *times, *values, pl.col("row").cast(pl.UInt64), has_point(made).alias("point")
    )
    return frame.collect_batches(chunk_size=BATCH, maintain_order=True)


def _value(made: Plan, number: int) -> pl.Expr:
    """Return the expression of a channel's values in SI."""
    raw, unit = made.series[number].raw, made.meant[number].unit
    factor, offset = (-1.0, 1.0) if raw.said.inverted else (unit.factor, unit.offset)
    return without_sentinels(plain(made, raw.column, guarded=False), made, raw.column) * factor + offset


def _hand_on(keeper: Keeper, source: int, numbers: list[int], samples: pl.DataFrame) -> None:
    """Hand samples on with UTC in `t`."""
    if samples.height:
        times = samples["t"].cast(pl.Datetime("us", "UTC"))
        keeper.add(source, samples.select("row", *(f"v{at}" for at in numbers)).insert_column(0, times))


class _Clock:
    """Turns times on the wall clock into UTC, batch by batch; refuses times that do not run on."""

    def __init__(self, made: Plan, context: Context) -> None:
        self.made = made
        self.context = context
        counted = made.lies.times.kind in ("epoch s", "epoch ms")
        self.is_utc = made.offset is not None or counted
        self.left = pl.DataFrame()
        self.last: int | None = None
        self.found: list[tuple[int, int, int]] | None = None

    def turned(self, batch: pl.DataFrame, source: int) -> pl.DataFrame:
        """Return the samples of a batch with UTC [µs] in `t`; rows near a change of the clocks may wait."""
        local = f"t{source}"
        if len(self.made.lies.times.sources) > 1:
            batch = batch.filter(pl.col(local).is_not_null())
        elif batch[local].null_count():
            raise _Unfit
        samples = batch.rename({local: "t"})
        if self.is_utc:
            return self._run_on(samples)
        if self.made.rule.info is None:
            return self._run_on(samples.with_columns(pl.col("t") - self.made.rule.offset * US))
        if self.left.height:
            samples = pl.concat([self.left, samples])
        waits = self._waits(samples["t"].to_numpy())
        self.left = samples[samples.height - waits :]
        return self._by_rule(samples[: samples.height - waits])

    def rest(self) -> pl.DataFrame:
        """Return the samples that waited."""
        out, self.left = self.left, pl.DataFrame()
        return self._by_rule(out) if out.height else out

    def _waits(self, times: np.ndarray) -> int:
        """Return how many of the last rows lie near a change of the clocks, of which more may come."""
        if not len(times):
            return 0
        if self.found is None:
            first = int(times[0])
            self.found = changes(self.made.rule.info, first, first + YEARS)  # type: ignore[arg-type]
        far = np.flatnonzero(~self._near(times))
        return len(times) - (int(far[-1]) + 1 if len(far) else 0)

    def _near(self, times: np.ndarray) -> np.ndarray:
        near = np.zeros(len(times), dtype=bool)
        low, high = int(times.min()) - NEAR, int(times.max()) + NEAR
        for at, before, after in self.found or ():
            start, end = sorted((at + before * US, at + after * US))
            if low <= end and start <= high:
                near |= (times >= start - NEAR) & (times <= end + NEAR)
        return near

    def _by_rule(self, samples: pl.DataFrame) -> pl.DataFrame:
        """Turn by the rule of the zone: far from its changes by their dates, near them by the rows, too."""
        if not samples.height:
            return samples
        times = samples["t"].to_numpy()
        if times.max() - times[0] > YEARS or times.min() < times[0] - NEAR:
            raise _Unfit
        # Rows near a change wait until all of them are here, so each batch turns like the whole file.
        turned = to_utc(times, self.made.rule, self.context.interval)
        return self._run_on(samples.with_columns(pl.Series("t", turned.utc)))

    def _run_on(self, samples: pl.DataFrame) -> pl.DataFrame:
        """Return samples whose times run on; refuse one that comes twice, steps back or leaps by years."""
        if not samples.height:
            return samples
        times = samples["t"].to_numpy()
        steps = np.diff(times)
        if self.last is not None and not 0 < times[0] - self.last <= APART:
            raise _Unfit
        if len(steps) and (steps.min() <= 0 or steps.max() > APART):
            raise _Unfit
        self.last = int(times[-1])
        return samples
