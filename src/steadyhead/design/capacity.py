"""The capacity map: zones of one reducer in its station over flow and inlet pressure, with design points."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from math import pi

from steadyhead.design import defaults as d
from steadyhead.design.along import Along, ahead, along, helpers, limited_by, reading_of, senses_with, serving
from steadyhead.design.basis import Basis
from steadyhead.design.capacity_borders import Ground, Pair, Test, across, holds, upwards
from steadyhead.design.capacity_points import design_point
from steadyhead.design.credit import main_drop
from steadyhead.design.quiet import Quiet, quiet_of
from steadyhead.hydraulics.model import Model
from steadyhead.hydraulics.reach import refuse_direct
from steadyhead.laws.lift import lift_of_opening
from steadyhead.records.capacity import Border, BorderKind, CapacityMap
from steadyhead.records.cavitation import DEGREES, Degree
from steadyhead.records.design import FlowCase, InletCase
from steadyhead.records.parts import Reducer
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


@dataclass(frozen=True)
class _Case:
    """A case of the design at one reducer: names, flow [m³/s], inlet pressure at the map's place [Pa]."""

    flow_case: FlowCase
    inlet_case: InletCase
    flow: float
    inlet: float


def capacity_map(basis: Basis, model: Model, reducer_id: str) -> CapacityMap:
    """Return the capacity map of a reducer, on the one way through a station or in one of its streams.

    The reducer is taken to sense its own outlet, everything ahead of it clean and open, the mains left out;
    design points take flow and inlet pressure from the steady twin of the whole station. Low flow is a band
    until it is measured on the valve. Limits of cavitation are those the file states; without them only the
    start of cavitation and choking are known, and the start is an own estimate unless stated.

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
        No such reducer on a way through the station, or a direct-acting one.
    """
    one = serving(along(basis, reducer_id))
    ground = _ground(one, model)
    refuse_direct(model, reducer_id)
    cases, without = _cases(one, ground)
    frame = _frame(one, ground, cases)
    quiet = quiet_of(ground, one.reducer)
    borders = (*_borders(one, ground, frame), *_quiet_borders(quiet, frame))
    pairs = [(max(case.flow, frame.lowest_flow), case.inlet) for case in cases]
    bare = replace(frame, borders=borders, degrees=_degrees(ground))
    points = tuple(
        design_point(
            ground,
            bare,
            (case.flow_case, case.inlet_case, case.flow, case.inlet),
            point,
            quiet.flows(case.inlet),
            helpers(one, case.flow_case, case.inlet_case),
        )
        for case, point in zip(cases, ground.at(pairs), strict=True)
    )
    return replace(
        bare,
        points=points,
        not_known=tuple(_not_known(one, ground, without, is_alone=one.basis.twin is not basis.twin)),
        sweep=quiet.sweep,
    )


def ground_of(basis: Basis, model: Model, reducer: Reducer) -> Ground:
    """Return a reducer with what stands ahead of it, ready to be asked point by point."""
    return _ground(along(basis, reducer.id), model)


def _ground(one: Along, model: Model) -> Ground:
    return Ground(model, one.reducer.id, ahead(one).resistance, one.basis.twin.atmosphere_abs)


def _cases(one: Along, ground: Ground) -> tuple[list[_Case], list[str]]:
    """Return the cases of the design at this reducer, and in words those in which it takes no flow."""
    found: list[_Case] = []
    without: list[str] = []
    for flow_case, inlet_case in POINTS:
        stated = one.basis.flow(flow_case)
        if stated is None:
            continue
        reading = reading_of(one, flow_case, inlet_case)
        if reading is not None and one.branch is not None and reading.state in ("shut", "lock-up"):
            without.append(f"{flow_case} flow at {inlet_case} inlet pressure")
            continue
        if reading is not None:
            flow = max(reading.flow, 0.0)
            inlet = reading.inlet_pressure + ground.resistance * flow * flow
            case = _Case(flow_case, inlet_case, flow, inlet)
        elif one.branch is None:
            inlet = _arrives(one, stated.si, inlet_case)
            case = _Case(flow_case, inlet_case, stated.si, inlet)
        else:
            without.append(f"{flow_case} flow at {inlet_case} inlet pressure")
            continue
        found.append(case)
    return found, without


