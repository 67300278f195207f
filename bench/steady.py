"""The steady twin: warm answers, plain against compiled, and ten thousand answers of one model."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from functools import cache, partial

from bench.harness import Benchmark
from steadyhead.hydraulics.kernel.layout import CLOSING, REDUCER, SOLVED

ANSWERS = 200
MANY = 10_000
STAGGER = 2e4  # between the settings of two streams [Pa]
TRICKLE, WIDE = 0.05, 60.0  # Kv of the consumers at the two ends of a sweep
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

COUNTER = f"""
from statistics import median
from steadyhead.hydraulics.kernel import march
from bench.steady import sweep_of
real, looks = march.inlet_pressure, [0]
def counted(*given):
    looks[0] += 1
    return real(*given)
march.inlet_pressure = counted
for count in (1, 2, 3, 4, 5, 6):
    looks[0] = 0
    line = sweep_of(count)()
    print(f"  {{count}} streams: looks at the line {{median(line):.0f}} median, {{max(line)}} most; "
          f"at elements {{looks[0] / {ANSWERS}:.0f}} a solve")
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


def sweep_of(count: int) -> Callable[[], list[int]]:
    """Return a warm sweep of the draw-off of `count` streams side by side, trickle to wide open.

    Each stream is a reducer between two valves, set a little lower than the one before. The
    sweep returns how often each solve looked at the line.
    """
    from steadyhead.hydraulics import build
    from steadyhead.hydraulics.kernel import assembly
    from steadyhead.hydraulics.solving import conditions_row
    from steadyhead.records.steady import Conditions
    from steadyhead.station.examples import read
    from steadyhead.station.load import load

    model = build(load(read("quillenby-row")).station)
    row = assembly.Row(REDUCER, dict(enumerate(model.line.values[model.element[model.reducers[0].id]])))
    side = assembly.loss(model.k(300.0))
    rows = [
        replace(row, columns={**row.columns, CLOSING: row.columns[CLOSING] - STAGGER * n})
        for n in range(count)
    ]
    branches = [[side, replace(one, tap=-2), side] for one in rows]
    group = [assembly.parallel(*branches)] if count > 1 else [side, replace(row, tap=1), side]
    line = assembly.pack([side, *group, side])
    supply = model.station.supply.typical.si
    asked = [
        conditions_row(
            model,
            Conditions(supply_pressure=supply, consumer_kv=TRICKLE * (WIDE / TRICKLE) ** (n / (ANSWERS - 1))),
        )
        for n in range(ANSWERS)
    ]

    def sweep() -> list[int]:
        found = [assembly.solve_line(line, at) for at in asked]
        if any(one.ending != SOLVED for one in found):
            raise RuntimeError(f"{count} streams: a solve of the sweep did not close.")
        return [one.evaluations for one in found]

    return sweep


_sweep = cache(sweep_of)


def _swept(count: int) -> None:
    _sweep(count)()


def _count_looks() -> None:
    """Print how often a sweep looks at the line and at single elements, counted in the plain engine."""
    done = subprocess.run(
        [sys.executable, "-c", COUNTER],
        env={**os.environ, "STEADYHEAD_ENGINE": "plain"},
        capture_output=True,
        text=True,
        check=True,
    )
    print(done.stdout, end="")


BENCHMARKS = (
    Benchmark(
        name="steady-answers",
        about=f"{ANSWERS} warm steady answers of one example: compiled engine, and plain against it",
        candidates={"compiled": lambda: _answers("compiled"), "plain": lambda: _answers("plain")},
    ),
    Benchmark(
        name="steady-streams",
        about=f"a sweep of the draw-off, {ANSWERS} solves, of one, two and three streams side by side",
        candidates={f"{count} streams": partial(_swept, count) for count in (1, 2, 3)},
    ),
    Benchmark(
        name="steady-looks",
        about="the same sweeps in the plain engine, evaluations counted",
        candidates={"count": _count_looks},
        rounds=1,
    ),
    Benchmark(
        name="steady-many",
        about=f"{MANY} steady answers of one model in one process, building included",
        candidates={"compiled": _many},
        rounds=5,
    ),
)
