"""The capacity map: zones of one reducer in its station over flow and inlet pressure, with design points."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from math import isnan, pi

from steadyhead.design import defaults as d
from steadyhead.design.basis import Basis
from steadyhead.design.capacity_borders import Ground, Pair, Test, across, holds, upwards
from steadyhead.design.cavitation import known_limits
from steadyhead.design.credit import main_drop, part_k, valve_k
from steadyhead.errors import InputError
from steadyhead.hydraulics.model import Model
from steadyhead.hydraulics.reach import ReachPoint
from steadyhead.laws.coefficients import velocity
from steadyhead.laws.lift import lift_of_opening
from steadyhead.records.capacity import Border, BorderKind, CapacityMap, DesignPoint, Gravel, LowFlow
from steadyhead.records.cavitation import DEGREES, Degree
from steadyhead.records.design import FlowCase, InletCase
from steadyhead.records.parts import Reducer, ShutOff
from steadyhead.station.mechanics import ReducerTwin, reducer_twin

POINTS: tuple[tuple[FlowCase, InletCase], ...] = (
    ("night", "static"),
    ("night", "night"),
    ("average", "typical"),
    ("peak", "typical"),
    ("peak", "lowest"),
    ("fire", "lowest"),
)
"""Cases shown on a map: the ends of the design and its middle."""
_SPAN = 1.3
_LOW_FLOW: tuple[tuple[BorderKind, str], ...] = (
    ("low flow, good valve", "good"),
    ("low flow, least lift", "lift"),
    ("low flow, plain valve", "plain"),
)


def capacity_map(basis: Basis, model: Model, reducer_id: str) -> CapacityMap:
    """Return the capacity map of a reducer of the main line.

    The reducer is taken to sense its own outlet, everything ahead of it clean and open, the mains left out.
    Low flow is a band until it is measured on the valve. Limits of cavitation are those the file states;
    without them only the start of cavitation and choking are known, and the start is an own estimate unless
    stated.

    Parameters
    ----------
    basis
        The station.
    model
        Its model, with lock-up and band worked out.
    reducer_id
        Which reducer.

    Raises
    ------
    InputError
        No such reducer on the main line.
    """
    reducer = next((r for r in basis.layout.reducers if r.id == reducer_id), None)
    if reducer is None:
        known = ", ".join(r.id for r in basis.layout.reducers) or "none"
        raise InputError(
            "REDUCER", f"got {reducer_id!r}; on the main line: {known}.", "Name one of the main line."
        )
    ground = ground_of(basis, model, reducer)
    frame = _frame(basis, reducer)
    borders = tuple(_borders(basis, reducer, ground, frame))
    cases = [(fc, ic, flow.si) for fc, ic in POINTS if (flow := basis.flow(fc)) is not None]
    pairs = [(max(flow, frame.lowest_flow), _arrives(basis, reducer, flow, ic)) for _, ic, flow in cases]
    bare = replace(frame, borders=borders, degrees=_degrees(ground))
    points = tuple(
        _design_point(basis, reducer, ground, bare, case, inlet, point)
        for case, (_, inlet), point in zip(cases, pairs, ground.at(pairs), strict=True)
    )
    return replace(bare, points=points, not_known=tuple(_not_known(ground)))


def ground_of(basis: Basis, model: Model, reducer: Reducer) -> Ground:
    """Return a reducer with what stands ahead of it, ready to be asked point by point."""
    vapour = basis.twin.water.vapour_pressure_abs
    return Ground(
        model=model,
        reducer=reducer.id,
        resistance=_ahead(basis, reducer)[1],
        limits=known_limits(reducer, reducer_twin(reducer), vapour_abs=vapour),
        atmosphere_abs=basis.twin.atmosphere_abs,
    )


def _ahead(basis: Basis, reducer: Reducer) -> tuple[Reducer | None, float]:
    """Return the reducer ahead of this one, and Δp/Q² of what stands between. [Pa·s²/m⁶]"""
    before: Reducer | None = None
    resistance = 0.0
    for part in basis.layout.main:
        if part.id == reducer.id:
            break
        if isinstance(part, Reducer):
            before, resistance = part, 0.0
        else:
            k = valve_k(basis, part) if isinstance(part, ShutOff) else part_k(basis, part)
            resistance += 1.0 / (k * k)
    return before, resistance


def _arrives(basis: Basis, reducer: Reducer, flow: float, inlet_case: InletCase) -> float:
    """Return the inlet pressure at the map's place in a case. [Pa at datum]"""
    pressure = basis.supply_at_datum(inlet_case).si
    if basis.station.supply.stated_at == "head of main":
        pressure -= main_drop(basis, flow)
    before, _ = _ahead(basis, reducer)
    return pressure if before is None else min(pressure, before.duty.pressure.si)


