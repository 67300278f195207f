"""The steady state of a plan, asked of the steady engine row by row."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from math import isnan, nan
from typing import TypedDict

from steadyhead.errors import InputError, NotConverged
from steadyhead.hydraulics.kernel import assembly
from steadyhead.hydraulics.kernel import layout as steady
from steadyhead.laws.compiling import Floats
from steadyhead.laws.valves import isolating_valve_coefficient, strainer_coefficient
from steadyhead.surge import defaults as d
from steadyhead.surge.kernel import layout as at
from steadyhead.surge.path import Path, path_of
from steadyhead.surge.plan import DirectReducerRow, Pipe, ReducerRow, ReliefValve, ShutOffRow
from steadyhead.surge.plant import STATION, Plant
from steadyhead.surge.state import State
from steadyhead.surge.tree_rest import Tree, root

STEADY_FLOOR = 1e-5
"""What a shut seat passes in the steady engine, of its full coefficient. [1]"""


@dataclass(frozen=True, slots=True)
class Rest:
    """A steady state: flow into and out of the station [m³/s], node pressures of the chain [Pa], lifts [1].

    carried: flow at the outlet of each branch, by the row of its gap. [m³/s]
    pilots: opening by pilot-operated reducer; states: index of `steadyhead.hydraulics.kernel.layout.STATES`.
    end_pressure: at the place of demand, the farthest one, at its own level. [Pa]
    pipe_flows, joint_pressures: where the mains branch, flow by pipe [m³/s] and pressure by joint at its own
    level [Pa]; else empty.
    """

    flow: float
    outlet_flow: float
    nodes: tuple[float, ...]
    lifts: Mapping[str, float]
    pilots: Mapping[str, float]
    states: Mapping[str, int]
    end_pressure: float
    residual: float
    pipe_flows: Mapping[str, float] = field(default_factory=dict)
    joint_pressures: Mapping[str, float] = field(default_factory=dict)
    carried: Mapping[int, float] = field(default_factory=dict)


class _ValveNumbers(TypedDict):
    full: float
    shape: float
    floor: float
    recovery: float
    incipient: float
    leak: float


def rest_of(plant: Plant, state: State) -> Rest:
    """Return the steady state of a plan with the values of `state`; see `steadyhead.surge.steady_rest`."""
    path = path_of(plant.plan)
    if path.tree:
        return _rest_of_tree(plant, state, path)
    return _rest_of_line(plant, state, path, _conditions(plant, state, path))


def _rest_of_tree(plant: Plant, state: State, path: Path) -> Rest:
    """Return the steady state of a station with branching mains behind it.

    The head at the farthest end is searched at which the station gives what the mains take.
    """
    tree = Tree(plant.plan, path.tree, state.joint_values, plant.joints)
    level = plant.station[at.OUT_LEVEL]
    station = replace(path, below=(), tree=(), consumers=replace(path.consumers, relief=None))

    def outlet(flow: float) -> Rest:
        return _rest_of_line(plant, state, station, _conditions(plant, state, path, flow))

    def left(end: float) -> float:
        head, flow, _ = tree.from_end(STATION, end)
        try:
            return outlet(flow).nodes[0] / plant.weight + level - head
        except (InputError, NotConverged):
            return -abs(head) - 1.0

    highest = outlet(0.0).nodes[0] / plant.weight + level
    end = root(left, tree.lowest, highest)
    _, flow, found = tree.from_end(STATION, end)
    pressures = {
        name: (head - tree.levels[name]) * plant.weight
        for name, head in found.heads.items()
        if name in tree.levels
    }
    return replace(
        outlet(flow),
        end_pressure=pressures[path.consumers.id],
        pipe_flows=found.flows,
        joint_pressures=pressures,
    )


def _rest_of_line(plant: Plant, state: State, path: Path, asked: Floats) -> Rest:
    laid = _Laid(plant, state, path, is_sound=False)
    line = assembly.pack(laid.rows)
    held: Floats | None = None
    if _is_unsound(plant, state):
        sound = _Laid(plant, state, path, is_sound=True)
        before = assembly.solve_line(assembly.pack(sound.rows), asked)
        held = before.nodes if before.ending == steady.SOLVED else None
    found = assembly.solve_line(line, asked, held)
    _refuse(found)
    nodes = tuple(float(found.nodes[place]) for _, place in sorted(laid.node_at.items()))
    if any(isnan(pressure) for pressure in nodes):
        raise InputError(
            "start", "a trapped pressure is not known.", "Start standing, with pressures stated."
        )
    flows = [0.0 if isnan(flow) else float(flow) for flow in found.flows]
    lifts, pilots, states = {}, {}, {}
    for name, row in plant.rows.items():
        if plant.kinds[row] >= at.REDUCER:
            out = found.outcomes[laid.row_at[row]]
            lifts[name] = float(out[steady.OUT_LIFT])
            pilots[name] = float(out[steady.OUT_PILOT])
            states[name] = -1 if isnan(out[steady.OUT_STATE]) else int(out[steady.OUT_STATE])
    return Rest(
        flow=flows[len(laid.rows) - 1],
        outlet_flow=flows[laid.row_at[0] - 1] if laid.row_at else flows[-1],
        carried={row: flows[laid.row_at[row] + 1] for row, kind in enumerate(plant.kinds) if kind == at.GAP},
        nodes=nodes,
        lifts=lifts,
        pilots=pilots,
        states=states,
        end_pressure=float(found.nodes[0]),
        residual=found.residual,
    )


def _refuse(found: assembly.Solution) -> None:
    if found.ending in (steady.SOLVED, steady.UNKNOWN_TRAPPED):
        return
    if found.ending == steady.NOT_CONVERGED:
        raise NotConverged("steady state before the run", found.residual, "Pa", found.evaluations)
    raise InputError(
        "start", f"no steady state: {steady.ENDINGS[found.ending]}.", "Check supply, levels, flow and valves."
    )


def _conditions(plant: Plant, state: State, path: Path, drawn: float = nan) -> Floats:
    """Return the conditions of a run, or those with a flow imposed. [m³/s]"""
    water = plant.plan.water
    end = state.joint_values[plant.joints[path.consumers.id]]
    return assembly.conditions(
        density=water.density,
        viscosity=water.viscosity,
        gravity=water.gravity,
        atmosphere_abs=water.atmosphere_abs,
        vapour_pressure_abs=water.vapour_pressure_abs,
        critical_pressure_abs=water.critical_pressure_abs,
        supply=float(state.joint_values[plant.joints[path.reservoir.id]][at.HELD_PRESSURE]),
        reference=water.reference,
        demand=float(end[at.DEMAND]),
        exponent=float(end[at.EXPONENT]),
        drawn=float(end[at.DRAWN]) if isnan(drawn) else drawn,
    )


class _Laid:
    """The rows of the steady line of a plan, and where each row and node of the chain is found in it."""

    def __init__(self, plant: Plant, state: State, path: Path, *, is_sound: bool) -> None:
        self.plant, self.state, self.is_sound = plant, state, is_sound
        self.rows: list[assembly.Row] = []
        self.row_at: dict[int, int] = {}
        self.node_at: dict[int, int] = {}
        if path.consumers.relief is not None:
            self.rows.append(_relief(path.consumers.relief))
        self.rows += [_pipe(pipe) for pipe in path.below]
        if plant.plan.station:
            self.node_at[0] = len(self.rows)
            self.rows += self._span(0, plant.inlet_node, len(self.rows), 0)
        self.rows += [_pipe(pipe) for pipe in path.above]
        self._lay_branches()

    def _span(self, start: int, end: int, first: int, outlet: int) -> list[assembly.Row]:
        """Return the rows of a span of the chain whose first element has the number `first`.

        Parameters
        ----------
        start, end
            Rows of the chain, the last one past the end.
        first
            Number of its first element.
        outlet
            Number its taps count from; 0 on the line.
        """
        found: list[assembly.Row] = []
        for row in range(start, end):
            self.row_at[row] = first + len(found)
            found.append(self._element(row))
            self.node_at[row + 1] = first + len(found)
            found += self._beside(row + 1)
        for row in range(start, end):
            if self.plant.kinds[row] in (at.REDUCER, at.DIRECT):
                place = self.row_at[row] - first
                found[place] = _tapped(found[place], self._tap(row, start, end, outlet))
        return found

    def _tap(self, row: int, start: int, end: int, outlet: int) -> int:
        tap = int(self.plant.row_links[row][at.TAP])
        if start <= tap <= end and tap in self.node_at:
            return self.node_at[tap] if outlet == 0 else outlet - 1 - self.node_at[tap]
        if tap <= self.plant.inlet_node and outlet > 0:
            return self.node_at[tap]
        name = next(name for name, place in self.plant.rows.items() if place == row)
        raise InputError(f"{name}: senses", "a section of another stream.", "Let it sense its own.")

    def _element(self, row: int) -> assembly.Row:
        if self.plant.kinds[row] != at.GROUP:
            return _row(self.plant, self.state, row, is_sound=self.is_sound)
        return assembly.Row(steady.PARALLEL)

    def _beside(self, node: int) -> list[assembly.Row]:
        found = [assembly.drain(float(self.state.node_values[node][at.DRAIN]))]
        relief = self.plant.node_links[node][at.NODE_RELIEF]
        if relief >= 0:
            found.append(_relief(_relief_named(self.plant, relief)))
        return found

    def _lay_branches(self) -> None:
        """Put the branches into their groups; the steady line numbers them behind itself, group by group."""
        number = len(self.rows)
        for row in range(self.plant.inlet_node):
            if self.plant.kinds[row] != at.GROUP:
                continue
            link = self.plant.row_links[row]
            branches = []
            for branch in range(link[at.SPAN], link[at.SPAN] + link[at.BRANCHES]):
                gap, behind = self.plant.spans[branch]
                number += 1
                self.row_at[gap], self.node_at[gap + 1] = number - 1, number
                branches.append(self._span(gap + 1, behind, number, number))
                number += len(branches[-1])
            self.rows[self.row_at[row]] = assembly.parallel(*branches)


def _tapped(row: assembly.Row, tap: int) -> assembly.Row:
    return assembly.Row(row.kind, row.columns, tap, row.curve, row.incipient_curve, row.branches)


def _relief_named(plant: Plant, number: int) -> ReliefValve:
    name = next(name for name, place in plant.reliefs.items() if place == number)
    for part in plant.plan.parts:
        relief = getattr(part, "relief", None)
        if relief is not None and relief.id == name:
            return relief  # type: ignore[no-any-return]
    raise InputError("relief", f"got {name!r}.", "Name a relief valve of the plan.")


def _pipe(pipe: Pipe) -> assembly.Row:
    if not pipe.has_friction:
        row = assembly.pipe(length=0.0, diameter=pipe.bore, roughness=0.0, rise=0.0)
        return assembly.Row(row.kind, {**row.columns, steady.RISE: pipe.level_below - pipe.level_above})
    return assembly.pipe(
        length=pipe.length,
        diameter=pipe.bore,
        roughness=pipe.roughness,
        rise=pipe.level_below - pipe.level_above,
    )


def _relief(relief: ReliefValve) -> assembly.Row:
    return assembly.relief(relief.coefficient, crack=relief.crack, full=relief.wide, curve=relief.curve)


def _row(plant: Plant, state: State, row: int, *, is_sound: bool) -> assembly.Row:
    value = state.row_values[row]
    kind = plant.kinds[row]
    name = next(name for name, place in plant.rows.items() if place == row)
    part = next((part for part in plant.plan.parts if part.id == name), None)
    if kind == at.LOSS:
        floor = max(value[at.FLOOR], STEADY_FLOOR)
        k = isolating_valve_coefficient(value[at.FULL], value[at.OPENING], value[at.POWER], floor)
        return assembly.loss(
            min(strainer_coefficient(k, value[at.CLOGGING]), 1.0), is_tight=value[at.OPENING] <= 0.0
        )
    if kind == at.CHECK:
        return assembly.check_valve(value[at.FULL], floor=value[at.FLOOR])
    assert isinstance(part, ReducerRow | DirectReducerRow | ShutOffRow)
    curve = part.body.curve
    common: _ValveNumbers = {
        "full": float(value[at.FULL]),
        "shape": float(value[at.SHAPE]),
        "floor": max(float(value[at.FLOOR]), STEADY_FLOOR),
        "recovery": float(value[at.RECOVERY]) or 1.0,
        "incipient": 1.0,
        "leak": float(value[at.LEAK]),
    }
    if isinstance(part, ShutOffRow):
        lift = part.start_lift if isnan(value[at.LIFT]) else float(value[at.LIFT])
        return assembly.valve(lift=lift, curve=curve, **common)
    return _reducer_row(part, value, common, is_sound=is_sound)


def _reducer_row(
    part: ReducerRow | DirectReducerRow, value: Floats, common: _ValveNumbers, *, is_sound: bool
) -> assembly.Row:
    curve = part.body.curve
    blind = nan
    if value[at.COCK] <= 0.0 and not is_sound:
        blind = part.trapped
    closing = float(value[at.CLOSING])
    if isinstance(part, DirectReducerRow):
        found = assembly.direct_reducer(
            **common, curve=curve, closing=closing, band=float(value[at.BAND]), tap=0
        )
        lift = float(value[at.LIFT])
        return assembly.Row(found.kind, {**found.columns, steady.LIFT: lift}, 0, curve)
    if not isnan(value[at.SCREW]):
        closing = float(value[at.PER_TURN] * max(value[at.SCREW] - value[at.TURNS_FREE], 0.0))
    return assembly.reducer(
        **common,
        curve=curve,
        seat_ratio=float(value[at.SEAT_RATIO]),
        flow_force=float(value[at.FLOW_FORCE]),
        spring_shut=float(value[at.SPRING_SHUT]),
        spring_rise=float(value[at.SPRING_RISE]),
        feed=float(value[at.FEED]),
        pilot=float(value[at.PILOT]),
        closing=closing,
        band=float(value[at.BAND]),
        tap=0,
        lowest=float(value[at.LOWEST]),
        needle=float(value[at.NEEDLE]),
        filter_coefficient=float(value[at.FILTER]),
        tear=float(value[at.TEAR]),
        given_lift=float(value[at.LIFT]),
        stuck_pilot=nan if is_sound else float(value[at.STUCK]),
        trapped=blind,
        is_feed_blocked=bool(value[at.FEED] < d.BLOCKED_FEED.si * value[at.PILOT]),
    )


def _is_unsound(plant: Plant, state: State) -> bool:
    return any(
        plant.kinds[row] == at.REDUCER
        and (state.row_values[row][at.COCK] <= 0.0 or not isnan(state.row_values[row][at.STUCK]))
        for row in range(len(plant.kinds))
    )
