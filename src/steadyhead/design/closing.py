"""The closing time of a shut-off: stated, or worked out from its needle; and what it is in another state."""

from __future__ import annotations

from math import sqrt

from steadyhead.design.basis import Basis
from steadyhead.design.overshoot import ZoneCase
from steadyhead.laws.coefficients import k_of_kv
from steadyhead.laws.compiling import Floats, floats
from steadyhead.laws.lift import characteristic
from steadyhead.laws.shutoff import closing_integral, difference_with_draw, graded_lift
from steadyhead.laws.valves import coefficient_at_opening, critical_pressure_factor
from steadyhead.records.parts import ShutOff
from steadyhead.records.values import Evidence, Origin, Value
from steadyhead.station import defaults as sd
from steadyhead.station.mechanics import ShutOffTwin, shut_off_twin

INTERVALS = 40
CRITICAL_PRESSURE_ABS = 221.2e5
"""Critical pressure of water as the valve standard prints it, from memory. [Pa abs]"""


def closing_time(basis: Basis, shut_off: ShutOff) -> Value:
    """Return the closing time the ladder works with. [s]

    The stated one as it stands: timed at a trickle it is longer than in a failure, which is on the safe side
    for the consumers and not for the supply main. Not stated: a needle of usual size at a trickle.
    """
    if shut_off.closing is not None:
        return shut_off.closing.time
    twin = shut_off_twin(shut_off)
    k = k_of_kv(twin.closing_needle_kv.si, basis.density)
    seconds = stroke_integral(basis, twin, _trickle(basis, shut_off, twin)) / k
    return Value(
        seconds,
        "time",
        f"{seconds:.0f} s",
        Origin.DERIVED,
        Evidence.ESTIMATE,
        f"needle {twin.closing_needle_kv.text} ({twin.closing_needle_kv.provenance}) at a trickle of "
        f"{sd.TRICKLE_SHARE.text}",
    )


def stroke_integral(basis: Basis, twin: ShutOffTwin, differences: Floats) -> float:
    """Return J of a full stroke [m³/√Pa]; the closing time is J over the needle's k.

    `differences`: p₁ − p₂ at the lifts of `steadyhead.laws.shutoff.graded_lift`. [Pa]
    """
    return closing_integral(
        differences,
        twin.seat_ratio.si,
        twin.flow_force.si,
        twin.spring_shut.si,
        twin.spring_rise.si,
        twin.diaphragm_area.si,
        twin.stroke.si,
    )


def _trickle(basis: Basis, shut_off: ShutOff, twin: ShutOffTwin) -> Floats:
    """Return the differences across the shut-off while it closes on a trickle."""
    reducer = basis.worker
    stated = shut_off.closing
    before = reducer.duty.pressure.si if _downstream(basis, shut_off) else basis.supply_at_datum("typical").si
    before = stated.inlet_pressure.si if stated and stated.inlet_pressure else before
    after = stated.outlet_pressure.si if stated and stated.outlet_pressure else before
    flow = stated.flow.si if stated and stated.flow else sd.TRICKLE_SHARE.si * reducer.duty.flow.si
    draw = flow / sqrt(max(after, 1.0))
    water = basis.twin.water
    throat = (
        critical_pressure_factor(water.vapour_pressure_abs, CRITICAL_PRESSURE_ABS) * water.vapour_pressure_abs
    )
    found = []
    for lift in _lifts():
        k = lift_k(basis, twin, lift)
        found.append(
            difference_with_draw(
                before, k, draw, twin.pressure_recovery.si, basis.twin.atmosphere_abs, throat
            )
        )
    return floats(found)


def failure_time(basis: Basis, case: ZoneCase, needle_k: float) -> float:
    """Return how long the stroke takes in a failure, the reducer fully open and the zone held at the trip.

    Quasi-steady, own inlet as closing medium.

    Parameters
    ----------
    basis
        The station, with a shut-off.
    case
        The failure; only its pressures and resistances are used.
    needle_k
        k of the closing needle. [m³/(s·√Pa)]

    Returns
    -------
    float
        [s]
    """
    shut_off = basis.layout.shut_off
    assert shut_off is not None
    twin = shut_off_twin(shut_off)
    rest = case.supply_loss + case.reducer_full**-2
    room = max(case.supply_pressure - case.trip, 0.0)
    found = []
    for lift in _lifts():
        own = lift_k(basis, twin, lift) ** -2
        found.append(room * own / (own + rest))
    return stroke_integral(basis, twin, floats(found)) / needle_k


def needle_of(basis: Basis, shut_off: ShutOff) -> float:
    """Return k of the closing needle that the stated closing time tells, else the usual one. [m³/(s·√Pa)]

    The stated time is taken as timed at its stated flow, else at a trickle.
    """
    twin = shut_off_twin(shut_off)
    if shut_off.closing is None:
        return k_of_kv(twin.closing_needle_kv.si, basis.density)
    return stroke_integral(basis, twin, _trickle(basis, shut_off, twin)) / shut_off.closing.time.si


def lift_k(basis: Basis, twin: ShutOffTwin, lift: float) -> float:
    """Return k of the shut-off at a share of lift. [m³/(s·√Pa)]"""
    xs = floats([x for x, _ in twin.curve]) if twin.curve else floats([0.0])
    ys = floats([y for _, y in twin.curve]) if twin.curve else floats([0.0])
    share = characteristic(lift, twin.curve_shape.si, xs, ys, 0, len(twin.curve or ()))
    return coefficient_at_opening(k_of_kv(twin.kv.si, basis.density), share, twin.seat_tightness.si, 0.0)


def _lifts() -> list[float]:
    return [graded_lift(index, INTERVALS) for index in range(INTERVALS + 1)]


def _downstream(basis: Basis, shut_off: ShutOff) -> bool:
    return basis.layout.position(shut_off.id) > basis.layout.position(basis.worker.id)
