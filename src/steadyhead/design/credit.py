"""Which failure of the reducer the shut-off is credited for, and how high each one goes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import exp, inf, log, sqrt
from typing import Literal

from steadyhead.design import defaults as d
from steadyhead.design.basis import Basis
from steadyhead.design.overshoot import ZoneCase, run
from steadyhead.hydraulics.mains import zone_stiffness
from steadyhead.laws.coefficients import k_of_kv
from steadyhead.laws.friction import pipe_drop
from steadyhead.records.ladder import FailurePeak
from steadyhead.records.parts import (
    CheckValve,
    FlowMeter,
    IsolatingValve,
    Reducer,
    Relief,
    ShutOff,
    Strainer,
)
from steadyhead.records.station import Credit
from steadyhead.records.values import Value
from steadyhead.station import defaults as sd
from steadyhead.station.mechanics import (
    check_valve_kv,
    isolating_kv,
    meter_kv,
    reducer_twin,
    relief_full,
    relief_kv,
    shut_off_twin,
    strainer_kv,
)

At = Literal["night flow", "average flow"]
ATS: tuple[At, ...] = ("night flow", "average flow")
_BISECTIONS = 18


def part_k(basis: Basis, part: object) -> float:
    """Return k of a plain resistance in the line; inf for parts that do not resist. [m³/(s·√Pa)]"""
    if isinstance(part, IsolatingValve):
        return k_of_kv(isolating_kv(part).si, basis.density)
    if isinstance(part, Strainer):
        return k_of_kv(strainer_kv(part).si, basis.density)
    if isinstance(part, FlowMeter):
        return k_of_kv(meter_kv(part).si, basis.density)
    if isinstance(part, CheckValve):
        return k_of_kv(check_valve_kv(part).si, basis.density)
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


def zone_case(
    basis: Basis,
    *,
    within: float,
    at: At,
    trip: float,
    closing_time: float,
    reliefs: tuple[Relief, ...] | None = None,
    closes: ShutOff | Reducer | None = None,
) -> ZoneCase | None:
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
    reliefs
        Relief valves that let water off; None: those the station credits.
    closes
        What closes at the trip; None: the shut-off of the line. For a monitor a bound.
    """
    closes = basis.layout.shut_off if closes is None else closes
    stiffness = zone_stiffness(basis.station.zone)
    if stiffness is None or closes is None or not basis.layout.reducers:
        return None
    reducer = basis.worker
    night = at == "night flow"
    full = valve_k(basis, reducer)
    head, loss = _fed(basis, night, trip, full)
    flow = _flow(basis, night)
    exponent = basis.station.demand.exponent or sd.DEMAND_EXPONENT.value()
    rise = basis.head(basis.station.zone.level)
    duty = reducer.duty.pressure.si
    acting = tuple(one for one in basis.reliefs if one.credited) if reliefs is None else reliefs
    lets_off, crack, wide = _relieved(basis, acting)
    return ZoneCase(
        supply_pressure=head,
        supply_loss=loss,
        reducer_full=full,
        shut_off_full=valve_k(basis, closes),
        start_pressure=duty,
        demand=flow,
        exponent=exponent.si,
        head=rise if rise < duty else 0.0,
        compliance=stiffness.compliance + vessel_compliance(basis, trip),
        within=within,
        trip=trip,
        dead_time=d.DEAD_TIME.si,
        closing_time=closing_time,
        relief_full=lets_off,
        relief_crack=crack,
        relief_wide=wide,
    )


def _fed(basis: Basis, night: bool, trip: float, full: float) -> tuple[float, float]:
    """Return the pressure that feeds the failing reducer and the loss between: of two stages the first's."""
    head = _head_of_main(basis, night)
    if basis.layout.pairing != "staged":
        return head, _losses(basis, head - trip, full)
    first = basis.layout.reducers[0]
    held = max(basis.twin.lockup(first.id).si, first.duty.pressure.si)
    at = basis.layout.position
    between = [p for p in basis.layout.main if at(first.id) < at(p.id)]
    return min(head, held), sum(part_k(basis, part) ** -2 for part in between)


def _relieved(basis: Basis, reliefs: tuple[Relief, ...]) -> tuple[float, float, float]:
    """Return k of relief valves together, the lowest crack and the highest wide-open pressure."""
    if not reliefs:
        return 0.0, inf, inf
    k = sum(k_of_kv(relief_kv(one).si, basis.density) for one in reliefs)
    crack = min(one.crack.si for one in reliefs)
    wide = max(relief_full(one).si for one in reliefs)
    return k, crack, max(wide, crack * (1.0 + d.RELIEF_LEAST_RISE))


def vessel_compliance(basis: Basis, pressure: float) -> float:
    """Return dV/dP of the expansion vessels on the outlet at a pressure [Pa at datum]. [m³/Pa]

    Of vessels with volume and precharge stated; 0 below the precharge, where no water is in them. A failure
    of minutes leaves time for some exchange of heat, a sudden one for none: the latter is stiffer by a sixth.

    Notes
    -----
    V_gas = V₀ P₀/P filled slowly, dV/dP = V_gas/(n P), absolute pressures (Boyle; n own estimate).
    """
    at = pressure + basis.twin.atmosphere_abs
    found = 0.0
    for vessel in basis.vessels:
        if vessel.volume is None or vessel.precharge is None:
            continue
        empty = vessel.precharge.si + basis.twin.atmosphere_abs
        if at > empty:
            found += vessel.volume.si * empty / at / (d.GAS_EXPONENT.si * at)
    return found


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


def credited_overshoot(
    basis: Basis, trip: float, closing_time: float, reliefs: tuple[Relief, ...] | None = None
) -> float | None:
    """Return the largest overshoot of all credited failures; None: the zone is not known. [Pa]

    `reliefs`: as in `zone_case`.
    """
    found = []
    for credit in credited(basis):
        within, at = credit.within.si, credit.at
        case = zone_case(basis, within=within, at=at, trip=trip, closing_time=closing_time, reliefs=reliefs)
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
            upper_edge + result.overshoot if result.trips else max(result.peak, basis.worker.duty.pressure.si)
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
