"""The capacity map: 2,500 points with their verdicts, compiled and plain; the whole map with borders."""

from __future__ import annotations

import os
import subprocess
import sys
from functools import cache, partial

from bench.harness import Benchmark
from steadyhead.design.basis import Basis
from steadyhead.design.capacity import capacity_map
from steadyhead.design.twin import SteadyTwin
from steadyhead.station.examples import read
from steadyhead.station.load import load

SIDE = 50
LEAST_POINTS = 2_000
WORKER = f"""
import sys
from steadyhead.design.basis import Basis
from steadyhead.design.capacity import ground_of
from steadyhead.design.quiet import quiet_of
from steadyhead.design.twin import SteadyTwin
from steadyhead.station.examples import read
from steadyhead.station.load import load
station = load(read("quillenby-row")).station
twin = SteadyTwin(station)
basis = Basis(station, twin)
reducer = basis.layout.reducers[0]
ground = ground_of(basis, twin.model, reducer)
quiet = quiet_of(ground, reducer)
pairs = [(1e-4 + 6e-4 * q, 2.5e5 + 2e4 * p) for p in range({SIDE}) for q in range({SIDE})]
for _ in sys.stdin:
    zones = [ground.zone(point) for point in ground.at(pairs)]
    bands = [quiet.flows(2.5e5 + 2e4 * p) for p in range({SIDE})]
    print(len(zones), len(set(zones)), flush=True)
"""


@cache
def _worker(engine: str) -> subprocess.Popen[str]:
    """Start a process that maps in one engine; it ends when this one closes its input."""
    return subprocess.Popen(
        [sys.executable, "-c", WORKER],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "STEADYHEAD_ENGINE": engine},
    )


def _grid(engine: str) -> None:
    worker = _worker(engine)
    assert worker.stdin is not None
    assert worker.stdout is not None
    worker.stdin.write("go\n")
    worker.stdin.flush()
    told = worker.stdout.readline().split()
    if not told or int(told[0]) < LEAST_POINTS:
        raise RuntimeError(f"The {engine} worker stopped short; run the benchmark again to see why.")


@cache
def _station() -> tuple[Basis, SteadyTwin]:
    station = load(read("quillenby-row")).station
    twin = SteadyTwin(station)
    return Basis(station, twin), twin


def _whole() -> object:
    basis, twin = _station()
    return capacity_map(basis, twin.model, basis.layout.reducers[0].id)


BENCHMARKS = (
    Benchmark(
        name="capacity",
        about=f"zones and low-flow verdict of {SIDE * SIDE} points with the loop check at {SIDE} inlets: "
        "compiled engine, and plain against it; and a whole map with its borders to 1 %",
        candidates={
            "compiled": partial(_grid, "compiled"),
            "plain": partial(_grid, "plain"),
            "whole map": _whole,
        },
        rounds=9,
    ),
)
