"""Figures the physics specification prints beside its text, asked for through the adapter of the cases."""

from __future__ import annotations

from typing import Any

import pytest

from tests.independent.case_format import merged
from tests.independent.twin_adapter import run

pytestmark = pytest.mark.by_turns(3)

PRINTED = "physics specification of the project, figures measured on its independent reference"


def demand(kv: float) -> dict[str, Any]:
    return {"demand": {"type": "orifice", "kv": [[0, kv]]}}


STUCK_OPEN = {"prv": {"y_stuck": 1.0}}
TRICKLE = {"station": demand(0.497)}  # 1 m³/h
FAILED = [{"station": merged(STUCK_OPEN, demand(kv))} for kv in (20, 60)]


@pytest.mark.source(kind="independent", ref=f"{PRINTED}: 20.3, 13.6, 9.4 s", note="as printed")
def test_closing_times_of_one_needle_in_three_cases():
    found = run("osv_needle", {"then": [TRICKLE, *FAILED]})
    assert found["t"] == pytest.approx([20.3, 13.6, 9.4], abs=0.06)


@pytest.mark.source(kind="independent", ref=f"{PRINTED}: Kv 0.305; 6.7 and 4.6 s", note="as printed")
def test_a_needle_set_by_the_stopwatch_at_a_trickle():
    found = run("osv_needle", {"test": {"t": 10.0, **TRICKLE}, "then": FAILED})
    assert found["kv_close"] == pytest.approx(0.305, abs=6e-4)
    assert found["t"] == pytest.approx([6.7, 4.6], abs=0.06)


@pytest.mark.source(kind="independent", ref=f"{PRINTED}: transient 6.75 and 4.56 s", note="0.03 s")
@pytest.mark.parametrize(("kv", "seconds"), [(20, 6.75), (60, 4.56)])
def test_a_needle_closes_in_the_transient_as_in_the_quasi_steady_sum(kv, seconds):
    station = merged(demand(kv), {"osv": {"mode": "hydraulic", "kv_close": 0.305}})
    found = run("prv_fail_open", {"station": station, "kind": "pilot", "t_event": 1.0, "t_end": 15})
    assert found["t_closed"] - found["t_trip"] == pytest.approx(seconds, abs=0.03)


RESTART = {**demand(20), "order": "osv_prv", "osv": {"t_open": 10.0, "trip": 99.0}}
ALIVE = {"osv": {"trip": 5.5, "t_close": 5.0}}


@pytest.mark.source(kind="independent", ref=f"{PRINTED}: 4.26, 8.43, 8.83 and 8.43 bar", note="0.02 bar")
@pytest.mark.parametrize(
    ("change", "lift", "peak"),
    [
        ({}, 0.0, 4.26),
        ({}, 1.0, 8.43),
        ({"osv": {"t_open": 3.0}}, 1.0, 8.83),
        ({"order": "prv_osv", "prv": {"sense": "out"}}, 1.0, 8.43),
    ],
)
def test_highest_consumer_pressure_of_a_restart(change, lift, peak):
    args = {"station": merged(RESTART, change), "p0": 0.7, "x0": lift, "t_end": 20}
    assert run("restart_after_trip", args)["max_down"] == pytest.approx(peak, abs=0.02)


@pytest.mark.source(kind="independent", ref=f"{PRINTED}: 1.2 s, 6.05 and 16.8 bar", note="as printed")
def test_a_restart_that_trips_again():
    args = {"station": merged(RESTART, ALIVE), "p0": 0.7, "x0": 1.0, "t_end": 20}
    found = run("restart_after_trip", args)
    assert found["t_trip"] == pytest.approx(1.2, abs=0.06)
    assert found["max_down"] == pytest.approx(6.05, abs=0.02)
    assert found["max_up"] == pytest.approx(16.8, abs=0.06)


@pytest.mark.source(
    kind="independent", ref=f"{PRINTED}: 18.6, 17.2 (Kv 30), 15.7, 15.0 (Kv 20), 24.9, 21.5 bar (Kv 60)",
    note="as printed; Kv 60 only until the column parts",
)  # fmt: skip
@pytest.mark.parametrize(
    ("kv", "seconds", "peak"), [(30, 2, 18.6), (30, 5, 17.2), (20, 2, 15.7), (20, 5, 15.0)]
)
def test_pressure_between_the_valves_when_the_lower_one_shuts(kv, seconds, peak):
    station = merged(demand(kv), {"osv": {"trip_at": 1.0, "t_close": seconds}})
    found = run("transient", {"station": station, "t_end": 15})
    assert found["p_mid_max"] == pytest.approx(peak, abs=0.06)


@pytest.mark.source(
    kind="independent",
    ref=f"{PRINTED}: 8.67 to 0.25 bar, lift given; 8.37 to 0.24, pilot stuck",
    note="0.01 bar",
)
@pytest.mark.parametrize(
    ("reducer", "printed"),
    [
        ({"mode": "table", "x_table": [[0, 1.0]]}, [8.67, 6.82, 4.84, 2.73, 0.78, 0.25]),
        ({"y_stuck": 1.0}, [8.37, 6.59, 4.68, 2.65, 0.76, 0.24]),
    ],
)
def test_pressure_behind_an_open_reducer_by_the_opening_of_the_inlet_valve(reducer, printed):
    found = []
    for share in (1.0, 0.10, 0.07, 0.05, 0.03, 0.02):
        shut_in = {**demand(0), "iso_dn": {"open": [[0, 0]]}, "iso_up": {"open": [[0, share]]}}
        drained = merged(shut_in, {"demand": {"drain": [[0, 15.0]]}, "prv": reducer})
        found.append(run("steady_state", {"station": drained})["p_out"])
    assert found == pytest.approx(printed, abs=0.011)


@pytest.mark.source(
    kind="independent", ref=f"{PRINTED}: fault table, P_out at Kv 0/10/30/60", note="0.06 bar"
)
@pytest.mark.parametrize(
    ("fault", "printed"),
    [
        (None, [4.50, 4.03, 3.92, 3.70]),
        ("diaphragm_torn", [9.0, 8.7, 7.9, 6.4]),
        ("osv_partly_closed", [4.5, 3.75, 2.48, 1.40]),
    ],
)
def test_outlet_pressure_with_a_fault(fault, printed):
    found = run("fault_signature", {"fault": fault, "demand_kv": [0, 10, 30, 60], "dynamic": False})
    assert found["p_out"] == pytest.approx(printed, abs=0.06)


@pytest.mark.source(
    kind="independent",
    ref=f"{PRINTED}: 4.5985, 12.485; 3.8778, 3.9618, 3.9481, 3.9374, 3.9408 bar",
    note="0.005 bar",
)
def test_a_demand_step_by_its_printed_numbers():
    found = run("demand_step", {"kv0": 30, "kv1": 18, "ramp": 1.0, "t_end": 12, "sample": [3, 5, 7, 9, 11]})
    assert found["p_out_max"] == pytest.approx(4.5985, abs=0.005)
    assert found["max_up"] == pytest.approx(12.485, abs=0.005)
    assert found["samples"]["p_out"] == pytest.approx([3.8778, 3.9618, 3.9481, 3.9374, 3.9408], abs=0.005)
