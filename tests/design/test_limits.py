from __future__ import annotations

import pytest

from steadyhead.design.limits import component_limits, weakest_fault, weakest_normal
from tests.design.stations import UPSTREAM, limit, no_side, section, station_of
from tests.printed import printed

DENSITY = 1000.0


@pytest.mark.source(
    kind="own estimate", ref="design handbook 2.5: spur rated 8 bar at 121 m, datum 142 m; by hand"
)
def test_a_spur_below_the_datum_bears_less_at_the_datum():
    station = station_of(
        UPSTREAM, section("station", datum="142 m"), limit(0, fault="8 bar", normal=None, level="121 m")
    )
    spur = component_limits(station, DENSITY)[0]
    assert spur.fault_at_datum is not None
    assert spur.fault_at_datum / 1e5 == printed("5.94")
    assert spur.normal_at_datum == spur.fault_at_datum


@pytest.mark.source(kind="analytic", ref="limit · derating − ρ g height, by hand")
def test_derating_takes_its_share_of_the_rating_before_it_is_carried():
    station = station_of(UPSTREAM, limit(0, fault="10 bar", normal="8 bar", level="96 m", derating="80 %"))
    one = component_limits(station, DENSITY)[0]
    assert one.fault_at_datum == pytest.approx(8.0e5)
    assert one.normal_at_datum == pytest.approx(6.4e5)


def test_the_weakest_component_may_differ_for_normal_running_and_for_a_fault():
    components = component_limits(station_of(UPSTREAM), DENSITY)
    normal, fault = weakest_normal(components), weakest_fault(components)
    assert normal is not None
    assert normal.component == "lowest draw-off"
    assert fault is not None
    assert fault.component == "cast-iron spur to the mill"


def test_each_side_of_the_station_is_judged_apart():
    components = component_limits(station_of(UPSTREAM), DENSITY)
    between = weakest_fault(components, "between")
    assert between is not None
    assert between.component == "section between the valves"
    inlet = weakest_fault(components, "inlet")
    assert inlet is not None
    assert inlet.component == "inlet pipework"
    assert weakest_fault(components, "outlet") is None


def test_without_limits_on_the_consumers_side_nothing_is_weakest():
    components = component_limits(station_of(UPSTREAM, no_side("consumer")), DENSITY)
    assert weakest_fault(components) is None


@pytest.mark.source(kind="analytic", ref="a common shift of every level leaves differences of level alone")
def test_shifting_every_level_by_the_same_height_changes_no_limit():
    def shift(data):
        data["station"]["datum"] = "1096.0 m"
        for one in data["limits"]:
            one["level"] = f"{float(one['level'].split()[0]) + 1000} m"

    before = component_limits(station_of(UPSTREAM), DENSITY)
    after = component_limits(station_of(UPSTREAM, shift), DENSITY)
    assert [one.fault_at_datum for one in after] == pytest.approx([one.fault_at_datum for one in before])
