"""Zones of the capacity map on the grid of the independent reference, and of our slow program."""

from __future__ import annotations

import random
from collections.abc import Mapping
from math import isnan
from typing import Any

import pytest

from steadyhead.design.capacity_borders import Ground
from steadyhead.hydraulics.reach import ReachPoint
from tests.independent import slow_steady
from tests.independent.case_format import DEFAULTS, merged
from tests.independent.test_twin_cases import shared_cases
from tests.independent.twin_adapter import BAR, HOUR, conditions_of, model_of, run

pytestmark = pytest.mark.by_turns(4)

CODES = {"wide open": "open", "choked": "choked", "low flow": "low_flow", "holds": "regulating"}
GRIDS = [case for case in shared_cases() if case["scenario"] == "envelope"]


def codes(args: Mapping[str, Any]) -> tuple[list[str], list[ReachPoint]]:
    """Return code and answer of each point of a grid, as the capacity map judges it."""
    case = merged(DEFAULTS, args.get("station", {}))
    model, conditions = model_of(case), conditions_of(case)
    model = model.with_settings(
        {"RV": model.reducer_twin("RV").kv.with_si(conditions.lockup["RV"], "lock-up")}, model.band
    )
    ground = Ground(model, "RV", 0.0, model.atmosphere, args.get("lift_min", 0.03))
    pairs = [(q / HOUR, p * BAR) for p in args["p_in"] for q in args["Q"]]
    points = list(ground.at(pairs))
    return [CODES.get(ground.zone(point), "cavitation") for point in points], points


@pytest.mark.skipif(not GRIDS, reason="the reference cases are not beside this checkout")
@pytest.mark.source(
    kind="independent",
    ref="slow, clear program written apart from the product; cases shared with the project",
)
@pytest.mark.parametrize("case", GRIDS, ids=lambda case: case["name"])
def test_map_judges_the_grid_of_the_reference_alike(case: dict[str, Any]):
    found, points = codes(case["args"])
    assert found == case["expected"]["code"]
    for point, lift, p2 in zip(points, case["expected"]["lift"], case["expected"]["p2"], strict=True):
        assert point.lift == pytest.approx(lift, abs=1e-3)
        assert (p2 is None) == isnan(point.outlet_pressure)


@pytest.mark.source(kind="independent", ref="slow nested bisection from the written physics, section 6")
@pytest.mark.parametrize("change", [{}, {"b": 0.0, "FL": 0.75}, {"band": 0.3}, {"xFz": 0.3}])
def test_map_judges_a_finer_grid_as_the_slow_program_does(change: dict[str, float]):
    args = {
        "station": {"prv": change},
        "Q": [0.7, 2.0, 4.2, 9.0, 17.0, 33.0, 61.0, 134.0, 301.0],
        "p_in": [3.1, 4.2, 4.9, 6.3, 8.0, 9.7, 13.1, 25.0],
    }
    assert codes(args)[0] == slow_steady.envelope(args)["code"]


CHOICES: dict[str, list[Any]] = {
    "kvs": [30, 109, 384], "b": [0.0, 0.5, 2.0], "FL": [0.5, 0.75, 0.95], "xFz": [0.2, 0.3, 0.7],
    "band": [0.3, 1.5], "kv_open": [0.05, 0.2], "filter": [0.05], "s0": [0.2], "s1": [0.3],
    "r0": [0.4, 0.55], "r1": [0.05], "kv_pilot": [0.2], "kv_feed": [0.03],
    "screw": [[[0, 3]], [[0, 12]], [[0, 20]]],
}  # fmt: skip


@pytest.mark.source(kind="independent", ref="slow nested bisection from the written physics, section 6")
@pytest.mark.parametrize("seed", range(10))
def test_map_judges_random_sound_valves_as_the_slow_program_does(seed: int):
    dice = random.Random(seed)
    change = {key: dice.choice(values) for key, values in CHOICES.items() if dice.random() < 0.4}
    air = {"patm": dice.choice([80000.0, 101325.0]), "pv": dice.choice([1228.0, 7000.0])}
    args = {
        "station": {"prv": change, "fluid": air, "order": dice.choice(["prv_osv", "osv_prv"])},
        "Q": [0.3, 1.1, 4.0, 11.0, 33.0, 77.0, 152.0, 263.0, 600.0],
        "p_in": [1.5, 3.2, 4.6, 5.5, 8.1, 12.0, 20.0, 33.0],
        "lift_min": dice.choice([0.03, 0.05]),
    }
    found, slow = run("envelope", args), slow_steady.envelope(args)
    assert found["code"] == slow["code"] == codes(args)[0]
    assert found["lift"] == pytest.approx(slow["lift"], abs=1e-3)


@pytest.mark.source(
    kind="independent", ref="forces and seat flow of the slow program, section 2 of the physics"
)
@pytest.mark.parametrize(
    "fault", [{"tear": 0.5}, {"tear": 2.0}, {"y_stuck": 1.0}, {"y_stuck": 0.7}, {"x_min": 0.02}, {}]
)
def test_a_failed_valve_stands_where_the_seat_passes_the_flow_and_the_stem_is_at_rest(
    fault: dict[str, float],
):
    station = {"prv": fault}
    flows, inlets = [2.0, 9.0, 33.0, 61.0], [6.0, 8.0, 9.7, 13.1]
    found = run("envelope", {"station": station, "Q": flows, "p_in": inlets})
    line = slow_steady.Line(merged(DEFAULTS, station))
    places = [(p, q) for p in inlets for q in flows]
    for (inlet, flow), lift, outlet in zip(places, found["lift"], found["p2"], strict=True):
        p1, p2 = inlet * BAR, outlet * BAR
        passed = slow_steady.valve_flow(line.k_seat(lift), p1, p2, line.prv["FL"], line.water)
        assert passed * HOUR == pytest.approx(flow, rel=1e-6)
        pushes_shut = line.holding(line.pilot_opening(p2), p1, p2) - line.balance(lift, p1, p2)
        if line.prv["x_min"] < lift < 1.0:
            assert abs(pushes_shut) < 1.0
        else:
            assert pushes_shut * (1.0 if lift < 1.0 else -1.0) > -1.0
