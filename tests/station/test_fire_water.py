"""Fire water is one fact, however the file says it."""

from __future__ import annotations

import pytest

from steadyhead.station.layout import carries_fire_water
from tests.visits.plan_stations import ALONE, DOWN, UP, block, station


@pytest.mark.parametrize(
    ("name", "changes", "expected"),
    [
        pytest.param(DOWN, (), False, id="nothing said"),
        pytest.param(DOWN, (block("station", fire_water="yes"),), True, id="said so"),
        pytest.param(ALONE, (block("station", kind="fire main"),), True, id="a fire main"),
        pytest.param(UP, (), True, id="a fire demand"),
        pytest.param(UP, (block("demand", fire=None),), False, id="the demand taken away"),
    ],
)
def test_fire_water_is_seen_by_flag_kind_or_demand(name, changes, expected):
    assert carries_fire_water(station(name, *changes)) is expected
