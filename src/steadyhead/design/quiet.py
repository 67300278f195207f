"""The smallest quiet flow of a reducer as a band: a quick check of its loop, swept over what is not known."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import sqrt

from steadyhead.design import defaults as d
from steadyhead.design.basis import Basis
from steadyhead.design.capacity_borders import Ground
from steadyhead.hydraulics.solving import CRITICAL_PRESSURE_ABS
from steadyhead.laws.compiling import floats
from steadyhead.laws.lift import interpolate
from steadyhead.laws.loop import Loop, quiet_lift, shaped
from steadyhead.laws.valves import choked_differential, critical_pressure_factor
from steadyhead.records.capacity import QuietSweep
from steadyhead.records.parts import Reducer
from steadyhead.records.values import Value

_ROUNDS = 3


@dataclass(frozen=True)
class Quiet:
    """A reducer's loop with the values it is looked at with.

    Parameters
    ----------
    ground
        The reducer and what stands ahead of it.
    loop
        Its inside, band and lag at the first of the values looked at.
    opening
        Lift characteristic.
    duty
        duty_pressure. [Pa]
    bands, lags
        Proportional bands [Pa] and lags [s] looked at, rising, the usual one in the middle; one where known.
    sweep
        Over what it is swept, with the evidence.
    """

    ground: Ground
    loop: Loop
    opening: Callable[[float], float]
    duty: float
    bands: tuple[float, ...]
    lags: tuple[float, ...]
    sweep: QuietSweep

    def flows(self, inlet: float) -> tuple[float, float, float] | None:
        """Return the smallest quiet flow [m³/s] at best, as usual and at worst, at an inlet of the map [Pa].

        The check depends on lag over band only, so that the corners of the sweep bound it. Where no flow is
        quiet by it, the flow fully open stands. None: the duty is not reached there.
        """
        if inlet <= self.duty:
            return None
        best = self._flow(inlet, self.bands[-1], self.lags[0])
        usual = self._flow(inlet, self.bands[len(self.bands) // 2], self.lags[len(self.lags) // 2])
        return best, usual, self._flow(inlet, self.bands[0], self.lags[-1])

    def _flow(self, inlet: float, band: float, lag: float) -> float:
        loop = replace(self.loop, band=band, lag=lag)
        flow = 0.0
        for _ in range(_ROUNDS):
            before = inlet - self.ground.resistance * flow * flow
            difference = max(before - self.duty, 0.0)
            lift = quiet_lift(loop, self.opening, difference, self.duty, d.LOOP_MOST.si)
            new = self._passes(1.0 if lift is None else lift, before)
            flow = new if flow == 0.0 else 0.5 * (flow + new)
        return flow

    def _passes(self, lift: float, before: float) -> float:
        """Return the flow past the seat at a lift, its outlet at duty. [m³/s]"""
        model = self.ground.model
        twin = model.reducer_twin(self.ground.reducer)
        vapour = model.water.vapour_pressure_abs
        throat = critical_pressure_factor(vapour, CRITICAL_PRESSURE_ABS) * vapour
        most = choked_differential(before, twin.pressure_recovery.si, self.ground.atmosphere_abs, throat)
        root = sqrt(max(min(before - self.duty, most), 0.0))
        return model.k(twin.kv.si) * self.opening(lift) * root


def quiet_of(ground: Ground, reducer: Reducer) -> Quiet:
    """Return the loop of a reducer, swept over proportional band and sensing lag where they are not known.

    A stated proportional band, or one that follows from a measured lock-up, and a stated lag are taken as
    they are. The band that follows from a lock-up nobody measured is not: with it and the usual inside,
    valves that sit still on site would count as swinging.
    """
    model = ground.model
    twin = model.reducer_twin(reducer.id)
    band = _known_band(ground, reducer)
    lag = reducer.mechanics.sense_lag
    bands = (band.si,) if band else tuple(one.si for one in d.LOOP_BANDS)
    lags = (lag.si,) if lag else tuple(one.si for one in d.LOOP_LAGS)
    loop = Loop(
        pilot=model.k(twin.pilot_kv.si),
        band=bands[0],
        lag=lags[0],
        diaphragm_area=twin.diaphragm_area.si,
        stroke=twin.stroke.si,
        seat_ratio=twin.seat_ratio.si,
        flow_force=twin.flow_force.si,
        spring_shut=twin.spring_shut.si,
        spring_rise=twin.spring_rise.si,
    )
    sweep = QuietSweep(
        bands=(bands[0], bands[-1]),
        lags=(lags[0], lags[-1]),
        band_source=band.provenance if band else d.LOOP_BANDS[0].value().provenance,
        lag_source=lag.provenance if lag else d.LOOP_LAGS[0].value().provenance,
    )
    opening = _opening(twin.curve, twin.curve_shape.si)
    return Quiet(ground, loop, opening, reducer.duty.pressure.si, bands, lags, sweep)


def _known_band(ground: Ground, reducer: Reducer) -> Value | None:
    if reducer.mechanics.proportional_band is not None:
        return reducer.mechanics.proportional_band
    measured = reducer.lockup is not None and reducer.lockup.confidence == "measured"
    return ground.model.band[reducer.id] if measured else None


def _opening(curve: tuple[tuple[float, float], ...] | None, shape: float) -> Callable[[float], float]:
    if curve is None:
        return shaped(shape)
    xs, ys = floats([x for x, _ in curve]), floats([y for _, y in curve])
    return lambda lift: float(interpolate(lift, xs, ys, 0, len(xs)))


def quiet_band(basis: Basis, reducer: Reducer, inlet: float, resistance: float) -> tuple[float, float] | None:
    """Return the smallest quiet flow [m³/s] at an inlet pressure [Pa], at best and at worst; see `quiet_of`.

    None: the duty is not reached there, or the reducer is direct-acting.

    Parameters
    ----------
    inlet
        At no flow, just before the reducer and what stands ahead of it. [Pa at datum]
    resistance
        Δp/Q² of what stands ahead. [Pa·s²/m⁶]
    """
    model = getattr(basis.twin, "model", None)
    if model is None or reducer.kind != "pilot-operated":
        return None
    ground = Ground(model, reducer.id, resistance, basis.twin.atmosphere_abs)
    found = quiet_of(ground, reducer).flows(inlet)
    return None if found is None else (found[0], found[2])
