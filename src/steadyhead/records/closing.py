"""What each side sees over the closing time of the shut-off, and the window of its needle. SI throughout."""

from __future__ import annotations

from dataclasses import dataclass

from steadyhead.records.protection import NeedleWindow, Side
from steadyhead.units import METRIC, UnitSet


@dataclass(frozen=True, slots=True)
class SweptPeak:
    """Highest of one side over every credited failure at one closing time. [Pa at datum]

    Parameters
    ----------
    side
        Where, as limits name it.
    peak, peak_in
        Highest until the shut-off stands shut, and the case it is of, in words.
    rebound, rebound_in
        Highest with the wave thrown back once it is shut, and its case; None: ahead of the shut-off.
    component, limit
        Weakest component of the side and what it bears in a fault; None: no limit is stated, or nobody knows
        what it sees, for its main is not stated.
    """

    side: Side
    peak: float
    peak_in: str
    rebound: float | None
    rebound_in: str
    component: str
    limit: float | None

    @property
    def highest(self) -> float:
        """Highest at all. [Pa at datum]"""
        return self.peak if self.rebound is None else max(self.peak, self.rebound)


@dataclass(frozen=True, slots=True)
class SweptPoint:
    """One closing time by stopwatch [s], and what each side sees; parts: whether a water column parts."""

    time: float
    peaks: tuple[SweptPeak, ...]
    parts: bool

    def peak(self, side: Side) -> SweptPeak | None:
        """Return the peak of a side; None where the station has no such side."""
        return next((one for one in self.peaks if one.side == side), None)


@dataclass(frozen=True, slots=True)
class ClosingSweep:
    """One way through the station with its shut-off closing faster and slower.

    Parameters
    ----------
    way, words, shut_off
        Id of the way, the way in words (empty: the only one), and the shut-off.
    stopwatch
        Closing time with the needle as it is, in the state of the site test. [s]
    points
        By closing time, fast ones first; none where no credited failure trips the shut-off.
    window
        Of the needle, without remedies.
    runs
        How many runs each point is the worst of.
    """

    way: str
    words: str
    shut_off: str
    stopwatch: float
    points: tuple[SweptPoint, ...]
    window: NeedleWindow
    runs: int


@dataclass(frozen=True, slots=True)
class ClosingPicture:
    """Highest pressures over the closing time, to be drawn.

    Parameters
    ----------
    name, datum_m
        Station, and elevation of its datum. [m]
    sweep
        One way with its shut-off closing faster and slower.
    units
        Display units.
    """

    name: str
    datum_m: float
    sweep: ClosingSweep
    units: UnitSet = METRIC
