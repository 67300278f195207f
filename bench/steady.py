"""The steady twin: warm answers, plain against compiled, and ten thousand answers of one model."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from functools import cache, partial

from bench.harness import Benchmark
from steadyhead.hydraulics.kernel.layout import REDUCER

ANSWERS = 200
MANY = 10_000
WORKER = f"""
import sys
from steadyhead.hydraulics import build, case, solve
from steadyhead.station.examples import read
from steadyhead.station.load import load
model = build(load(read("quillenby-row")).station)
asked = case(model.station, "typical", "average").conditions
for _ in sys.stdin:
    for _ in range({ANSWERS}):
        solve(model, asked)
    print("done", flush=True)
"""


@cache
def _worker(engine: str) -> subprocess.Popen[str]:
    """Start a process that answers in one engine; it ends when this one closes its input."""
    return subprocess.Popen(
        [sys.executable, "-c", WORKER],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "STEADYHEAD_ENGINE": engine},
    )


def _answers(engine: str) -> None:
    worker = _worker(engine)
    assert worker.stdin is not None
    assert worker.stdout is not None
    worker.stdin.write("go\n")
    worker.stdin.flush()
    if not worker.stdout.readline():
        raise RuntimeError(f"The {engine} worker stopped; run the benchmark again to see why.")


def _many() -> None:
    from steadyhead.hydraulics import build, case, solve_many
    from steadyhead.station.examples import read
    from steadyhead.station.load import load

    model = build(load(read("quillenby-row")).station)
    asked = case(model.station, "typical", "average").conditions
    step = asked.supply_pressure / MANY
    solve_many(model, (replace(asked, supply_pressure=asked.supply_pressure + n * step) for n in range(MANY)))


@cache
def _streams(count: int) -> Callable[[], object]:
    """Return one warm solve of `count` like streams side by side, each a reducer between two valves."""
    from steadyhead.hydraulics import build
    from steadyhead.hydraulics.kernel import assembly
    from steadyhead.hydraulics.solving import conditions_row
    from steadyhead.records.steady import Conditions
    from steadyhead.station.examples import read
    from steadyhead.station.load import load

    model = build(load(read("quillenby-row")).station)
    asked = Conditions(supply_pressure=model.station.supply.typical.si, consumer_kv=20.0)
    row = assembly.Row(REDUCER, dict(enumerate(model.line.values[model.element[model.reducers[0].id]])))
    side = assembly.loss(model.k(300.0))
    branches = [[side, replace(row, tap=-2), side] for _ in range(count)]
    group = [assembly.parallel(*branches)] if count > 1 else [side, replace(row, tap=1), side]
    line = assembly.pack([side, *group, side])
    at = conditions_row(model, asked)
    return lambda: assembly.solve_line(line, at)


def _stream_solves(count: int) -> None:
    solve_once = _streams(count)
    for _ in range(ANSWERS):
        solve_once()


BENCHMARKS = (
    Benchmark(
        name="steady-answers",
        about=f"{ANSWERS} warm steady answers of one example: compiled engine, and plain against it",
        candidates={"compiled": lambda: _answers("compiled"), "plain": lambda: _answers("plain")},
    ),
    Benchmark(
        name="steady-streams",
        about=f"{ANSWERS} solves of one, two and three like streams side by side",
        candidates={f"{count} streams": partial(_stream_solves, count) for count in (1, 2, 3)},
    ),
    Benchmark(
        name="steady-many",
        about=f"{MANY} steady answers of one model in one process, building included",
        candidates={"compiled": _many},
        rounds=5,
    ),
)
