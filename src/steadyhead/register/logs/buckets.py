"""Least and most of samples by stretches of time: derived from the parts, kept beside them, made again.

A part never changes, so what is derived of it never grows old: its file is named by the checksums of the
parts it comes from. A file that is not whole, or not there, is made anew from the samples.
"""

from __future__ import annotations

import hashlib
import os
import secrets
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import polars as pl

from steadyhead.register.logs.frames import KeptChannel, groups, shown
from steadyhead.register.logs.layout import LogsFolder
from steadyhead.register.logs.manifest import Part

FOLDER = "buckets"
"""Folder beside the samples; all of it may be thrown away."""
MADE = "1"
"""Changes with what a file holds: files of another one are not read."""
US = 1_000_000
LEVELS = (60 * US, 3600 * US)
"""Widths that are kept. [µs]"""
WIDTHS = tuple(
    round(seconds * US)
    for seconds in (
        0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 900,
        1800, 3600, 7200, 10_800, 21_600, 43_200, 86_400, 172_800, 604_800, 1_209_600, 2_419_200, 9_676_800,
    )
)  # fmt: skip
"""Widths that are asked for; each from an hour up is a multiple of hours. [µs]"""
MARKED = 1 << 31
COLUMNS = ("bucket", "low", "high", "first", "last", "from", "to", "count", "longest", "marked")
"""Of a frame of buckets: begin [µs since 1970], least, most, first and last value [SI], times of the first
and last one [µs], values, longest time between two of its values [µs], values that the logger marked."""

Stretch = Sequence[tuple[int, Part]]


@dataclass(frozen=True, slots=True)
class Buckets:
    """Buckets of one channel in order of time, those without a value left out.

    frame: columns `COLUMNS`; usual, far: middle and 99th percentile of the time between two values [µs];
    width: of a bucket [µs].
    """

    frame: pl.DataFrame
    usual: float
    far: float
    width: int


def width_for(start: int, end: int, most: int) -> int:
    """Return the least width at which a window has no more buckets than `most`. [µs]

    Examples
    --------
    >>> width_for(0, 365 * 86_400 * US, 2000) // (3600 * US)
    6
    """
    for width in WIDTHS:
        if (end - start) // width + 2 <= most:
            return width
    return WIDTHS[-1]


