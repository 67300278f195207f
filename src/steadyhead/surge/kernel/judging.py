"""What may be judged of a run, kept at each step: until a cavity falls in, until the shut-off is shut.

A head after a cavity has fallen in, where its wave is felt, carries no verdict. The node in which it falls is
asked before its head of that step is kept. A fall on one side of the station is felt on the other as long as
a way through stands further open than `COUPLED`.
"""

from __future__ import annotations

from math import isnan

from steadyhead.laws.compiling import Floats, inner_kernel
from steadyhead.surge.kernel.layout import (
    BRANCHES,
    COUPLED,
    FALLEN,
    FELL,
    FELL_CONSUMER,
    FELL_SUPPLY,
    FROM_ROW,
    GROUP,
    HAS_STATION,
    IS_BROKEN,
    IS_CLOSED,
    JUDGED,
    JUDGED_AT,
    JUDGED_HEAD,
    LINE_ROWS,
    M_CUT,
    N_HIGHEST,
    NODE_SIDE,
    PIPE_SIDE,
    REACHES,
    SHUT_AT,
    SHUT_HEAD,
    SHUT_OFF,
    SPAN,
    STROKE,
    T_SHUT,
    T_TRIP,
    TO_ROW,
    UNTIL_SHUT,
    Chain,
    Pipes,
    X,
)


@inner_kernel
def keep_highest(pipe: int, pipes: Pipes) -> None:
    """Keep the highest head of a pipe and its node, as they stand now, as what may be judged."""
    highest = pipes.nodes[N_HIGHEST][pipe]
    best = 0
    for node in range(pipes.links[pipe][REACHES] + 1):
        if highest[node] > highest[best]:
            best = node
    pipes.state[pipe][JUDGED_HEAD] = highest[best]
    pipes.state[pipe][JUDGED_AT] = float(best)


@inner_kernel
def fall_in(pipe: int, pipes: Pipes) -> None:
    """Note that a cavity falls in in a pipe; the heads kept so far are the last that may be judged."""
    state = pipes.state[pipe]
    state[FELL] = 1.0
    if state[IS_CLOSED] <= 0.0:
        keep_highest(pipe, pipes)
        state[IS_CLOSED] = 1.0


@inner_kernel
def share_open(row: int, chain: Chain) -> float:
    """Return how far the way through a group stands open, by its shut-offs. [1]"""
    most = 0.0
    first = chain.links[row][SPAN]
    for branch in range(first, first + chain.links[row][BRANCHES]):
        share = 1.0
        for inner in range(chain.spans[branch][FROM_ROW] + 1, chain.spans[branch][TO_ROW]):
            if chain.march[inner][M_CUT] > 0.0:
                share = 0.0
            elif chain.kinds[inner] == SHUT_OFF:
                share = min(share, chain.state[inner][X] / chain.values[inner][STROKE])
        most = max(most, share)
    return most


@inner_kernel
def way_open(chain: Chain) -> float:
    """Return how far the way through the station stands open, by its shut-offs; 1 where it has none. [1]"""
    share = 1.0
    for row in range(chain.station_links[LINE_ROWS]):
        if chain.kinds[row] == SHUT_OFF:
            share = min(share, chain.state[row][X] / chain.values[row][STROKE])
        elif chain.kinds[row] == GROUP:
            share = min(share, share_open(row, chain))
    return share


@inner_kernel
def has_tripped(chain: Chain) -> bool:
    """Return whether a shut-off has tripped in this run."""
    for row in range(len(chain.kinds)):
        if chain.kinds[row] == SHUT_OFF and not isnan(chain.state[row][T_TRIP]):
            return True
    return False


@inner_kernel
def note_falls(pipes: Pipes, chain: Chain, water: Floats, run: Floats, now: float) -> None:
    """Close the judging of each side a cavity has fallen in on, and of both where they are not parted."""
    falls = 0.0
    for pipe in range(len(pipes.links)):
        falls = max(falls, pipes.state[pipe][FELL])
    if falls <= 0.0:
        return
    for pipe in range(len(pipes.links)):
        state = pipes.state[pipe]
        if state[FELL] > 0.0:
            side = FELL_CONSUMER if pipes.links[pipe][PIPE_SIDE] > 0 else FELL_SUPPLY
            if run[side] <= 0.0:
                run[side] = now
            state[FELL] = 0.0
    run[FALLEN] = 1.0
    if chain.station_links[HAS_STATION] <= 0 or way_open(chain) > water[COUPLED]:
        for side in (FELL_SUPPLY, FELL_CONSUMER):
            if run[side] <= 0.0:
                run[side] = now
    close_sides(pipes, run)


@inner_kernel
def close_sides(pipes: Pipes, run: Floats) -> None:
    """Keep what may be judged of every pipe of a side on which a fall was felt."""
    for pipe in range(len(pipes.links)):
        side = FELL_CONSUMER if pipes.links[pipe][PIPE_SIDE] > 0 else FELL_SUPPLY
        if run[side] > 0.0 and pipes.state[pipe][IS_CLOSED] <= 0.0:
            keep_highest(pipe, pipes)
            pipes.state[pipe][IS_CLOSED] = 1.0


@inner_kernel
def is_judged(node: int, chain: Chain, run: Floats) -> bool:
    """Return whether the pressure of a chain node may still be judged."""
    return run[FELL_CONSUMER if chain.node_links[node][NODE_SIDE] > 0 else FELL_SUPPLY] <= 0.0


@inner_kernel
def note_shut(pipes: Pipes, chain: Chain, run: Floats, now: float) -> None:
    """Keep what was reached when the last open way through the station shuts after a trip."""
    if run[T_SHUT] > 0.0 or way_open(chain) > 0.0 or not has_tripped(chain):
        return
    keep_until_now(pipes, chain, run)
    run[T_SHUT] = now


@inner_kernel
def keep_until_now(pipes: Pipes, chain: Chain, run: Floats) -> None:
    """Bring what may be judged up to date, and until it is shut what was reached until then."""
    for pipe in range(len(pipes.links)):
        state = pipes.state[pipe]
        if state[IS_CLOSED] <= 0.0:
            keep_highest(pipe, pipes)
        if run[T_SHUT] <= 0.0:
            state[SHUT_HEAD] = state[JUDGED_HEAD]
            state[SHUT_AT] = state[JUDGED_AT]
    if run[T_SHUT] <= 0.0:
        for node in range(len(chain.node_state)):
            chain.node_state[node][UNTIL_SHUT] = chain.node_state[node][JUDGED]


@inner_kernel
def has_broken(pipes: Pipes) -> bool:
    """Return whether a pipe was given a head no run has."""
    count = 0.0
    for pipe in range(len(pipes.links)):
        count += pipes.state[pipe][IS_BROKEN]
    return count > 0.0
