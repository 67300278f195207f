"""What draws from a joint or from a node of the chain: consumers, relief valves; flow and its slope."""

from __future__ import annotations

from math import isnan, pow, sqrt

from steadyhead.laws.compiling import Floats, Integers, inner_kernel, kernel
from steadyhead.laws.lift import interpolate
from steadyhead.laws.outlets import relief_opening, relief_with_play, within_stroke
from steadyhead.surge.kernel.layout import (
    ASKED,
    CRACK,
    DEMAND,
    DISC,
    DRAWN,
    EXPONENT,
    LET_OFF,
    MOST_DISC,
    RELIEF_CURVE,
    RELIEF_FLOW,
    RELIEF_K,
    RELIEF_POINTS,
    RESEAT,
    STROKE_TIME,
    WIDE,
)

LEAST_ROOT = 1.0
"""Slopes of square roots are taken no nearer to zero than this; roots themselves are exact. [Pa]"""
NUDGE = 0.01
"""Step of the slope of a relief valve's curve, below what a pressure moves in a step near rest. [Pa]"""


@inner_kernel
def root_slope(difference: float) -> float:
    """Return the slope of √u near u, finite at 0; for searches only. [1/√Pa]"""
    return 0.5 / sqrt(max(abs(difference), LEAST_ROOT))


@inner_kernel
def eased_root(difference: float) -> tuple[float, float]:
    """Return (sign(u) √|u|, its slope), within 1 Pa of 0 a cubic of the same value and slope there.

    A chamber at rest stands within that of its section, where the root has no slope a search could use.
    Off by at most 0.2 √Pa: with a feed of Kv 0.06, 0.04 L/h.

    Notes
    -----
    u (5 − u²)/4 for |u| < 1 Pa.
    """
    if abs(difference) >= LEAST_ROOT:
        root = sqrt(abs(difference))
        return (root if difference > 0.0 else -root), 0.5 / root
    square = difference * difference
    return 0.25 * difference * (5.0 - square), 0.25 * (5.0 - 3.0 * square)


@inner_kernel
def consumers(pressure: float, value: Floats, reference: float) -> tuple[float, float]:
    """Return (flow of the consumers at a joint [m³/s], its slope); none at or below 0 pressure.

    As `steadyhead.laws.outlets.demand_flow`, with the slope the search wants.
    """
    if not isnan(value[DRAWN]):
        return value[DRAWN], 0.0
    if pressure <= 0.0 or value[DEMAND] <= 0.0:
        return 0.0, 0.0
    if value[EXPONENT] == 0.5:
        flow = value[DEMAND] * sqrt(pressure)
        return flow, value[DEMAND] * root_slope(pressure)
    flow = value[DEMAND] * sqrt(reference) * pow(pressure / reference, value[EXPONENT])
    return flow, value[EXPONENT] * flow / max(pressure, LEAST_ROOT)


@kernel
def relief_curve(pressure: float, link: Integers, value: Floats, xs: Floats, ys: Floats) -> float:
    """Return the share of lift on rising pressure, from a table where there is one. [1]"""
    if link[RELIEF_POINTS] > 0:
        return interpolate(pressure, xs, ys, link[RELIEF_CURVE], link[RELIEF_POINTS])
    return relief_opening(pressure, value[CRACK], value[WIDE])


@inner_kernel
def relief_disc(
    pressure: float,
    link: Integers,
    value: Floats,
    state: Floats,
    step: float,
    xs: Floats,
    ys: Floats,
) -> tuple[float, float]:
    """Return (lift asked for, lift reached) of a relief valve at the end of a step. [1]"""
    rising = relief_curve(pressure, link, value, xs, ys)
    falling = relief_curve(pressure + value[CRACK] - value[RESEAT], link, value, xs, ys)
    asked = relief_with_play(state[ASKED], rising, falling)
    if value[STROKE_TIME] <= 0.0:
        return asked, asked
    return asked, within_stroke(asked, state[DISC], step / value[STROKE_TIME])


@inner_kernel
def relief_draw(
    pressure: float,
    link: Integers,
    value: Floats,
    state: Floats,
    step: float,
    xs: Floats,
    ys: Floats,
) -> tuple[float, float]:
    """Return (flow let off [m³/s], its slope) at a pressure."""
    if pressure <= 0.0:
        return 0.0, 0.0
    _, disc = relief_disc(pressure, link, value, state, step, xs, ys)
    _, higher = relief_disc(pressure + NUDGE, link, value, state, step, xs, ys)
    root = sqrt(pressure)
    flow = value[RELIEF_K] * disc * root
    slope = value[RELIEF_K] * (disc * root_slope(pressure) + (higher - disc) / NUDGE * root)
    return flow, slope


@inner_kernel
def commit_relief(
    pressure: float,
    link: Integers,
    value: Floats,
    state: Floats,
    step: float,
    xs: Floats,
    ys: Floats,
) -> None:
    """Keep where a relief valve ended and what it let off."""
    asked, disc = relief_disc(pressure, link, value, state, step, xs, ys)
    state[ASKED] = asked
    state[DISC] = disc
    flow = value[RELIEF_K] * disc * sqrt(pressure) if pressure > 0.0 else 0.0
    state[RELIEF_FLOW] = flow
    state[LET_OFF] += flow * step
    state[MOST_DISC] = max(state[MOST_DISC], disc)
