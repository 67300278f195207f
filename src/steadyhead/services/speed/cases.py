"""What is run to measure the transient twin: a plain pair of valves, and an example station."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

from steadyhead import surge
from steadyhead.laws.coefficients import k_of_kv
from steadyhead.laws.compiling import floats
from steadyhead.station.defaults import GRAVITY
from steadyhead.surge.plan import ValveBody
from steadyhead.surge.running import Runner
from steadyhead.surge.watching import watch
from steadyhead.work import Cancel, never_cancel

if TYPE_CHECKING:
    from steadyhead.surge.ensemble import Ensemble

WATER = surge.Water(999.7, 1.31e-6, 1228.0, 101325.0, 221.2e5, GRAVITY)
EXAMPLE = "dunmarrow-bottom"
EVENT = "pilot-stuck"
EVENT_SECONDS = 60.0
RUN_SECONDS = 30.0
FINE, STUDY = 100, 25
"""Reaches of the shorter main: 262 nodes in all, and what studies take, 67."""
STEPS = 2000
FRICTION_LOOKS = 4000


def kv(value: float) -> float:
    """Return k of a Kv."""
    return k_of_kv(value, WATER.density)


def _valves(number: int) -> tuple[surge.plan.Part, ...]:
    """Return a reducer and a shut-off with a section between them."""
    mid = f"T2.{number}"
    reducer = surge.ReducerRow(f"RV{number}", ValveBody(kv(170.0)), mid, kv(0.06), kv(0.12), 0.8e5, 4.5e5)
    shut_off = surge.ShutOffRow(f"SO{number}", ValveBody(kv(170.0)), "T3", 5.5e5, is_hydraulic=False)
    return reducer, surge.Section(mid, 0.008), shut_off


def _stream(number: int) -> tuple[surge.plan.Part, ...]:
    ends = [surge.LossRow(f"IV{number}.{place}", kv(894.0)) for place in (1, 2)]
    return ends[0], *_valves(number), ends[1]


def pair(reaches: int, streams: int = 1) -> surge.Plan:
    """Return reducer and shut-off between two mains of 500 m and 800 m, cut into so many reaches.

    With more streams such pairs, each between two valves of its own, stand side by side.
    """
    inner: tuple[object, ...] = _valves(1)
    if streams > 1:
        inner = (surge.Group("streams", tuple(_stream(n + 1) for n in range(streams))),)
    parts = (
        surge.LossRow("IV1", kv(894.0)),
        surge.Section("T1", 0.015),
        *inner,
        surge.Section("T3", 0.015),
        surge.LossRow("IV2", kv(894.0)),
    )
    pipes = (
        surge.Pipe("above", "supply", "station", 500.0, 0.15, 1e-4, 1150.0, side="supply"),
        surge.Pipe("below", "station", "zone", 800.0, 0.15, 1e-4, 1150.0),
    )
    joints = (surge.Reservoir("supply", 9e5), surge.Consumers("zone", kv(30.0)))
    return surge.Plan(WATER, pipes, joints, parts, numbers=surge.Numbers(reaches))  # type: ignore[arg-type]


def falling() -> surge.Schedule:
    """Return demand that falls from Kv 30 to 18 within a second."""
    points = ((0.0, kv(30.0)), (1.0, kv(30.0)), (2.0, kv(18.0)))
    return surge.Schedule((surge.Straight("zone", "demand", points),))


@cache
def _running(reaches: int, streams: int) -> Runner:
    plant = surge.compile_plan(pair(reaches, streams))
    schedule = falling()
    return Runner(plant, surge.start(plant, schedule), schedule)


def steps(reaches: int, streams: int = 1) -> object:
    """Advance the pair by `STEPS` steps from where the last call ended."""
    return _running(reaches, streams).advance(STEPS, STEPS)


def event(reaches: int) -> None:
    """Watch the fall of demand for a minute: layout, steady start, run, trace."""
    plant = surge.compile_plan(pair(reaches))
    schedule = falling()
    watch(plant, surge.start(plant, schedule), schedule, EVENT_SECONDS, ends_at_rest=False)


def window(cases: int) -> Callable[[], object]:
    """Return the search of a needle's window over the first so many credited cases of the example.

    A case is run at both ends of the band of mains its zone is entered through.
    """
    from steadyhead.design.protection import questions
    from steadyhead.services.library import completed
    from steadyhead.station.examples import read
    from steadyhead.station.load import load
    from steadyhead.surge.proof import proving
    from steadyhead.surge.proof_run import FailureRun
    from steadyhead.surge.window import needle_window

    question = next(questions(completed(load(read(EXAMPLE))).station))

    def search() -> object:
        made = proving(question)
        claims = [one.failure for one in question.claims if one.failure.credited]
        found = [(here, failure) for failure in claims for here in made.situations]
        asked = list(dict.fromkeys((failure, here.inlet, here.flow) for here, failure in found))[:cases]
        if len(asked) < cases:
            raise RuntimeError(f"The example has {len(asked)} design cases, {cases} are asked for.")
        runs = [
            FailureRun(here, failure, made.setting)
            for here, failure in found
            if (failure, here.inlet, here.flow) in asked
        ]
        return needle_window(runs, question.limits, made.setting, made.stroke, made.stopwatch, kv=made.kv)

    return search


@cache
def ensemble() -> Ensemble:
    """Return a reducer that fails open in the example, watched for half a minute, with its tolerances."""
    from steadyhead.design.basis import Basis
    from steadyhead.design.twin import SteadyTwin
    from steadyhead.hydraulics import build
    from steadyhead.services.library import completed
    from steadyhead.services.tolerances import tolerances_of
    from steadyhead.station.examples import read
    from steadyhead.station.load import load
    from steadyhead.station.streams import views
    from steadyhead.surge.ensemble import Ensemble
    from steadyhead.surge.events import studies

    view = views(completed(load(read(EXAMPLE))).station)[0]
    (study,), _ = studies(view, build(view.station), EVENT)
    basis = Basis(view.station, SteadyTwin(view.station))
    return Ensemble(replace(study, until=RUN_SECONDS), tolerances_of(basis, study.drafted))


def many(count: int, cancel: Cancel = never_cancel) -> None:
    """Make so many runs of `ensemble`, on the threads the product takes; fewer where cancelled."""
    from steadyhead.surge.ensemble import run_ensemble
    from steadyhead.surge.sampling import latin_hypercube

    asked = ensemble()
    shares = latin_hypercube(count, len(asked.tolerances), 1).tolist()
    run_ensemble(asked, shares, cancel=cancel)


def memory_of(count: int, cancel: Cancel = never_cancel) -> int:
    """Return the most memory so many runs of `ensemble` hold beyond what stood before. [bytes]"""
    import tracemalloc

    many(4)
    tracemalloc.start()
    try:
        before = tracemalloc.get_traced_memory()[0]
        many(count, cancel)
        return max(tracemalloc.get_traced_memory()[1] - before, 1)
    finally:
        tracemalloc.stop()


def friction_error() -> float:
    """Return the largest relative error of the friction factor by table, in the mains of `pair`. [1]"""
    from steadyhead.laws.friction import churchill
    from steadyhead.laws.friction_table import factor_from_table, friction_table

    worst = 0.0
    for rough in {pipe.roughness / pipe.bore for pipe in pair(STUDY).pipes}:
        factors = floats(friction_table(rough))
        for place in range(FRICTION_LOOKS):
            reynolds = 10.0 ** (1.0 + 7.0 * place / FRICTION_LOOKS)
            exact = float(churchill(reynolds, rough))
            worst = max(worst, abs(float(factor_from_table(reynolds, factors, 0)) / exact - 1.0))
    return worst
