"""Advance a state in place, in chunks short enough to be watched and stopped."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple, cast

from steadyhead.errors import InputError
from steadyhead.laws.compiling import FloatTable, floats, mode, table, wait
from steadyhead.surge.kernel import layout as at
from steadyhead.surge.kernel.advance import advance as advance_kernel
from steadyhead.surge.kernel.advance import write_record
from steadyhead.surge.plant import Plant
from steadyhead.surge.schedule import Schedule
from steadyhead.surge.state import State
from steadyhead.work import Cancel, Progress, never_cancel, no_progress

CELLS_PER_CHUNK = {"compiled": 1_500_000, "plain": 2_000}
"""Pipe nodes times steps between two looks at progress and cancel: well below 50 ms."""


class Views(NamedTuple):
    """A plant and a state as the kernel takes them; writing into them writes into the state."""

    pipes: at.Pipes
    joints: at.Joints
    chain: at.Chain


@dataclass(frozen=True)
class Chunk:
    """What one advance wrote: its record, one line per recorded step; see `Trace` for names."""

    lines: FloatTable
    was_cancelled: bool


@dataclass(frozen=True)
class Trace:
    """A record by name: one number per line, SI, the start included where it was asked for."""

    plant: Plant
    lines: FloatTable

    def column(self, place: int) -> list[float]:
        """Return one column."""
        if mode() == "plain":
            return [line[place] for line in self.lines]
        return cast("list[float]", self.lines[:, place].tolist())  # type: ignore[call-overload]

    @property
    def time(self) -> list[float]:
        """Time. [s]"""
        return self.column(at.R_TIME)

    @property
    def inflow(self) -> list[float]:
        """Flow into the station. [m³/s]"""
        return self.column(at.R_IN)

    @property
    def outflow(self) -> list[float]:
        """Flow out of the station. [m³/s]"""
        return self.column(at.R_OUT)

    def pressure(self, section: str) -> list[float]:
        """Return the pressure of a section. [Pa]"""
        return self.column(at.R_FIRST_NODE + self.plant.nodes[section])

    def node(self, number: int) -> list[float]:
        """Return the pressure of a chain node counted upstream; 0 is the outlet end. [Pa]"""
        return self.column(at.R_FIRST_NODE + number)

    def lift(self, row: str) -> list[float]:
        """Return the share of lift of a valve. [1]"""
        return self.column(self._row(row))

    def pilot(self, row: str) -> list[float]:
        """Return the pilot opening of a reducer. [1]"""
        return self.column(self._row(row) + 1)

    def chamber(self, row: str) -> list[float]:
        """Return the chamber pressure of a reducer. [Pa]"""
        return self.column(self._row(row) + 2)

    def is_tripped(self, row: str) -> list[float]:
        """Return 1 where a shut-off stands tripped."""
        return self.column(self._row(row) + 3)

    def joint(self, name: str) -> list[float]:
        """Return the pressure of a joint. [Pa]"""
        return self.column(self._joint(name))

    def draw(self, name: str) -> list[float]:
        """Return what consumers draw at a joint. [m³/s]"""
        return self.column(self._joint(name) + 1)

    def relief(self, name: str) -> list[float]:
        """Return the share of lift of a relief valve. [1]"""
        start = self._joint_start() + at.R_JOINT * len(self.plant.joints)
        return self.column(start + at.R_RELIEF * self.plant.reliefs[name])

    def _row(self, name: str) -> int:
        return at.R_FIRST_NODE + len(self.plant.node_values) + at.R_ROW * self.plant.rows[name]

    def _joint_start(self) -> int:
        return at.R_FIRST_NODE + len(self.plant.node_values) + at.R_ROW * len(self.plant.kinds)

    def _joint(self, name: str) -> int:
        return self._joint_start() + at.R_JOINT * self.plant.joints[name]


def record_width(plant: Plant) -> int:
    """Return how many numbers one line of a record has."""
    rows = len(plant.node_values) + at.R_ROW * len(plant.kinds)
    return (
        at.R_FIRST_NODE + rows + at.R_JOINT * len(plant.joint_links) + at.R_RELIEF * len(plant.relief_links)
    )


def kernel_views(plant: Plant, state: State) -> Views:
    """Return a plant and a state as the kernel takes them."""
    pipes = at.Pipes(plant.pipe_links, plant.pipe_values, plant.factors, state.nodes, state.pipe_state)
    joints = at.Joints(
        plant.joint_links,
        plant.ends,
        state.joint_values,
        state.joint_state,
        plant.relief_links,
        plant.relief_values,
        state.relief_state,
    )
    rows = len(plant.kinds)
    chain = at.Chain(
        plant.kinds,
        plant.row_links,
        state.row_values,
        state.row_state,
        plant.node_links,
        state.node_values,
        state.node_state,
        table([[0.0] * at.MARCH for _ in plant.kinds], at.MARCH),
        plant.station_links,
        plant.station,
        plant.stems,
        plant.spans,
        plant.xs,
        plant.ys,
        table([[0.0] * (2 * rows + 2) for _ in range(2 * rows + 5)], 2 * rows + 2),
    )
    return Views(pipes, joints, chain)


class Runner:
    """Advances one state under one schedule; keeps what the kernel is given, for many short advances."""

    def __init__(self, plant: Plant, state: State, schedule: Schedule) -> None:
        """Lay out plant, state and schedule as the kernel takes them."""
        wait()
        self.plant, self.state = plant, state
        self._views = kernel_views(plant, state)
        self._live = schedule.live(plant)
        self._stems = floats([0.0] * max(len(plant.kinds), 1))
        self._found = floats([0.0] * at.F_WIDTH)
        self._width = record_width(plant)
        self.most = max(CELLS_PER_CHUNK[mode()] // plant.node_count, 1)
        """Steps at once, so that nobody waits long for an answer."""

    def advance(self, steps: int, stride: int = 1) -> FloatTable:
        """Advance the state in place by whole steps and return what was recorded, a line every `stride`."""
        lines = _blank(steps // stride + 1, self._width)
        written = advance_kernel(
            steps,
            *self._views,
            self._live,
            self.plant.water,
            self.state.run,
            self._stems,
            self._found,
            lines,
            stride,
        )
        return lines[:written]


def advance(
    plant: Plant,
    state: State,
    schedule: Schedule,
    steps: int,
    *,
    stride: int = 1,
    progress: Progress = no_progress,
    cancel: Cancel = never_cancel,
) -> Chunk:
    """Advance a state in place by whole steps and return what was recorded.

    Goes on where the state stands: many short advances give the same numbers as one long one. Comes back to
    Python, tells progress and asks whether to stop at least every 50 ms compiled.

    Parameters
    ----------
    plant, state
        From `steadyhead.surge.compile_plan` and `start`.
    schedule
        Inputs of time; others keep what `state` holds.
    steps
        Steps of `plant.step`.
    stride
        Steps between two lines of the record.
    progress, cancel
        See `steadyhead.work`; what is finished when cancelled is kept in `state`.
    """
    if steps < 0 or stride < 1:
        raise InputError(
            "steps", f"got {steps}, stride {stride}.", "Give at least 0 steps and a stride of 1."
        )
    runner = Runner(plant, state, schedule)
    kept: list[FloatTable] = []
    done = 0
    while done < steps:
        if cancel():
            return Chunk(joined(kept, plant), True)
        now = min(runner.most, steps - done)
        kept.append(runner.advance(now, stride))
        done += now
        progress(done, steps, "steps")
    return Chunk(joined(kept, plant), False)


def run(
    plant: Plant,
    state: State,
    schedule: Schedule,
    until: float,
    *,
    progress: Progress = no_progress,
    cancel: Cancel = never_cancel,
) -> Trace:
    """Advance a state until a time and return its trace, the present as its first line. [s]"""
    steps = max(int((until - state.time) / plant.step + 0.5), 0)
    first = present(plant, state)
    chunk = advance(plant, state, schedule, steps, progress=progress, cancel=cancel)
    return Trace(plant, joined([first, chunk.lines], plant))


def present(plant: Plant, state: State) -> FloatTable:
    """Return one line of record of a state as it stands."""
    views = kernel_views(plant, state)
    lines = _blank(1, record_width(plant))
    write_record(lines[0], views.chain, views.joints, state.run)
    return lines


def _blank(count: int, width: int) -> FloatTable:
    if mode() == "plain":
        return [[0.0] * width for _ in range(count)]
    import numpy as np

    return cast("FloatTable", np.zeros((count, width)))


def joined(parts: Sequence[FloatTable], plant: Plant) -> FloatTable:
    """Return the lines of several records as one."""
    if mode() == "plain":
        return [line for part in parts for line in part]
    import numpy as np

    return cast("FloatTable", np.concatenate(parts) if parts else np.zeros((0, record_width(plant))))
