"""Which failure of the reducer the shut-off is credited for, and how high each one goes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import exp, inf, log, sqrt
from typing import Literal

from steadyhead.design import defaults as d
from steadyhead.design.basis import Basis
from steadyhead.design.overshoot import ZoneCase, run
from steadyhead.laws.coefficients import k_of_kv
from steadyhead.laws.friction import pipe_drop
from steadyhead.laws.waves import effective_compressibility
from steadyhead.records.ladder import FailurePeak
from steadyhead.records.parts import FlowMeter, IsolatingValve, Reducer, ShutOff, Strainer
from steadyhead.records.station import Credit, Main, Zone
from steadyhead.records.values import Evidence, Origin, Value
from steadyhead.station import defaults as sd
from steadyhead.station.mechanics import isolating_kv, meter_kv, reducer_twin, shut_off_twin, strainer_kv

At = Literal["night flow", "average flow"]
ATS: tuple[At, ...] = ("night flow", "average flow")
_BISECTIONS = 18


@dataclass(frozen=True, slots=True)
class ZoneStiffness:
    """V β of the zone [m³/Pa] and how it is known; `lower_bound`: only the stated main was counted."""

    compliance: float
    volume: float
    compressibility: Value
    lower_bound: bool


def zone_stiffness(zone: Zone) -> ZoneStiffness | None:
    """Return V β of the zone; the volume of its stated main where the zone's is not known; None: neither.

    Notes
    -----
    β = 1/K + (D/e)/E (design handbook 0.4).
    """
    if zone.volume is not None:
        volume, lower_bound = zone.volume.si, False
    elif zone.main is not None:
        volume, lower_bound = _volume(zone.main), True
    else:
        return None
    beta = zone.elasticity or _compressibility(zone)
    if volume * beta.si <= 0.0:
        return None
    return ZoneStiffness(volume * beta.si, volume, beta, lower_bound)


def _volume(main: Main) -> float:
    return 0.785398163 * main.bore.si**2 * main.length.si


def _compressibility(zone: Zone) -> Value:
    ratio = zone.bore_over_wall
    slender = ratio.si if ratio is not None else sd.BORE_OVER_WALL[zone.material]
    modulus = sd.WALL_MODULUS_GPA[zone.material] * 1e9
    beta = effective_compressibility(
        bulk_modulus=sd.BULK_MODULUS_PA, diameter=slender, wall=1.0, elasticity=modulus
    )
    source = f"{zone.material}, bore over wall {slender:g}, wall modulus {modulus / 1e9:g} GPa"
    return Value(beta, "compressibility", f"{beta:.3g} 1/Pa", Origin.DERIVED, Evidence.ESTIMATE, source)


def part_k(basis: Basis, part: object) -> float:
    """Return k of a plain resistance in the line; inf for parts that do not resist. [m³/(s·√Pa)]"""
    if isinstance(part, IsolatingValve):
        return k_of_kv(isolating_kv(part).si, basis.density)
    if isinstance(part, Strainer):
        return k_of_kv(strainer_kv(part).si, basis.density)
    if isinstance(part, FlowMeter):
        return k_of_kv(meter_kv(part).si, basis.density)
    return inf


def valve_k(basis: Basis, part: Reducer | ShutOff) -> float:
    """Return k of a reducer or shut-off fully open. [m³/(s·√Pa)]"""
    twin = reducer_twin(part) if isinstance(part, Reducer) else shut_off_twin(part)
    return k_of_kv(twin.kv.si, basis.density)


def main_drop(basis: Basis, flow: float) -> float:
    """Return the friction lost in the supply main, where one is stated. [Pa]"""
    main = basis.station.supply.main
    if main is None:
        return 0.0
    rough = main.roughness.si if main.roughness is not None else sd.ROUGHNESS_MM[main.material] * 1e-3
    water = basis.twin.water
    return pipe_drop(flow, main.length.si, main.bore.si, rough, water.density, water.kinematic_viscosity)


def _losses(basis: Basis, pressure_left: float, reducer_full: float) -> float:
    """Return R of all but reducer and shut-off, main friction taken at the flow of a reducer gone open."""
    fittings = sum(part_k(basis, part) ** -2 for part in basis.layout.main)
    loss = fittings
    for _ in range(4):
        flow = sqrt(max(pressure_left, 1.0) / (loss + reducer_full**-2))
        loss = fittings + main_drop(basis, flow) / flow**2
    return loss


def zone_case(basis: Basis, *, within: float, at: At, trip: float, closing_time: float) -> ZoneCase | None:
    """Return the lumped failure case of this station; None where its zone is not known or it has no shut-off.

    Starts from duty_pressure. Night failures meet the highest static inlet, the others the typical one.

    Parameters
    ----------
    basis
        The station.
    within
        Time in which the reducer goes fully open. [s]
    at
        ``night flow`` or ``average flow``.
    trip
        trip_pressure at datum. [Pa]
    closing_time
        Of the shut-off in this failure. [s]
    """
    stiffness, shut_off = zone_stiffness(basis.station.zone), basis.layout.shut_off
    if stiffness is None or shut_off is None or not basis.layout.reducers:
        return None
    reducer = basis.layout.reducers[-1]
    night = at == "night flow"
    head = _head_of_main(basis, night)
    full = valve_k(basis, reducer)
    flow = _flow(basis, night)
    exponent = basis.station.demand.exponent or sd.DEMAND_EXPONENT.value()
    rise = basis.head(basis.station.zone.level)
    duty = reducer.duty.pressure.si
    return ZoneCase(
        supply_pressure=head,
        supply_loss=_losses(basis, head - trip, full),
        reducer_full=full,
        shut_off_full=valve_k(basis, shut_off),
        start_pressure=duty,
        demand=flow,
        exponent=exponent.si,
        head=rise if rise < duty else 0.0,
        compliance=stiffness.compliance,
        within=within,
        trip=trip,
        dead_time=d.DEAD_TIME.si,
        closing_time=closing_time,
    )


def _flow(basis: Basis, night: bool) -> float:
    demand = basis.station.demand
    return demand.night.si if night else demand.average.si


def _head_of_main(basis: Basis, night: bool) -> float:
    """Return the pressure at the head of the supply main; at night at least the highest static one."""
    head = basis.supply_at_datum("night" if night else "typical").si
    if basis.station.supply.stated_at == "station inlet":
        head += main_drop(basis, _flow(basis, night))
    return max(head, basis.supply_at_datum("static").si) if night else head


def failure_inlet(basis: Basis, at: str) -> tuple[str, Value]:
    """Return the stated inlet pressure a failure meets, in words and as typed."""
    supply = basis.station.supply
    if at == "average flow":
        return "typical inlet pressure", supply.typical
    if supply.night is not None and supply.night.si > supply.static.si:
        return "night inlet pressure", supply.night
    return "highest static inlet pressure", supply.static


def credited(basis: Basis) -> tuple[Credit, ...]:
    """Return the failures the design credits; a slow one at night where none is stated."""
    if basis.station.credited:
        return basis.station.credited
    return (Credit(within=d.CREDITED_WITHIN.value(), at="night flow"),)


def credited_overshoot(basis: Basis, trip: float, closing_time: float) -> float | None:
    """Return the largest overshoot of all credited failures; None: the zone is not known. [Pa]"""
    found = []
    for credit in credited(basis):
        case = zone_case(basis, within=credit.within.si, at=credit.at, trip=trip, closing_time=closing_time)
        if case is None:
            return None
        found.append(run(case).overshoot)
    return max(found)


def failure_peaks(
    basis: Basis, *, trip: float, upper_edge: float, closing_time: float, fault_limit: float | None
) -> tuple[FailurePeak, ...]:
    """Return what each failure reaches: the credited ones first, then four speeds at night and average flow.

    Parameters
    ----------
    trip, upper_edge
        trip_pressure, and with its tolerance in the chosen stacking. [Pa at datum]
    closing_time
        Of the shut-off. [s]
    fault_limit
        Of the weakest component. [Pa at datum]
    """
    asked: dict[tuple[float, At], tuple[str, bool]] = {}
    for credit in credited(basis):
        asked[credit.within.si, credit.at] = (credit.failure, True)
    for speed in d.FAILURE_SPEEDS:
        for at in ATS:
            asked.setdefault(
                (speed.si, at), ("reducer fails open" if speed.si < 10.0 else "reducer drifts open", False)
            )
    peaks = []
    for (within, at), (label, is_credited) in asked.items():
        case = zone_case(basis, within=within, at=at, trip=trip, closing_time=closing_time)
        if case is None:
            continue
        result = run(case)
        peak = (
            upper_edge + result.overshoot
            if result.trips
            else max(result.peak, basis.layout.reducers[-1].duty.pressure.si)
        )
        covered = None if fault_limit is None else peak <= fault_limit
        peaks.append(
            FailurePeak(label, within, at, closing_time, result.overshoot, peak, covered, is_credited)
        )
    return tuple(peaks)


def slowest_uncovered(basis: Basis, *, trip: float, closing_time: float, room: float) -> float | None:
    """Return the failure time [s] above which the shut-off keeps the overshoot within `room`; None: at none.

    The worse of night and average flow counts. 0: covered at every speed that was looked at.

    Parameters
    ----------
    trip
        [Pa at datum]
    closing_time
        [s]
    room
        Fault limit less the trip's upper edge. [Pa]
    """
    slowest = 0.0
    for at in ATS:
        case = zone_case(basis, within=1.0, at=at, trip=trip, closing_time=closing_time)
        if case is None:
            return None
        edge = _edge(lambda within, c=case: run(replace(c, within=within)).overshoot > room)  # type: ignore[misc]
        if edge is None:
            return None
        slowest = max(slowest, edge)
    return slowest


def _edge(exceeds: Callable[[float], bool]) -> float | None:
    low, high = d.FASTEST_LOOKED_AT.si, d.SLOWEST_LOOKED_AT.si
    if exceeds(high):
        return None
    if not exceeds(low):
        return 0.0
    for _ in range(_BISECTIONS):
        middle = exp(0.5 * (log(low) + log(high)))
        if exceeds(middle):
            low = middle
        else:
            high = middle
    return high


def longest_closing(basis: Basis, *, trip: float, room: float, stated: float) -> float | None:
    """Return the longest closing time [s] that keeps every credited failure within `room`; None: none does.

    Looked for between a tenth and ten times the stated one.
    """

    def exceeds(closing_time: float) -> bool:
        overshoot = credited_overshoot(basis, trip, closing_time)
        return overshoot is None or overshoot > room

    low, high = 0.1 * stated, 10.0 * stated
    if exceeds(low):
        return None
    if not exceeds(high):
        return high
    for _ in range(_BISECTIONS):
        middle = sqrt(low * high)
        if exceeds(middle):
            high = middle
        else:
            low = middle
    return low
