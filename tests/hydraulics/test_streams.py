from __future__ import annotations

from math import isnan

import pytest

from steadyhead.errors import InputError
from steadyhead.hydraulics import Model, build, solve
from steadyhead.hydraulics.reach import reach
from steadyhead.hydraulics.sequence import Step, read_sequence
from steadyhead.hydraulics.settings import beside
from steadyhead.records.steady import Conditions
from tests.hydraulics import streams
from tests.hydraulics.stations import BAR, drawing

HOUR = 3600.0
RELIEF = {
    "part": "relief", "id": "RL", "size": "DN 50", "kv": "Kv 30", "crack": "4.9 bar", "full": "5.4 bar"
}  # fmt: skip


@pytest.fixture(scope="module")
def twin() -> Model:
    return build(streams.duty_and_standby())


def test_every_tap_and_valve_of_every_stream_is_read(twin: Model) -> None:
    steady = solve(twin, drawing(30.0))
    assert {"T0", "T1", "T1a", "T2a", "T3a", "T1b", "T2b", "T3b", "T3", "T4"} == set(steady.taps)
    assert {"SOa", "RVa", "SOb", "RVb"} == set(steady.valves)
    assert steady.valves["RVa"].state == "holding"
    assert steady.valves["RVb"].state == "shut"
    assert steady.taps["T1a"] == pytest.approx(steady.taps["T1b"], abs=0.01 * BAR)
    assert steady.flow == pytest.approx(steady.consumer_flow, rel=1e-9)


@pytest.mark.source(kind="analytic", ref="duty_pressure is the outlet at the stated flow, that stream alone")
@pytest.mark.parametrize(("stream", "other", "duty"), [("a", "b", 4.0), ("b", "a", 3.7)])
def test_each_stream_alone_meets_its_duty(twin: Model, stream: str, other: str, duty: float) -> None:
    alone = {f"IV1{other}": 0.0, f"IV2{other}": 0.0}
    steady = solve(twin, Conditions(supply_pressure=9 * BAR, consumer_flow=5e-3, openings=alone))
    assert steady.taps[f"T3{stream}"] == pytest.approx(duty * BAR, abs=10.0)
    assert isnan(steady.taps[f"T2{other}"])
    assert twin.lockup[f"RV{stream}"].si == pytest.approx((duty + 0.2) * BAR)


def test_branches_beside_a_part_are_named_at_every_depth() -> None:
    station = streams.duty_and_standby()
    assert beside(station.line, "RVa") == frozenset({"b", "by"})
    assert beside(station.line, "IV1") == frozenset()
    assert beside(station.line, "nowhere") is None


def test_taking_out_every_branch_is_refused(twin: Model) -> None:
    with pytest.raises(InputError, match="none of them is left"):
        solve(twin, drawing(5.0, isolated=frozenset({"a", "b", "by"})))


def test_standby_takes_over_when_the_duty_stream_trips_and_the_pressure_reaches_both(twin: Model) -> None:
    trips = {"SOa": 5.1 * BAR, "SOb": 5.4 * BAR}
    rising = Step(drawing(5.0, forced_lift={"RVa": 1.0}), trips)
    calm, tripped = read_sequence(twin, [Step(drawing(5.0), trips), rising])
    assert calm.tripped == frozenset()
    assert tripped.tripped == {"SOa"}
    assert tripped.steady.valves["RVb"].state == "holding"
    assert tripped.steady.flow == pytest.approx(tripped.steady.valves["RVb"].flow, rel=1e-3)


@pytest.mark.source(kind="analytic", ref="drain law Q = k √p; what enters leaves")
def test_drain_of_an_isolated_stream_is_fed_through_its_outlet_valve(twin: Model) -> None:
    steady = solve(twin, drawing(10.0, openings={"IV1b": 0.0, "TDb": 1.0}))
    expected = 8.0 / HOUR * (steady.taps["T3b"] / BAR / (twin.density / 1000.0)) ** 0.5
    assert steady.drains["TDb"] == pytest.approx(expected, rel=1e-6)
    assert steady.flow == pytest.approx(steady.consumer_flow + steady.drains["TDb"], rel=1e-9)
    assert steady.taps["T3b"] < steady.taps["T3"]


