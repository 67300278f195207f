"""A clock that was set, or began anew, amid a long file: looked for without holding the file."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import polars as pl

from steadyhead.watch.reading import lost_clock
from steadyhead.watch.reading.clock_set import (
    ABOUT,
    BESIDE,
    LONGEST,
    MOST,
    Back,
    Part,
    borders,
    step_at,
    together,
    whole,
)
from steadyhead.watch.reading.sampling import Plan

MONTH = 30 * 86_400 * 1_000_000
"""Stretches in which the samples of a long file are counted. [µs]"""


def set_back(
    fitting: pl.LazyFrame, made: Plan, frames: Sequence[pl.LazyFrame], back: Sequence[int]
) -> list[Back]:
    """Return where the clock was set back: by the first channel that shows it.

    Parameters
    ----------
    fitting
        Rows of the file with their local times.
    frames, back
        Channels of it, and how often the times of each go back.
    """
    for one, lazy, count in zip(made.series, frames, back, strict=True):
        if one.exception or not 0 < count <= MOST:
            continue
        if found := _found(lazy, one.descending):
            row = pl.col("row").cast(pl.Int64)
            near = [row.is_between(x - BESIDE, x + BESIDE) for x in borders(found)]
            local = pl.col(f"t{one.raw.source}").dt.epoch("us").alias("t")
            about = fitting.filter(pl.any_horizontal(near)).select(row, local).drop_nulls()
            rows = about.collect(engine="streaming")
            return whole(found, rows["row"].to_numpy(), rows["t"].to_numpy())
    return []


def _found(lazy: pl.LazyFrame, descending: bool) -> list[Back]:
    """Return the same of a channel that lies in a file, in the order of its rows; reads the rows about it.

    Asked only where few steps go back; `descending`: the newest stands first.
    """
    last = -1 if descending else 1
    step = (pl.col("t") - pl.col("t").shift(last)).dt.total_microseconds().alias("d")
    with_steps = lazy.select("t", "row", step, pl.col("row").shift(last).alias("before"))
    back = with_steps.filter(pl.col("d") < 0).collect(engine="streaming").sort("row", descending=descending)
    beat = int(with_steps.select(pl.col("d").median()).collect(engine="streaming").item() or 0)
    if beat <= 0:
        return []
    single = [one for each in back.iter_rows(named=True) if (one := _in_file(lazy, each, beat, descending))]
    if not single:
        return []
    sizes = pl.any_horizontal(
        [pl.col("d").is_between(size + 0.5 * beat, size + 1.5 * beat) for _, _, size, _ in single]
    )
    ahead = with_steps.filter(sizes).collect(engine="streaming")
    jumps = list(zip(ahead["before"].to_list(), ahead["row"].to_list(), ahead["d"].to_list(), strict=True))
    ends = lazy.select(pl.col("row").min().alias("a"), pl.col("row").max().alias("b"))
    first, final = sorted(map(int, ends.collect(engine="streaming").row(0)), reverse=descending)
    return together(single, jumps, (first, final), beat)


def _in_file(
    lazy: pl.LazyFrame, step: dict[str, object], beat: int, descending: bool
) -> tuple[int, int, int, int] | None:
    at, size = step["row"], -int(step["d"])  # type: ignore[call-overload]
    if size > LONGEST:
        return None
    when = pl.lit(step["t"]).cast(pl.Datetime("us", "UTC"))
    margin = pl.duration(microseconds=2 * ABOUT * beat)
    span = pl.col("t").is_between(when - margin, when + pl.duration(microseconds=size) + margin)
    near = lazy.filter(span).select("t", "row", "v").collect(engine="streaming")
    near = near.sort("row", descending=descending)
    row = near["row"].to_numpy().astype(np.int64)
    sample = (near["t"].dt.epoch("us").to_numpy(), row, near["v"].to_numpy().astype(np.float64))
    where = np.flatnonzero(row == at)
    return step_at(sample, int(where[0]), beat) if len(where) and where[0] else None


def righted_in(lazy: pl.LazyFrame, parts: Iterable[Part]) -> pl.LazyFrame:
    """Return a channel that lies in a file with what the clock was off by taken out."""
    for one in parts:
        off = pl.col("t") - pl.duration(microseconds=one.off)
        within = pl.col("row").is_between(one.first, one.last)
        lazy = lazy.with_columns(pl.when(within).then(off).otherwise(pl.col("t")).alias("t"))
    return lazy


def without_first_days(frame: pl.LazyFrame, made: Plan) -> tuple[pl.LazyFrame, int, list[int]]:
    """Return rows without the times of a clock that began anew; rows that are gone, and the first of them.

    frame: rows of the file with their local times. Its earliest and latest time tell most often that there
    is nothing to look for.
    """
    names = [f"t{number}" for number in range(len(made.lies.times.sources))]
    if made.lies.times.kind not in lost_clock.KINDS:
        return frame, 0, []
    one = pl.concat([frame.select(pl.col(name).dt.epoch("us").alias("t")) for name in names]).drop_nulls()
    low, high = one.select(a=pl.col("t").min(), b=pl.col("t").max()).collect(engine="streaming").row(0)
    if low is None or high - low < lost_clock.APART or not lost_clock.is_first(low):
        return frame, 0, []
    months = one.group_by(pl.col("t") // MONTH).agg(a=pl.col("t").min(), b=pl.col("t").max(), n=pl.len())
    found = months.sort("a").collect(engine="streaming")
    limit = lost_clock.limit_of(*(found[name].cast(pl.Int64).to_numpy() for name in ("a", "b", "n")))
    if limit is None:
        return frame, 0, []
    edge = pl.lit(limit).cast(pl.Datetime("us"))
    early = pl.any_horizontal([(pl.col(name) < edge).fill_null(False) for name in names])
    gone = early & ~pl.any_horizontal([(pl.col(name) >= edge).fill_null(False) for name in names])
    rows = frame.filter(gone).select("row").collect(engine="streaming")["row"].sort()
    times = [pl.when(pl.col(name) >= edge).then(pl.col(name)).alias(name) for name in names]
    return frame.filter(~gone).with_columns(times), len(rows), rows.head(5).to_list()
