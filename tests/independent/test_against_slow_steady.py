"""The product against a slow solver written apart from it; the slow solver against the shared cases first."""

from __future__ import annotations

import os
import random
from typing import Any

import pytest

from tests.independent import slow_steady, twin_adapter
from tests.independent.case_format import FAULTS
from tests.independent.comparing import (
    column_differences,
    disagreements,
    sequence_case,
    sequence_disagreements,
)
from tests.independent.random_cases import TRAITS, random_case
from tests.independent.test_twin_cases import shared_cases, worst_of

pytestmark = pytest.mark.by_turns(3)

SEED = int(os.environ["STEADYHEAD_SEED"])  # set and printed by tests/conftest.py
SLOW = (
    "slow nested bisection from the written physics, sections 1, 2, 3, 6, 10; no code shared with the product"
)
TOLERANCES = "0.1 % or 0.002 bar, 0.2 % or 0.05 m³/h, lift 0.001"


def steady_cases() -> list[dict[str, Any]]:
    """Return the shared cases without anything that happens in time."""
    return [
        case
        for case in shared_cases()
        if case["scenario"] in slow_steady.SCENARIOS and "dynamic" not in case["expected"]
    ]


@pytest.mark.skipif(not shared_cases(), reason="the reference cases are not beside this checkout")
@pytest.mark.source(
    kind="independent",
    ref="slow, clear program written apart from the product; cases shared with the project",
    note="validates our own slow program, which then judges the product",
)
@pytest.mark.parametrize("case", steady_cases(), ids=lambda case: case["name"])
def test_slow_program_meets_the_shared_cases(case: dict[str, Any]) -> None:
    got = slow_steady.SCENARIOS[case["scenario"]](case["args"])
    off = worst_of(got, case["expected"], case["tolerance"], case["name"])
    assert not off, "\n".join(off)


@pytest.mark.source(kind="independent", ref=SLOW, note=TOLERANCES)
@pytest.mark.parametrize("trait", TRAITS)
def test_random_station_agrees_with_the_slow_program(trait: str) -> None:
    number = tuple(TRAITS).index(trait)
    rng = random.Random(f"{SEED} {trait}")
    station = random_case(rng, number)[1]
    assert not disagreements({"station": station}), station


@pytest.mark.source(kind="independent", ref=SLOW, note=TOLERANCES)
@pytest.mark.parametrize("order", ["prv_osv", "osv_prv"])
@pytest.mark.parametrize("fault", FAULTS)
def test_signature_of_a_fault_agrees_with_the_slow_program(fault: str, order: str) -> None:
    args = {"fault": fault, "station": {"order": order}, "demand_kv": [0, 1, 10, 60], "dynamic": False}
    slow, ours = slow_steady.fault_signature(args), twin_adapter.run("fault_signature", args)
    slow["lift"][0] = ours["lift"][0]  # at rest the format states no lift
    assert not column_differences(slow, ours)


@pytest.mark.source(kind="independent", ref=SLOW, note=TOLERANCES)
def test_random_sequences_agree_with_the_slow_program() -> None:
    rng = random.Random(SEED)
    for _ in range(8):
        args = sequence_case(rng)
        assert not sequence_disagreements(args), args


@pytest.mark.source(
    kind="independent", ref=SLOW, note="outlet 0.1 % or 0.002 bar, lift 0.001, verdicts alike"
)
@pytest.mark.parametrize(
    "change", [{}, {"kv_open": 0.09}, {"filter": 0.05}, {"b": 0.0, "FL": 0.75}, {"band": 0.3}]
)
def test_reach_of_the_valve_alone_agrees_with_the_slow_program(change: dict[str, float]) -> None:
    flows, inlets = [0.7, 4.2, 17.0, 61.0, 134.0, 301.0], [3.1, 4.9, 6.3, 9.7, 13.1]
    args = {"station": {"prv": change}, "Q": flows, "p_in": inlets}
    off = column_differences(slow_steady.envelope(args), twin_adapter.run("envelope", args))
    assert not off


@pytest.mark.source(
    kind="independent", ref="expected readings printed with the fault table of the written physics"
)
@pytest.mark.parametrize(
    ("change", "outlets", "within"),
    [
        ({}, (4.50, 4.03, 3.92, 3.70), 0.005),
        (FAULTS["diaphragm_torn"], (None, 8.7, 7.9, 6.4), 0.05),
        (FAULTS["osv_partly_closed"], (None, 3.75, 2.48, 1.40), 0.005),
        (FAULTS["feed_partly_blocked"], (None, 4.39, None, None), 0.005),
    ],
    ids=["sound", "torn diaphragm", "shut-off stuck at 15 %", "feed partly blocked"],
)
def test_fault_table_of_the_written_physics_is_met(
    change: dict[str, Any], outlets: tuple[float | None, ...], within: float
) -> None:
    args = {"station": change, "demand_kv": [0, 10, 30, 60]}
    got = twin_adapter.run("steady_curve", args)["p_out"]
    for expected, found in zip(outlets, got, strict=True):
        assert expected is None or found == pytest.approx(expected, abs=within)
