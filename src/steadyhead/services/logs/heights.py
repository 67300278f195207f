"""Heights of the loggers' gauges, and limits of the station datum carried to them.

Limits of a station's file hold at its datum. A gauge reads the pressure of its own height: before its samples
are compared with a limit, the limit is carried to that height.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache

from steadyhead.errors import InputError, InputErrors
from steadyhead.records.logger import Channel, Known, Quantity
from steadyhead.records.parts import Tap
from steadyhead.register import Register
from steadyhead.services.logs.known import Bounds
from steadyhead.services.logs.visited import DENSITY
from steadyhead.services.stations.kept import head_file
from steadyhead.station.elevation import to_level
from steadyhead.station.load import load
from steadyhead.station.streams import views
from steadyhead.visits.questions import tap_of_role
from steadyhead.watch.happening.believing import chosen

SIDES: Mapping[str, str] = {"inlet pressure": "T1", "outlet pressure": "T3"}
"""Quantities of the gauges, and the role of the tap each stands at where its name tells none."""


@dataclass(frozen=True, slots=True)
class Heights:
    """Heights of a station's taps over its datum [m], and the tap of each role; of several streams none."""

    taps: Mapping[str, float] = field(default_factory=dict)
    roles: Mapping[str, str] = field(default_factory=dict)

    def of_gauge(self, channel: Channel) -> float:
        """Return the height of a channel's tap; 0 where no tap of the file is known to be its own. [m]"""
        if channel.place is not None and channel.place in self.taps:
            return self.taps[channel.place]
        return self._of_role(channel.quantity)

    def of(self, quantity: Quantity, channels: Iterable[Channel] = ()) -> float:
        """Return the height of the gauge that events and measures use for a quantity. [m]

        Without such a channel, as before a file is read: that of the tap of its role.
        """
        one = chosen(channels, quantity)
        return self._of_role(quantity) if one is None else self.of_gauge(one)

    def known(self, known: Known, channels: Iterable[Channel] = ()) -> Known:
        """Return what is known of the station as the gauges that events are told from read it."""
        every = tuple(channels)
        inlet, outlet = self.of("inlet pressure", every), self.of("outlet pressure", every)
        return replace(
            known, lockup=at_height(known.lockup, outlet), trip=at_height(known.trip, outlet),
            trip_upper=at_height(known.trip_upper, outlet),
            inlet=at_height(known.inlet, inlet), height=outlet,
        )  # fmt: skip

    def bounds(self, bounds: Bounds, channels: Iterable[Channel] = ()) -> Bounds:
        """Return bounds as the gauges of the outlet read them that measures are made of.

        The margin to the trip counts from the logger's own maximum, where one is recorded.
        """
        every = tuple(channels)
        height = self.of("outlet pressure", every)
        peak = next((c for c in every if (c.quantity, c.statistic) == ("outlet pressure", "maximum")), None)
        return _carried(bounds, height, height if peak is None else self.of_gauge(peak))

    def bounds_at(self, bounds: Bounds, channel: Channel) -> Bounds:
        """Return bounds as one channel's gauge reads them."""
        height = self.of_gauge(channel)
        return _carried(bounds, height, height)

    def edges(self, bounds: Bounds, channels: Sequence[Channel]) -> tuple[float, ...]:
        """Return band and trip at the datum and at each gauge of the outlet. [Pa]"""
        found = {self.of_gauge(one) for one in channels if one.quantity == "outlet pressure"}
        every = [bounds, *(_carried(bounds, height, height) for height in sorted(found) if height)]
        edges = (edge for one in every for edge in (one.low, one.high, one.trip))
        return tuple(edge for edge in edges if edge is not None)

    def _of_role(self, quantity: str) -> float:
        return self.taps.get(self.roles.get(SIDES.get(quantity, ""), ""), 0.0)


DATUM = Heights()
"""All gauges at the datum: nothing is known of their heights."""


def at_height(pressure: float | None, height: float) -> float | None:
    """Return a pressure at the datum as a gauge reads it that stands `height` [m] over it. [Pa]

    Examples
    --------
    >>> at_height(5.0e5, 0.0), round(at_height(5.0e5, 3.0) or 0.0), at_height(None, 3.0)
    (500000.0, 470599, None)
    """
    if pressure is None or not height:
        return pressure
    return to_level(pressure, level=height, datum=0.0, density=DENSITY)


def _carried(bounds: Bounds, height: float, trip_height: float) -> Bounds:
    return replace(
        bounds, low=at_height(bounds.low, height), high=at_height(bounds.high, height),
        trip=at_height(bounds.trip, trip_height), height=height, trip_height=trip_height,
    )  # fmt: skip


def heights_of(register: Register, key: str) -> Heights:
    """Return the heights of a station's taps; `DATUM` where its file cannot be read.

    Raises
    ------
    NotKept
        No such station.
    """
    source = head_file(register, key).source
    try:
        return _of_file(source)
    except (InputError, InputErrors):
        return DATUM


@lru_cache(maxsize=64)
def _of_file(source: bytes) -> Heights:
    station = load(source).station
    taps = {part.id: part.height for part in station.parts() if isinstance(part, Tap)}
    ways = views(station)
    return Heights(
        {name: height.si if height is not None else 0.0 for name, height in taps.items()},
        tap_of_role(ways[0].layout) if len(ways) == 1 else {},
    )
