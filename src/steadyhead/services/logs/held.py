"""What a switch said before a period: it reports when it changes, and its last word holds until the next."""

from __future__ import annotations

from datetime import UTC, datetime

import polars as pl

from steadyhead.register import Register
from steadyhead.register.logs import LogsFolder, stretches
from steadyhead.watch.defects.long import Frame, Frames, extent, extents

SWITCH = "shut-off closed"


def held_before(
    register: Register, logs: LogsFolder, key: str, start: datetime | None, channels: Frames
) -> dict[str, pl.LazyFrame]:
    """Return the samples of each switch that begins after the others, led by what it said before `start`.

    Without it the first report of a period would be no change: a trip would go untold. The row is that of the
    report, its time that of the first sample of the other channels.
    """
    switches = {channel.id: frame for channel, frame in channels if channel.quantity == SWITCH}
    others = extents([(channel, frame) for channel, frame in channels if channel.id not in switches])
    if start is None or not switches or not others:
        return {}
    begins = min(one.first for one in others)
    late = {name for name, frame in switches.items() if _begins_after(frame, begins)}
    if not late:
        return {}
    said = stretches(register, logs, key, None, start)
    led = {
        channel.id: _led(switches[channel.id], parts[-1][2], begins)
        for channel, parts in said
        if channel.id in late
    }
    return {name: frame for name, frame in led.items() if frame is not None}


def _begins_after(frame: Frame, begins: float) -> bool:
    found = extent(frame)
    return found is not None and found.first > begins


def _led(frame: Frame, before: pl.LazyFrame, begins: float) -> pl.LazyFrame | None:
    """Return a frame led by the last value before it, at the time `begins` [s since 1970]; None: no value."""
    last = before.filter(pl.col("v").is_not_null()).tail(1).collect()
    if last.is_empty():
        return None
    at = pl.lit(datetime.fromtimestamp(begins, UTC)).cast(last.schema["t"]).alias("t")
    return pl.concat([last.lazy().with_columns(at), frame.lazy()])
