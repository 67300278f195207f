"""Stations drawn at random far outside good practice; run as a script it prints their steady states."""

from __future__ import annotations

import json
import math
import random
import sys
from math import inf, nan

from steadyhead.hydraulics.kernel import assembly
from steadyhead.hydraulics.kernel.assembly import Solution
from steadyhead.laws.compiling import Floats
from tests.hydraulics.kernel.lines import Station


def wild_station(draw: random.Random) -> Station:
    """Return a station with odd sizes, levels, settings, draw-offs and at most a few faults."""

    def spread(low: float, high: float) -> float:
        return low * math.pow(high / low, draw.random())

    def seldom(value: float, usual: float, chance: float = 0.15) -> float:
        return value if draw.random() < chance else usual

    ground = draw.uniform(-80.0, 80.0)
    return Station(
        consumers=seldom(0.0, spread(1e-3, 3e3), 0.1),
        drawn=seldom(spread(1e-7, 0.1), nan, 0.2),
        exponent=draw.choice([0.5, 0.5, 0.7, 1.0, 1.2]),
        supply=draw.uniform(0.0, 40.0),
        lockup=draw.uniform(0.0, 20.0),
        band=spread(0.05, 3.0),
        drain=seldom(spread(0.01, 50.0), 0.0, 0.3),
        inlet_valve=draw.choice([1.0, 1.0, draw.random(), 1e-6]),
        outlet_valve=draw.choice([1.0, 1.0, draw.random(), 0.0]),
        strainer=spread(1.0, 1e3),
        shut_off_downstream=draw.random() < 0.5,
        shut_off_lift=draw.choice([1.0, 1.0, 1.0, draw.random(), 0.0, 1e-9]),
        reducer_tap=draw.choice([None, None, 0, 1, 3]),
        supply_levels=(ground + draw.uniform(-100.0, 100.0), ground),
        zone_levels=(ground, ground + draw.uniform(-100.0, 100.0)),
        main_lengths=(spread(1e-3, 3e4), spread(1e-3, 3e4)),
        feed=spread(1e-3, 1.0),
        needle=seldom(spread(1e-3, 1.0), inf),
        filter_kv=seldom(spread(1e-3, 1.0), inf),
        tear=seldom(spread(1e-3, 2.0), 0.0),
        leak=seldom(spread(1e-3, 2.0), 0.0),
        debris=seldom(draw.random() * 0.2, 0.0),
        given_lift=seldom(draw.random(), nan, 0.1),
        stuck_pilot=seldom(draw.choice([0.0, 1.0, draw.random()]), nan, 0.1),
        trapped=seldom(draw.uniform(0.0, 20.0), nan, 0.1),
        feed_blocked=draw.random() < 0.05,
    )


def solved(seed: int) -> tuple[Station, Solution]:
    """Return the wild station of a seed and its steady state."""
    station = wild_station(random.Random(seed))
    return station, station.solved()


def numbers(row: Floats) -> list[float | None]:
    """Return a row as plain floats; None for NaN, which JSON does not know."""
    return [float(number) if number == number else None for number in row]


def report(count: int) -> str:
    """Return endings, pressures, flows and outcomes of the first seeds as JSON."""
    answers = []
    for seed in range(count):
        _, found = solved(seed)
        rows = [numbers(row) for row in found.outcomes]
        answers.append([found.ending, numbers(found.nodes), numbers(found.flows), rows])
    return json.dumps(answers)


def blank(station: Station) -> Solution:
    """Return an empty solution of a station's size."""
    return assembly.blank_solution(station.line())


if __name__ == "__main__":
    sys.stdout.write(report(int(sys.argv[1])))