def _frame(basis: Basis, reducer: Reducer) -> CapacityMap:
    before, _ = _ahead(basis, reducer)
    demand = basis.station.demand
    highest = max(flow.si for flow in (demand.peak, demand.average, demand.fire) if flow is not None)
    top = d.MAP_FLOW_MARGIN.si * highest
    fast = 1.08 * d.BORE_VELOCITY.si * pi / 4.0 * reducer.size.si**2
    top = max(top, min(fast, 2.0 * top)) or fast
    inlets = [_arrives(basis, reducer, 0.0, case) for case in ("lowest", "typical", "night", "static")]
    duty = reducer.duty.pressure.si
    return CapacityMap(
        reducer=reducer.id,
        place="inlet of the station" if before is None else f"outlet of {before.id}",
        size=reducer.size.si,
        duty=duty,
        lowest_flow=d.MAP_FIRST_FLOW.si * top,
        highest_flow=top,
        lowest_inlet=d.MAP_INLET_LOW.si * max(min(duty, min(inlets)), 0.0),
        highest_inlet=d.MAP_INLET_MARGIN.si * max(*inlets, _SPAN * duty, d.MAP_LEAST_INLET.si),
        borders=(),
        points=(),
        degrees=(),
        not_known=(),
    )


def _degrees(ground: Ground) -> tuple[Degree, ...]:
    known = {*ground.limits.degrees, "choked"}
    return tuple(degree for degree in DEGREES if degree in known)


def _borders(basis: Basis, reducer: Reducer, ground: Ground, frame: CapacityMap) -> Iterator[Border]:
    flows = [
        frame.lowest_flow + (frame.highest_flow - frame.lowest_flow) * i / (d.MAP_COLUMNS - 1)
        for i in range(d.MAP_COLUMNS)
    ]
    beyond = frame.highest_inlet * _SPAN
    least: list[float | None] = upwards(ground, flows, [0.0] * len(flows), beyond, holds)
    yield Border(
        "wide open", _line(flows, least), "wide open", f"steady twin, Kv {_kv_source(reducer_twin(reducer))}"
    )
    start = least
    for degree in _degrees(ground):
        start = upwards(ground, flows, start, beyond, ground.reaches(degree))
        if any(edge is not None for edge in start):
            yield _cavitation_border(ground, degree, _line(flows, start))
    yield from _low_flow_borders(reducer, ground, frame, least[0])
    yield from _velocity_borders(basis, reducer, frame)


def _line(flows: list[float], edges: list[float | None]) -> tuple[Pair, ...]:
    return tuple((flow, edge) for flow, edge in zip(flows, edges, strict=True) if edge is not None)


def _kv_source(twin: ReducerTwin) -> str:
    return f"{twin.kv.si:.3g}, {twin.kv.provenance}"


def _cavitation_border(ground: Ground, degree: Degree, points: tuple[Pair, ...]) -> Border:
    limits = ground.limits
    if degree not in limits.tables:
        twin = ground.model.reducer_twin(ground.reducer).pressure_recovery
        return Border(degree, points, f"F_L {twin.si:.2f}", f"F_L: {twin.provenance}")
    table = limits.tables[degree]
    fixed = len(table) == 1 and degree not in limits.scaled
    words = f"σ₁ {table[0][1]:.2f}" if fixed else "σ₁ over lift"
    return Border(degree, points, words, limits.sources[degree], table[0][1] if fixed else None)


