"""What the steps must know about one station, read once: valves, taps, drains, how the trip can be proved."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from steadyhead.design.defaults import SHUT_OFF_REPEATABILITY, SHUT_OFF_REPEATABILITY_SHARE
from steadyhead.design.tolerances import stated_or_share
from steadyhead.records.parts import (
    CheckValve,
    Drain,
    ExpansionVessel,
    IsolatingValve,
    Reducer,
    Relief,
    ShutOff,
)
from steadyhead.records.station import Station
from steadyhead.station.layout import Layout, carries_fire_water, read_layout
from steadyhead.visits import spans
from steadyhead.visits.drains import between_drain, outlet_drain
from steadyhead.visits.questions import tap_of_role
from steadyhead.visits.reliefs import lifts_first, stands_in


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
    own
        Ids of the reducers and shut-offs that are set and proved on this line; empty: all of them. The others
        were proved on another way through the same station and stand in service.
    served
        Ids of expansion vessels beyond the outlet valve of this stream, on the outlet all streams share.
    strainers_served
        Ids of strainers that feed all streams and stay in service while this one is out.
    others_serve
        Only this stream is cut off: the outlet valve of the station stays open, the others feed the consumers
        meanwhile, save with `none_serves`.
    none_serves
        The others are locked shut or wait for their turn: while this stream is out nothing feeds the
        consumers.
    """

    station: Station
    layout: Layout
    taps: Mapping[str, str]
    inlet_valve: IsolatingValve
    outlet_valve: IsolatingValve
    drain: Drain
    drain_between: Drain | None
    is_live: bool
    own: frozenset[str] = frozenset()
    others_serve: bool = False
    none_serves: bool = False
    served: tuple[str, ...] = ()
    strainers_served: tuple[str, ...] = ()

    def is_own(self, part: Reducer | ShutOff) -> bool:
        """Return whether a valve is set and proved on this line."""
        return not self.own or part.id in self.own

    @property
    def is_whole(self) -> bool:
        """Everything on this line is set and proved here."""
        return all(self.is_own(valve) for valve in self.valves)

    @property
    def proved(self) -> ShutOff | None:
        """The shut-off, where it is set and proved on this line."""
        return self.shut_off if self.shut_off is not None and self.is_own(self.shut_off) else None

    @property
    def reducers(self) -> tuple[Reducer, ...]:
        """Reducers in the order the water meets them."""
        return self.layout.reducers

    @property
    def last_reducer(self) -> Reducer:
        """The reducer that holds the station outlet."""
        return spans.worker(self.layout)

    @property
    def shut_off(self) -> ShutOff | None:
        """The shut-off, where there is one."""
        return self.layout.shut_off

    @property
    def is_downstream(self) -> bool:
        """The shut-off stands after the reducer."""
        return self.layout.shut_off_place == "downstream"

    @property
    def is_pair(self) -> bool:
        """Two reducers stand in series, each holding a section of its own."""
        return spans.staged(self.layout)

    @property
    def monitor(self) -> Reducer | None:
        """The reducer that stands wide open until the other one, which senses the same tap, fails."""
        return spans.monitor(self.layout)

    @property
    def judged(self) -> tuple[Reducer, ...]:
        """Reducers that hold a section in normal running and are set and proved here."""
        return tuple(reducer for reducer in spans.judged(self.layout) if self.is_own(reducer))

    @property
    def is_injected(self) -> bool:
        """There is a shut-off and it is proved by pump at its sensing line."""
        return self.proved is not None and not self.is_live

    @property
    def stage(self) -> str:
        """Role of the tap between two reducers in series; empty where there is none."""
        span = spans.stage(self.layout)
        return span.role if span is not None and span.role in self.taps else ""

    @property
    def beside(self) -> str:
        """Role of the tap between the shut-off and the reducer next to it; empty where there is none."""
        span = spans.beside(self.layout)
        return span.role if span is not None and span.role in self.taps else ""

    @property
    def inner(self) -> tuple[str, ...]:
        """Roles of all taps between the valves."""
        return tuple(role for role in spans.between_roles(self.layout) if role in self.taps)

    @property
    def inner_drains(self) -> tuple[Drain, ...]:
        """Drains between the valves, in walking order."""
        return tuple(span.drain for span in spans.between(self.layout) if span.drain is not None)

    @property
    def relief_first(self) -> tuple[Relief, ...]:
        """Relief valves on the outlet that lift before the shut-off trips."""
        return lifts_first(self.layout)

    @property
    def relief_instead(self) -> tuple[Relief, ...]:
        """Relief valves that protect the outlet in place of a shut-off."""
        return stands_in(self.layout)

    @property
    def reliefs_proved(self) -> tuple[Relief, ...]:
        """Relief valves that are proved on the line: raised to their crack."""
        if not self.can_isolate or not self.is_whole:
            return ()
        return (*self.relief_first, *self.relief_instead)

    @property
    def reliefs_shut(self) -> tuple[Relief, ...]:
        """Relief valves whose cock is shut while the trip is proved."""
        return self.relief_first if self.is_live and self.proved is not None else ()

    @property
    def check_valve(self) -> CheckValve | None:
        """The check valve between the test drain and the consumers."""
        return spans.check_ahead_of_consumers(self.layout)

    @property
    def vessels(self) -> tuple[ExpansionVessel, ...]:
        """Expansion vessels behind the last valve."""
        return spans.vessels(self.layout)

    @property
    def is_heated(self) -> bool:
        """Water behind the station is heated: it expands when nobody draws."""
        return bool(self.vessels or self.served) or self.station.hot_water is not None

    @property
    def heaters_wait(self) -> bool:
        """Heaters are off before the outlet valve moves: nothing behind it feeds them or gives room."""
        return self.is_heated and (not self.others_serve or self.none_serves)

    @property
    def is_fed_otherwise(self) -> bool:
        """Another feed holds the zone while the outlet valve is shut."""
        return bool(self.station.zone.other_feed) and (not self.others_serve or self.none_serves)

    @property
    def is_seasonal(self) -> bool:
        """The line is drained for the winter: each spring it is filled and bled anew."""
        return self.station.station.kind == "irrigation"

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
        return (self.beside or "T2") if self.is_downstream and own else "T1"

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
        return ("outlet", *spans.held(self.layout))

    def drain_of(self, section: str) -> Drain:
        """Return the drain that holds a section."""
        span = spans.held(self.layout).get(section)
        return span.drain if span is not None and span.drain is not None else self.drain

    def role_of(self, section: str) -> str:
        """Return the role of the tap at which a section is read."""
        span = spans.held(self.layout).get(section)
        return span.role if span is not None else "T3"

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
    def flow_instrument(self) -> str:
        """What the flow at the test drain is read with."""
        return "meter" if self.has_meter or self.drain.metered else "bucket and watch"

    @property
    def raised(self) -> tuple[Reducer, ...]:
        """Reducers that are raised above their duty for a proof."""
        if not self.can_isolate:
            return ()
        found = [reducer for reducer in self.reducers if self.is_own(reducer) and self._is_raised(reducer)]
        return tuple(found)

    @property
    def alarm_over_monitor(self) -> bool:
        """The monitor would hold the outlet below the high alarm: out of the way while that is tried."""
        alarm, monitor = self.station.alarm, self.monitor
        if alarm is None or monitor is None or not self.is_whole:
            return False
        error = alarm.error.si if alarm.error is not None else 0.0
        spread = monitor.repeatability.si if monitor.repeatability is not None else 0.0
        return alarm.pressure.si + error > monitor.duty.pressure.si - spread

    def _is_raised(self, reducer: Reducer) -> bool:
        if reducer == self.monitor:
            live = self.is_live and self.proved is not None
            return live or bool(self.reliefs_proved) or self.alarm_over_monitor
        if reducer != self.last_reducer:
            return True
        alarm = self.station.alarm is not None and self.is_whole
        live = self.is_live and self.proved is not None
        return live or alarm or not self.has_pump or self.monitor is not None or bool(self.reliefs_proved)

    @property
    def wants_fast_run(self) -> bool:
        """The design credits the shut-off with a reducer that fails open."""
        return (
            self.is_live
            and self.proved is not None
            and any(credit.failure == "reducer fails open" for credit in self.station.credited)
        )

    def tap_judged(self, reducer: Reducer) -> str:
        """Return the role of the tap at which duty and lock-up of a reducer are judged."""
        return (self.stage or "T2") if self._is_first(reducer) else "T3"

    def _is_first(self, reducer: Reducer) -> bool:
        return self.is_pair and reducer is self.reducers[0]

    def tap_below(self, reducer: Reducer) -> str:
        """Return the role of the tap at which a reducer's own outlet is read."""
        if self._is_first(reducer):
            return self.stage or "T2"
        return (self.beside or "T2") if self.is_downstream else "T3"

    def drain_below(self, reducer: Reducer) -> Drain:
        """Return the drain that draws water through a reducer alone."""
        return self.drain_of("between") if self._is_first(reducer) else self.drain

    def has_tap(self, role: str) -> bool:
        """Return whether the station has a tap of this role."""
        return role in self.taps

    @property
    def pilots(self) -> tuple[Reducer | ShutOff, ...]:
        """Reducers, then the shut-off, those set here: in this order whichever comes first in the line."""
        every = (*self.reducers, *((self.shut_off,) if self.shut_off is not None else ()))
        return tuple(valve for valve in every if self.is_own(valve))

    @property
    def valves(self) -> tuple[Reducer | ShutOff, ...]:
        """Reducers and shut-off in the order the water meets them."""
        return tuple(part for part in self.layout.main if isinstance(part, Reducer | ShutOff))


def read_facts(station: Station, *, is_live: bool, own: frozenset[str] = frozenset()) -> Facts:
    """Return the facts of a station that has all its steps stand on.

    `own`: as in `Facts`.

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
        own=own,
    )


def trip_repeatability(shut_off: ShutOff) -> float:
    """Return how far one run may lie from the next: stated, else as the design assumes. [Pa]"""
    trip = shut_off.trip.si if shut_off.trip is not None else 0.0
    return stated_or_share(
        shut_off.repeatability, SHUT_OFF_REPEATABILITY, SHUT_OFF_REPEATABILITY_SHARE, trip
    )[0]
