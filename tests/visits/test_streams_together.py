"""What the twin expects of streams in service together: who leads, the changeover, one stream out."""

from __future__ import annotations

import pytest

from steadyhead.design.sheet import judge as design
from steadyhead.hydraulics import build, solve
from steadyhead.records.steady import Conditions
from steadyhead.station.examples import read
from steadyhead.station.load import load
from steadyhead.visits.plan import figures, plan
from steadyhead.visits.several.together import bands, together
from steadyhead.visits.several.ways import ways_of_visit
from tests.visits import stream_stations as ss

BAR = 1e5


def test_leader_is_the_reducer_that_locks_up_highest() -> None:
    for data, leader in ((ss.twin_streams(), "RVa"), (ss.low_flow(), "LB")):
        of = ss.station(data)
        found = together(of, ways_of_visit(of, "station out").ways)
        assert found.leader == leader
        assert found.header == "T3"


def test_streams_locked_shut_take_no_part() -> None:
    def locked(data: ss.Part) -> None:
        ss.branch(data, "a")["locked_shut"] = "yes"

    of = ss.station(ss.twin_streams(), locked)
    found = together(of, ways_of_visit(of, "station out").ways)
    assert found.alive == ("RVb",)
    assert found.leader == "RVb"


@pytest.mark.source(
    kind="independent", ref="the steady twin asked at both sides of the flow found by halving"
)
def test_changeover_lies_where_the_follower_starts_to_carry_a_hundredth_of_the_flow() -> None:
    of = ss.station(ss.low_flow())
    found = together(of, ways_of_visit(of, "station out").ways)
    assert found.follower == "RV"
    assert found.handover is not None
    model = build(of)

    def share(flow: float) -> float:
        steady = solve(model, Conditions(of.supply.typical.si, consumer_flow=flow))
        return steady.valves["RV"].flow / flow

    assert share(0.97 * found.handover) < 0.01 < share(1.03 * found.handover)
    assert found.flows == pytest.approx((0.7 * found.handover, 1.3 * found.handover))


@pytest.mark.source(kind="analytic", ref="at no flow the outlet stands at the highest lock-up, at the datum")
def test_lockup_of_the_station_is_the_leaders() -> None:
    of = ss.station(ss.low_flow())
    ways = ways_of_visit(of, "station out").ways
    band = bands(of, ways, together(of, ways), samples=40)["together.lockup.T3"]
    assert band.nominal == pytest.approx(4.5 * BAR, abs=100.0)
    assert band.low < band.nominal < band.high


@pytest.mark.source(kind="analytic", ref="with one shut-off shut the other stream's duty holds the header")
def test_one_stream_tripped_the_header_stands_near_the_duty_of_the_other() -> None:
    of = ss.station(ss.twin_streams())
    ways = ways_of_visit(of, "station out").ways
    found = bands(of, ways, together(of, ways), samples=40)
    assert found["one_out.a.T3"].nominal == pytest.approx(3.6 * BAR, abs=0.2 * BAR)
    assert found["one_out.b.T3"].nominal == pytest.approx(4.0 * BAR, abs=0.2 * BAR)
    assert found["one_out.a.T3"].high < found["one_out.b.T3"].nominal


def test_a_plan_written_with_the_twin_carries_figures_of_every_stream() -> None:
    of = ss.station(ss.twin_streams())
    numbers = figures(of, "first")
    assert set(numbers.streams) == {"a", "b"}
    assert numbers.together is not None
    made = plan(of, "first")
    assert {table.valve for table in made.turn_tables} == {"RVa", "RVb"}
    assert {use.node for use in made.drain_budget} >= {"B3", "C4.a", "C4.b", "H1.RVa", "H1.RVb", "J1"}
    assert sum(node.litres for node in made.nodes) > 0.0
    assert made.node("S8.a").expect[0].nominal == pytest.approx(3.6 * BAR, abs=0.2 * BAR)


@pytest.mark.source(kind="independent", ref="the design finds the same flow by its own search")
@pytest.mark.parametrize("name", ["quernhollow-lane", "mesquill-flat", "tarnholt-quay"])
def test_plan_and_design_name_one_changeover_flow(name: str) -> None:
    of = load(read(name)).station
    found = together(of, ways_of_visit(of, "station out").ways)
    wanted = next(one for one in design(of).handovers if one.flow > 0.0)
    assert found.handover == pytest.approx(wanted.flow, rel=2e-4)
    assert found.follower in wanted.carry
