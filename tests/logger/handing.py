"""A logger's view as the judgement takes it: channels with frames, and what is known beside them."""

from __future__ import annotations

from datetime import UTC, datetime

import polars as pl

from steadyhead.records.logger import Channel, Context, GaugeVisit, Known
from tests.logger.measuring import Seen, Trace

PLACES = {"inlet pressure": "T1", "pressure between the valves": "T2", "outlet pressure": "T3"}
DECIMALS = 9


def channel(name: str, trace: Trace, flow_unit: str) -> Channel:
    """Return the record of a channel."""
    unit = {"flow": flow_unit, "travel": "%", "shut-off closed": "state"}.get(trace.quantity, "bar")
    return Channel(
        id=name,
        place=PLACES.get(trace.quantity),
        quantity=trace.quantity,  # type: ignore[arg-type]
        statistic=trace.statistic,  # type: ignore[arg-type]
        unit_as_found=unit,
        factor=1.0,
        offset=0.0,
        absolute=False,
        elevation=None,
        zone="UTC",
        hold=trace.hold,  # type: ignore[arg-type]
        source_sha256=(),
        heading=name,
    )


def frame(trace: Trace) -> pl.DataFrame:
    """Return the samples of a channel."""
    micro = pl.Series("t", (trace.t * 1e6).round().astype("int64")).cast(pl.Datetime("us", "UTC"))
    return pl.DataFrame({"t": micro, "v": pl.Series(trace.v.round(DECIMALS)).fill_nan(None)})


def context(seen: Seen) -> Context:
    """Return what a user would tell beside the file."""
    visits = tuple(
        GaugeVisit(
            when=datetime.fromtimestamp(visit["when"] or 0.0, tz=UTC),
            inlet=visit["inlet"],
            outlet=visit["outlet"],
            flow=visit["flow"],
            clock=visit["clock"],
        )
        for visit in seen.visits
    )
    known = Known(lockup=seen.lockup, inlet=seen.inlet_about, flow=seen.flow_about)
    return Context(zone=seen.zone, interval=seen.step, known=known, visits=visits)


def channels(seen: Seen) -> list[tuple[Channel, pl.DataFrame]]:
    """Return all channels with their frames."""
    return [(channel(name, trace, seen.flow_unit), frame(trace)) for name, trace in seen.traces.items()]