def test_bypass_stands_shut_until_it_is_opened(twin: Model) -> None:
    shut, open_ = solve(twin, drawing(5.0)), solve(twin, drawing(5.0, openings={"BV": 1.0}))
    assert shut.taps["T3"] < 4.3 * BAR
    assert open_.taps["T3"] > 8.0 * BAR


def test_stream_locked_shut_keeps_its_valves_shut() -> None:
    steady = solve(build(streams.duty_and_standby(locked_shut="yes")), drawing(30.0))
    assert steady.valves["RVb"].flow == 0.0
    assert isnan(steady.taps["T3b"])


def test_low_flow_stream_leads_at_a_trickle_and_the_main_one_by_day() -> None:
    twin = build(streams.with_low_flow())
    trickle, day = (solve(twin, drawing(kv)) for kv in (0.3, 40.0))
    assert trickle.valves["LB"].state == "holding"
    assert trickle.valves["RV"].state == "shut"
    assert day.valves["RV"].state == "holding"
    assert day.valves["RV"].flow > day.valves["LB"].flow
    still = solve(twin, drawing(0.0))
    assert still.valves["RV"].state == "lock-up"
    assert still.taps["T3"] == pytest.approx(twin.lockup["LB"].si, abs=1.0)


@pytest.mark.source(kind="own estimate", ref="band of a direct-acting reducer 0.2 of its duty pressure")
def test_direct_acting_reducer_meets_its_duty_alone() -> None:
    twin = build(streams.with_low_flow())
    at = Conditions(supply_pressure=9 * BAR, consumer_flow=0.3e-3, isolated=frozenset({"a"}))
    assert solve(twin, at).taps["T3"] == pytest.approx(4.25 * BAR, abs=10.0)
    assert twin.band["LB"].si == pytest.approx(0.2 * 4.25 * BAR)


def test_reach_of_a_direct_acting_reducer_is_refused() -> None:
    with pytest.raises(InputError, match="LB: is direct-acting"):
        reach(build(streams.with_low_flow()), "LB", [1e-3], [5 * BAR])


def test_monitor_stands_wide_open_and_holds_its_own_duty_when_the_worker_fails() -> None:
    twin = build(streams.with_monitor())
    sound = solve(twin, drawing(30.0))
    assert sound.valves["MON"].state == "wide open"
    assert sound.valves["RV"].state == "holding"
    failed = Conditions(supply_pressure=9 * BAR, consumer_flow=5e-3, forced_lift={"RV": 1.0})
    assert solve(twin, failed).taps["T3"] == pytest.approx(4.6 * BAR, abs=10.0)


@pytest.mark.source(kind="analytic", ref="relief law Q = k l √p, l from crack to full")
def test_relief_valve_limits_a_failed_reducer_and_can_be_isolated() -> None:
    twin = build(streams.duty_and_standby(RELIEF))
    found, isolated = (
        solve(twin, drawing(0.0, seat_leak_kv={"RVa": 10.0}, openings=openings))
        for openings in ({}, {"RL": 0.0})
    )
    pressure = found.taps["T3"] / BAR
    expected = 30.0 / HOUR * (pressure - 4.9) / 0.5 * (pressure / (twin.density / 1000.0)) ** 0.5
    assert 4.9 < pressure < 5.4
    assert found.drains["RL"] == pytest.approx(expected, rel=1e-6)
    assert isolated.taps["T3"] == pytest.approx(isolated.taps["T1"], abs=1.0)


def test_expansion_vessel_changes_nothing_at_rest_and_a_check_valve_next_to_nothing() -> None:
    vessel = {"part": "expansion_vessel", "id": "EV", "volume": "200 L", "precharge": "3 bar"}
    check = {"part": "check_valve", "id": "CV", "size": "DN 100"}
    plain, more = (
        solve(build(streams.duty_and_standby(*parts)), drawing(20.0)) for parts in ((), (vessel, check))
    )
    assert more.taps["T3"] == pytest.approx(plain.taps["T3"], abs=0.05 * BAR)
    assert more.flow < plain.flow


def test_reducer_that_senses_a_tap_on_another_stream_is_refused_with_a_reason() -> None:
    first = streams.stream("a", "duty", "4.0 bar", "5.1 bar")
    first["line"][4]["senses"] = "T3b"
    line = streams.line_with([first, streams.stream("b", "standby", "3.7 bar", "5.4 bar")])
    with pytest.raises(InputError, match="or on another branch"):
        build(streams.loaded(line))
