"""A reducer larger than its flows ask for, and gauges that do not bear the inlet or are overdue."""

from __future__ import annotations

from datetime import date
from math import pi

import pytest

from steadyhead.design.gauges import is_overdue
from steadyhead.design.oversize import smaller_sizes
from steadyhead.design.sheet import judge
from steadyhead.findings import Amount, Finding, Severity, tell
from steadyhead.records.design import ReducerSizing
from steadyhead.units import US
from tests.design.stations import EXAMPLES, SERIES, UPSTREAM, Data, Edit, part, section, station_of, top

DAY = date(2026, 11, 25)


def found(code: str, *edits: Edit, day: date | None = None) -> Finding | None:
    return next((one for one in judge(station_of(UPSTREAM, *edits), day).findings if one.code == code), None)


def sizing(*edits: Edit) -> ReducerSizing:
    return judge(station_of(UPSTREAM, *edits)).reducers[0]


@pytest.mark.source(
    kind="common practice",
    ref="design handbook 2.3: 5 m/s lasting, 7.5 m/s for fire; a quarter of room for growth: own estimate",
)
def test_the_smallest_size_that_would_do_is_decided_by_velocity_across_a_high_difference():
    def speed(flow: float, bore: float) -> float:
        return flow / (pi / 4 * bore**2)

    assert smaller_sizes(sizing(part("RV", size="DN 150")), 1.0) == pytest.approx((0.125, 0.1, 0.08))
    assert 1.25 * speed(18e-3, 0.080) <= 5.0 < 1.25 * speed(18e-3, 0.065)
    assert speed(30e-3, 0.080) <= 7.5


def test_one_size_more_than_needed_is_a_note_and_more_are_to_be_heeded():
    weights = {}
    for size in ("DN 80", "DN 100", "DN 125", "DN 200"):
        one = found("SIZ-25", part("RV", size=size))
        weights[size] = None if one is None else one.severity
    assert weights == {
        "DN 80": None,
        "DN 100": Severity.NOTE,
        "DN 125": Severity.HEED,
        "DN 200": Severity.HEED,
    }


def test_a_valve_far_too_large_names_the_size_that_would_do_in_the_units_of_the_reader():
    one = found("SIZ-25", part("RV", size="DN 200"))
    assert one is not None
    assert "DN 80 would hold all flows" in tell(one).statement
    assert " in " in tell(one, US).statement
    speed = one.params["speed"]
    assert isinstance(speed, Amount)
    assert speed.si == pytest.approx(30e-3 / (pi / 4 * 0.08**2))


def test_no_smaller_valve_is_named_where_its_flow_coefficient_would_not_do():
    low = section("supply", min="4.9 bar")
    assert found("SIZ-25", part("RV", size="DN 100"), low) is None
    assert found("SIZ-02", section("supply", min="4.0 bar")) is not None
    assert found("SIZ-25", section("supply", min="4.0 bar")) is None


def test_a_large_valve_kept_for_a_fire_flow_is_not_called_too_large():
    fire = section("demand", fire="45 L/s")
    assert found("SIZ-25", part("RV", size="DN 100"), fire) is None


@pytest.mark.parametrize("name", EXAMPLES)
def test_no_shipped_example_has_a_reducer_larger_than_it_need_be(name):
    assert not [one for one in judge(station_of(name)).findings if one.code == "SIZ-25"]


def test_a_setting_gauge_below_the_static_inlet_is_told():
    gauges = [
        {"id": "TG-1", "span": "6 bar", "accuracy": "0.6 %", "for_setting": "yes"},
        {"id": "TG-2", "span": "16 bar", "accuracy": "1 %"},
    ]
    one = found("SIZ-26", top(gauges=gauges))
    assert one is not None
    assert one.severity is Severity.HEED
    assert one.margin is not None
    assert one.margin.si == pytest.approx(-3.6e5)
    assert found("SIZ-26") is None


def late(data: Data) -> None:
    data["gauges"][0]["due"] = "2024-06-30"


def test_an_overdue_gauge_is_told_and_no_longer_called_good_enough():
    one = found("SIZ-27", late, day=DAY)
    assert one is not None
    assert one.severity is Severity.HEED
    assert found("SIZ-18", late, day=DAY) is None
    coarse = found("SIZ-17", late, day=DAY)
    assert coarse is not None
    assert coarse.params["named"] == "Not good enough: TG-2. Good enough but overdue: TG-1."


def test_without_a_day_no_gauge_is_overdue():
    assert found("SIZ-27", late) is None
    assert found("SIZ-18", late) is not None


def test_the_answer_about_an_overdue_gauge_holds_on_the_next_day_too():
    first, second = (found("SIZ-27", late, day=day) for day in (DAY, date(2026, 11, 26)))
    assert first is not None
    assert second is not None
    assert first.value_hash == second.value_hash


@pytest.mark.parametrize(("due", "overdue"), [("2026-11-24", True), ("2026-11-25", False), ("", False)])
def test_a_gauge_is_good_up_to_its_due_date(due, overdue):
    gauge = station_of(UPSTREAM).gauges[0].model_copy(update={"due": due})
    assert is_overdue(gauge, DAY) is overdue


def test_a_setting_gauge_of_two_reducers_bears_the_inlet_in_the_example():
    assert not [one for one in judge(station_of(SERIES)).findings if one.code == "SIZ-26"]
    short = top(gauges=[{"id": "TG-1", "span": "160 psi", "accuracy": "0.5 %", "for_setting": "yes"}])
    assert [one for one in judge(station_of(SERIES, short)).findings if one.code == "SIZ-26"]
