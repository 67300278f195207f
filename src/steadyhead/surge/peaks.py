"""What may be judged of a run, as the kernel kept it at each step: no look can come too late."""

from __future__ import annotations

from collections.abc import Mapping

from steadyhead.surge.kernel import layout as at
from steadyhead.surge.plant import Grid, Plant
from steadyhead.surge.state import State

SIDES = ("supply", "consumer")
_FELL = {"supply": at.FELL_SUPPLY, "consumer": at.FELL_CONSUMER}


def judged(plant: Plant, state: State) -> Mapping[str, float]:
    """Return the highest pressures of mains, by side, and of sections until a cavity fell in. [Pa at datum]

    A fall counts on its own side, and on the other where the shut-off stood further open than
    `steadyhead.surge.defaults.COUPLED`. Where none did, the highest at all.
    """
    return _highest(plant, state, at.JUDGED_HEAD, at.JUDGED)


def until_shut(plant: Plant, state: State) -> Mapping[str, float]:
    """Return the same until the last way through the station shut after a trip, that step included.

    Until then, and where none has shut, as `judged`. [Pa at datum]
    """
    return _highest(plant, state, at.SHUT_HEAD, at.UNTIL_SHUT)


def _highest(plant: Plant, state: State, head: int, pressure: int) -> Mapping[str, float]:
    found = {
        side: plant.weight * max(float(state.pipe_state[grid.place][head]) for grid in plant.mains(side))
        for side in SIDES
    }
    return found | {name: float(state.node_state[node][pressure]) for name, node in plant.nodes.items()}


def judged_place(plant: Plant, state: State, side: str, *, shut: bool = False) -> tuple[Grid, int]:
    """Return where in the mains of a side the highest of `judged` stood, or of `until_shut`: pipe, node."""
    head, node = (at.SHUT_HEAD, at.SHUT_AT) if shut else (at.JUDGED_HEAD, at.JUDGED_AT)
    grid = max(plant.mains(side), key=lambda one: float(state.pipe_state[one.place][head]))
    return grid, int(state.pipe_state[grid.place][node])


def side_of(plant: Plant, name: str) -> str:
    """Return on which side of the shut-off a place of `judged` lies."""
    if name in SIDES:
        return name
    return "consumer" if plant.node_links[plant.nodes[name]][at.NODE_SIDE] > 0 else "supply"


def fallen(state: State) -> frozenset[str]:
    """Return the sides on which a cavity that fell in was felt; of a broken run both."""
    return frozenset(side for side in SIDES if state.run[_FELL[side]] > 0.0)


def shut_at(state: State) -> float | None:
    """Return when the last way through the station shut after a trip [s], or None."""
    return float(state.run[at.T_SHUT]) or None


def broken_at(state: State) -> float | None:
    """Return when a figure left all bounds and the run stood still [s], or None.

    Nothing of such a run carries a verdict from then on.
    """
    return float(state.run[at.BROKEN]) or None
