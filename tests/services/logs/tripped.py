"""A logger's file of twelve days with a planted trip, as text."""

from __future__ import annotations

from datetime import UTC, datetime
from functools import cache
from pathlib import Path

import polars as pl

from tests.logger.handing import channels
from tests.logger.measuring import Seen
from tests.watch.happening.test_telling import life, plant_trip, with_switch


@cache
def seen() -> tuple[Seen, float, float]:
    """Return what is stored, and first sign and reset of the trip. [s since 1970]"""
    rng, now = life(1, step=60.0)
    start, end = plant_trip(now)
    return with_switch(rng, now), start, end


def tripped(folder: Path, name: str = "trip.csv") -> Path:
    """Write the file: inlet, outlet, flow, travel, switch of the shut-off."""
    told: dict[str, pl.DataFrame] = {
        channel.quantity: frame for channel, frame in channels(seen()[0]) if channel.statistic != "maximum"
    }
    names = ["inlet pressure", "outlet pressure", "flow", "travel", "shut-off closed"]
    heads = ["P inlet [bar]", "P outlet [bar]", "Flow [m3/h]", "Travel [%]", "Shut-off closed"]
    scales = [1e-5, 1e-5, 3600.0, 100.0, 1.0]
    columns = [(told[one]["v"] * by).round(4).to_list() for one, by in zip(names, scales, strict=True)]
    stamps = told[names[0]]["t"].to_list()
    lines = [",".join(["Time", *heads])]
    for at, when in enumerate(stamps):
        lines.append(
            f"{when.astimezone(UTC):%Y-%m-%d %H:%M:%S}," + ",".join(f"{one[at]:g}" for one in columns)
        )
    path = folder / name
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return path


def at(seconds: float) -> datetime:
    """Return a time."""
    return datetime.fromtimestamp(seconds, UTC)
