"""The grid of the partials: days of a zone, bins of flow and of pressure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt

from steadyhead.watch.defects.series import Floats

Counts = npt.NDArray[np.int32]
LEAST_FLOW, BINS = 1e-6, 24
"""First border of the bins of flow [m³/s], and bins in a decade: each is a tenth wide."""
GRAIN = 1000.0
"""Width of the bins of pressure: 0.01 bar. [Pa]"""


@dataclass(frozen=True, slots=True)
class Midnights:
    """A day of a zone: days since 1970, midnights [s since 1970], wall-clock hour of each of its hours."""

    number: int
    start: float
    end: float
    hours: Counts


def midnights(zone: str, start: float, end: float) -> list[Midnights]:
    """Return the days of a zone that meet a span [s since 1970]; UTC for a zone that is not known."""
    try:
        there = ZoneInfo(zone or "UTC")
    except (KeyError, ValueError, OSError):
        there = ZoneInfo("UTC")
    zero = date(1970, 1, 1)
    day = datetime.fromtimestamp(start, tz=UTC).astimezone(there).date()
    out: list[Midnights] = []
    while True:
        a = datetime.combine(day, time(), tzinfo=there).timestamp()
        b = datetime.combine(day + timedelta(days=1), time(), tzinfo=there).timestamp()
        if a >= end:
            return out
        walls = [
            datetime.fromtimestamp(a + 3600.0 * (k + 0.5), tz=UTC).astimezone(there).hour for k in range(27)
        ]
        out.append(Midnights((day - zero).days, a, b, np.array(walls, np.int32)))
        day += timedelta(days=1)


def flow_bins(q: Floats) -> Counts:
    """Return the bins of flows; -1 where none passes or it is not known."""
    with np.errstate(divide="ignore", invalid="ignore"):
        place = np.floor(BINS * np.log10(np.nan_to_num(q) / LEAST_FLOW))
    return np.where(np.isfinite(place) & (place >= 0.0), place, -1.0).astype(np.int32)


def flow_at(place: float) -> float:
    """Return the middle flow of a bin. [m³/s]"""
    return float(LEAST_FLOW * 10.0 ** ((place + 0.5) / BINS)) if place >= 0 else 0.0
