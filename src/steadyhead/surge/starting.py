"""Where a run starts: at rest in the steady state of the steady engine, or standing as somebody found it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isnan, nan

from steadyhead.errors import InputError
from steadyhead.laws.friction_table import factor_from_table
from steadyhead.laws.pilot import balance_pressure, holding_pressure, stem_chamber_pressure
from steadyhead.laws.valves import series
from steadyhead.surge.kernel import layout as at
from steadyhead.surge.kernel.shunts import consumers, relief_curve
from steadyhead.surge.kernel.stems import pilot_of, turn_screw
from steadyhead.surge.plan import Consumers, ReducerRow, Reservoir, ShutOffRow
from steadyhead.surge.plant import STATION, Grid, Plant
from steadyhead.surge.rest import Rest, rest_of
from steadyhead.surge.running import kernel_views
from steadyhead.surge.schedule import Schedule, place_of
from steadyhead.surge.state import State, blank


@dataclass(frozen=True, slots=True)
class Standing:
    """A station found standing still: full pipes, no flow.

    Parameters
    ----------
    consumer, supply
        Pressure of the consumer side and of the supply side at the level of the station. [Pa]
    sections
        Pressure by section; missing: `consumer`. [Pa]
    lifts
        Share of lift by valve where it stands; missing: reducers on their seats, shut-offs as planned.
    """

    consumer: float
    supply: float
    sections: Mapping[str, float] = field(default_factory=dict)
    lifts: Mapping[str, float] = field(default_factory=dict)


def steady_rest(plant: Plant, schedule: Schedule | None = None) -> Rest:
    """Return the steady state, from the steady engine, of a plan with its inputs as they stand at the start.

    From one reservoir; behind the station pipes may branch and draw water between their ends. What a blind or
    stuck reducer holds back at no flow is what stood there while it was sound.

    Raises
    ------
    InputError
        No steady state with full pipes, a ring, or pipes that branch ahead of the station.
    NotConverged
        With the residual.
    """
    state = blank(plant)
    write(plant, state, (schedule or Schedule()).at_start())
    return rest_of(plant, state)


def start(plant: Plant, schedule: Schedule | None = None, rest: Rest | None = None) -> State:
    """Return the state of a run that starts at rest.

    Parameters
    ----------
    plant
        From `steadyhead.surge.compile_plan`.
    schedule
        Inputs; their first values are those of the steady state.
    rest
        From `steady_rest`, where it is already known.
    """
    state = blank(plant)
    write(plant, state, (schedule or Schedule()).at_start())
    found = rest_of(plant, state) if rest is None else rest
    if plant.plan.station:
        for node, pressure in enumerate(found.nodes):
            state.node_state[node][at.NOW] = pressure
        for row, flow in found.carried.items():
            state.row_state[row][at.CARRIED] = flow
        for name, lift in found.lifts.items():
            state.row_state[plant.rows[name]][at.X] = lift * _stroke(plant, name)
        state.run[at.H_OUT] = found.nodes[0] - plant.water[at.VAPOUR]
    _lay_pipes(plant, state, found)
    _finish(plant, state)
    state.run[at.INFLOW] = found.flow
    state.run[at.OUTLET_FLOW] = found.outlet_flow
    return state


def start_standing(plant: Plant, standing: Standing, schedule: Schedule | None = None) -> State:
    """Return the state of a run that starts with all water standing; see `Standing`.

    Primed lines only: an empty or half-full line is outside this engine.
    """
    state = blank(plant)
    write(plant, state, (schedule or Schedule()).at_start())
    last = plant.inlet_node
    names = {node: name for name, node in plant.nodes.items()}
    for node in range(len(plant.node_values)):
        pressure = standing.supply if node == last else standing.consumer
        if node in names:
            pressure = standing.sections.get(names[node], standing.consumer)
        elif 0 < node < last:
            pressure = _between(plant, node, names, standing)
        state.node_state[node][at.NOW] = pressure
    _join_branches(plant, state, names)
    for name, row in plant.rows.items():
        if plant.kinds[row] >= at.REDUCER:
            part = next(part for part in plant.plan.parts if part.id == name)
            lift = part.start_lift if isinstance(part, ShutOffRow) else plant.row_values[row][at.LOWEST]
            state.row_state[row][at.X] = standing.lifts.get(name, lift) * _stroke(plant, name)
    state.run[at.H_OUT] = standing.consumer - plant.water[at.VAPOUR]
    for grid in plant.grids:
        pressure = standing.supply if grid.pipe.side == "supply" else standing.consumer
        level = plant.station[at.IN_LEVEL if grid.pipe.side == "supply" else at.OUT_LEVEL]
        for node in range(grid.reaches + 1):
            state.head[grid.place][node] = pressure / plant.weight + level
    _finish(plant, state)
    return state


def _join_branches(plant: Plant, state: State, names: Mapping[int, str]) -> None:
    """Give the ends of every branch the pressures of the joints, and unnamed nodes that of their outlet."""
    for row, kind in enumerate(plant.kinds):
        if kind != at.GROUP:
            continue
        first = plant.row_links[row][at.SPAN]
        for branch in range(first, first + plant.row_links[row][at.BRANCHES]):
            gap, behind = plant.spans[branch]
            state.node_state[gap + 1][at.NOW] = state.node_state[row][at.NOW]
            for node in range(gap + 2, behind):
                if node not in names:
                    state.node_state[node][at.NOW] = state.node_state[node - 1][at.NOW]
            state.node_state[behind][at.NOW] = state.node_state[row + 1][at.NOW]


def _between(plant: Plant, node: int, names: Mapping[int, str], standing: Standing) -> float:
    """Return the pressure of a node without a name: that of the side where nothing shut stands between."""
    above = [n for n in names if node < n <= plant.inlet_node]
    return standing.supply if not above else standing.consumer


def write(plant: Plant, state: State, inputs: Mapping[tuple[str, str], float]) -> None:
    """Write inputs, by (name, what), into the values of a state."""
    tables = {
        at.INTO_ROWS: state.row_values,
        at.INTO_NODES: state.node_values,
        at.INTO_JOINTS: state.joint_values,
    }
    for (name, what), value in inputs.items():
        target, row, column = place_of(plant, name, what)
        tables[target][row][column] = value


def _stroke(plant: Plant, name: str) -> float:
    return float(plant.row_values[plant.rows[name]][at.STROKE])


def _lay_pipes(plant: Plant, state: State, rest: Rest) -> None:
    """Lay heads along every pipe, from the end whose head is known, with the friction the run will use."""
    known: dict[str, float] = {}
    for place, joint in enumerate(plant.plan.joints):
        if isinstance(joint, Reservoir):
            pressure = state.joint_values[place][at.HELD_PRESSURE]
            known[joint.id] = pressure / plant.weight + joint.level
    if plant.plan.station:
        known["leaving"] = rest.nodes[0] / plant.weight + plant.station[at.OUT_LEVEL]
    left = list(plant.grids)
    while left:
        laid = [grid for grid in left if _above(grid) in known]
        if not laid:
            raise InputError("pipes", "no head is known at their upper ends.", "Join them to a reservoir.")
        for grid in laid:
            flow = rest.outlet_flow if grid.pipe.side == "consumer" else rest.flow
            flow = rest.pipe_flows.get(grid.pipe.id, flow)
            known[grid.pipe.below] = _lay(plant, state, grid, known[_above(grid)], flow)
            left.remove(grid)


def _above(grid: Grid) -> str:
    return "leaving" if grid.pipe.above == STATION else grid.pipe.above


def _lay(plant: Plant, state: State, grid: Grid, head: float, flow: float) -> float:
    place = grid.place
    value, start_at = plant.pipe_values[place], plant.pipe_links[place][at.FACTORS]
    loss = 0.0
    if start_at >= 0:
        factor = factor_from_table(abs(flow) * value[at.REYNOLDS], plant.factors, start_at)
        loss = value[at.RESISTANCE] * factor * abs(flow) * flow
    for number in range(grid.reaches + 1):
        state.head[place][number] = head - number * loss
        state.up[place][number] = state.down[place][number] = flow
    return head - grid.reaches * loss


def _finish(plant: Plant, state: State) -> None:
    """Fill what follows from heads, node pressures and lifts: gas, joints, sensing lines, chambers."""
    _fill_gas(plant, state)
    for grid in plant.grids:
        heads = state.head[grid.place][: grid.reaches + 1]
        kept = state.pipe_state[grid.place]
        kept[at.JUDGED_HEAD] = kept[at.SHUT_HEAD] = top = max(heads)
        kept[at.JUDGED_AT] = kept[at.SHUT_AT] = list(heads).index(top)
    _fill_joints(plant, state)
    for node in state.node_state:
        node[at.HIGHEST] = node[at.LOWEST_SEEN] = node[at.JUDGED] = node[at.UNTIL_SHUT] = node[at.NOW]
        node[at.ABOVE] = node[at.NOW] - plant.water[at.VAPOUR]
    for number in range(len(state.relief_state)):
        _fill_relief(plant, state, number)
    chain = kernel_views(plant, state).chain
    for part in plant.plan.parts:
        if part.id not in plant.rows:
            continue
        row = plant.rows[part.id]
        if plant.kinds[row] == at.CHECK:
            state.row_state[row][at.X] = 1.0
        if plant.kinds[row] >= at.REDUCER:
            _fill_sense(plant, state, row, getattr(part, "trapped", nan))
        if plant.kinds[row] == at.SHUT_OFF:
            state.row_state[row][at.SPEED] = nan
        if plant.kinds[row] in (at.REDUCER, at.DIRECT):
            state.row_state[row][at.TURNS] = state.row_values[row][at.SCREW]
            turn_screw(row, chain)
        if isinstance(part, ReducerRow):
            _fill_chamber(plant, state, row, part.air_pressure)


def _fill_gas(plant: Plant, state: State) -> None:
    vapour_head = plant.water[at.VAPOUR_HEAD]
    for grid in plant.grids:
        place = grid.place
        mass = plant.pipe_values[place][at.GAS]
        for node in range(grid.reaches + 1):
            above = state.head[place][node] - plant.level[place][node] - vapour_head
            if not above > 0.0:
                raise InputError(
                    "start",
                    "the pressure in a main stands below vapour pressure.",
                    "Check levels and supply.",
                )
            share = 0.5 if node in (0, grid.reaches) else 1.0
            state.gas[place][node] = share * mass / above
        for kept, now in (
            (state.highest, state.head),
            (state.lowest, state.head),
            (state.most_gas, state.gas),
            (state.nodes[at.N_UP_BEFORE], state.up),
            (state.nodes[at.N_DOWN_BEFORE], state.down),
        ):
            for node in range(grid.reaches + 1):
                kept[place][node] = now[place][node]


def _fill_joints(plant: Plant, state: State) -> None:
    for place, joint in enumerate(plant.plan.joints):
        end = plant.ends[plant.joint_links[place][at.ENDS]]
        grid = plant.grids[end[at.PIPE]]
        node = grid.reaches if end[at.IS_TAIL] else 0
        pressure = (state.head[grid.place][node] - joint.level) * plant.weight
        row, values = state.joint_state[place], state.joint_values[place]
        row[at.PRESSURE] = row[at.BEHIND] = pressure
        row[at.LIQUID_HEAD] = pressure - plant.water[at.VAPOUR]
        row[at.GAS_VOLUME] = values[at.JOINT_GAS] / row[at.LIQUID_HEAD]
        row[at.OUTFLOW] = row[at.DRAW] = state.up[grid.place][node]
        if isinstance(joint, Consumers) and plant.joint_links[place][at.END_COUNT] > 1:
            drawn, _ = consumers(pressure, values, plant.plan.water.reference)
            row[at.OUTFLOW] = row[at.DRAW] = drawn
        if isinstance(joint, Consumers) and joint.vessel is not None:
            above = pressure + plant.water[at.ATMOSPHERE]
            row[at.AIR] = joint.vessel.air
            values[at.VESSEL] = joint.vessel.air * above ** (1.0 / joint.vessel.exponent)


def _fill_relief(plant: Plant, state: State, number: int) -> None:
    pressure = nan
    for joint, link in enumerate(plant.joint_links):
        if link[at.JOINT_RELIEF] == number:
            pressure = state.joint_state[joint][at.PRESSURE]
    for node, link in enumerate(plant.node_links):
        if link[at.NODE_RELIEF] == number:
            pressure = state.node_state[node][at.NOW]
    opening = relief_curve(
        pressure, plant.relief_links[number], plant.relief_values[number], plant.xs, plant.ys
    )
    row = state.relief_state[number]
    row[at.ASKED] = row[at.DISC] = row[at.MOST_DISC] = opening


def _fill_sense(plant: Plant, state: State, row: int, trapped: float) -> None:
    tap = state.node_state[plant.row_links[row][at.TAP]][at.NOW]
    line = state.row_state[row]
    line[at.TAP_BEFORE] = tap
    blind = state.row_values[row][at.COCK] <= 0.0 and not isnan(trapped)
    line[at.SENSE] = line[at.FELT] = trapped if blind else tap


def _fill_chamber(plant: Plant, state: State, row: int, air_pressure: float) -> None:
    """Set pilot, chamber pressure and air of a pilot-operated reducer that stands still.

    Notes
    -----
    p_c = p_h where the stem is pressed on its stop or sticks, else p_eq ∓ δ.
    """
    line, values = state.row_state[row], state.row_values[row]
    chain = kernel_views(plant, state).chain
    line[at.PILOT_OPEN], line[at.BLEED] = pilot_of(row, line[at.FELT], chain)
    line[at.FEEDING] = series(values[at.FEED], values[at.FILTER])
    inlet, outlet = state.node_state[row + 1][at.NOW], state.node_state[row][at.NOW]
    lift = line[at.X] / values[at.STROKE]
    rest = holding_pressure(inlet, outlet, line[at.FEEDING], line[at.BLEED])
    balance = balance_pressure(
        lift,
        inlet,
        outlet,
        values[at.SEAT_RATIO],
        values[at.FLOW_FORCE],
        values[at.SPRING_SHUT],
        values[at.SPRING_RISE],
    )
    moving = stem_chamber_pressure(rest, balance, values[at.FRICTION])
    shuts, opens = rest > moving, rest < moving
    pressed = (shuts and lift <= values[at.LOWEST]) or (opens and lift >= 1.0)
    line[at.CHAMBER] = rest if pressed else moving
    if values[at.AIR_VOLUME] > 0.0:
        reference = line[at.CHAMBER] if isnan(air_pressure) else air_pressure
        atmosphere, exponent = plant.water[at.ATMOSPHERE], values[at.AIR_EXPONENT]
        line[at.AIR_CONSTANT] = (reference + atmosphere) * values[at.AIR_VOLUME] ** exponent
        now = (line[at.AIR_CONSTANT] / (line[at.CHAMBER] + atmosphere)) ** (1.0 / exponent)
        room = values[at.DEAD_VOLUME] + values[at.AREA] * (values[at.STROKE] - line[at.X])
        line[at.WATER] = room - now
