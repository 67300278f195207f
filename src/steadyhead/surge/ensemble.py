"""Many runs of one event, each with its tolerances somewhere else; of each run a few figures are kept."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Generator, Iterable, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from math import isnan, nan

from steadyhead.errors import InputError, NotConverged
from steadyhead.surge import defaults as d
from steadyhead.surge.events import Study
from steadyhead.surge.kernel import layout as at
from steadyhead.surge.peaks import judged, side_of, until_shut
from steadyhead.surge.plant import Plant, compile_plan
from steadyhead.surge.running import Runner
from steadyhead.surge.schedule import Schedule
from steadyhead.surge.starting import start
from steadyhead.surge.state import State
from steadyhead.surge.tolerances import Tolerance, moves_inputs, plan_with, schedule_with, values_at
from steadyhead.surge.watching import is_closing
from steadyhead.work import Cancel, Executor, Item, Progress, Result, never_cancel, no_progress

SIDES = ("supply", "consumer")


@dataclass(frozen=True, slots=True)
class Figures:
    """What is kept of one run.

    Parameters
    ----------
    peaks
        Highest pressure before a cavity fell in that is felt there, at datum, behind the shut-off until it
        stands shut: supply main, consumer main, then each section in walking order. [Pa]
    thrown
        The same until the end of the run, the wave thrown back with it. [Pa]
    lowest
        Lowest pressure of supply main and consumer main, at datum. [Pa]
    trip, shut
        First trip and first shut after it, of the shut-off that tripped first; NaN: none. [s]
    separated
        Whether a column parted.
    """

    peaks: tuple[float, ...]
    thrown: tuple[float, ...]
    lowest: tuple[float, float]
    trip: float
    shut: float
    separated: bool


@dataclass(frozen=True, slots=True)
class Ensemble:
    """One event and its tolerances: `run` makes the run at one point of the unit cube."""

    study: Study
    tolerances: tuple[Tolerance, ...]

    def run(self, shares: Sequence[float]) -> Figures | None:
        """Return the figures of one run; None where the station has no steady state there to begin with."""
        values = values_at(self.tolerances, shares)
        drafted = self.study.drafted
        plant = compile_plan(plan_with(drafted.plan, values))
        try:
            schedule, state = self.study.begin(plant)
            # What is found standing follows from the plant alone, and its inputs are hands on valves.
            if moves_inputs(values) and not self.study.is_primed:
                schedule = schedule_with(schedule, values)
                state = start(plant, schedule)
        except (InputError, NotConverged):
            return None
        return _watched(plant, state, schedule, self.study)


def sections_of(study: Study) -> tuple[str, ...]:
    """Return the names of the places of `Figures.peaks`."""
    return (*SIDES, *(part.id for part in study.drafted.rows.sections))


def _watched(plant: Plant, state: State, schedule: Schedule, study: Study) -> Figures:
    """Run an event in strides of a second; it ends where all that tripped has stood shut for a while."""
    runner = Runner(plant, state, schedule)
    stride = max(round(d.STRIDE.si / plant.step), 1)
    until = study.until
    while state.time < until - 0.5 * plant.step:
        left = max(int((until - state.time) / plant.step + 0.5), 1)
        steps = min(stride, left, runner.most)
        runner.advance(steps, steps)
        if state.time >= until - 0.5 * plant.step and until == study.until:
            until += d.WATCHED_LONGER.si if is_closing(plant, state) else 0.0
        if _is_decided(plant, state):
            break
    highest, rise, names = judged(plant, state), until_shut(plant, state), sections_of(study)
    peaks = tuple((rise if side_of(plant, name) == "consumer" else highest)[name] for name in names)
    thrown = tuple(highest[name] for name in names)
    lowest = (_lowest(plant, state, "supply"), _lowest(plant, state, "consumer"))
    return Figures(peaks, thrown, lowest, *_times(plant, state), _parted(plant, state))


def _lowest(plant: Plant, state: State, side: str) -> float:
    """Return the lowest head of a side as a pressure at datum, from which levels count. [Pa]"""
    heads = [float(min(state.lowest[g.place][: g.reaches + 1])) for g in plant.side(side)]
    return min(heads) * plant.weight


def _parted(plant: Plant, state: State) -> bool:
    return any(float(max(state.most_gas[g.place][: g.reaches + 1])) > d.SEPARATED.si for g in plant.grids)


def _shut_offs(plant: Plant, state: State) -> list[Sequence[float]]:
    return [state.row_state[row] for row, kind in enumerate(plant.kinds) if kind == at.SHUT_OFF]


def _is_decided(plant: Plant, state: State) -> bool:
    """Return whether all that tripped has stood shut for a while, and stays so."""
    rows = [row for row in _shut_offs(plant, state) if not isnan(row[at.T_TRIP])]
    return bool(rows) and all(
        row[at.TRIPPED] > 0.0
        and not isnan(row[at.T_CLOSED])
        and state.time > float(row[at.T_CLOSED]) + d.AFTER_SHUT.si
        for row in rows
    )


def _times(plant: Plant, state: State) -> tuple[float, float]:
    tripped = [row for row in _shut_offs(plant, state) if not isnan(row[at.T_TRIP])]
    if not tripped:
        return nan, nan
    first = min(tripped, key=lambda row: row[at.T_TRIP])
    return float(first[at.T_TRIP]), float(first[at.T_CLOSED])


class Threads:
    """Runs many items on threads of this process; kernels let go of the interpreter's lock.

    Only a few items per thread wait at a time, so that memory does not grow with their number.
    """

    WAITING = 4

    def __init__(self, threads: int | None = None) -> None:
        self.threads = threads or os.cpu_count() or 1

    def map(self, function: Callable[[Item], Result], items: Iterable[Item]) -> Generator[Result, None, None]:
        """Yield the results in the order of the items."""
        waiting: deque[Future[Result]] = deque()
        with ThreadPoolExecutor(self.threads) as pool:
            try:
                for item in items:
                    waiting.append(pool.submit(function, item))
                    if len(waiting) >= self.WAITING * self.threads:
                        yield waiting.popleft().result()
                while waiting:
                    yield waiting.popleft().result()
            finally:
                for future in waiting:
                    future.cancel()


def run_ensemble(
    ensemble: Ensemble,
    shares: Sequence[Sequence[float]],
    *,
    finished: Mapping[int, Figures | None] | None = None,
    keep: Callable[[int, Figures | None], None] = lambda place, figures: None,
    executor: Executor | None = None,
    progress: Progress = no_progress,
    cancel: Cancel = never_cancel,
) -> dict[int, Figures | None]:
    """Return the figures of every run by its place; fewer where it was cancelled.

    Each run hangs on its own point alone: the same figures come out in whatever order, on threads or on a
    cluster, at once or in parts.

    Parameters
    ----------
    ensemble
        Event and tolerances.
    shares
        Points of the unit cube, see `steadyhead.surge.sampling.latin_hypercube`.
    finished
        Figures that are there already; these runs are not made again.
    keep
        Told each run as it is finished.
    executor
        Threads of this process where none is given; see `steadyhead.work.Executor`.
    progress, cancel
        See `steadyhead.work`.
    """
    found = dict(finished or {})
    left = [place for place in range(len(shares)) if place not in found]
    workers = executor or Threads()
    progress(len(found), len(shares), "runs")
    results = workers.map(ensemble.run, (shares[place] for place in left))
    for place in left:
        if cancel():
            break
        found[place] = next(results)
        keep(place, found[place])
        progress(len(found), len(shares), "runs")
    close = getattr(results, "close", None)
    if close is not None:
        close()
    return found
