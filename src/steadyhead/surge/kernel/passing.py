"""What one row and one node of the station do to pressure and flow on the march, each with its slopes."""

from __future__ import annotations

from math import inf, sqrt

from steadyhead.laws.compiling import Floats, inner_kernel
from steadyhead.surge.kernel.layout import (
    F_CAREFUL,
    F_STEP,
    F_VAPOUR,
    M_BACK,
    M_BLEED,
    M_BLEED_AT,
    M_CHOKE,
    M_DRAIN,
    M_FEED,
    M_FEED_AT,
    M_GAS,
    M_GAS_OLD,
    M_LOSS,
    M_OLD,
    M_RELIEF,
    M_STORE,
    Joints,
)
from steadyhead.surge.kernel.shunts import eased_root, relief_draw, root_slope


@inner_kernel
def through_row(line: Floats, flow: float, head: float, choking: float) -> tuple[float, float, float]:
    """Return (head above vapour at the inlet of a row [Pa], its slopes with the flow and with that below).

    As `steadyhead.laws.valves.valve_inlet_pressure` with 1/k² at hand.
    """
    if flow <= 0.0:
        return head - flow * flow * line[M_BACK], -2.0 * flow * line[M_BACK], 1.0
    drop = flow * flow * line[M_LOSS]
    steep = 2.0 * flow * line[M_LOSS]
    if line[M_CHOKE] > 0.0 and drop * line[M_CHOKE] + choking > head + drop:
        return drop * line[M_CHOKE] + choking, steep * line[M_CHOKE], 0.0
    return head + drop, steep, 1.0


NO_ROOT = 1e-30
"""[Pa]"""
BEYOND = 1e30
"""Pressure at which a march ends: the answer's sign is known, and the next square might not fit. [Pa]"""


@inner_kernel
def careful_slope(root: float, slope: float, difference: float, careful: float) -> float:
    """Return the slope of a root for a search; a careful one takes that of the line to 0 and passes none."""
    if careful > 0.0:
        return max(slope, abs(root) / max(abs(difference), NO_ROOT))
    return slope


@inner_kernel
def taken_at(
    line: Floats, head: float, found: Floats, reliefs: Joints, xs: Floats, ys: Floats
) -> tuple[float, float]:
    """Return (flow the node above a row stores and lets off [m³/s], its slope); −∞ at vapour pressure."""
    flow = line[M_STORE] * (head - line[M_OLD])
    slope = line[M_STORE]
    if line[M_GAS] > 0.0:
        if head <= 0.0:
            return -inf, 0.0
        volume = line[M_GAS] / head
        flow -= (volume - line[M_GAS_OLD]) / found[F_STEP]
        slope += volume / (head * found[F_STEP])
    pressure = head + found[F_VAPOUR]
    if line[M_DRAIN] > 0.0 and pressure > 0.0:
        root = sqrt(pressure)
        flow += line[M_DRAIN] * root
        slope += line[M_DRAIN] * careful_slope(root, root_slope(pressure), pressure, found[F_CAREFUL])
    if line[M_FEED] > 0.0:
        across = head - line[M_FEED_AT]
        root, more = eased_root(across)
        flow += line[M_FEED] * root
        slope += line[M_FEED] * careful_slope(root, more, across, found[F_CAREFUL])
    if line[M_BLEED] > 0.0:
        across = line[M_BLEED_AT] - head
        root, more = eased_root(across)
        flow -= line[M_BLEED] * root
        slope += line[M_BLEED] * careful_slope(root, more, across, found[F_CAREFUL])
    if line[M_RELIEF] >= 0.0:
        let_off, more = relief_at(int(line[M_RELIEF]), pressure, found[F_STEP], reliefs, xs, ys)
        flow += let_off
        slope += careful_slope(let_off, more, pressure, found[F_CAREFUL])
    return flow, slope


@inner_kernel
def relief_at(
    relief: int, pressure: float, step: float, reliefs: Joints, xs: Floats, ys: Floats
) -> tuple[float, float]:
    """Return (flow let off [m³/s], its slope) of one relief valve of the station."""
    return relief_draw(
        pressure,
        reliefs.relief_links[relief],
        reliefs.relief_values[relief],
        reliefs.relief_state[relief],
        step,
        xs,
        ys,
    )
