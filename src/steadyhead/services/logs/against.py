"""What droop and lock-up of service are held against: the chosen baseline as left, and the twin."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

from steadyhead.errors import InputError, InputErrors, NotConverged
from steadyhead.records.baseline import Baseline, Fitted
from steadyhead.records.parts import Tap
from steadyhead.records.station import Station
from steadyhead.records.steady import Conditions
from steadyhead.register import Register
from steadyhead.services.logs.heights import SIDES
from steadyhead.services.stations.days import today
from steadyhead.services.stations.judged import judge_at
from steadyhead.services.stations.kept import head_file
from steadyhead.services.visits_kept.twin import chosen_baseline
from steadyhead.station.defaults import DEMAND_EXPONENT
from steadyhead.station.elevation import to_level
from steadyhead.station.layout import Layout
from steadyhead.station.measured import with_baseline
from steadyhead.station.streams import views
from steadyhead.upkeep.days import told
from steadyhead.visits.questions import tap_of_role
from steadyhead.visits.spans import role_of
from steadyhead.watch.defects.judging import Frames
from steadyhead.watch.measures import AsLeft, Stood, Twin
from steadyhead.watch.measures.beside_twin import Asked

if TYPE_CHECKING:
    from steadyhead.hydraulics import Model


@dataclass(frozen=True, slots=True)
class Against:
    """As left and twin; None: there is none, and `lacks` says why in words, one sentence each."""

    as_left: AsLeft | None = None
    twin: Twin | None = None
    lacks: tuple[str, ...] = ()


NOTHING = Against()
SEVERAL = "of several streams, which of them ran is not recorded"


def against_of(register: Register, key: str, channels: Frames, day: date | None = None) -> Against:
    """Return what the register knows of how the station was left, and its twin at the loggers' gauges.

    A station of several streams has neither here: which of them ran is not in the data. As left is that of
    the reducer that is judged at the tap at which the outlet is recorded, nobody else's.

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
    except InputErrors as problem:
        return Against(lacks=(f"Not held against twin and as left: {problem}",))
    ways = views(station)
    if len(ways) != 1:
        return Against(lacks=(f"Not held against twin and as left: {SEVERAL}.",))
    gauges, why = _gauges(station, ways[0].layout, channels)
    if why:
        return Against(lacks=(f"Not held against twin and as left: {why}.",))
    as_left, lacks = _as_left(baseline, ways[0].layout, gauges["T3"])
    try:
        twin_of = station if baseline is None else with_baseline(station, baseline)
        return Against(as_left, _twin(twin_of, baseline, gauges), lacks)
    except (InputError, NotConverged) as problem:
        return Against(as_left, None, (f"Not held against the twin: {problem}", *lacks))


def _gauges(station: Station, layout: Layout, channels: Frames) -> tuple[dict[str, Tap], str]:
    """Return the taps of inlet and outlet by role, and in words why there is none of the outlet.

    Of an inlet that is recorded at no tap of the file there is none.
    """
    taps = {part.id: part for part in station.parts() if isinstance(part, Tap)}
    roles = tap_of_role(layout)
    found: dict[str, dict[str, Tap]] = {role: {} for role in SIDES.values()}
    for channel, _ in channels:
        role = SIDES.get(channel.quantity, "")
        name = channel.place if channel.place in taps else roles.get(role, "")
        if role and name in taps and channel.statistic in ("spot", "mean"):
            found[role][name] = taps[name]
    outlets = sorted(found["T3"])
    if len(outlets) != 1:
        both = f"the outlet is recorded at {' and '.join(outlets)}: which of them counts is not told"
        return {}, both if outlets else "no outlet pressure at a tap of the station's file"
    inlets = found["T1"].get(roles.get("T1", "")) or next(iter(found["T1"].values()), None)
    return {"T3": found["T3"][outlets[0]]} | ({"T1": inlets} if inlets is not None else {}), ""


def _as_left(baseline: Baseline | None, layout: Layout, outlet: Tap) -> tuple[AsLeft | None, tuple[str, ...]]:
    """Return droop and lock-up rise as left of the reducer judged at the outlet's tap, and what lacks."""
    about = "Not held against how it was left"
    if baseline is None:
        return None, (f"{about}: no baseline is chosen for the station.",)
    roles = tap_of_role(layout)
    judged = {one.id: roles.get(role_of(layout, one.id), "") for one in layout.reducers}
    senses = [name for name, tap in judged.items() if tap == outlet.id]
    fitted = {one.part for one in baseline.fitted if one.name in ("droop", "lockup_rise")}
    reducers = [name for name in senses if name in fitted] or senses
    if not reducers:
        read = " or ".join(sorted(set(judged.values())))
        return None, (f"{about}: its flow test was read at {read}, the logger stands at {outlet.id}.",)
    if len(reducers) > 1:
        both = " and ".join(reducers)
        return None, (f"{about}: {both} are judged at {outlet.id}; which of them held it is not recorded.",)
    return as_left_of(baseline, reducers[0]), ()


def as_left_of(baseline: Baseline, reducer: str) -> AsLeft:
    """Return what a baseline says of a reducer."""
    own = {one.name: one for one in baseline.fitted if one.part == reducer}
    return AsLeft(
        told(date.fromisoformat(baseline.day)),
        datetime.fromisoformat(baseline.valid_from).timestamp(),
        reducer,
        _stood(own.get("droop"), ("from_flow", "to_flow")),
        _stood(own.get("lockup_rise"), ("duty_flow", "duty_flow")),
    )


def _stood(one: Fitted | None, names: tuple[str, str]) -> Stood | None:
    if one is None or not all(one.state.get(name, 0.0) > 0.0 for name in names):
        return None
    return Stood(one.value, one.within, (one.state[names[0]], one.state[names[1]]))


def _twin(station: Station, baseline: Baseline | None, gauges: Mapping[str, Tap]) -> Twin:
    from steadyhead.hydraulics import build

    by = f"baseline of {told(date.fromisoformat(baseline.day))}" if baseline else "station file alone"
    return Twin(_Gauges(station, gauges, build(station)).outlets, f"twin by the {by}", "T1" in gauges)


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
            if inlet is not None and math.isfinite(inlet):
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
