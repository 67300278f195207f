"""Where pipe ends meet: a held head, or one falling equation in the head above vapour."""

from __future__ import annotations

from math import inf, pow

from steadyhead.laws.compiling import Floats, Integers, inner_kernel
from steadyhead.laws.outlets import vessel_air
from steadyhead.surge.kernel.layout import (
    AIR,
    ATMOSPHERE,
    BEHIND,
    DRAW,
    ELASTICITY,
    END_COUNT,
    ENDS,
    ENTERED,
    ENTRY,
    EVALUATIONS,
    GAS_VOLUME,
    HELD,
    HELD_PRESSURE,
    INERTANCE,
    IS_TAIL,
    JOINT_GAS,
    JOINT_RELIEF,
    KIND,
    LEFT,
    LEVEL,
    LIQUID_HEAD,
    N_BM,
    N_BP,
    N_CM,
    N_CP,
    OPEN_NODES,
    OUTFLOW,
    PARTED,
    PIPE,
    PRESSURE,
    REACHES,
    REFERENCE,
    STEP,
    THROUGH,
    VAPOUR,
    VESSEL,
    VESSEL_EXPONENT,
    WEIGHT,
    Joints,
    Pipes,
)
from steadyhead.surge.kernel.pipes import end_node
from steadyhead.surge.kernel.search import CLOSE, NOISE, ROUNDS, next_head
from steadyhead.surge.kernel.shunts import commit_relief, consumers, relief_draw


@inner_kernel
def zone_flow(pressure: float, value: Floats, state: Floats, step: float) -> tuple[float, float]:
    """Return (flow into the lumped zone over a step [m³/s], its slope), straight in pressure and rising.

    Notes
    -----
    Q = C dp_z/dt = (p − p_z)/R + Q_L, L dQ_L/dt = p − p_z, backward Euler; R = 0: Q = C dp/dt.
    """
    if value[ENTRY] <= 0.0:
        store = value[ELASTICITY] / step
        return store * (pressure - state[PRESSURE]), store
    through = 1.0 / value[ENTRY] + step / value[INERTANCE]
    share = 1.0 / (1.0 + through * step / value[ELASTICITY])
    return (through * (pressure - state[BEHIND]) + state[THROUGH]) * share, through * share


@inner_kernel
def commit_zone(pressure: float, value: Floats, state: Floats, step: float) -> None:
    """Keep what stands behind the entry of a zone at the end of a step."""
    flow, _ = zone_flow(pressure, value, state, step)
    state[BEHIND] += step * flow / value[ELASTICITY]
    state[THROUGH] += step * (pressure - state[BEHIND]) / value[INERTANCE]


@inner_kernel
def joint_outflow(
    pressure: float,
    joint: int,
    joints: Joints,
    water: Floats,
    xs: Floats,
    ys: Floats,
) -> tuple[float, float]:
    """Return (what leaves a joint [m³/s], its slope): consumers, zone, vessel, relief valve."""
    value = joints.values[joint]
    state = joints.state[joint]
    flow, slope = consumers(pressure, value, water[REFERENCE])
    stored, store = zone_flow(pressure, value, state, water[STEP])
    flow += stored
    slope += store
    if value[VESSEL] > 0.0:
        above = pressure + water[ATMOSPHERE]
        air = value[VESSEL] * pow(above, -1.0 / value[VESSEL_EXPONENT])
        flow += (state[AIR] - air) / water[STEP]
        slope += air / (value[VESSEL_EXPONENT] * above * water[STEP])
    relief = joints.links[joint][JOINT_RELIEF]
    if relief >= 0:
        let_off, rise = relief_draw(
            pressure,
            joints.relief_links[relief],
            joints.relief_values[relief],
            joints.relief_state[relief],
            water[STEP],
            xs,
            ys,
        )
        flow += let_off
        slope += rise
    return flow, slope


