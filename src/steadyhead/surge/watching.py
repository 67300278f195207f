"""Run a state to a time, or until nothing moves any more, or until what is asked is decided."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import ceil, inf, isnan
from typing import Any

from steadyhead.laws.compiling import FloatTable
from steadyhead.surge import defaults as d
from steadyhead.surge.kernel import layout as at
from steadyhead.surge.plant import Plant
from steadyhead.surge.running import Runner, Trace, joined, present
from steadyhead.surge.schedule import Schedule
from steadyhead.surge.state import State
from steadyhead.work import Cancel, Progress, never_cancel, no_progress

Decided = Callable[[Plant, State], bool]


@dataclass(frozen=True)
class Watched:
    """A run as it ended: its trace with the start as first line, and whether it ended at rest."""

    trace: Trace
    is_at_rest: bool


def watch(
    plant: Plant,
    state: State,
    schedule: Schedule,
    until: float,
    *,
    decided: Decided | None = None,
    ends_at_rest: bool = True,
    progress: Progress = no_progress,
    cancel: Cancel = never_cancel,
) -> Watched | None:
    """Advance a state in place until a time and return its trace; None where it was cancelled.

    Ends early at rest: no input still to come, no shut-off on its way, and in the last seconds nothing moved
    that a gauge shows, or only swings that small die away (`QUIET_FOR`, `QUIET_WITHIN`, `QUIET_SWING` of
    `steadyhead.surge.defaults`). Goes on for
    `WATCHED_LONGER` where at the end a shut-off has tripped and is not shut.

    Parameters
    ----------
    plant, state, schedule
        As in `steadyhead.surge.advance`.
    until
        [s]
    decided
        Asked every `LOOK` seconds of the run; true ends it.
    ends_at_rest
        False: runs to its end whatever moves.
    progress, cancel
        See `steadyhead.work`; told in seconds of the run.
    """
    runner = Runner(plant, state, schedule)
    stride = max(int(until / plant.step / d.MOST_LINES.si), 1)
    look = max(round(d.LOOK.si / plant.step / stride), 1) * stride
    quiet = _Quiet(plant, state, schedule, d.LOOK.si)
    kept: list[FloatTable] = [present(plant, state)]
    end, is_at_rest = until, False
    while state.time < end - 0.5 * plant.step and not is_at_rest:
        lines = []
        for steps in _pieces(min(look, max(int((end - state.time) / plant.step + 0.5), 1)), runner.most):
            if cancel():
                return None
            lines.append(runner.advance(steps, stride))
        kept += lines
        progress(int(min(state.time, end)), int(end), "s")
        if decided is not None and decided(plant, state):
            break
        is_at_rest = ends_at_rest and quiet.is_at_rest(lines)
        if state.time >= end - 0.5 * plant.step and end == until and is_closing(plant, state):
            end += d.WATCHED_LONGER.si
    progress(int(end), int(end), "s")
    return Watched(Trace(plant, joined(kept, plant)), is_at_rest)


def _pieces(steps: int, most: int) -> Iterator[int]:
    while steps > 0:
        yield min(steps, most)
        steps -= most


def is_closing(plant: Plant, state: State) -> bool:
    """Return whether a shut-off has tripped and is not shut."""
    rows = [row for row, kind in enumerate(plant.kinds) if kind == at.SHUT_OFF]
    return any(state.row_state[row][at.TRIPPED] > 0.0 and state.row_state[row][at.X] > 0.0 for row in rows)


def all_shut_since(plant: Plant, state: State) -> float:
    """Return since when every shut-off has stood tripped and shut; ∞: there is none, or one does not. [s]"""
    rows = [state.row_state[row] for row, kind in enumerate(plant.kinds) if kind == at.SHUT_OFF]
    if not rows or any(row[at.TRIPPED] <= 0.0 or isnan(row[at.T_CLOSED]) for row in rows):
        return inf
    return max(float(row[at.T_CLOSED]) for row in rows)


def _reach(lines: Any) -> tuple[list[float], list[float]]:
    """Return least and greatest of every column."""
    if isinstance(lines, list):
        columns = list(zip(*lines, strict=True))
        return [min(column) for column in columns], [max(column) for column in columns]
    return lines.min(axis=0).tolist(), lines.max(axis=0).tolist()


class _Quiet:
    """Whether a run has come to rest, from its record look by look."""

    def __init__(self, plant: Plant, state: State, schedule: Schedule, look: float) -> None:
        self.plant, self.state = plant, state
        times = [time for each in schedule.inputs for time, _ in each.points]
        for row in state.row_values:
            times += [float(row[c]) for c in (at.TRIP_AT, at.RESET_AT) if not isnan(row[c])]
        self.last_input = max(times, default=0.0)
        back = max(2.0 * grid.pipe.length / grid.wave_speed for grid in plant.grids)
        self.looks = ceil(max(d.QUIET_FOR.si, 2.0 * back) / look)
        self.seen: list[tuple[list[float], list[float]]] = []

    def is_at_rest(self, parts: list[FloatTable]) -> bool:
        """Take in the record since the last look; return whether nothing has moved for long enough."""
        if self.state.time <= self.last_input or is_closing(self.plant, self.state):
            self.seen.clear()
            return False
        lines = joined(parts, self.plant)
        if not len(lines):
            return False
        self.seen.append(_reach(lines))
        self.seen = self.seen[-2 * self.looks :]
        if len(self.seen) < self.looks:
            return False
        allowed = self._allowed()
        now = _joined_reach(self.seen[-self.looks :])
        if all(high - low <= room for (low, high), room in zip(now, allowed, strict=True)):
            return True
        if len(self.seen) < 2 * self.looks:
            return False
        before = _joined_reach(self.seen[: self.looks])
        return all(map(_stands_or_dies_away, before, now, allowed, self._may_swing()))

    def _allowed(self) -> list[float]:
        """Return how much each column of a record may move at rest, time as it likes."""
        return self._by_column(inf, d.QUIET_WITHIN.si, d.QUIET_FLOW.si, d.QUIET_LIFT.si, 0.0)

    def _may_swing(self) -> list[float]:
        """Return how many times as far each column may swing about a middle that stands still."""
        times = d.QUIET_SWING.si
        return self._by_column(1.0, times, times, 1.0, 1.0)

    def _by_column(
        self, time: float, pressure: float, flow: float, share: float, tripped: float
    ) -> list[float]:
        plant = self.plant
        found = [time, flow, flow] + [pressure] * len(plant.node_values)
        for _ in plant.kinds:
            found += [share, share, pressure, tripped]
        return found + [pressure, flow] * len(plant.joint_links) + [share, flow] * len(plant.relief_links)


def _joined_reach(seen: list[tuple[list[float], list[float]]]) -> list[tuple[float, float]]:
    """Return least and greatest of every column over several looks."""
    lows = [min(values) for values in zip(*(low for low, _ in seen), strict=True)]
    highs = [max(values) for values in zip(*(high for _, high in seen), strict=True)]
    return list(zip(lows, highs, strict=True))


def _stands_or_dies_away(
    before: tuple[float, float], now: tuple[float, float], room: float, times: float
) -> bool:
    """Return whether a column stands still, or swings ever less about a middle that does."""
    reach, earlier = now[1] - now[0], before[1] - before[0]
    if reach <= room:
        return True
    moved = abs(0.5 * (now[0] + now[1]) - 0.5 * (before[0] + before[1]))
    return reach <= times * room and reach < earlier and moved <= room
