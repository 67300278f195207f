"""The capacity map: a grid of 2,500 points with its zones, and the whole map with borders and margins."""

from __future__ import annotations

from functools import cache

from bench.harness import Benchmark
from steadyhead.design.basis import Basis
from steadyhead.design.capacity import capacity_map, ground_of
from steadyhead.design.capacity_borders import Ground
from steadyhead.design.twin import SteadyTwin
from steadyhead.station.examples import read
from steadyhead.station.load import load

SIDE = 50


@cache
def _station() -> tuple[Basis, SteadyTwin, Ground]:
    station = load(read("quillenby-row")).station
    twin = SteadyTwin(station)
    basis = Basis(station, twin)
    return basis, twin, ground_of(basis, twin.model, basis.layout.reducers[0])


def _grid() -> int:
    ground = _station()[2]
    pairs = [(1e-3 * (q + 1), 2.5e5 + 2e4 * p) for p in range(SIDE) for q in range(SIDE)]
    return len({ground.zone(point) for point in ground.at(pairs)})


def _whole() -> object:
    basis, twin, _ = _station()
    return capacity_map(basis, twin.model, basis.layout.reducers[0].id)


BENCHMARKS = (
    Benchmark(
        name="capacity",
        about=f"zones of {SIDE * SIDE} points, low flow included, and a whole map with its borders to 1 %",
        candidates={f"{SIDE * SIDE} points": _grid, "whole map": _whole},
    ),
)
