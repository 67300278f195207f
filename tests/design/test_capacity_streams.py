"""What a capacity map says of a reducer that others help."""

from __future__ import annotations

import pytest

from steadyhead.design.basis import Basis
from steadyhead.design.capacity import capacity_map
from steadyhead.design.twin import SteadyTwin
from steadyhead.records.capacity import CapacityMap
from steadyhead.station import examples
from steadyhead.station.load import load


def map_of(name: str, reducer: str) -> CapacityMap:
    station = load(examples.read(name)).station
    twin = SteadyTwin(station)
    return capacity_map(Basis(station, twin), twin.model, reducer)


@pytest.mark.parametrize(
    ("name", "small", "main"),
    [("quernhollow-lane", "LB", "RV"), ("mesquill-flat", "LB", "RV2"), ("tarnholt-quay", "LB", "RV")],
)
def test_a_low_flow_reducer_wide_open_is_helped_by_the_main_one_and_not_the_other_way_round(
    name, small, main
):
    shown = map_of(name, small)
    short = [point for point in shown.points if point.zone == "wide open"]
    assert short
    assert all(point.helped_by == (main,) for point in short)
    assert shown.helped_by == (main,)
    assert map_of(name, main).helped_by == ()


def test_a_reducer_that_stands_alone_is_helped_by_nobody():
    assert map_of("quillenby-row", "RV").helped_by == ()
    assert all(point.helped_by == () for point in map_of("veldany-house", "RVB").points)
