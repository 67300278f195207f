"""What pictures of logger data show, as plain facts: a window of a record, and a year by day and hour.

Values are SI; a frame says how they are shown. Times are microseconds since 1970, UTC.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

LevelKind = Literal["trip", "alarm", "edge"]
UNSEEN, BELIEVED, DOUBTED, REFUSED = 0, 1, 2, 3
"""How samples stand: not judged, judged without a defect, touched by one, cannot be true."""
NOTHING, WITHIN, ABOVE, BELOW, BOTH = 0, 1, 2, 3, 4
"""What an hour of a year shows: not seen, in the band, samples above it, below it, above and below."""


@dataclass(frozen=True, slots=True)
class Shown:
    """How SI values are shown: value = factor · figure + offset; unit; decimals."""

    unit: str
    factor: float = 1.0
    offset: float = 0.0
    digits: int = 2

    def figure(self, si: float) -> float:
        """Return the figure of a value."""
        return (si - self.offset) / self.factor


@dataclass(frozen=True, slots=True)
class Bucket:
    """Values of a short stretch: times of the first and last one, least, most, first, last, standing."""

    start: int
    end: int
    low: float
    high: float
    first: float
    last: float
    stands: int = UNSEEN


@dataclass(frozen=True, slots=True)
class Level:
    """A line at a value, named."""

    value: float
    words: str
    kind: LevelKind


@dataclass(frozen=True, slots=True)
class LoggerFrame:
    """One channel of a window.

    Parameters
    ----------
    name, shown
        Its name; how its values are shown.
    buckets
        In order of time.
    gaps
        Times without values: last value before and first one after.
    levels
        Lines it is held against.
    holds
        The value stays until the next one.
    is_pressure
        Drawn in the colour of pressures.
    """

    name: str
    shown: Shown
    buckets: tuple[Bucket, ...]
    gaps: tuple[tuple[int, int], ...] = ()
    levels: tuple[Level, ...] = ()
    holds: bool = False
    is_pressure: bool = True


@dataclass(frozen=True, slots=True)
class Spot:
    """Something told of a time, by its number in the list of words."""

    number: int
    start: int
    end: int
    is_event: bool


@dataclass(frozen=True, slots=True)
class LoggerPicture:
    """A window of a station's record: title, caption sentences, window, frames from the top down, spots."""

    title: str
    caption: tuple[str, ...]
    start: int
    end: int
    frames: tuple[LoggerFrame, ...]
    spots: tuple[Spot, ...] = ()
    decimal: str = "."


@dataclass(frozen=True, slots=True)
class YearPicture:
    """A year by day and hour.

    Parameters
    ----------
    title, caption
        What it shows; sentences below.
    first_day
        Days since 1970 of the first column.
    hours
        24 for each day; one of `NOTHING` … `BOTH`.
    """

    title: str
    caption: tuple[str, ...]
    first_day: int
    hours: tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True)
class DroopPicture:
    """Outlet by flow in service. Flows [m³/s], pressures [Pa].

    Parameters
    ----------
    name, caption
        Station; sentences below.
    spread
        Flow, tenth and ninetieth percentile of the outlet.
    every, rising, falling, twin, as_left
        Flow and outlet: middle of all samples, with rising and with falling flow, of the twin at the inlet
        met, and the fall as left, drawn from where the first of its flows stands now. Empty: not known.
    """

    name: str
    caption: tuple[str, ...]
    spread: tuple[tuple[float, float, float], ...]
    every: tuple[tuple[float, float], ...]
    rising: tuple[tuple[float, float], ...] = ()
    falling: tuple[tuple[float, float], ...] = ()
    twin: tuple[tuple[float, float], ...] = ()
    as_left: tuple[tuple[float, float], ...] = ()
