"""What is read off a run: extremes, settling, swing, mass account."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from steadyhead.surge import defaults as d
from steadyhead.surge.kernel import layout as at
from steadyhead.surge.plant import Plant
from steadyhead.surge.state import State


@dataclass(frozen=True, slots=True)
class Extremes:
    """Highest and lowest pressure at any node of one side, each at its own level [Pa], and most gas [m³]."""

    highest: float
    lowest: float
    most_gas: float

    @property
    def is_separated(self) -> bool:
        """Whether the water column parted somewhere."""
        return self.most_gas > d.SEPARATED.si


def extremes(plant: Plant, state: State, side: str) -> Extremes:
    """Return the extremes of one side, ``"supply"`` or ``"consumer"``, since the start of the run."""
    high, low, gas = -float("inf"), float("inf"), 0.0
    for grid in plant.side(side):
        at_pipe = grid.place
        for node in range(grid.reaches + 1):
            level = plant.level[at_pipe][node]
            high = max(high, float(state.highest[at_pipe][node] - level))
            low = min(low, float(state.lowest[at_pipe][node] - level))
            gas = max(gas, float(state.most_gas[at_pipe][node]))
    return Extremes(high * plant.weight, low * plant.weight, gas)


def stored(plant: Plant, state: State) -> float:
    """Return the water held in mains and sections, up to a constant. [m³]

    Notes
    -----
    Σ V_node g H/a² − Σ V_g + Σ C_i p_i − Σ V_g,i.
    """
    gravity = plant.plan.water.gravity
    total = 0.0
    for grid in plant.grids:
        share = grid.area * grid.reach * gravity / grid.wave_speed**2
        heads = [float(head) for head in state.head[grid.place][: grid.reaches + 1]]
        total += share * (sum(heads) - 0.5 * (heads[0] + heads[-1]))
        total -= sum(float(gas) for gas in state.gas[grid.place][: grid.reaches + 1])
    for node, values in zip(state.node_state, state.node_values, strict=True):
        total += float(values[at.COMPLIANCE] * node[at.NOW])
        if values[at.NODE_GAS] > 0.0:
            total -= float(values[at.NODE_GAS] / node[at.ABOVE])
    return total


def mass_error(plant: Plant, state: State, stored_before: float) -> float:
    """Return the error of the mass account as share of what entered; 0 where nothing entered. [1]

    Vessel, zone and relief at a joint count as outflow there; drains and relief of the station as outflow.

    Parameters
    ----------
    stored_before
        `stored` at the start of the run. [m³]
    """
    run = state.run
    entered = float(run[at.ENTERED])
    off = entered - float(run[at.LEFT] + run[at.SHUNTED] + run[at.CHAMBERED])
    off -= stored(plant, state) - stored_before
    return abs(off) / abs(entered) if entered != 0.0 else 0.0


def settling(
    time: Sequence[float], values: Sequence[float], band: float = d.SETTLED_WITHIN.si
) -> float | None:
    """Return when a trace last left the band about its end, or None where it never did. [s]

    The end is the mean of the last tenth.
    """
    end = tail_mean(values, d.END_SHARE.si)
    last = None
    for moment, value in zip(time, values, strict=True):
        if abs(value - end) > band:
            last = float(moment)
    return last


def tail_mean(values: Sequence[float], share: float) -> float:
    """Return the mean of the last part of a trace."""
    start = _tail(values, share)
    return float(sum(values[start:])) / (len(values) - start)


def _tail(values: Sequence[float], share: float) -> int:
    return min(int(len(values) * (1.0 - share)), len(values) - 1)


def swing(time: Sequence[float], values: Sequence[float]) -> tuple[float, float | None]:
    """Return (peak to peak of the last quarter, its period [s]); no period where it hardly swings.

    The period is the mean distance of upward crossings of the mean.
    """
    start = _tail(values, d.RIPPLE_SHARE.si)
    tail = [float(value) for value in values[start:]]
    times = [float(moment) for moment in time[start:]]
    ripple = max(tail) - min(tail)
    if ripple < d.LEAST_SWING.si:
        return ripple, None
    mean = sum(tail) / len(tail)
    ups = [
        earlier_t + (mean - earlier) / (later - earlier) * (later_t - earlier_t)
        for earlier, later, earlier_t, later_t in zip(tail, tail[1:], times, times[1:], strict=False)
        if earlier < mean <= later
    ]
    if len(ups) < 3:
        return ripple, None
    return ripple, (ups[-1] - ups[0]) / (len(ups) - 1)


def interpolated(time: Sequence[float], values: Sequence[float], moment: float) -> float:
    """Return a trace at a moment, straight between its lines and constant outside."""
    if moment <= time[0]:
        return float(values[0])
    low, high = 0, len(time) - 1
    if moment >= time[high]:
        return float(values[high])
    while high - low > 1:
        middle = (low + high) // 2
        if time[middle] <= moment:
            low = middle
        else:
            high = middle
    share = (moment - time[low]) / (time[high] - time[low])
    return float(values[low] + share * (values[high] - values[low]))
