"""Ask the steady twin: pressures at every tap and the inside of every valve in one situation."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from math import isnan, nan

from steadyhead.errors import InputError, NotConverged
from steadyhead.hydraulics.kernel import assembly, layout
from steadyhead.hydraulics.kernel.assembly import Line, Solution
from steadyhead.hydraulics.kernel.network import spans_of
from steadyhead.hydraulics.model import SHUT_SHARE, Model
from steadyhead.laws.compiling import Floats, FloatTable, IntegerTable, floats, mode
from steadyhead.records.parts import Drain, IsolatingValve, Parallel, Reducer, Relief, ShutOff, Strainer
from steadyhead.records.steady import Conditions, Steady, ValveReading, ValveState
from steadyhead.station import defaults as d

CRITICAL_PRESSURE_ABS = 22.12e6
"""Critical pressure of water as IEC 60534-2-1 prints it. [Pa abs]"""
DEMAND_REFERENCE = 1e5
"""Pressure at which the Kv of a demand is its flow. [Pa]"""

_WORDS: dict[int, ValveState] = {
    layout.SHUT: "shut",
    layout.HOLDING: "holding",
    layout.WIDE_OPEN: "wide open",
    layout.LOCKED_UP: "lock-up",
    layout.CREEPING: "creep",
    layout.RATCHETING: "works open",
    layout.CANNOT_SHUT: "cannot shut",
    layout.GIVEN: "forced",
    layout.STANDING_OPEN: "standing open",
    layout.BACKWARD: "flows back",
}


def solve(model: Model, conditions: Conditions, before: Steady | None = None) -> Steady:
    """Return the steady state of a station in one situation.

    Quasi-steady with memory: where water runs, the one steady point; where none runs, sound reducers lock up
    and what shut valves trapped `before` stays. Full, liquid-filled pipes; no air, no transients.

    Parameters
    ----------
    model
        From `steadyhead.hydraulics.build`.
    conditions
        What is open, drawn and set.
    before
        The situation just before, for trapped pressures; without it they are not known (NaN).

    Returns
    -------
    Steady
        Pressures gauge at the station datum [Pa]; NaN where a trapped pressure is not known.

    Raises
    ------
    NotConverged
        With the residual; never a last guess.
    InputError
        No steady state with full pipes (too little pressure for the flow or the level), a reducer that senses
        a tap upstream of its own outlet, or a value that cannot be solved with.
    """
    line = arranged(model, conditions)
    solution = assembly.solve_line(line, conditions_row(model, conditions), remembered(model, before))
    refuse(model, solution)
    return answer(model, solution)


def remembered(model: Model, before: Steady | None) -> Floats | None:
    """Return the node pressures that stay when the situation before comes to rest. [Pa]

    Where consumers drew water, what stood at the outlet of the station is what stays: friction in the zone's
    main ends with the flow.
    """
    if before is None:
        return None
    nodes: Sequence[float] = before.nodes
    if before.consumer_flow > 0.0:
        nodes = model.levelled(before.nodes, model.outlet_node)
    return floats(nodes)


def solve_many(model: Model, situations: Iterable[Conditions]) -> list[Steady]:
    """Return the steady states of independent situations, in order; see `solve`."""
    return [solve(model, conditions) for conditions in situations]


def conditions_row(model: Model, conditions: Conditions) -> Floats:
    """Return the kernel's row of conditions."""
    drawn = nan
    demand = 0.0
    if conditions.consumer_kv is not None:
        demand = model.k(conditions.consumer_kv)
    elif conditions.consumer_flow is not None:
        drawn = conditions.consumer_flow
    return assembly.conditions(
        density=model.water.density,
        viscosity=model.water.kinematic_viscosity,
        gravity=d.GRAVITY,
        atmosphere_abs=model.atmosphere,
        vapour_pressure_abs=model.water.vapour_pressure_abs,
        critical_pressure_abs=CRITICAL_PRESSURE_ABS,
        supply=conditions.supply_pressure,
        reference=DEMAND_REFERENCE,
        demand=demand,
        exponent=conditions.demand_exponent,
        drawn=drawn,
    )


