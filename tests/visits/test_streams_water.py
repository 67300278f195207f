"""Water of several streams: places it runs to, flows of a low-flow stream, steps of the streams together."""

from __future__ import annotations

import pytest

from steadyhead.records.parts import Drain
from steadyhead.records.plan_numbers import Together
from steadyhead.records.procedure import DrainUse
from steadyhead.station.examples import read
from steadyhead.station.load import load
from steadyhead.units import METRIC
from steadyhead.visits import text
from steadyhead.visits.drains import allowed_at, by_place, over_permit, run_together
from steadyhead.visits.numbers import work_out
from steadyhead.visits.several.judging import judge
from steadyhead.visits.several.together import together
from steadyhead.visits.several.ways import reaching
from tests.visits import stream_stations as ss

TWINS = ss.twin_streams
GULLY = ss.setting("TD", runs_to="Gully", allowed="1 m³")


@pytest.mark.source(kind="analytic", ref="0.6 m³ of one stream and 0.6 m³ of the other over 1 m³")
def test_drains_of_different_streams_to_one_place_count_together_against_its_permit():
    of = ss.station(TWINS(), GULLY)
    uses = (DrainUse("H4.a", "TDa", 1e-3, 600.0, "gully"), DrainUse("H4.b", "TDb", 1e-3, 600.0, "gully"))
    (told,) = over_permit(uses, of.parts())
    assert told.value is not None
    assert told.value.si == pytest.approx(1.2)
    assert told.params["drain"] == "TDa and TDb"
    assert over_permit(uses[:1], of.parts()) == ()


@pytest.mark.source(kind="analytic", ref="flow times time, summed; steps come one after another")
def test_litres_to_each_place_are_summed_and_the_highest_flow_at_one_time_is_named():
    uses = (
        DrainUse("B3", "", 5e-3, 100.0),
        DrainUse("H4.a", "TDa", 1e-3, 600.0, "gully"),
        DrainUse("H4.b", "TDb", 3e-3, 100.0, "Gully "),
    )
    open_pipe, gully = by_place(uses)
    assert open_pipe.drains == ("",)
    assert (gully.volume, gully.most) == pytest.approx((0.9, 3e-3))
    assert allowed_at(ss.station(TWINS(), GULLY).parts(), gully) == pytest.approx(1.0)


def test_the_plan_of_a_station_over_its_permit_names_all_streams_drains_at_once():
    of = ss.station(TWINS(), GULLY)
    plan = ss.made(TWINS(), GULLY)
    assert {use.place for use in plan.drain_budget if use.drain} <= {"", "gully", "Gully"}
    words = " ".join(text.render(plan).split())
    assert "at most" in words
    assert of.station.id in words


def test_streams_together_run_water_only_while_consumers_are_cut_off():
    out = ss.made(ss.low_flow(), handover=0.002)
    facts = Together("T3", "LB", "RV", 0.002, (0.0014, 0.0026), 0.0003, ("LB", "RV"))
    drain = next(p for p in ss.station(ss.low_flow()).parts() if isinstance(p, Drain) and p.id == "TD")
    rows = run_together(out.nodes, facts, drain)
    assert {row.node.split(".")[0] for row in rows} >= {"S4", "S5", "S6"}
    flows = [row.flow for row in rows if row.node == "S5"]
    assert flows == [0.0014, 0.0026]
    assert sum(row.seconds for row in rows if row.node == "S5") == 60.0 * out.node("S5").minutes
    served = ss.made(TWINS(), kind="yearly")
    assert run_together(served.nodes, facts, drain) == ()


def test_the_terminal_prints_the_opening_table_of_each_stream():
    of = ss.station(TWINS())
    figures = ss.numbers(of, "first")
    words = text.render(ss.made(TWINS()), METRIC, numbers=figures)
    for key in figures.streams:
        assert f"Outlet section of stream {key}, reducers wide open" in words


@pytest.mark.source(kind="analytic", ref="the flow test of a low-flow stream ends where the main one begins")
def test_the_flow_test_of_a_low_flow_stream_reaches_the_flow_at_which_the_main_one_takes_over():
    of = load(read("quernhollow-lane")).station
    judged = judge(of, "first")
    facts = together(of, judged.ways)
    low = next(way for way in judged.ways if way.is_low_flow)
    assert facts.leader == low.last_reducer.id
    assert facts.handover is not None
    points = work_out(reaching(low, facts).station, "first", samples=20).flow_points
    assert points[-1] == pytest.approx(facts.handover, rel=0.03)
    assert points[0] < 0.1 * points[-1]


def test_a_stream_that_does_not_lead_keeps_its_own_test_flows():
    of = load(read("quernhollow-lane")).station
    judged = judge(of, "first")
    facts = together(of, judged.ways)
    main = next(way for way in judged.ways if not way.is_low_flow)
    assert reaching(main, facts) is main


@pytest.mark.source(kind="analytic", ref="no water runs off by an open drain below atmospheric pressure")
def test_no_expected_reading_of_the_flow_test_lies_below_what_a_drain_lets_off():
    of = load(read("quernhollow-lane")).station
    judged = judge(of, "first")
    low = next(way for way in judged.ways if way.is_low_flow)
    wide = reaching(low, together(of, judged.ways)).station
    found = work_out(wide, "first", samples=60).bands
    lows = [band.low for key, band in found.items() if key.startswith("flow.") and key.endswith(".T3")]
    assert min(lows) > -0.2e5
