from __future__ import annotations

from steadyhead.records.parts import flat
from steadyhead.station.streams import isolating_valves, stream_words, views
from tests.hydraulics import streams


def test_each_stream_is_a_station_of_one_line_with_the_others_gone():
    duty, standby = views(streams.duty_and_standby())
    assert (duty.role, standby.role) == ("duty", "standby")
    assert duty.own == ("SOa", "RVa")
    assert standby.own == ("SOb", "RVb")
    assert standby.beside == ("a",)
    assert standby.layout.code == "shut-off upstream"
    assert "RVa" not in {part.id for part in flat(standby.station.line)}
    assert [branch.id for _, branch in standby.layout.bypasses] == ["by"]


def test_a_stream_is_worked_with_its_own_isolating_valves():
    station = streams.duty_and_standby()
    layout = views(station)[1].layout
    assert layout.inlet_valve is not None
    assert layout.outlet_valve is not None
    assert (layout.inlet_valve.id, layout.outlet_valve.id) == ("IV1b", "IV2b")
    found = isolating_valves(station, "b")
    assert [valve.id for valve in found if valve is not None] == ["IV1b", "IV2b"]


def test_the_low_flow_stream_comes_last_and_cannot_be_isolated_without_valves():
    station = streams.with_low_flow()
    main, low = views(station)
    assert (main.role, low.role) == ("main", "low flow")
    assert low.own == ("LB",)
    assert isolating_valves(station, "lb") == (None, None)


def test_a_station_of_one_way_is_its_own_view():
    station = streams.with_monitor()
    (only,) = views(station)
    assert only.station is station
    assert only.id == ""
    assert only.layout.code == "monitor and reducer"
    assert only.layout.pairing == "monitor"


def test_a_stream_is_named_by_role_and_id_once():
    named = [("main", "main"), ("low flow", "low"), ("standby", "standby"), ("duty", "A"), ("main", "main2")]
    assert [stream_words(role, name) for role, name in named] == [
        "main stream", "low-flow stream", "standby stream", "duty stream A", "main stream main2",
    ]  # fmt: skip
