"""One drawn station, solved again and again: the twin with its tolerances put in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import nan

import numpy as np

from steadyhead.hydraulics import Model
from steadyhead.hydraulics.again import Again
from steadyhead.hydraulics.kernel import assembly, layout
from steadyhead.hydraulics.model import SHUT_SHARE
from steadyhead.hydraulics.solving import CRITICAL_PRESSURE_ABS, DEMAND_REFERENCE
from steadyhead.laws.compiling import Floats, FloatTable, mode
from steadyhead.records.parts import IsolatingValve, Reducer, Relief, ShutOff
from steadyhead.station import defaults as sd
from steadyhead.visits import spans
from steadyhead.visits.questions import tap_of_role
from steadyhead.water import WaterProperties, properties

_COLUMNS = {
    "kv": layout.FULL,
    "curve_shape": layout.SHAPE,
    "seat_ratio": layout.SEAT_RATIO,
    "flow_force": layout.FLOW_FORCE,
    "spring_shut": layout.SPRING_SHUT,
    "spring_rise": layout.SPRING_RISE,
    "roughness": layout.ROUGHNESS,
}
"""Fact of a parameter's name → column of the kernel's table; the draw is a factor on it."""
_KNOTS = 9
"""Temperatures at which water is worked out; between them straight."""
_ROUNDS = 6
_CLOSE = 5.0
"""A setting is found when its reading is within this. [Pa]"""


class WaterTable:
    """Density, viscosity and vapour pressure over the range of temperatures drawn; straight between knots."""

    def __init__(self, lowest: float, highest: float, pressure_abs: float) -> None:
        self._at = np.linspace(lowest, max(highest, lowest + 0.01), _KNOTS)
        rows = [properties(float(t), pressure_abs) for t in self._at]
        self._density = [row.density for row in rows]
        self._viscosity = [row.kinematic_viscosity for row in rows]
        self._vapour = [row.vapour_pressure_abs for row in rows]

    def at(self, temperature: float) -> tuple[float, float, float]:
        """Return density [kg/m³], kinematic viscosity [m²/s] and vapour pressure [Pa abs]."""
        return (
            float(np.interp(temperature, self._at, self._density)),
            float(np.interp(temperature, self._at, self._viscosity)),
            float(np.interp(temperature, self._at, self._vapour)),
        )


@dataclass(frozen=True, slots=True)
class State:
    """Pressures by tap role [Pa at datum] and pilot openings by reducer id."""

    taps: Mapping[str, float]
    pilots: Mapping[str, float]
    solved: bool


@dataclass(frozen=True, slots=True)
class _Pilot:
    """What a real pilot does beyond the twin's: a slope with flow, a pull by the inlet.

    slope [Pa] from the duty flow down to none; droop [Pa] from the duty flow up to peak; supply_effect [1];
    duty and peak flow [m³/s]; supply at which the duty is meant [Pa].
    """

    slope: float
    droop: float
    supply_effect: float
    duty_flow: float
    peak_flow: float
    typical: float

    @classmethod
    def drawn(cls, reducer: Reducer, model: Model, draws: Mapping[str, float]) -> _Pilot:
        usual = model.lockup[reducer.id].si - reducer.duty.pressure.si
        rise = draws.get(f"{reducer.id}.lockup_rise", usual)
        own_slope = reducer.kind == "direct-acting"  # its spring's slope is in the twin already
        return cls(
            slope=0.0 if own_slope else draws.get(f"{reducer.id}.slope", 0.0) * rise,
            droop=draws.get(f"{reducer.id}.droop", 0.0),
            supply_effect=draws.get(f"{reducer.id}.supply_effect", 0.0),
            duty_flow=reducer.duty.flow.si,
            peak_flow=model.station.demand.peak.si,
            typical=model.station.supply.typical.si,
        )

    def shift(self, flow: float, supply: float) -> float:
        """Return how far the pilot stands above the twin's at a flow and supply pressure. [Pa]

        Straight in both; nothing is added at no flow, where the outlet stands at lock-up.
        """
        found = self.supply_effect * (supply - self.typical)
        if 0.0 < flow < self.duty_flow:
            found += self.slope * (1.0 - flow / self.duty_flow)
        elif flow > self.duty_flow and self.peak_flow > self.duty_flow:
            found -= self.droop * (flow - self.duty_flow) / (self.peak_flow - self.duty_flow)
        return found


class Trial:
    """A station with every tolerance drawn; asked for one situation after another.

    Parameters
    ----------
    model
        The stated station.
    draws
        Value of each parameter by name; missing: as stated.
    water
        Water over the temperatures drawn.
    """

    def __init__(self, model: Model, draws: Mapping[str, float], water: WaterTable) -> None:
        base = model.line
        self._model = model
        self._line = replace(base, values=_copy(base.values))
        self._full = dict(model.full)
        self._roles = {role: model.tap_node[tap] for role, tap in tap_of_role(model.layout).items()}
        self.density, viscosity, vapour = water.at(
            draws.get("water.temperature", model.station.water.temperature.si)
        )
        self.supply = draws.get("supply.day", model.station.supply.typical.si)
        self._at = assembly.conditions(
            density=self.density,
            viscosity=viscosity,
            gravity=sd.GRAVITY,
            atmosphere_abs=model.atmosphere,
            vapour_pressure_abs=vapour,
            critical_pressure_abs=CRITICAL_PRESSURE_ABS,
            supply=self.supply,
            reference=DEMAND_REFERENCE,
        )
        for name, factor in draws.items():
            self._apply(name, factor)
        self._pilots = {r.id: _Pilot.drawn(r, model, draws) for r in model.layout.reducers}
        self.band = {reducer.id: model.band[reducer.id].si for reducer in model.layout.reducers}
        self.lockup = {reducer.id: model.lockup[reducer.id].si for reducer in model.layout.reducers}
        self._again = Again(self._line, self._at)
        self._isolating = self._rows(IsolatingValve)
        self._reducers = self._rows(Reducer)
        self._shut_offs = self._rows(ShutOff)
        self._drains = [
            (drain.id, self._row(drain.id)) for section in model.layout.sections for drain in section.drains
        ]
        for _, row in self._rows(Relief):
            row[layout.FULL] = 0.0
        self._pilot_of = [
            (
                reducer.id,
                model.element[reducer.id],
                layout.OUT_LIFT if reducer.kind == "direct-acting" else layout.OUT_PILOT,
            )
            for reducer in model.layout.reducers
        ]

    def _rows(self, kind: type) -> list[tuple[str, Floats]]:
        return [(part.id, self._row(part.id)) for part in self._model.layout.main if isinstance(part, kind)]

    def _row(self, part_id: str) -> Floats:
        return self._line.values[self._model.element[part_id]]

    def _apply(self, name: str, factor: float) -> None:
        part, _, fact = name.rpartition(".")
        column = _COLUMNS.get(fact)
        index = self._model.element.get(part)
        if column is None or index is None:
            return
        if fact == "kv" and part in self._full:
            self._full[part] *= factor
            if self._line.values[index][layout.FULL] > 0.0:
                self._line.values[index][layout.FULL] = self._full[part]
            return
        self._line.values[index][column] *= factor

    def at(
        self,
        *,
        flow: float = 0.0,
        drains: Mapping[str, float] | None = None,
        openings: Mapping[str, float] | None = None,
        lockup: Mapping[str, float] | None = None,
        lift: Mapping[str, float] | None = None,
        supply: float | None = None,
        passing: float | None = None,
    ) -> State:
        """Return the steady state of one situation; nothing is remembered between calls.

        Relief valves stand shut: bands hold below their crack, or with their cock closed.

        Parameters
        ----------
        flow
            Drawn after T3. [m³/s]
        drains
            Opening share of drains by id.
        openings
            Opening share of isolating valves by id; missing: open.
        lockup
            lockup_pressure by reducer id; missing: of this trial. [Pa]
        lift
            Forced lift share by reducer or shut-off id.
        supply
            Instead of this trial's supply pressure. [Pa]
        passing
            Flow the pilots' droop is taken at, where it is not `flow`. [m³/s]
        """
        pressure = self.supply if supply is None else supply
        through = flow if passing is None else passing
        for name, row in self._isolating:
            share = openings.get(name, 1.0) if openings else 1.0
            wide = share**sd.ISOLATING_EXPONENT.si if share > 0.0 else 0.0
            row[layout.FULL] = self._full[name] * max(wide, SHUT_SHARE)
            row[layout.TIGHT] = 1.0 if share <= 0.0 else 0.0
        for name, row in self._reducers:
            stands = lockup.get(name, self.lockup[name]) if lockup else self.lockup[name]
            row[layout.CLOSING] = stands + self._pilots[name].shift(through, pressure)
            row[layout.BAND] = self.band[name]
            row[layout.LIFT] = lift.get(name, nan) if lift else nan
        for name, row in self._shut_offs:
            row[layout.LIFT] = lift.get(name, 1.0) if lift else 1.0
        for name, row in self._drains:
            row[layout.FULL] = self._full[name] * drains.get(name, 0.0) if drains else 0.0
        self._at[layout.DRAWN] = flow if flow > 0.0 else nan
        self._at[layout.SUPPLY] = pressure
        return self._solve()

    def _solve(self) -> State:
        ending = self._again.solve()
        nodes, outcomes = self._again.nodes, self._again.outcomes
        return State(
            {role: float(nodes[node]) for role, node in self._roles.items()},
            {name: float(outcomes[index][column]) for name, index, column in self._pilot_of},
            ending in (layout.SOLVED, layout.UNKNOWN_TRAPPED),
        )

    def full(self, part_id: str) -> float:
        """Return k of a drain, isolating valve or strainer fully open. [m³/(s·√Pa)]"""
        return self._full[part_id]

    def still_shift(self, reducer_id: str) -> float:
        """Return what the day's supply adds to a lock-up pressure. [Pa]"""
        return self._pilots[reducer_id].shift(0.0, self.supply)

    def settle_bands(
        self, duty: Mapping[str, float], rise: Mapping[str, float], flow: Mapping[str, float]
    ) -> None:
        """Find bands and lock-up pressures that belong to duty pressures with their rises.

        One slope seen from two ends: lockup = duty + band × pilot opening, at duty flow and typical supply.
        Where a pilot is wide open at the duty the band is the whole rise.

        Parameters
        ----------
        duty, rise
            By reducer id. [Pa]
        flow
            Stated duty flow by reducer id. [m³/s]
        """
        typical = self._model.station.supply.typical.si
        self.lockup = {name: duty[name] + rise[name] for name in duty}
        watching = spans.monitor(self._model.layout)
        for reducer in reversed(self._model.layout.reducers):
            worker = {spans.worker(self._model.layout).id: 1.0} if reducer is watching else None
            for _ in range(_ROUNDS):
                state = self.at(flow=max(flow[reducer.id], 1e-6), supply=typical, lift=worker)
                opening = min(max(state.pilots[reducer.id], 0.0), 1.0) if state.solved else 1.0
                if opening <= 0.0:
                    break
                wanted = rise[reducer.id] / opening
                off = abs(wanted - self.band[reducer.id]) * opening
                self.band[reducer.id] = wanted
                if off <= _CLOSE or opening >= 1.0:
                    break

    def setting(self, reducer_id: str, role: str, wanted: float, **situation: object) -> tuple[float, State]:
        """Return the lock-up pressure at which a tap stands at `wanted` [Pa at datum], and the state then.

        Where the line cannot reach it, the nearest it comes.
        """
        lockup = dict(self.lockup)
        given = situation.pop("lockup", None)
        if isinstance(given, Mapping):
            lockup.update(given)
        state = self.at(lockup=lockup, **situation)  # type: ignore[arg-type]
        for _ in range(_ROUNDS):
            off = wanted - state.taps[role]
            if not abs(off) > _CLOSE:
                break
            lockup[reducer_id] += off
            state = self.at(lockup=lockup, **situation)  # type: ignore[arg-type]
        return lockup[reducer_id], state


def _copy(values: FloatTable) -> FloatTable:
    if mode() == "plain":
        return [list(row) for row in values]
    return values.copy()


__all__ = ["State", "Trial", "WaterProperties", "WaterTable"]
