"""What the steps must know about one station, read once: valves, taps, drains, how the trip can be proved."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from steadyhead.design.defaults import SHUT_OFF_REPEATABILITY, SHUT_OFF_REPEATABILITY_SHARE
from steadyhead.design.tolerances import stated_or_share
from steadyhead.records.parts import Drain, IsolatingValve, Reducer, ShutOff
from steadyhead.records.station import Station
from steadyhead.station.layout import Layout, carries_fire_water, read_layout
from steadyhead.visits.drains import between_drain, outlet_drain
from steadyhead.visits.questions import tap_of_role

UPSTREAM, DOWNSTREAM = "shut-off upstream", "shut-off downstream"
ALONE, PAIR = "reducer alone", "two reducers in series"


@dataclass(frozen=True)
class Facts:
    """One station as the steps see it.

    Parameters
    ----------
    station, layout
        The file and its layout.
    taps
        Tap id by role T0 … T4.
    inlet_valve, outlet_valve, drain
        IV1, IV2 and TD; a station without one of them gets no plan.
    drain_between
        TD2, where the layout needs it.
    is_live
        The trip is proved by raising the line; otherwise by injection. False without a shut-off.
    """

    station: Station
    layout: Layout
    taps: Mapping[str, str]
    inlet_valve: IsolatingValve
    outlet_valve: IsolatingValve
    drain: Drain
    drain_between: Drain | None
    is_live: bool

    @property
    def reducers(self) -> tuple[Reducer, ...]:
        """Reducers in the order the water meets them."""
        return self.layout.reducers

    @property
    def last_reducer(self) -> Reducer:
        """The reducer that holds the station outlet."""
        return self.layout.reducers[-1]

    @property
    def shut_off(self) -> ShutOff | None:
        """The shut-off, where there is one."""
        return self.layout.shut_off

    @property
    def is_downstream(self) -> bool:
        """The shut-off stands after the reducer."""
        return self.layout.code == DOWNSTREAM

    @property
    def is_pair(self) -> bool:
        """Two reducers stand in series."""
        return self.layout.code == PAIR

    @property
    def is_injected(self) -> bool:
        """There is a shut-off and it is proved by pump at its sensing line."""
        return self.shut_off is not None and not self.is_live

    @property
    def can_isolate(self) -> bool:
        """The outlet valve is not known to pass: the outlet may be raised once it has been proved tight."""
        return self.outlet_valve.tight != "no"

    @property
    def inlet_passes(self) -> bool:
        """The inlet valve is known to pass: wherever it is shut, something further up is shut too."""
        return self.inlet_valve.tight == "no"

    @property
    def carries_fire_water(self) -> bool:
        """Fire water passes: closing the station is an impairment."""
        return carries_fire_water(self.station)

    @property
    def medium_tap(self) -> str:
        """Role of the tap at which the pressure stands that drives the shut-off shut."""
        shut_off = self.shut_off
        own = shut_off is not None and shut_off.closing_medium != "station inlet"
        return "T2" if self.is_downstream and own else "T1"

    @property
    def medium_bypasses(self) -> bool:
        """The closing medium comes from the station inlet, past the reducer, to a shut-off behind it."""
        shut_off = self.shut_off
        return self.is_downstream and shut_off is not None and shut_off.closing_medium == "station inlet"

    @property
    def has_pump(self) -> bool:
        """The crew brings a hand pump."""
        return self.station.equipment.hand_pump

    @property
    def sections(self) -> tuple[str, ...]:
        """Sections that a drain must be able to hold while a pressure is raised."""
        return ("outlet", "between") if self.is_downstream or self.is_pair else ("outlet",)

    @property
    def shares_sensing(self) -> bool:
        """Reducer and shut-off share a tapping or root cock, or nobody knows."""
        return self.shut_off is not None and self.shut_off.sensing_tap != "own"

    @property
    def resets_itself(self) -> bool:
        """The shut-off reopens by itself."""
        return self.shut_off is not None and self.shut_off.resets == "by itself"

    @property
    def tell_tale(self) -> str:
        """The sign that the shut-off is about to act; empty where there is none or it is not known."""
        told = self.shut_off.tell_tale if self.shut_off is not None else "none"
        return "" if told in ("none", "not known") else told

    @property
    def has_meter(self) -> bool:
        """The station's flow is measured."""
        return any(part.part == "flow_meter" for part in self.layout.main)

    @property
    def raised(self) -> tuple[Reducer, ...]:
        """Reducers that are raised above their duty for a proof."""
        if not self.can_isolate:
            return ()
        if self.is_pair:
            last_too = self.station.alarm is not None or not self.has_pump
            return self.reducers if last_too else self.reducers[:1]
        if self.is_live or self.station.alarm is not None or not self.has_pump:
            return self.reducers
        return ()

    @property
    def wants_fast_run(self) -> bool:
        """The design credits the shut-off with a reducer that fails open."""
        return self.is_live and any(
            credit.failure == "reducer fails open" for credit in self.station.credited
        )

    def tap_judged(self, reducer: Reducer) -> str:
        """Return the role of the tap at which duty and lock-up of a reducer are judged."""
        return "T2" if self.is_pair and reducer is self.reducers[0] else "T3"

    def tap_below(self, reducer: Reducer) -> str:
        """Return the role of the tap at which a reducer's own outlet is read."""
        return "T2" if self.is_downstream or (self.is_pair and reducer is self.reducers[0]) else "T3"

    def drain_below(self, reducer: Reducer) -> Drain:
        """Return the drain that draws water through a reducer alone."""
        if self.is_pair and reducer is self.reducers[0] and self.drain_between is not None:
            return self.drain_between
        return self.drain

    def has_tap(self, role: str) -> bool:
        """Return whether the station has a tap of this role."""
        return role in self.taps

    @property
    def pilots(self) -> tuple[Reducer | ShutOff, ...]:
        """Reducers, then the shut-off: the same order whichever comes first in the line."""
        return (*self.reducers, *((self.shut_off,) if self.shut_off is not None else ()))

    @property
    def valves(self) -> tuple[Reducer | ShutOff, ...]:
        """Reducers and shut-off in the order the water meets them."""
        return tuple(part for part in self.layout.main if isinstance(part, Reducer | ShutOff))


def read_facts(station: Station, *, is_live: bool) -> Facts:
    """Return the facts of a station that has all its steps stand on.

    Raises
    ------
    ValueError
        An isolating valve or the outlet drain is missing; `steadyhead.visits.feasibility` says so in words.
    """
    layout = read_layout(station)
    drain = outlet_drain(layout)
    if layout.inlet_valve is None or layout.outlet_valve is None or drain is None:
        raise ValueError("no plan stands without two isolating valves and a drain on the outlet")
    return Facts(
        station=station,
        layout=layout,
        taps=tap_of_role(layout),
        inlet_valve=layout.inlet_valve,
        outlet_valve=layout.outlet_valve,
        drain=drain,
        drain_between=between_drain(layout),
        is_live=is_live,
    )


def trip_repeatability(shut_off: ShutOff) -> float:
    """Return how far one run may lie from the next: stated, else as the design assumes. [Pa]"""
    trip = shut_off.trip.si if shut_off.trip is not None else 0.0
    return stated_or_share(
        shut_off.repeatability, SHUT_OFF_REPEATABILITY, SHUT_OFF_REPEATABILITY_SHARE, trip
    )[0]