def _low_flow_borders(
    reducer: Reducer, ground: Ground, frame: CapacityMap, least: float | None
) -> Iterator[Border]:
    if least is None:
        return
    twin = reducer_twin(reducer)
    low = max(least * (1.0 + 2.0 * d.MAP_WIDTH.si), frame.lowest_inlet)
    span = frame.highest_inlet - low
    inlets = [low + span * (i / (d.MAP_ROWS - 1)) ** 2 for i in range(d.MAP_ROWS)]
    lifts = {
        "good": (_lift_of(twin, d.LOWEST_FLOW_LOW.si), f"{d.LOWEST_FLOW_LOW.text} of Kv", d.LOWEST_FLOW_LOW),
        "lift": (ground.least_lift, f"lift {d.LOWEST_LIFT.text}", d.LOWEST_LIFT),
        "plain": (
            _lift_of(twin, d.LOWEST_FLOW_HIGH.si),
            f"{d.LOWEST_FLOW_HIGH.text} of Kv",
            d.LOWEST_FLOW_HIGH,
        ),
    }
    for kind, name in _LOW_FLOW:
        lift, words, default = lifts[name]
        edges = across(ground, inlets, frame.lowest_flow, frame.highest_flow, _lifted(lift))
        points = tuple((edge, inlet) for edge, inlet in zip(edges, inlets, strict=True) if edge is not None)
        if points:
            yield Border(kind, points, words, default.source, default.si)


def _lifted(lift: float) -> Test:
    return lambda point: point.lift >= lift


def _lift_of(twin: ReducerTwin, share: float) -> float:
    """Return the lift at which a share of the full flow coefficient is reached. [1]"""
    if twin.curve is None:
        return lift_of_opening(share, twin.curve_shape.si)
    for (x0, y0), (x1, y1) in pairwise(twin.curve):
        if y0 <= share <= y1 and y1 > y0:
            return x0 + (x1 - x0) * (share - y0) / (y1 - y0)
    return 0.0


def _velocity_borders(basis: Basis, reducer: Reducer, frame: CapacityMap) -> Iterator[Border]:
    area = pi / 4.0 * reducer.size.si**2
    kinds: list[tuple[BorderKind, float, str]] = [
        ("too fast", d.BORE_VELOCITY.si, d.BORE_VELOCITY.source),
    ]
    if basis.station.demand.fire is not None:
        kinds.append(("too fast in a fire", d.BORE_VELOCITY_FIRE.si, d.BORE_VELOCITY_FIRE.source))
    for kind, limit, source in kinds:
        flow = limit * area
        if flow < frame.highest_flow:
            points = ((flow, frame.lowest_inlet), (flow, frame.highest_inlet))
            yield Border(kind, points, f"{limit:g} m/s in the bore", source, limit)


def _design_point(
    basis: Basis,
    reducer: Reducer,
    ground: Ground,
    frame: CapacityMap,
    case: tuple[FlowCase, InletCase, float],
    inlet: float,
    point: ReachPoint,
) -> DesignPoint:
    flow_case, inlet_case, flow = case
    ratio = point.pressure_ratio
    sigma = None if isnan(ratio) or ratio <= 0.0 else 1.0 / ratio
    inlet_abs = point.inlet_pressure + ground.atmosphere_abs
    found = ground.degree(point)
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
        velocity=velocity(flow, reducer.size.si),
        velocity_limit=limit.si,
        low_flow=_low_flow(frame, flow, inlet),
        gravel=gravel(found),
        gravel_from=inlet_at(frame, "incipient", flow),
    )


def _rank(degree: Degree | None) -> int:
    return -1 if degree is None else DEGREES.index(degree)


def gravel(degree: Degree | None) -> Gravel:
    """Return whether the noise of gravel is expected, from the degree of cavitation alone; never a level.

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


def _not_known(ground: Ground) -> Iterator[str]:
    limits = ground.limits
    missing = [degree for degree in ("constant", "damage") if degree not in limits.degrees]
    names = {"constant": "steady cavitation", "damage": "cavitation damage"}
    if missing:
        told = " and ".join(names[degree] for degree in missing)
        yield f"No limit is stated for {told}: ask the valve's supplier, at this size and pressure."
    if limits.stated is None and "x_Fz" in limits.sources.get("incipient", ""):
        yield f"The start of cavitation is taken from {limits.sources['incipient']}."
    yield "Low flow is a band: whether this valve holds smoothly there is found by a test on site."
