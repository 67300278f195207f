"""Design points of a capacity map with their margins, and reading a border off it."""

from __future__ import annotations

from itertools import pairwise
from math import isnan

from steadyhead.design import defaults as d
from steadyhead.design.capacity_borders import Ground
from steadyhead.hydraulics.reach import ReachPoint
from steadyhead.laws.coefficients import velocity
from steadyhead.records.capacity import BorderKind, CapacityMap, DesignPoint, LowFlow
from steadyhead.records.cavitation import DEGREES, Degree
from steadyhead.records.design import FlowCase, Gravel, InletCase

Quietness = tuple[float, float, float] | None


def design_point(
    ground: Ground,
    frame: CapacityMap,
    case: tuple[FlowCase, InletCase, float, float],
    point: ReachPoint,
    quiet: Quietness,
    helped_by: tuple[str, ...] = (),
) -> DesignPoint:
    """Return one case with its margins.

    Parameters
    ----------
    ground
        The reducer and what stands ahead of it.
    frame
        The map so far: its borders.
    case
        Names, flow [m³/s], inlet pressure at the map's place [Pa].
    point
        What the reducer does there.
    quiet
        Smallest quiet flows at this inlet. [m³/s]
    helped_by
        Reducers of other streams that hold the outlet in this case.
    """
    flow_case, inlet_case, flow, inlet = case
    ratio = point.pressure_ratio
    sigma = None if isnan(ratio) or ratio <= 0.0 else 1.0 / ratio
    inlet_abs = point.inlet_pressure + ground.atmosphere_abs
    found = point.degree
    worse = [degree for degree in ground.limits.degrees if _rank(degree) > _rank(found)]
    following = worse[0] if worse and sigma is not None else None
    edge = inlet_at(frame, "wide open", flow)
    limit = d.BORE_VELOCITY_FIRE if flow_case == "fire" else d.BORE_VELOCITY
    return DesignPoint(
        flow_case=flow_case,
        inlet_case=inlet_case,
        flow=flow,
        inlet=inlet,
        zone=ground.zone(point),
        travel=point.lift,
        sigma_1=sigma,
        to_spare=None if edge is None else inlet - edge,
        next_degree=following,
        next_limit=ground.limits.sigma(following, point.lift, inlet_abs) if following else None,
        velocity=velocity(flow, frame.size),
        velocity_limit=limit.si,
        low_flow=_low_flow(frame, flow, inlet),
        gravel=gravel(found),
        gravel_from=inlet_at(frame, "incipient", flow),
        quiet=quiet,
        helped_by=helped_by,
    )


def _rank(degree: Degree | None) -> int:
    return -1 if degree is None else DEGREES.index(degree)


def gravel(degree: Degree | None) -> Gravel:
    """Return whether the sound of gravel is expected, from the degree of cavitation alone; never a level.

    Own reading of the degrees: first bubbles may crackle, steady cavitation and worse sound like gravel.

    Examples
    --------
    >>> gravel(None), gravel("incipient"), gravel("damage")
    ('not expected', 'possible', 'expected')
    """
    if degree is None:
        return "not expected"
    return "possible" if degree == "incipient" else "expected"


def inlet_at(found: CapacityMap, kind: BorderKind, flow: float) -> float | None:
    """Return the inlet pressure of a border at a flow, straight between its places; None: it is not there.

    Parameters
    ----------
    found
        The map.
    kind
        A border that runs from low to high flow.
    flow
        [m³/s]

    Returns
    -------
    float or None
        [Pa at datum]
    """
    border = found.border(kind)
    if border is None:
        return None
    flow = max(flow, found.lowest_flow)
    for (q0, p0), (q1, p1) in pairwise(border.points):
        if q0 <= flow <= q1:
            return p0 + (p1 - p0) * (flow - q0) / (q1 - q0)
    return None


def flow_at(found: CapacityMap, kind: BorderKind, inlet: float) -> float | None:
    """Return the flow [m³/s] of a low-flow border at an inlet pressure [Pa]; None: it is not there."""
    border = found.border(kind)
    if border is None:
        return None
    for (q0, p0), (q1, p1) in pairwise(border.points):
        if p0 <= inlet <= p1:
            return q0 + (q1 - q0) * (inlet - p0) / (p1 - p0)
    return None


def _low_flow(frame: CapacityMap, flow: float, inlet: float) -> LowFlow:
    good, plain = (flow_at(frame, kind, inlet) for kind in ("low flow, good valve", "low flow, plain valve"))
    if good is not None and flow < good:
        return "below it"
    return "in the band" if plain is not None and flow < plain else ""
