"""One step of the whole, and many: pipes, station, joints, records. The only door of the kernel."""

from __future__ import annotations

from math import sqrt

from steadyhead.laws.cavity import head_over_gas
from steadyhead.laws.compiling import Floats, FloatTable, inner_kernel, kernel
from steadyhead.laws.lift import interpolate
from steadyhead.laws.pilot import chamber_inflow
from steadyhead.surge.kernel.acting import AT_ONCE, judge_after, move_before
from steadyhead.surge.kernel.chain import node_pressure, prepare
from steadyhead.surge.kernel.joints import advance_joint
from steadyhead.surge.kernel.judging import (
    close_sides,
    fall_in,
    has_broken,
    is_judged,
    keep_until_now,
    note_falls,
    note_shut,
)
from steadyhead.surge.kernel.layout import (
    ABOVE,
    ATMOSPHERE,
    B_FLOW,
    BLEED,
    BROKEN,
    CARRIED,
    CHAMBER,
    CHAMBERED,
    COLUMN,
    DISC,
    DRAIN,
    DRAW,
    F_BM,
    F_BP,
    F_CHOKING,
    F_CM,
    F_CP,
    F_IN_GAS,
    F_IN_LEVEL,
    F_IN_OLD,
    F_OUT_GAS,
    F_OUT_LEVEL,
    F_OUT_OLD,
    F_STEP,
    F_VAPOUR,
    F_WEIGHT,
    FALLEN,
    FEEDING,
    FELL_CONSUMER,
    FELL_SUPPLY,
    GAP,
    HAS_STATION,
    HIGHEST,
    IN_GAS,
    IN_LEVEL,
    IN_PIPE,
    INFLOW,
    INTO_NODES,
    INTO_ROWS,
    IS_HELD,
    JUDGED,
    LINE_ROWS,
    LOWEST_SEEN,
    M_ABOVE,
    M_FLOW,
    M_GAS,
    MOST_VOLUME,
    N_BM,
    N_BP,
    N_CM,
    N_CP,
    N_GAS,
    NODE_RELIEF,
    NODE_SIDE,
    NOW,
    OUT_GAS,
    OUT_LEVEL,
    OUT_PIPE,
    OUTLET_FLOW,
    PARTED,
    PILOT_OPEN,
    POINTS,
    POINTS_AT,
    PRESSURE,
    R_FIRST_NODE,
    R_IN,
    R_JOINT,
    R_OUT,
    R_RELIEF,
    R_ROW,
    R_TIME,
    REACHES,
    REDUCER,
    RELIEF_FLOW,
    ROW,
    SHUNTED,
    SHUT_OFF,
    STEP,
    STEPS,
    STROKE,
    T_HIGHEST,
    TARGET,
    THROAT,
    TIME,
    TRIPPED,
    VAPOUR,
    WEIGHT,
    Chain,
    Joints,
    Live,
    Pipes,
    X,
)
from steadyhead.surge.kernel.pipes import SANE, advance_pipes, end_node
from steadyhead.surge.kernel.settling import settle
from steadyhead.surge.kernel.shunts import commit_relief
from steadyhead.surge.kernel.stems import commit_stem, turn_screw


@inner_kernel
def step_at(now: float, times: Floats, values: Floats, start: int, count: int) -> float:
    """Return the value of a table that holds each value until the next point."""
    found = values[start]
    for place in range(start, start + count):
        if times[place] > now + AT_ONCE:
            break
        found = values[place]
    return found


@inner_kernel
def write_inputs(now: float, step: float, live: Live, chain: Chain, joints: Joints) -> None:
    """Write every live input into its place: straight ones as at the end of the step that ends now, held ones
    as at its beginning, so that an event at a moment acts from that moment on.
    """
    for number in range(len(live.links)):
        link = live.links[number]
        if link[IS_HELD] > 0:
            value = step_at(now - step, live.times, live.values, link[POINTS_AT], link[POINTS])
        else:
            value = interpolate(now, live.times, live.values, link[POINTS_AT], link[POINTS])
        if link[TARGET] == INTO_ROWS:
            chain.values[link[ROW]][link[COLUMN]] = value
        elif link[TARGET] == INTO_NODES:
            chain.node_values[link[ROW]][link[COLUMN]] = value
        else:
            joints.values[link[ROW]][link[COLUMN]] = value


@inner_kernel
def gather(chain: Chain, pipes: Pipes, water: Floats, found: Floats) -> None:
    """Fill what the pipes and the water bring to the march."""
    found[F_IN_GAS] = chain.station[IN_GAS]
    found[F_OUT_GAS] = chain.station[OUT_GAS]
    found[F_IN_LEVEL] = chain.station[IN_LEVEL]
    found[F_OUT_LEVEL] = chain.station[OUT_LEVEL]
    found[F_STEP] = water[STEP]
    found[F_WEIGHT] = water[WEIGHT]
    found[F_VAPOUR] = water[VAPOUR]
    found[F_CHOKING] = water[THROAT] - water[ATMOSPHERE] - water[VAPOUR]
    into = chain.station_links[IN_PIPE]
    last = pipes.links[into][REACHES]
    out = chain.station_links[OUT_PIPE]
    found[F_CP] = pipes.nodes[N_CP][into][last]
    found[F_BP] = pipes.nodes[N_BP][into][last]
    found[F_CM] = pipes.nodes[N_CM][out][0]
    found[F_BM] = pipes.nodes[N_BM][out][0]
    found[F_IN_OLD] = pipes.nodes[N_GAS][into][last]
    found[F_OUT_OLD] = pipes.nodes[N_GAS][out][0]