def _arrives(one: Along, flow: float, inlet_case: InletCase) -> float:
    """Return the inlet pressure at the map's place in a case, the twin not asked. [Pa at datum]"""
    basis = one.basis
    pressure = basis.supply_at_datum(inlet_case).si
    if basis.station.supply.stated_at == "head of main":
        pressure -= main_drop(basis, flow)
    before = limited_by(one)
    return pressure if before is None else min(pressure, before.duty.pressure.si)


def _frame(one: Along, ground: Ground, cases: list[_Case]) -> CapacityMap:
    demand, reducer = one.basis.station.demand, one.reducer
    stated = [flow.si for flow in (demand.peak, demand.average, demand.fire) if flow is not None]
    highest = max([case.flow for case in cases] or stated)
    if highest <= 0.0:
        highest = max(stated)
    top = d.MAP_FLOW_MARGIN.si * highest
    fast = 1.08 * d.BORE_VELOCITY.si * pi / 4.0 * reducer.size.si**2
    top = max(top, min(fast, 2.0 * top)) or fast
    inlets = [_arrives(one, 0.0, case) for case in ("lowest", "typical", "night", "static")]
    inlets += [case.inlet for case in cases]
    duty = reducer.duty.pressure.si
    return CapacityMap(
        reducer=reducer.id,
        place=ahead(one).place,
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


def _borders(one: Along, ground: Ground, frame: CapacityMap) -> Iterator[Border]:
    reducer = one.reducer
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
    yield from _velocity_borders(one.basis, reducer, frame)


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


def _quiet_borders(quiet: Quiet, frame: CapacityMap) -> Iterator[Border]:
    """Yield where the smallest quiet flow runs at best and at worst, as far as it lies on the map."""
    low = max(frame.duty * (1.0 + 2.0 * d.MAP_WIDTH.si), frame.lowest_inlet)
    inlets = [low + (frame.highest_inlet - low) * i / (d.MAP_ROWS - 1) for i in range(d.MAP_ROWS)]
    rows = [(flows, inlet) for inlet in inlets if (flows := quiet.flows(inlet)) is not None]
    source = f"{d.LOOP_MOST.source}; {quiet.sweep.band_source}; {quiet.sweep.lag_source}; not calibrated"
    ends: tuple[tuple[BorderKind, int], ...] = (("quiet at best", 0), ("quiet at worst", 2))
    for kind, end in ends:
        points = tuple((flows[end], inlet) for flows, inlet in rows if flows[end] <= frame.highest_flow)
        if len(points) > 1:
            yield Border(kind, points, "quick check of the loop", source)


def _not_known(one: Along, ground: Ground, without: list[str], *, is_alone: bool) -> Iterator[str]:
    limits = ground.limits
    missing = [degree for degree in ("constant", "damage") if degree not in limits.degrees]
    names = {"constant": "steady cavitation", "damage": "cavitation damage"}
    if missing:
        told = " and ".join(names[degree] for degree in missing)
        yield f"No limit is stated for {told}: ask the valve's supplier, at this size and pressure."
    if limits.stated is None and "x_Fz" in limits.sources.get("incipient", ""):
        yield f"The start of cavitation is taken from {limits.sources['incipient']}."
    yield "Low flow is a band: whether this valve holds smoothly there is found by a test on site."
    if is_alone:
        yield f"{one.reducer.id} takes no flow in service: its design points are those of its stream alone."
    if without:
        yield f"{one.reducer.id} takes no flow at {'; '.join(without)}."
    for other in one.basis.layout.reducers:
        if other.id != one.reducer.id and senses_with(one, other):
            yield f"{other.id} senses the same place and is taken to stand wide open; ahead, its loss counts."