def _copy(values: FloatTable) -> FloatTable:
    if mode() == "plain":
        return [list(row) for row in values]
    return values.copy()


def arranged(model: Model, conditions: Conditions) -> Line:
    """Return the kernel's arrays with every opening, setting and change of `conditions` made."""
    base = model.line
    _refuse_unknown(model, conditions)
    values = _copy(base.values)
    for part_id, value in model.lockup.items():
        values[model.element[part_id]][layout.CLOSING] = value.si
    for part_id, value in model.band.items():
        values[model.element[part_id]][layout.BAND] = value.si
    for part in model.station.parts():
        if part.id not in model.element:
            _refuse_if_opened(part.id, conditions)
            continue
        row = values[model.element[part.id]]
        if part.id in conditions.openings:
            _open(row, part, conditions.openings[part.id], model)
        if isinstance(part, Strainer) and conditions.strainer_clog != 1.0:
            row[layout.FULL] /= conditions.strainer_clog**0.5
        if isinstance(part, Reducer):
            _set_reducer(row, part.id, conditions, model)
        if isinstance(part, ShutOff) and part.id in conditions.forced_lift:
            row[layout.LIFT] = conditions.forced_lift[part.id]
    return replace(base, values=values, links=_open_branches(model, conditions))


def _open_branches(model: Model, conditions: Conditions) -> IntegerTable:
    """Return the kernel's links without the branches that are taken out."""
    links = model.line.links
    if not conditions.isolated:
        return links
    found = [list(row) for row in links] if mode() == "plain" else links.copy()
    for part in model.station.parts():
        if not isinstance(part, Parallel) or part.id not in model.element:
            continue
        link = found[model.element[part.id]]
        spans = spans_of(found, model.element[part.id])
        kept = [
            span
            for branch, span in zip(part.branches, spans, strict=True)
            if branch.id not in conditions.isolated
        ]
        link[layout.BRANCHES] = len(kept)
        for number, span in enumerate(kept):
            link[layout.SPANS + 2 * number], link[layout.SPANS + 2 * number + 1] = span
    return found


def _refuse_unknown(model: Model, conditions: Conditions) -> None:
    named = {*conditions.openings, *conditions.lockup, *conditions.forced_lift, *conditions.band}
    unknown = named - model.ids
    if unknown:
        raise InputError(
            "conditions",
            f"name {', '.join(sorted(unknown))}, no part of this station.",
            "Use the ids of the file.",
        )


def _refuse_if_opened(part_id: str, conditions: Conditions) -> None:
    if conditions.openings.get(part_id, 0.0) > 0.0:
        raise InputError(
            f"openings {part_id}",
            "stands on a bypass that this model keeps shut.",
            "Build the model with its parallel group open.",
        )


def _open(row: Floats, part: object, share: float, model: Model) -> None:
    if isinstance(part, IsolatingValve):
        row[layout.FULL] = model.full[part.id] * max(
            share**d.ISOLATING_EXPONENT.si if share > 0 else 0.0, SHUT_SHARE
        )
        row[layout.TIGHT] = 1.0 if share <= 0.0 and part.tight != "no" else 0.0
    elif isinstance(part, Drain | Relief):
        row[layout.FULL] = model.full[part.id] * share


def _set_reducer(row: Floats, part_id: str, conditions: Conditions, model: Model) -> None:
    for column, changes in (
        (layout.CLOSING, conditions.lockup),
        (layout.BAND, conditions.band),
        (layout.LIFT, conditions.forced_lift),
        (layout.STUCK, conditions.pilot_stuck),
        (layout.TRAPPED, conditions.trapped_sense),
    ):
        if part_id in changes:
            row[column] = changes[part_id]
    if part_id in conditions.feed_share:
        share = conditions.feed_share[part_id]
        row[layout.FEED] *= max(share, SHUT_SHARE)
        row[layout.BLOCKED] = 1.0 if share <= 0.0 else 0.0
    if part_id in conditions.seat_leak_kv:
        row[layout.LEAK] = model.k(conditions.seat_leak_kv[part_id])
    if part_id in conditions.torn_kv:
        row[layout.TEAR] = model.k(conditions.torn_kv[part_id])
    if part_id in conditions.debris_lift:
        row[layout.LOWEST] = conditions.debris_lift[part_id]