@inner_kernel
def arriving_head(flow: float, found: Floats, chain: Chain, water: Floats) -> float:
    """Return the head above vapour where the supply main ends, from what the station takes. [Pa]

    The march knows it too, but beside a cavity and behind shut valves only as the difference of two large
    numbers. Asked of the balance of that node alone it keeps its digits, and no water is lost.

    Notes
    -----
    (C_p − H)/B_p − Q + (V_g − V_g,old)/Δt = 0, a quadratic in h.
    """
    slope = 1.0 / (water[WEIGHT] * found[F_BP])
    level = water[VAPOUR] / water[WEIGHT] + chain.station[IN_LEVEL]
    offset = (found[F_CP] - level) / found[F_BP] - flow - found[F_IN_OLD] / water[STEP]
    return head_over_gas(slope, -offset, chain.station[IN_GAS] / water[STEP])


@inner_kernel
def commit_ends(head: float, found: Floats, chain: Chain, pipes: Pipes, water: Floats, run: Floats) -> None:
    """Put what the march found at the two pipe ends of the station."""
    into = chain.station_links[IN_PIPE]
    last = pipes.links[into][REACHES]
    out = chain.station_links[OUT_PIPE]
    gas = chain.station[OUT_GAS] / head
    leaving = (head + water[VAPOUR]) / water[WEIGHT] + chain.station[OUT_LEVEL]
    flow = (leaving - found[F_CM]) / found[F_BM]
    run[OUTLET_FLOW] = chain.march[0][M_FLOW]
    end_node(out, 0, leaving, run[OUTLET_FLOW], flow, gas, pipes, water[PARTED])
    run[INFLOW] = chain.march[chain.station_links[LINE_ROWS] - 1][M_FLOW]
    liquid = arriving_head(run[INFLOW], found, chain, water)
    arriving = (liquid + water[VAPOUR]) / water[WEIGHT] + chain.station[IN_LEVEL]
    flow = (found[F_CP] - arriving) / found[F_BP]
    gas = chain.station[IN_GAS] / liquid
    end_node(into, last, arriving, flow, run[INFLOW], gas, pipes, water[PARTED])


@inner_kernel
def commit_nodes(head: float, chain: Chain, joints: Joints, water: Floats, run: Floats, now: float) -> None:
    """Keep node pressures with their extremes, and count what shunts and chambers take."""
    step = water[STEP]
    for node in range(len(chain.node_state)):
        state = chain.node_state[node]
        pressure = node_pressure(node, head, chain.march, water[VAPOUR])
        if not abs(pressure) < SANE * water[WEIGHT]:
            run[BROKEN] = now
            continue
        state[NOW] = pressure
        state[ABOVE] = head if node == 0 else chain.march[node - 1][M_ABOVE]
        if pressure > state[HIGHEST]:
            state[HIGHEST] = pressure
            state[T_HIGHEST] = now
            if is_judged(node, chain, run):
                state[JUDGED] = pressure
        if pressure < state[LOWEST_SEEN]:
            state[LOWEST_SEEN] = pressure
        if chain.node_values[node][DRAIN] > 0.0 and pressure > 0.0:
            run[SHUNTED] += step * chain.node_values[node][DRAIN] * sqrt(pressure)
        relief = chain.node_links[node][NODE_RELIEF]
        if relief >= 0:
            state_of = joints.relief_state[relief]
            commit_relief(
                pressure,
                joints.relief_links[relief],
                joints.relief_values[relief],
                state_of,
                step,
                chain.xs,
                chain.ys,
            )
            run[SHUNTED] += step * state_of[RELIEF_FLOW]


@inner_kernel
def watch_sections(head: float, chain: Chain, pipes: Pipes, water: Floats) -> None:
    """Note a cavity that falls in in a section of the station, at the pipe on its side."""
    for node in range(1, len(chain.node_state)):
        line = chain.march[node - 1]
        if line[M_GAS] > 0.0:
            state = chain.node_state[node]
            volume = line[M_GAS] / line[M_ABOVE]
            if state[MOST_VOLUME] > water[PARTED] > volume:
                behind = chain.node_links[node][NODE_SIDE] > 0
                fall_in(chain.station_links[OUT_PIPE if behind else IN_PIPE], pipes)
            state[MOST_VOLUME] = max(state[MOST_VOLUME], volume)


@inner_kernel
def stand_still(now: float, pipes: Pipes, run: Floats) -> None:
    """End a run in which a figure left all bounds: nothing moves any more, nothing more is judged."""
    run[BROKEN] = now
    run[FALLEN] = 1.0
    for side in (FELL_SUPPLY, FELL_CONSUMER):
        if run[side] <= 0.0:
            run[side] = now
    close_sides(pipes, run)