@inner_kernel
def free_head(
    joint: int,
    arriving: float,
    admittance: float,
    joints: Joints,
    water: Floats,
    xs: Floats,
    ys: Floats,
    run: Floats,
) -> float:
    """Return the head above vapour [Pa] at which what arrives at a joint leaves it.

    Notes
    -----
    Σ C_p/B_p + Σ C_m/B_m − H Σ 1/B − Q_out(p) + (V_g(p) − V_g,old)/Δt = 0, strictly falling in p.
    """
    value = joints.values[joint]
    state = joints.state[joint]
    low = 0.0
    high = inf
    head = state[LIQUID_HEAD]
    stride = inf
    for number in range(ROUNDS):
        pressure = head + water[VAPOUR]
        out, rise = joint_outflow(pressure, joint, joints, water, xs, ys)
        gas = value[JOINT_GAS] / head
        residual = arriving - (pressure / water[WEIGHT] + value[LEVEL]) * admittance - out
        residual += (gas - state[GAS_VOLUME]) / water[STEP]
        slope = -admittance / water[WEIGHT] - rise - gas / (head * water[STEP])
        run[EVALUATIONS] += 1.0
        if residual > 0.0:
            low = head
        else:
            high = head
        trial = next_head(head, low, high, residual, slope, number)
        before = stride
        stride = abs(trial - head)
        if stride <= CLOSE * head or (stride <= NOISE * head and stride > 0.5 * before):
            return head
        head = trial
    run[OPEN_NODES] += 1.0
    return head


@inner_kernel
def end_place(end: Integers, pipes: Pipes) -> int:
    """Return the node of a pipe end, counted along its pipe."""
    if end[IS_TAIL] == 1:
        return pipes.links[end[PIPE]][REACHES]
    return 0


@inner_kernel
def commit_joint(
    joint: int, head: float, liquid: float, joints: Joints, pipes: Pipes, parted: float
) -> float:
    """Put a head at every pipe end of a joint and return what arrives there in all. [m³/s]"""
    link = joints.links[joint]
    gas = joints.values[joint][JOINT_GAS] / liquid
    arrived = 0.0
    for number in range(link[ENDS], link[ENDS] + link[END_COUNT]):
        end = joints.ends[number]
        pipe = end[PIPE]
        node = end_place(end, pipes)
        if end[IS_TAIL] == 1:
            flow = (pipes.nodes[N_CP][pipe][node] - head) / pipes.nodes[N_BP][pipe][node]
            arrived += flow
        else:
            flow = (head - pipes.nodes[N_CM][pipe][node]) / pipes.nodes[N_BM][pipe][node]
            arrived -= flow
        end_node(pipe, node, head, flow, flow, gas if number == link[ENDS] else 0.0, pipes, parted)
    return arrived


@inner_kernel
def advance_joint(
    joint: int, joints: Joints, pipes: Pipes, water: Floats, xs: Floats, ys: Floats, run: Floats
) -> None:
    """Advance one joint and the pipe ends that meet there."""
    link = joints.links[joint]
    value = joints.values[joint]
    state = joints.state[joint]
    if link[KIND] == HELD:
        pressure = value[HELD_PRESSURE]
        liquid = pressure - water[VAPOUR]
        head = pressure / water[WEIGHT] + value[LEVEL]
        arrived = commit_joint(joint, head, liquid, joints, pipes, water[PARTED])
        run[ENTERED] -= arrived * water[STEP]
        state[OUTFLOW] = arrived
    else:
        arriving = 0.0
        admittance = 0.0
        for number in range(link[ENDS], link[ENDS] + link[END_COUNT]):
            end = joints.ends[number]
            pipe = end[PIPE]
            node = end_place(end, pipes)
            if end[IS_TAIL] == 1:
                arriving += pipes.nodes[N_CP][pipe][node] / pipes.nodes[N_BP][pipe][node]
                admittance += 1.0 / pipes.nodes[N_BP][pipe][node]
            else:
                arriving += pipes.nodes[N_CM][pipe][node] / pipes.nodes[N_BM][pipe][node]
                admittance += 1.0 / pipes.nodes[N_BM][pipe][node]
        liquid = free_head(joint, arriving, admittance, joints, water, xs, ys, run)
        pressure = liquid + water[VAPOUR]
        out, _ = joint_outflow(pressure, joint, joints, water, xs, ys)
        state[OUTFLOW] = out
        state[DRAW], _ = consumers(pressure, value, water[REFERENCE])
        run[LEFT] += out * water[STEP]
        relief = link[JOINT_RELIEF]
        if relief >= 0:
            commit_relief(
                pressure,
                joints.relief_links[relief],
                joints.relief_values[relief],
                joints.relief_state[relief],
                water[STEP],
                xs,
                ys,
            )
        if value[VESSEL] > 0.0:
            state[AIR] = vessel_air(pressure, value[VESSEL], value[VESSEL_EXPONENT], water[ATMOSPHERE])
        if value[ENTRY] > 0.0:
            commit_zone(pressure, value, state, water[STEP])
        head = pressure / water[WEIGHT] + value[LEVEL]
        commit_joint(joint, head, liquid, joints, pipes, water[PARTED])
    state[PRESSURE] = pressure
    state[LIQUID_HEAD] = liquid
    state[GAS_VOLUME] = value[JOINT_GAS] / liquid
