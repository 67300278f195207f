from __future__ import annotations

from math import isnan, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.hydraulics.kernel import assembly, capacity, layout
from steadyhead.laws.compiling import Floats, floats, table
from steadyhead.laws.valves import valve_flow
from tests.hydraulics.kernel.lines import Station, conditions

REFERENCE = "physics specification of the project, numbers of its independent reference"


def point(flow: float, inlet: float, station: Station | None = None, onset: assembly.Curve = ()) -> Floats:
    """Return what the default reducer does alone at a flow [m³/h] and inlet pressure [bar]."""
    row = (station or Station()).reducer()
    row = assembly.Row(row.kind, row.columns, 0, incipient_curve=onset)
    line = assembly.pack([row])
    found = floats([nan] * capacity.POINT_WIDTH)
    at = conditions(supply=9.0)
    capacity.fill_point(
        flow / 3600.0, inlet * 1e5, 0.03, line.values[0], line.links[0], at, line.xs, line.ys, found
    )
    return found


def verdict(found: Floats) -> str:
    return capacity.VERDICTS[int(found[capacity.POINT_VERDICT])]


@pytest.mark.source(kind="independent", ref=f"{REFERENCE}: valve alone at 5 bar and 180 m³/h")
def test_valve_alone_meets_the_worked_numbers():
    found = point(180.0, 5.0)
    assert found[capacity.POINT_LIFT] == pytest.approx(0.897, abs=1e-3)
    assert found[capacity.POINT_OUTLET] / 1e5 == pytest.approx(3.7435, rel=1e-3)


@pytest.mark.parametrize(
    ("flow", "inlet", "word"),
    [
        (40.0, 5.5, "holds"), (0.5, 5.5, "low flow"), (40.0, 12.0, "cavitating"), (220.0, 4.6, "cannot hold"),
        (20.0, 38.0, "choked"), (900.0, 3.0, "cannot hold"),
    ],
)  # fmt: skip
def test_every_verdict_has_its_place_on_the_map(flow, inlet, word):
    assert verdict(point(flow, inlet)) == word


def test_flow_that_not_even_a_boiling_outlet_draws_has_no_outlet_pressure():
    found = point(900.0, 3.0)
    assert isnan(found[capacity.POINT_OUTLET])
    assert found[capacity.POINT_LIFT] == 1.0
    assert point(900.0, 3.0, Station(stuck_pilot=0.7))[capacity.POINT_PILOT] == 0.7


def test_onset_of_cavitation_may_fall_with_lift():
    usual = point(40.0, 9.0)
    late = point(40.0, 9.0, onset=((0.0, 0.9), (1.0, 0.8)))
    assert (verdict(usual), verdict(late)) == ("cavitating", "holds")


@given(flow=st.floats(0.1, 250.0), inlet=st.floats(4.6, 25.0))
def test_point_passes_its_flow_and_stands_on_the_droop_law(flow, inlet):
    station = Station()
    found = point(flow, inlet)
    outlet = float(found[capacity.POINT_OUTLET])
    if isnan(outlet):
        return
    lift = float(found[capacity.POINT_LIFT])
    full = station.reducer().columns[layout.FULL]
    opening = max(lift * (2.0 / (1.0 + lift * lift)) ** 0.5, 1e-5)
    passed = valve_flow(
        inlet * 1e5, outlet, full * opening, 0.85, 101325.0, conditions(supply=1.0)[layout.THROAT]
    )
    assert passed * 3600.0 == pytest.approx(flow, rel=1e-9)
    if verdict(found) != "cannot hold":
        assert outlet == pytest.approx(4.5e5 - 0.8e5 * float(found[capacity.POINT_PILOT]), abs=1e-3)


@given(flow=st.floats(0.1, 250.0), more=st.floats(0.0, 100.0), inlet=st.floats(4.6, 25.0))
def test_lift_never_falls_with_flow(flow, more, inlet):
    here, there = point(flow, inlet), point(flow + more, inlet)
    assert there[capacity.POINT_LIFT] >= here[capacity.POINT_LIFT] - 1e-12


def test_map_is_filled_inlet_by_inlet():
    line = assembly.pack([Station().reducer()])
    points = table([[nan] * capacity.POINT_WIDTH] * 4, capacity.POINT_WIDTH)
    capacity.fill_map(
        floats([10 / 3600, 50 / 3600]), floats([5e5, 9e5]), 0.03, line.values[0], line.links[0],
        conditions(supply=9.0), line.xs, line.ys, points,
    )  # fmt: skip
    singles = [point(10.0, 5.0), point(50.0, 5.0), point(10.0, 9.0), point(50.0, 9.0)]
    for row, single in zip(points, singles, strict=True):
        assert list(row) == pytest.approx(list(single), rel=1e-12)