@inner_kernel
def commit_branches(chain: Chain) -> None:
    """Keep what every branch carries, for the search of the next step."""
    for row in range(chain.station_links[LINE_ROWS], len(chain.kinds)):
        if chain.kinds[row] == GAP:
            chain.state[row][CARRIED] = chain.march[row][B_FLOW]


@inner_kernel
def count_chambers(head: float, chain: Chain, water: Floats, run: Floats) -> None:
    """Count what chambers took in this step, with the feed and bleed the march used."""
    for place in range(len(chain.stems)):
        row = chain.stems[place]
        if chain.kinds[row] == REDUCER:
            inlet = node_pressure(row + 1, head, chain.march, water[VAPOUR])
            outlet = node_pressure(row, head, chain.march, water[VAPOUR])
            state = chain.state[row]
            taken = chamber_inflow(state[CHAMBER], inlet, outlet, state[FEEDING], state[BLEED])
            run[CHAMBERED] += water[STEP] * taken


@inner_kernel
def step_station(
    now: float,
    found: Floats,
    stems: Floats,
    chain: Chain,
    joints: Joints,
    pipes: Pipes,
    water: Floats,
    run: Floats,
) -> None:
    """Advance the station over one step."""
    gather(chain, pipes, water, found)
    move_before(chain, water[STEP])
    for place in range(len(chain.stems)):
        turn_screw(chain.stems[place], chain)
    prepare(chain, water)
    head = settle(found, chain, joints, water, run, stems)
    count_chambers(head, chain, water, run)
    for place in range(len(chain.stems)):
        row = chain.stems[place]
        commit_stem(row, stems[row], head, chain, water)
    commit_ends(head, found, chain, pipes, water, run)
    watch_sections(head, chain, pipes, water)
    note_falls(pipes, chain, water, run, now)
    commit_nodes(head, chain, joints, water, run, now)
    commit_branches(chain)
    judge_after(head, chain, water, now, water[STEP])


@kernel
def write_record(line: Floats, chain: Chain, joints: Joints, run: Floats) -> None:
    """Write one line of a record."""
    line[R_TIME] = run[TIME]
    line[R_IN] = run[INFLOW]
    line[R_OUT] = run[OUTLET_FLOW]
    at = R_FIRST_NODE
    for node in range(len(chain.node_state)):
        line[at] = chain.node_state[node][NOW]
        at += 1
    for row in range(len(chain.kinds)):
        state = chain.state[row]
        line[at] = state[X]
        if chain.kinds[row] >= REDUCER:
            line[at] = state[X] / chain.values[row][STROKE]
        line[at + 1] = state[PILOT_OPEN]
        line[at + 2] = state[CHAMBER]
        line[at + 3] = state[TRIPPED] if chain.kinds[row] == SHUT_OFF else 0.0
        at += R_ROW
    for joint in range(len(joints.links)):
        line[at] = joints.state[joint][PRESSURE]
        line[at + 1] = joints.state[joint][DRAW]
        at += R_JOINT
    for relief in range(len(joints.relief_state)):
        line[at] = joints.relief_state[relief][DISC]
        line[at + 1] = joints.relief_state[relief][RELIEF_FLOW]
        at += R_RELIEF


@kernel
def advance(
    steps: int,
    pipes: Pipes,
    joints: Joints,
    chain: Chain,
    live: Live,
    water: Floats,
    run: Floats,
    stems: Floats,
    found: Floats,
    record: FloatTable,
    stride: int,
) -> int:
    """Advance everything by `steps` steps in place and return how many lines of the record were written.

    Parameters
    ----------
    steps
        Whole steps of the length in `water`.
    pipes, joints, chain, live
        The station with its mains, see `steadyhead.surge.kernel.layout`.
    water, run
        Water and numbers of the run; what the run keeps.
    stems, found
        Work rows: one place per chain row, six places.
    record
        Filled from its first line, one line every `stride` steps counted from the start of the run.
    """
    written = 0
    for _ in range(steps):
        run[STEPS] += 1.0
        now = run[STEPS] * water[STEP]
        run[TIME] = now
        if run[BROKEN] > 0.0:
            if int(run[STEPS]) % stride == 0:
                write_record(record[written], chain, joints, run)
                written += 1
            continue
        write_inputs(now, water[STEP], live, chain, joints)
        advance_pipes(pipes, water)
        if chain.station_links[HAS_STATION] > 0:
            step_station(now, found, stems, chain, joints, pipes, water, run)
        for joint in range(len(joints.links)):
            advance_joint(joint, joints, pipes, water, chain.xs, chain.ys, run)
        note_falls(pipes, chain, water, run, now)
        if chain.station_links[HAS_STATION] > 0:
            note_shut(pipes, chain, run, now)
        if run[BROKEN] > 0.0 or has_broken(pipes):
            stand_still(now, pipes, run)
        if int(run[STEPS]) % stride == 0:
            write_record(record[written], chain, joints, run)
            written += 1
    keep_until_now(pipes, chain, run)
    return written
