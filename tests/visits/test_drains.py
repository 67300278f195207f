"""Drain budget, permit and pump volume."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.records.station import Station
from steadyhead.station.layout import read_layout
from steadyhead.visits import drains
from steadyhead.visits.numbers import work_out
from tests.printed import printed
from tests.visits.known_stations import STATION_A, station_a, without_part

POINTS_A = tuple(flow * 1e-3 for flow in (0.4, 2.0, 5.0, 10.0, 16.0, 22.0))


def budget(kind, station=None, points=POINTS_A):
    station = station or station_a()
    return drains.budget(station, read_layout(station), kind, trickle=0.4e-3, flow_points=points)


def litres(rows, *nodes):
    return sum(row.litres for row in rows if not nodes or row.node in nodes)


@pytest.mark.source(kind="common practice", ref="design handbook 3.8, drain budget of station A")
@pytest.mark.parametrize(
    ("nodes", "cubic_metres"),
    [(("B3",), "19"), (("E", "F", "G"), "2.9"), (("H4",), "26.6"), ((), "52")],
)
def test_the_first_visit_to_station_a_lets_off_what_the_handbook_says(nodes, cubic_metres):
    assert litres(budget("first"), *nodes) / 1e3 == pytest.approx(float(cubic_metres), rel=0.02)


@pytest.mark.source(kind="common practice", ref="design handbook 3.8: yearly 0.4 L/s for 35 min, 0.8 m³")
def test_the_yearly_visit_to_station_a_lets_off_0_8_cubic_metres():
    at_trickle = [row for row in budget("yearly") if row.flow == 0.4e-3]
    assert litres(at_trickle) / 1e3 == printed("0.8")
    assert sum(row.seconds for row in at_trickle) == 35 * 60.0


def test_every_row_but_the_flush_names_a_drain_of_the_station():
    assert {row.drain for row in budget("first") if row.node != "B3"} == {"TD"}
    assert all(row.flow > 0 and row.seconds > 0 for row in budget("first"))


@pytest.mark.parametrize(("kind", "step"), [("first", "H1"), ("new_setting", "H1"), ("yearly", "Y7")])
def test_setting_to_duty_lets_the_duty_flow_off_for_each_reducer(kind, step):
    rows = [row for row in budget(kind) if row.node.startswith(step)]
    assert [(row.node, row.flow) for row in rows] == [(f"{step}.RV", 5e-3)]


def test_setting_to_duty_lets_off_no_more_than_can_run():
    layout = read_layout(station_a())
    rows = drains.budget(
        station_a(), layout, "first", trickle=0.4e-3, flow_points=POINTS_A, reachable=3e-3
    )  # fmt: skip
    assert next(row for row in rows if row.node == "H1.RV").flow == 3e-3


def test_a_plan_counts_on_what_runs_at_duty_through_the_part_open_inlet_valve():
    narrow = work_out(station_a(TD__kv="Kv 6", TD__allowed=None), "first", samples=10)
    row = next(row for row in narrow.drain_budget if row.node == "H1.RV")
    assert row.flow < 6 / 3600 * 2.0


def test_a_yearly_visit_with_consumers_connected_lets_nothing_off():
    assert budget("yearly", station_a(IV2__tight="no")) == ()
    assert budget("first", station_a(IV2__tight="no")) != ()


def test_a_station_without_a_test_drain_lets_nothing_off():
    assert budget("first", without_part(STATION_A, "TD")) == ()


def with_inlet_drain(kv):
    """Return station A with a drain on its strainer."""
    data = {**STATION_A, "line": [*STATION_A["line"]]}
    data["line"].insert(3, {"part": "drain", "id": "SD", "size": "DN 50", "kv": kv})
    return Station.model_validate(data)


def flushed(station):
    return drains.flush(station, read_layout(station))


def test_without_an_inlet_drain_the_flush_leaves_by_the_open_pipe_never_by_the_test_drain():
    way = flushed(station_a())
    assert (way.drain, way.drain_velocity) == ("", None)
    assert next(row for row in budget("first") if row.node == "B3").drain == ""
    assert "NUM-07" not in {f.code for f in work_out(station_a(), "first", samples=10).findings}


@pytest.mark.source(
    kind="analytic", ref="Kv √bar over π D²/4: Kv 40 at 10.6 bar is 36 L/s, 2.0 m/s in DN 150"
)
def test_a_large_inlet_drain_takes_the_flush():
    way = flushed(with_inlet_drain("Kv 40"))
    assert way.drain == "SD"
    assert way.drain_velocity == pytest.approx(2.05, abs=0.02)
    assert way.flow * 1e3 == pytest.approx(17.7, abs=0.05)


def test_an_inlet_drain_that_cannot_carry_grit_leaves_the_flush_to_the_open_pipe():
    station = with_inlet_drain("Kv 10")
    way = flushed(station)
    assert way.drain == ""
    told = next(f for f in work_out(station, "first", samples=10).findings if f.code == "NUM-07")
    assert told.margin is not None
    assert told.margin.si < 0


def test_the_flush_out_of_the_open_pipe_is_charged_to_no_drain():
    station = station_a(TD__allowed="36 m³")
    assert "NUM-04" not in {f.code for f in work_out(station, "first", samples=10).findings}


def test_more_water_than_the_permit_allows_is_told():
    station = station_a(TD__allowed="20 m³")
    findings = work_out(station, "first", samples=10).findings
    told = next(finding for finding in findings if finding.code == "NUM-04")
    assert told.margin is not None
    assert told.margin.si < 0
    assert not work_out(station, "yearly", samples=10).findings


def test_a_shut_outlet_takes_in_little():
    stores = drains.outlet_storage(read_layout(station_a()))
    assert stores * 1e5 == pytest.approx(30e-3 * drains.spool_compressibility() * 1e5)


@pytest.mark.source(kind="own estimate", ref="design handbook 0.4: 0.15 m³ steel spool, about 10 mL per bar")
def test_a_full_spool_takes_10_millilitres_per_bar():
    beta = drains.spool_compressibility()
    full = drains.pump_volume(volume=0.15, compressibility=beta, start=4.0e5, end=5.0e5)
    assert full * 1e6 == printed("10")


@pytest.mark.source(kind="analytic", ref="Boyle: a litre at 5.01 bar abs shrinks by 1 - 5.01/6.41")
def test_a_litre_of_air_takes_a_fifth_of_a_litre_more():
    air = drains.pump_volume(volume=0.0, compressibility=0.0, start=4.0e5, end=5.4e5, air=1e-3)
    assert air == pytest.approx(1e-3 * (1.0 - 5.01325 / 6.41325))


def test_the_handbooks_figure_with_air_is_the_slope_at_the_start_and_lies_above():
    """0.3 L there: 0.2 L per bar at 5 bar abs times 1.4 bar; air stiffens as it shrinks."""
    air = drains.pump_volume(volume=0.0, compressibility=0.0, start=4.0e5, end=5.4e5, air=1e-3)
    slope = 1e-3 * 1.4e5 / 5.01325e5
    assert air < slope < 0.3e-3


@given(
    start=st.floats(1e4, 1e6), rise=st.floats(1e3, 1e6), volume=st.floats(1e-3, 1.0), air=st.floats(0.0, 1e-2)
)
def test_a_pump_brings_more_the_higher_it_goes_and_the_more_air_there_is(start, rise, volume, air):
    def brought(top, trapped):
        return drains.pump_volume(volume=volume, compressibility=7e-10, start=start, end=top, air=trapped)

    assert 0.0 < brought(start + rise, air) < brought(start + 2 * rise, air)
    assert brought(start + rise, air) <= brought(start + rise, air + 1e-3)
