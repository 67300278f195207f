"""Closing time of the shut-off at the plan's trickle, from the time and the state the file states."""

from __future__ import annotations

from dataclasses import dataclass

from steadyhead.hydraulics import Model
from steadyhead.hydraulics.solving import CRITICAL_PRESSURE_ABS
from steadyhead.laws.compiling import floats
from steadyhead.laws.shutoff import closing_integral, fill_differences_on_test
from steadyhead.laws.valves import critical_pressure_factor
from steadyhead.records.parts import ShutOff

_NODES = 41


@dataclass(frozen=True, slots=True)
class Before:
    """State of the shut-off just before its stroke.

    inlet, outlet: pressures at its two sides [Pa at datum]; flow [m³/s]; medium: how far the water that
    closes it stands above its own inlet, 0 where it comes from there [Pa].
    """

    inlet: float
    outlet: float
    flow: float
    medium: float = 0.0


def stroke_integral(model: Model, shut_off: ShutOff, before: Before) -> float:
    """Return J of a full stroke [m³/√Pa]; closing time is J over k of the needle.

    Quasi-steady, inlet pressure and closing medium held, draw-off as it was before the stroke.
    """
    twin = model.shut_off_twin(shut_off.id)
    vapour = model.water.vapour_pressure_abs
    rows = floats([0.0] * _NODES)
    curve = twin.curve or ()
    fill_differences_on_test(
        rows, before.inlet, max(before.outlet, 1.0), before.flow, False,
        model.k(twin.kv.si), twin.curve_shape.si, twin.seat_tightness.si,
        floats([x for x, _ in curve] or [0.0]), floats([y for _, y in curve] or [0.0]), 0, len(curve),
        twin.pressure_recovery.si, model.atmosphere,
        vapour * critical_pressure_factor(vapour, CRITICAL_PRESSURE_ABS),
    )  # fmt: skip
    return closing_integral(
        rows, twin.seat_ratio.si, twin.flow_force.si, twin.spring_shut.si + before.medium,
        twin.spring_rise.si, twin.diaphragm_area.si, twin.stroke.si,
    )  # fmt: skip


def needle(model: Model, shut_off: ShutOff, usual: Before) -> float:
    """Return k of the closing needle. [m³/(s·√Pa)]

    From the stated closing time and the state it was timed in; what that leaves out is taken from `usual`.
    Without a stated time the needle of the twin.
    """
    stated = shut_off.closing
    if stated is None or stated.time.si <= 0.0:
        return model.k(model.shut_off_twin(shut_off.id).closing_needle_kv.si)
    inlet = stated.inlet_pressure.si if stated.inlet_pressure else usual.inlet
    timed = Before(
        inlet=inlet,
        outlet=stated.outlet_pressure.si if stated.outlet_pressure else usual.outlet,
        flow=stated.flow.si if stated.flow else usual.flow,
        medium=max(usual.inlet + usual.medium - inlet, 0.0) if usual.medium > 0.0 else 0.0,
    )
    return stroke_integral(model, shut_off, timed) / stated.time.si


def closing_time(model: Model, shut_off: ShutOff, needle_k: float, before: Before) -> float:
    """Return how long the stroke takes from a state with a given needle. [s]"""
    return stroke_integral(model, shut_off, before) / needle_k
