"""What droop and lock-up of service are held against: the chosen baseline as left, and the twin."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from steadyhead.errors import InputError, NotConverged
from steadyhead.records.baseline import Baseline, Fitted
from steadyhead.records.parts import Tap
from steadyhead.records.station import Station
from steadyhead.records.steady import Conditions
from steadyhead.register import Register
from steadyhead.services.stations.days import today
from steadyhead.services.stations.judged import judge_at
from steadyhead.services.stations.kept import head_file
from steadyhead.services.visits_kept.twin import chosen_baseline
from steadyhead.station.defaults import DEMAND_EXPONENT
from steadyhead.station.elevation import to_level
from steadyhead.station.measured import with_baseline
from steadyhead.station.streams import views
from steadyhead.upkeep.days import told
from steadyhead.visits.questions import tap_of_role
from steadyhead.watch.defects.judging import Frames
from steadyhead.watch.measures import AsLeft, Stood, Twin
from steadyhead.watch.measures.against import Asked

if TYPE_CHECKING:
    from steadyhead.hydraulics import Model

SIDES = {"inlet pressure": "T1", "outlet pressure": "T3"}
"""Quantities of the gauges, and the role of the tap each stands at where its name tells none."""


@dataclass(frozen=True, slots=True)
class Against:
    """As left and twin; None: there is none, and `lacks` says why in words, one sentence each."""

    as_left: AsLeft | None = None
    twin: Twin | None = None
    lacks: tuple[str, ...] = ()


NOTHING = Against()


def against_of(register: Register, key: str, channels: Frames, day: date | None = None) -> Against:
    """Return what the register knows of how the station was left, and its twin at the loggers' gauges.

    A station of several streams has no twin here: which of them ran is not in the data. Of its baseline only
    what one reducer alone has is taken.

    Raises
    ------
    NotKept
        No such station.
    """
    head = head_file(register, key)
    with register.reading() as connection:
        baseline = chosen_baseline(connection, key)
    try:
        station = judge_at(head.source, day or today()).loaded.station
        twin_of = station if baseline is None else with_baseline(station, baseline)
        twin, lacks = _twin(twin_of, baseline, channels)
    except (InputError, NotConverged) as problem:
        return Against(lacks=(f"Not held against the twin: {problem}",))
    if baseline is None:
        lacks += ("Not held against how it was left: no baseline is chosen for the station.",)
    return Against(as_left_of(baseline), twin, lacks)


def as_left_of(baseline: Baseline | None) -> AsLeft | None:
    """Return droop and lock-up rise of a baseline; neither where several reducers have one."""
    if baseline is None:
        return None
    droop, rise = _only(baseline, "droop"), _only(baseline, "lockup_rise")
    return AsLeft(
        told(date.fromisoformat(baseline.day)),
        _stood(droop, ("from_flow", "to_flow")),
        _stood(rise, ("duty_flow", "duty_flow")),
    )


def _only(baseline: Baseline, name: str) -> Fitted | None:
    found = [one for one in baseline.fitted if one.name == name]
    return found[0] if len(found) == 1 else None


def _stood(one: Fitted | None, names: tuple[str, str]) -> Stood | None:
    if one is None or not all(one.state.get(name, 0.0) > 0.0 for name in names):
        return None
    return Stood(one.value, one.within, (one.state[names[0]], one.state[names[1]]))


def _twin(
    station: Station, baseline: Baseline | None, channels: Frames
) -> tuple[Twin | None, tuple[str, ...]]:
    ways = views(station)
    if len(ways) != 1:
        return None, ("Not held against the twin: of several streams, which of them ran is not recorded.",)
    taps = {part.id: part for part in station.parts() if isinstance(part, Tap)}
    roles = tap_of_role(ways[0].layout)
    gauges: dict[str, Tap] = {}
    for channel, _ in channels:
        role = SIDES.get(channel.quantity)
        name = channel.place if channel.place in taps else roles.get(role or "", "")
        if role is not None and name in taps:
            gauges.setdefault(role, taps[name])
    if "T3" not in gauges:
        return None, ("Not held against the twin: no outlet pressure at a tap of the station's file.",)
    from steadyhead.hydraulics import build

    by = f"baseline of {told(date.fromisoformat(baseline.day))}" if baseline else "station file alone"
    seen = _Gauges(station, gauges, build(station))
    return Twin(seen.outlets, f"twin by the {by}"), ()


@dataclass(frozen=True, slots=True)
class _Gauges:
    """The twin as the loggers' gauges see it; taps by role."""

    station: Station
    taps: Mapping[str, Tap]
    model: Model

    def outlets(self, asked: Asked) -> list[float | None]:
        """Return the outlet at its gauge for each flow and inlet; None: the twin has no answer there. [Pa]"""
        return [self._outlet(flow, inlet) for flow, inlet in asked]

    def _outlet(self, flow: float, inlet: float | None) -> float | None:
        supply = self.station.supply.typical.si
        try:
            found = self._solve(flow, supply)
            if inlet is not None and "T1" in self.taps and math.isfinite(inlet):
                # At a given flow the loss before the gauge is the same at any pressure.
                found = self._solve(flow, supply + inlet - self._at(found, "T1"))
            outlet = self._at(found, "T3")
        except (InputError, NotConverged):
            return None
        return outlet if math.isfinite(outlet) else None

    def _solve(self, flow: float, supply: float) -> Mapping[str, float]:
        from steadyhead.hydraulics import solve

        conditions = Conditions(
            supply_pressure=supply, consumer_flow=flow, demand_exponent=DEMAND_EXPONENT.si
        )
        return solve(self.model, conditions).taps

    def _at(self, taps: Mapping[str, float], role: str) -> float:
        tap = self.taps[role]
        height = tap.height.si if tap.height is not None else 0.0
        return to_level(taps[tap.id], level=height, datum=0.0, density=self.model.density)
