"""Drain budget, permit and pump volume."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

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
    [(("B3",), "19"), (("E", "F", "G", "H1"), "2.9"), (("H4",), "26.6"), ((), "52")],
)
def test_the_first_visit_to_station_a_lets_off_what_the_handbook_says(nodes, cubic_metres):
    assert litres(budget("first"), *nodes) / 1e3 == pytest.approx(float(cubic_metres), rel=0.02)


@pytest.mark.source(kind="common practice", ref="design handbook 3.8: yearly 0.4 L/s for 35 min, 0.8 m³")
def test_the_yearly_visit_to_station_a_lets_off_0_8_cubic_metres():
    assert litres(budget("yearly")) / 1e3 == printed("0.8")


def test_every_row_names_a_drain_of_the_station():
    assert {row.drain for row in budget("first")} == {"TD"}
    assert all(row.flow > 0 and row.seconds > 0 for row in budget("first"))


def test_a_station_without_a_test_drain_lets_nothing_off():
    assert budget("first", without_part(STATION_A, "TD")) == ()


def test_a_strainer_drain_takes_the_flush():
    data = {**STATION_A, "line": [*STATION_A["line"]]}
    data["line"].insert(3, {"part": "drain", "id": "SD", "size": "DN 50"})
    flush = next(row for row in budget("first", type(station_a()).model_validate(data)) if row.node == "B3")
    assert flush.drain == "SD"


def test_more_water_than_the_permit_allows_is_told():
    station = station_a(TD__allowed="20 m³")
    findings = work_out(station, "first", samples=10).findings
    told = next(finding for finding in findings if finding.code == "NUM-04")
    assert told.margin is not None
    assert told.margin.si < 0
    assert not work_out(station, "yearly", samples=10).findings


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
