"""A window of logger data given out: rows as CSV and Parquet, block by block: memory does not grow."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import Path

import numpy as np
import polars as pl

from steadyhead.register import Register
from steadyhead.register.logs import KeptChannel, LogsFolder
from steadyhead.register.logs.frames import groups, shown
from steadyhead.services.exports.cells import harmless
from steadyhead.services.logs.seen import Window
from steadyhead.services.logs.spells import WORDS, Spell, marks, spells
from steadyhead.watch.reading import as_stated

US = 1_000_000
BLOCK_ROWS = 200_000
"""About how many rows are in hand at once. Own estimate."""
MARKED = 1 << 31
ROW = (1 << 40) - 1
"""The bits above say which of several files a row is of."""
BESIDE = ("marked by the logger", "standing", "row of its file")


def csv_pieces(register: Register, logs: LogsFolder, key: str, asked: Window) -> Iterator[bytes]:
    """Yield a window as CSV: the time, then of each channel value as stated, logger's mark, standing, row.

    The unit stands in the head of each column. A cell never begins a formula.

    Raises
    ------
    InputError
        A file of samples that is not there.
    """
    told = spells(register, key, asked.start, asked.end)
    yield ",".join(_head(asked.chosen)).encode() + b"\r\n"
    for start, end in blocks(asked):
        table = _together([_rows(logs, told, one, start, end) for one in asked.chosen])
        if table.height:
            text = table.write_csv(
                include_header=False, line_terminator="\r\n", datetime_format="%Y-%m-%dT%H:%M:%S%.fZ"
            )
            yield text.encode()


def _head(chosen: Sequence[KeptChannel]) -> list[str]:
    names = ["time (UTC)"]
    for one in chosen:
        unit = one.channel.unit_as_found or "as stated"
        names.append(f"{one.name} [{unit}]")
        names += [f"{one.name}: {each}" for each in BESIDE]
    return [_quoted(harmless(name)) for name in names]


def _quoted(text: object) -> str:
    return '"' + str(text).replace('"', '""') + '"'


def blocks(asked: Window) -> Iterator[tuple[int, int]]:
    """Yield stretches of the window in order, with about `BLOCK_ROWS` rows at most each. [µs]"""
    step = asked.end - asked.start
    for one in asked.chosen:
        for stretch in groups(one.parts):
            first, last = stretch[0][1].first, max(part.last for _, part in stretch)
            if last >= asked.start and first < asked.end:
                per_us = sum(part.count for _, part in stretch) / max(last - first, US)
                step = min(step, max(round(BLOCK_ROWS / per_us / max(len(asked.chosen), 1)), US))
    for start in range(asked.start, asked.end, step):
        end = min(start + step, asked.end)
        if any(part.last >= start and part.first < end for one in asked.chosen for _, part in one.parts):
            yield start, end


def _within(logs: LogsFolder, one: KeptChannel, start: int, end: int) -> pl.LazyFrame:
    parts = [(number, part) for number, part in one.parts if part.last >= start and part.first < end]
    at = pl.col("t").dt.epoch("us")
    return shown(logs, parts).filter((at >= start) & (at < end))


def _rows(logs: LogsFolder, told: Sequence[Spell], one: KeptChannel, start: int, end: int) -> pl.DataFrame:
    frame = as_stated(one.channel, _within(logs, one, start, end)).collect()
    frame = _stands(frame, told, one, is_stated=True)
    return frame.select(
        "t", pl.int_range(pl.len()).over("t").alias("again"), pl.col("v").alias(one.name),
        pl.col("marked").cast(pl.Int8).alias(f"{one.name}\0mark"),
        pl.col("standing").alias(f"{one.name}\0stand"),
        pl.col("row").alias(f"{one.name}\0row"),
    )  # fmt: skip


def _stands(frame: pl.DataFrame, told: Sequence[Spell], one: KeptChannel, *, is_stated: bool) -> pl.DataFrame:
    """Return rows with their standing in a word, whether the logger marked them, and the row of the file."""
    at = frame["t"].dt.epoch("us").to_numpy()
    v = frame["v"].fill_null(np.nan).to_numpy()
    si = v * one.channel.factor + one.channel.offset if is_stated else v
    standing = np.asarray(WORDS, dtype=object)[marks(told, one, at, at, si)]
    return frame.with_columns(
        pl.Series("standing", standing, dtype=pl.String), (pl.col("flag") & MARKED > 0).alias("marked"),
        (pl.col("row") & ROW).alias("row"),
    )  # fmt: skip


def _together(every: Sequence[pl.DataFrame]) -> pl.DataFrame:
    """Return the rows of all channels by time; of equal times of one channel the first meets the first."""
    table = every[0]
    for one in every[1:]:
        table = table.join(one, on=["t", "again"], how="full", coalesce=True)
    return table.sort("t", "again").drop("again")


def parquet_file(register: Register, logs: LogsFolder, key: str, asked: Window, path: Path) -> None:
    """Write a window as Parquet: one row a sample; columns below. Memory holds a few parts at once.

    channel, time (UTC), value_si, value_stated, unit, marked_by_logger, standing, row.

    Raises
    ------
    InputError
        A file of samples that is not there.
    """
    told = spells(register, key, asked.start, asked.end)
    frames = [_long(logs, told, one, asked) for one in asked.chosen]
    pl.concat(frames).sink_parquet(path, compression="zstd")


def _long(logs: LogsFolder, told: Sequence[Spell], one: KeptChannel, asked: Window) -> pl.LazyFrame:
    frame = _within(logs, one, asked.start, asked.end)
    channel = one.channel
    schema = pl.Schema(dict(frame.collect_schema()) | {"standing": pl.String, "marked": pl.Boolean})
    with_words = frame.map_batches(
        partial(_stands, told=told, one=one, is_stated=False), schema=schema, streamable=True
    )
    return with_words.select(
        pl.lit(one.name).alias("channel"), pl.col("t").alias("time"), pl.col("v").alias("value_si"),
        ((pl.col("v") - channel.offset) / channel.factor).round_sig_figs(12).alias("value_stated"),
        pl.lit(channel.unit_as_found).alias("unit"), pl.col("marked").alias("marked_by_logger"), "standing",
        "row",
    )  # fmt: skip
