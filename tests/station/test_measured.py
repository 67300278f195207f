"""A station with a baseline: every measured value in its place, with run and day; what is wanted stays."""

from __future__ import annotations

import pytest

from steadyhead.errors import InputError
from steadyhead.hydraulics import build, solve
from steadyhead.records.baseline import Baseline, Fitted
from steadyhead.records.parts import Reducer, ShutOff, Strainer
from steadyhead.records.steady import Conditions
from steadyhead.records.values import Origin
from steadyhead.station.examples import read
from steadyhead.station.load import load
from steadyhead.station.measured import with_baseline
from steadyhead.station.mechanics import pressure_per_turn, shut_off_twin, strainer_kv
from steadyhead.surge.from_station import water_of
from steadyhead.surge.station_rows import shut_off_row

DAY = "2027-04-14T16:05:00+01:00"
STATE = {"time": 6.4, "inlet_pressure": 8.6e5, "outlet_pressure": 8.5e5, "flow": 0.4e-3}
KINDS = {
    "per_turn": "pressure_per_turn",
    "lockup_rise": "pressure",
    "flow_force": "ratio",
    "droop": "pressure",
    "sag": "pressure",
}


@pytest.fixture(scope="module")
def station():
    return load(read("quillenby-row")).station


def fitted(key, value, within=None, **state):
    part, _, name = key.partition(".")
    kind = KINDS.get(name, "flow_coefficient")
    return Fitted(part, name, kind, value, within or 0.1 * value, None, "", ("H4",), (), ("e1",), 9, state)


def baseline(*values, station_id="QUR-02"):
    return Baseline("b-1", station_id, "", "run-7", "", DAY, "0", values)


def part(station, kind):
    return next(one for one in station.parts() if isinstance(one, kind))


def test_every_measured_value_stands_in_its_place_and_says_run_step_and_day(station):
    found = with_baseline(
        station,
        baseline(
            fitted("RV.per_turn", 0.9e5),
            fitted("RV.lockup_rise", 0.27e5),
            fitted("RV.flow_force", 0.2),
            fitted("ST.kv_clean", 140.0),
            fitted("SO.kv", 310.0),
            fitted("SO.closing_needle_kv", 1.2, **STATE),
        ),
    )
    reducer, shut_off = part(found, Reducer), part(found, ShutOff)
    values = [
        (pressure_per_turn(reducer.pilot), 0.9e5),
        (reducer.mechanics.flow_force, 0.2),
        (strainer_kv(part(found, Strainer)), 140.0),
        (shut_off_twin(shut_off).kv, 310.0),
        (shut_off.mechanics.closing_needle_kv, 1.2),
        (shut_off.closing.time, 6.4),
        (shut_off.closing.flow, 0.4e-3),
    ]
    for value, si in values:
        assert value.si == pytest.approx(si)
        assert value.origin is Origin.MEASURED
        assert value.provenance.startswith("measured: run run-7, step H4, 2027-04-14, ±")
        assert value.spread == pytest.approx(0.1 * si)


def test_the_lockup_is_the_wanted_duty_with_the_measured_rise(station):
    found = part(with_baseline(station, baseline(fitted("RV.lockup_rise", 0.27e5, 0.03e5))), Reducer)
    assert found.duty == part(station, Reducer).duty
    assert found.lockup.si == pytest.approx(4.27e5)
    assert found.lockup.spread == pytest.approx(0.03e5)
    assert "wanted duty 4.0 bar and a rise of 0.27 bar: run run-7" in found.lockup.provenance


def test_what_the_design_wants_stays(station):
    found = with_baseline(station, baseline(fitted("RV.droop", 0.1e5), fitted("supply.sag", 0.2e5)))
    assert found == station


def test_the_twin_answers_as_the_measured_values_say(station):
    found = build(
        with_baseline(station, baseline(fitted("ST.kv_clean", 100.0), fitted("RV.lockup_rise", 0.5e5)))
    )
    taps = solve(found, Conditions(8.6e5, consumer_flow=5e-3)).taps
    still = solve(found, Conditions(8.6e5, consumer_flow=0.0)).taps
    assert still["T3"] - taps["T3"] == pytest.approx(0.5e5, abs=500.0)
    assert taps["T0"] - taps["T1"] == pytest.approx((18.0 / 100.0) ** 2 * 1e5, rel=0.01)


def test_steady_and_transient_twin_have_the_same_measured_needle(station):
    found = build(with_baseline(station, baseline(fitted("SO.closing_needle_kv", 1.2, **STATE))))
    row = shut_off_row(found, water_of(found), found.shut_offs[0], "T3")
    from steadyhead.visits.stroke import Before, stroke_integral

    before = Before(STATE["inlet_pressure"], STATE["outlet_pressure"], STATE["flow"])
    assert row.close_needle == pytest.approx(
        stroke_integral(found, found.shut_offs[0], before) / 6.4, rel=0.01
    )


def test_a_part_in_a_branch_is_found():
    station = load(read("quernhollow-lane")).station
    found = with_baseline(station, baseline(fitted("LB.per_turn", 0.5e5), station_id="QHL-01"))
    low = next(one for one in found.parts() if one.id == "LB")
    assert isinstance(low, Reducer)
    assert pressure_per_turn(low.pilot).si == 0.5e5


@pytest.mark.parametrize(
    ("values", "station_id", "words"),
    [
        ((), "QHL-01", "belongs to station QHL-01"),
        ((fitted("XX.kv", 100.0),), "QUR-02", "has values of XX, which the file does not have"),
        ((fitted("ST.per_turn", 1e5),), "QUR-02", "that is a strainer"),
        ((fitted("SO.lockup_rise", 1e5),), "QUR-02", "that is a shut-off"),
        ((fitted("T1.kv", 100.0),), "QUR-02", "that is a tap"),
    ],
)
def test_a_baseline_of_another_station_or_part_is_refused(station, values, station_id, words):
    with pytest.raises(InputError) as refused:
        with_baseline(station, baseline(*values, station_id=station_id))
    assert words in str(refused.value)
    assert refused.value.remedy
