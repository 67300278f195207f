"""The engine and a general stiff integrator at the same error: the best setting of scipy, and ours."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import product
from typing import TYPE_CHECKING, Any

import numpy as np

from steadyhead import surge
from steadyhead.services.speed.cases import falling, pair
from steadyhead.surge.plan import Pipe, ReducerRow, Section, ShutOffRow
from steadyhead.work import Cancel, Progress

if TYPE_CHECKING:
    from steadyhead.services.speed.lines import Pair

SECONDS = 12.0
ALLOWED = 2e3
"""Error of both at the outlet, at tenths of a second: what the engine is held to. [Pa]"""
METHODS = ("Radau", "BDF", "LSODA")
SETTINGS: dict[bool, tuple[Sequence[float], Sequence[int]]] = {
    False: ((1e-3, 1e-4), (40, 80)),
    True: ((1e-2, 1e-3, 1e-4, 1e-5), (30, 60, 90, 120)),
}
"""Accuracies asked and cells of each main that are tried, by whether all are."""
OURS = (8, 12, 16, 25, 35, 50, 100)
FINE = 400
TIMES = np.linspace(0.0, SECONDS, round(10 * SECONDS) + 1)


@dataclass(frozen=True)
class Rivals:
    """The fastest of each kind whose error is small enough: its words and a call of it."""

    theirs_words: str
    theirs: Callable[[], object]
    ours_words: str
    ours: Callable[[], object]


def rivals(is_full: bool, progress: Progress, cancel: Cancel) -> Rivals | None:
    """Return the best setting of each; None where cancelled.

    Raises
    ------
    ImportError
        scipy is not here.
    RuntimeError
        No setting that was tried came within the error allowed.
    """
    from steadyhead.services.speed import lines

    fine = _ours(FINE)
    best: tuple[float, float, str, Callable[[], Any]] | None = None
    tried = list(_settings(lines, is_full))
    for done, (words, call) in enumerate(tried):
        if cancel():
            return None
        progress(done, len(tried), f"settings of scipy: {words}")
        started = time.perf_counter()
        try:
            off = float(np.abs(call().outlet - fine).max())
        except (RuntimeError, ValueError):
            continue
        took = time.perf_counter() - started
        if off <= ALLOWED and (best is None or took < best[0]):
            best = (took, off, words, call)
    if best is None:
        raise RuntimeError("no setting of scipy that was tried came within 0.02 bar.")
    for reaches in OURS:
        off = float(np.abs(_ours(reaches) - fine).max())
        if off <= best[1]:
            words = f"{reaches} reaches, {off / 1e5:.4f} bar"
            theirs = f"{best[2]}, {best[1] / 1e5:.4f} bar"
            return Rivals(theirs, best[3], words, partial(_ours, reaches))
    raise RuntimeError("no grid of the engine that was tried came as close as scipy.")


def _settings(lines: Any, is_full: bool) -> Iterator[tuple[str, Callable[[], Any]]]:
    asked = twin_of(lines, pair(FINE))
    event = lines.Event(((0.0, 30.0), (1.0, 30.0), (2.0, 18.0)))
    accuracies, cells = SETTINGS[is_full]
    for method, accuracy, count in product(METHODS, accuracies, cells):

        def call(m: str = method, a: float = accuracy, n: int = count) -> Any:
            return lines.integrate(asked, event, TIMES, cells=n, accuracy=a, method=m)

        yield f"{method}, {accuracy:.0e}, {count} cells", call


def _ours(reaches: int) -> Any:
    """Return the outlet pressure of the pair at `TIMES`. [Pa]"""
    plant = surge.compile_plan(pair(reaches))
    schedule = falling()
    trace = surge.run(plant, surge.start(plant, schedule), schedule, SECONDS)
    return np.interp(TIMES, np.asarray(trace.time), np.asarray(trace.pressure("T3")))


def twin_of(lines: Any, plan: surge.Plan) -> Pair:
    """Return a plan of two mains with reducer and shut-off as the yardstick wants it."""
    parts = {part.id: part for part in plan.station}
    reducer, shut_off, above, below = parts["RV1"], parts["SO1"], parts["IV1"], parts["IV2"]
    assert isinstance(reducer, ReducerRow)
    assert isinstance(shut_off, ShutOffRow)
    unit = lines.k_of(1.0)
    mains = [_main(lines, pipe) for pipe in plan.pipes]
    supply = next(joint for joint in plan.joints if isinstance(joint, surge.Reservoir))
    sections = [part.volume for part in plan.station if isinstance(part, Section)]
    body = reducer.body
    found: Pair = lines.Pair(
        up=mains[0],
        down=mains[1],
        supply=supply.pressure,
        is_reducer_first=True,
        kv_before=(above.coefficient / unit,),  # type: ignore[union-attr]
        kv_after=below.coefficient / unit,  # type: ignore[union-attr]
        kv=body.coefficient / unit,
        stroke=body.stroke,
        diaphragm=body.area,
        seat_ratio=body.seat_ratio,
        flow_force=body.flow_force,
        spring=(body.spring_shut, body.spring_rise),
        shut_off_spring=(shut_off.body.spring_shut, shut_off.body.spring_rise),
        kv_feed=reducer.feed / unit,
        kv_pilot=reducer.pilot / unit,
        closing=reducer.closing,
        band=reducer.band,
        lag=reducer.lag,
        trip=shut_off.trip,
        trip_lag=shut_off.lag,
        close_time=shut_off.close_time,
        kv_needle=0.0,
        volumes=(sections[0], sections[1], sections[2]),
        stiffness=plan.stiffness,
    )
    return found


def _main(lines: Any, pipe: Pipe) -> Any:
    return lines.Main(pipe.length, pipe.bore, pipe.wave_speed, pipe.roughness)
