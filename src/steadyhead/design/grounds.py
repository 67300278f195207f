"""What the sizing of a reducer rests on, each with its evidence: water, air, valve, pipes, rules."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.design import defaults as d
from steadyhead.design.basis import Basis
from steadyhead.design.closing import CRITICAL_PRESSURE_ABS
from steadyhead.design.report import from_value, pressure
from steadyhead.findings import Amount, Input
from steadyhead.hydraulics.cavitation import known_limits
from steadyhead.laws.valves import critical_pressure_factor
from steadyhead.records.parts import Reducer
from steadyhead.station.mechanics import reducer_twin

_DEGREES = {
    "incipient": "cavitation begins at",
    "constant": "steady cavitation at",
    "damage": "damage starts at",
    "choked": "choked at",
}


def sizing_grounds(basis: Basis, reducer: Reducer, pipes: tuple[float, float]) -> tuple[Input, ...]:
    """Return what the sizing of a reducer rests on.

    Parameters
    ----------
    pipes
        Bores before and after it. [m]
    """
    return (*_water(basis), *_valve(basis, reducer), *_pipes(reducer, pipes), *_rules(basis))


def _water(basis: Basis) -> Iterator[Input]:
    station = basis.station.station
    level = station.altitude or station.datum
    which = "altitude of the file" if station.altitude else "datum, as no altitude is stated"
    air = f"standard atmosphere at {level.text}, {which}"
    yield Input("atmosphere, absolute", pressure(basis.twin.atmosphere_abs), air)
    vapour = basis.twin.water.vapour_pressure_abs
    warm = f"IAPWS R7-97 at {basis.station.water.temperature.text}"
    yield Input("vapour pressure of the water, absolute", pressure(vapour), warm)
    factor = critical_pressure_factor(vapour, CRITICAL_PRESSURE_ABS)
    yield Input("F_F", Amount("ratio", factor), "IEC 60534-2-1:2011, 0.96 − 0.28 √(p_v/p_crit)")


def _valve(basis: Basis, reducer: Reducer) -> Iterator[Input]:
    twin = reducer_twin(reducer)
    yield from_value("F_L", twin.pressure_recovery)
    yield from_value("F_d, only where flow is not turbulent", d.STYLE_MODIFIER.value())
    limits = known_limits(reducer, twin, vapour_abs=basis.twin.water.vapour_pressure_abs)
    for degree in limits.degrees:
        table = limits.tables[degree]
        sigmas = [sigma for _, sigma in table]
        low, high = f"{min(sigmas):.2f}", f"{max(sigmas):.2f}"
        over = low if low == high else f"{low} to {high} over lift"
        yield Input(f"{_DEGREES[degree]} σ1, as given", over, limits.sources[degree])


def _pipes(reducer: Reducer, pipes: tuple[float, float]) -> Iterator[Input]:
    for where, bore in zip(("ahead", "behind"), pipes, strict=True):
        same = bore == reducer.size.si
        source = "the reducer's own: no fitting" if same else "nearest isolating valve, else the main"
        yield Input(f"pipe {where}", Amount("size", bore), f"{source}; short concentric reducers")


def _rules(basis: Basis) -> Iterator[Input]:
    yield from_value(d.BORE_VELOCITY.name, d.BORE_VELOCITY.value())
    fire = basis.station.demand.fire
    if fire is not None:
        yield from_value(d.BORE_VELOCITY_FIRE.name, d.BORE_VELOCITY_FIRE.value())
        yield from_value("fire flow", fire)