def refuse(model: Model, solution: Solution) -> None:
    """Raise what stands in the way of an answer; see `solve`."""
    if solution.ending == layout.NOT_CONVERGED:
        raise NotConverged(
            f"steady state of {model.station.station.id}", solution.residual, "Pa", solution.evaluations
        )
    if solution.ending == layout.PARTED:
        raise InputError(
            "supply",
            "no steady state with full pipes: somewhere the pressure falls below vapour pressure.",
            "Check supply pressure, levels and flow.",
        )
    if solution.ending == layout.REFUSED_BRANCH:
        raise InputError(
            "line",
            "the branches of a parallel group do not end at one level, or none of them is left.",
            "Leave one branch of each group; let all of them rise alike.",
        )
    if solution.ending == layout.REFUSED_TAP:
        raise InputError(
            "line: senses",
            "a reducer senses a tap upstream of its own outlet, or on another branch.",
            "Name a tap after the reducer, on its own branch or beyond the joint.",
        )
    if solution.ending == layout.REFUSED_VALUE:
        raise InputError(
            "line", "a flow coefficient or band is zero or not finite.", "Give every valve a size or a Kv."
        )


def answer(model: Model, solution: Solution) -> Steady:
    """Return a kernel's solution by tap and valve."""
    nodes = tuple(float(p) for p in solution.nodes)
    flows = [float(q) for q in solution.flows]
    drains = {
        part.id: _shunt(model.element[part.id], flows)
        for part in model.station.parts()
        if isinstance(part, Drain | Relief) and part.id in model.element
    }
    flow = _known(flows[model.line.end - 1])
    return Steady(
        flow=flow,
        consumer_flow=max(flow - sum(drains.values()), 0.0),
        drains=drains,
        taps={tap: nodes[node] for tap, node in model.tap_node.items()},
        consumer_end=nodes[0],
        valves={name: _reading(model, name, nodes, flows, solution) for name in model.twins},
        residual=solution.residual,
        nodes=nodes,
    )


def _known(value: float) -> float:
    return 0.0 if isnan(value) else value


def _shunt(index: int, flows: list[float]) -> float:
    below = flows[index - 1] if index > 0 else 0.0
    return max(_known(flows[index]) - _known(below), 0.0)


def _reading(
    model: Model, name: str, nodes: tuple[float, ...], flows: list[float], solution: Solution
) -> ValveReading:
    index = model.element[name]
    out = solution.outcomes[index]
    state = out[layout.OUT_STATE]
    lift, sigma = float(out[layout.OUT_LIFT]), float(out[layout.OUT_SIGMA_INLET])
    incipient = bool(out[layout.OUT_INCIPIENT] > 0)
    if (limits := model.cavitation.get(name)) is not None:
        incipient = limits.reached(sigma, lift, nodes[index + 1] + model.atmosphere) is not None
    return ValveReading(
        lift=lift,
        state=_WORDS[int(state)] if not isnan(state) else "forced",
        inlet_pressure=nodes[index + 1],
        outlet_pressure=nodes[index],
        flow=_known(flows[index]),
        pilot_opening=float(out[layout.OUT_PILOT]),
        chamber_pressure=float(out[layout.OUT_CHAMBER]),
        pressure_ratio=float(out[layout.OUT_RATIO]),
        sigma_1=sigma,
        sigma_2=float(out[layout.OUT_SIGMA_OUTLET]),
        choked=bool(out[layout.OUT_CHOKED] > 0),
        incipient=incipient,
    )