def buckets(logs: LogsFolder, one: KeptChannel, start: int, end: int, width: int) -> Buckets:
    """Return a channel between two times in buckets of a width; extremes of every sample are kept. [µs]

    A bucket at either end holds what lies in the window, or all of itself where the window is wide.

    Raises
    ------
    InputError
        A file of samples that should be there is not.
    """
    level = max((w for w in LEVELS if w <= width and width % w == 0), default=0)
    found: list[pl.DataFrame] = []
    usual: list[tuple[float, float]] = []
    for stretch in groups(one.parts):
        first, last = stretch[0][1].first, max(part.last for _, part in stretch)
        if last < start or first >= end:
            continue
        kept = _level(logs, stretch, level or LEVELS[0])
        if kept.height:
            usual.append((kept["usual"][0], kept["far"][0]))
        if level:
            inside = kept.filter((pl.col("to") >= start) & (pl.col("from") < end)).select(COLUMNS)
        else:
            micros = pl.col("t").dt.epoch("us")
            inside = _counted(shown(logs, stretch).filter((micros >= start) & (micros < end)), width)
        if inside.height:
            found.append(inside)
    frame = _coarser(pl.concat(found), width) if found else _counted(shown(logs, []), width)
    typical = sorted(usual)[len(usual) // 2] if usual else (0.0, 0.0)
    return Buckets(frame, *typical, width)


def _counted(frame: pl.LazyFrame, width: int) -> pl.DataFrame:
    """Return samples in buckets of a width."""
    at = pl.col("at")
    with_values = frame.filter(pl.col("v").is_finite()).select(
        pl.col("t").dt.epoch("us").alias("at"), "v", (pl.col("flag") & MARKED > 0).alias("mark")
    )
    bucketed = with_values.with_columns(
        (at - at % width).alias("bucket"), (at - at.shift(1)).alias("step")
    ).with_columns(pl.when(pl.col("bucket") == pl.col("bucket").shift(1)).then(pl.col("step")).alias("step"))
    v = pl.col("v")
    return (
        bucketed.group_by("bucket", maintain_order=True)
        .agg(
            v.min().alias("low"), v.max().alias("high"), v.first().alias("first"), v.last().alias("last"),
            at.first().alias("from"), at.last().alias("to"), pl.len().cast(pl.Int64).alias("count"),
            pl.col("step").max().fill_null(0).alias("longest"),
            pl.col("mark").sum().cast(pl.Int64).alias("marked"),
        )
        .select(COLUMNS)
        .collect()
    )  # fmt: skip


def _coarser(fine: pl.DataFrame, width: int) -> pl.DataFrame:
    """Return buckets put together to wider ones; those of two stretches at one time become one."""
    start, bucket = pl.col("from"), pl.col("bucket")
    between = pl.when((bucket - bucket % width) == (bucket - bucket % width).shift(1)).then(
        start - pl.col("to").shift(1)
    )
    return (
        fine.lazy()
        .sort("from", maintain_order=True)
        .with_columns(pl.max_horizontal("longest", between).alias("longest"))
        .with_columns((bucket - bucket % width).alias("bucket"))
        .group_by("bucket", maintain_order=True)
        .agg(
            pl.col("low").min(), pl.col("high").max(), pl.col("first").first(), pl.col("last").last(),
            start.first(), pl.col("to").last(), pl.col("count").sum(), pl.col("longest").max(),
            pl.col("marked").sum(),
        )
        .select(COLUMNS)
        .collect()
    )  # fmt: skip


def make_ready(logs: LogsFolder, stretch: Stretch) -> None:
    """Make the kept buckets of a stretch where they are not there.

    Raises
    ------
    InputError
        A file of samples that should be there is not.
    """
    for width in LEVELS:
        if not place_of(logs, stretch, width).is_file():
            _level(logs, stretch, width)


def _level(logs: LogsFolder, stretch: Stretch, width: int) -> pl.DataFrame:
    """Return the kept buckets of a stretch, made now where they are not there, with their intervals."""
    path = place_of(logs, stretch, width)
    with suppress(OSError, pl.exceptions.PolarsError):
        return pl.read_parquet(path)
    finest = _counted(shown(logs, stretch), LEVELS[0])
    usual, far = _intervals(logs, stretch)
    told = [pl.lit(usual).alias("usual"), pl.lit(far).alias("far")]
    made = finest
    for each in LEVELS:
        one = (finest if each == LEVELS[0] else _coarser(finest, each)).with_columns(told)
        _keep(one, place_of(logs, stretch, each))
        made = one if each == width else made
    return made


def _intervals(logs: LogsFolder, stretch: Stretch) -> tuple[float, float]:
    """Return middle and 99th percentile of the time between two samples. [µs]"""
    if len(stretch) == 1 and (step := stretch[0][1].step) is not None:
        return float(step), float(step)
    steps = shown(logs, stretch).select(pl.col("t").dt.epoch("us").diff().alias("d"))
    found = steps.select(
        pl.col("d").median().fill_null(0.0).alias("usual"),
        pl.col("d").quantile(0.99).fill_null(0.0).alias("far"),
    ).collect()  # fmt: skip
    return float(found["usual"][0]), float(found["far"][0])


def place_of(logs: LogsFolder, stretch: Stretch, width: int) -> Path:
    """Return where the buckets of a stretch are kept."""
    told = hashlib.sha256(MADE.encode())
    for number, part in sorted(stretch, key=lambda each: (each[0], each[1].name)):
        told.update(f"\0{number}\0{part.sha256}\0{part.first}".encode())
    station, channel = Path(stretch[0][1].name).parts[:2]
    return logs.root / FOLDER / station / channel / f"{told.hexdigest()[:24]}-{width // US}.parquet"


def _keep(frame: pl.DataFrame, path: Path) -> None:
    """Lay buckets down by one rename; where that cannot be, they are made again the next time."""
    beside = path.with_name(f".{path.name}.{os.getpid()}.{secrets.token_hex(4)}.new")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        frame.write_parquet(beside, compression="zstd")
        beside.replace(path)
    except OSError:
        with suppress(OSError):
            beside.unlink(missing_ok=True)


def clear_old(logs: LogsFolder, key: str, channels: Sequence[KeptChannel]) -> int:
    """Take away what was derived of parts that are there no more; return how many files.

    key: folder of the station.
    """
    root = logs.root / FOLDER / key
    wanted = {
        place_of(logs, stretch, width)
        for one in channels
        for stretch in groups(one.parts)
        for width in LEVELS
    }
    gone = 0
    for path in root.glob("*/*") if root.is_dir() else ():
        if path not in wanted and not path.name.startswith("."):
            with suppress(OSError):
                path.unlink()
                gone += 1
    return gone
