"""Targets a plan takes from the design: crack and reseat, rise of heated water, distance of trips."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from steadyhead.design.sheet import judge as design
from steadyhead.design.stagger import least_apart, proof_scatter
from steadyhead.findings import Amount
from steadyhead.records.parts import Relief, ShutOff
from steadyhead.records.plan_numbers import Warmed
from steadyhead.station.examples import shelf
from steadyhead.station.load import load
from steadyhead.visits.plan import build
from steadyhead.visits.several.judging import figures, judge
from steadyhead.visits.texts import say
from tests.visits import stream_stations
from tests.visits.chain_stations import building
from tests.visits.plan_stations import numbers
from tests.visits.stream_stations import made, setting, station, twin_streams

BAR = 1e5


@pytest.fixture(scope="module")
def house():
    return load(shelf.read("veldany-house")).station


@pytest.fixture(scope="module")
def shown(house):
    return figures(house, judge(house, "return_to_service", whole=True), "return_to_service")


def told(plan, step: str, text: str) -> dict[str, Any]:
    return next(dict(message.params) for message in plan.node(step).do if message.id == text)


def test_relief_valve_is_raised_to_the_crack_and_error_of_the_ladder(house):
    ladder = design(house).streams[0].ladder.inputs
    plan = build(house, "first", "", stream_stations.numbers(house, "first"))
    assert ladder.relief_crack is not None
    target = told(plan, "R1.RL", "R1.target")
    assert target["ladder_crack"].si == pytest.approx(ladder.relief_crack)
    assert target["ladder_error"].si == pytest.approx(ladder.relief_error)
    again = told(plan, "R4.RL", "R4.lift")
    assert again["ladder_late"].si == pytest.approx(ladder.relief_crack + ladder.relief_error)


def test_reseat_is_the_stated_one_or_said_to_be_assumed():
    def stated(data: dict[str, Any]) -> None:
        next(part for part in data["line"] if part["id"] == "RL")["reseat"] = "5.0 bar"

    of, bare = building(stated), building()
    relief = next(part for part in of.parts() if isinstance(part, Relief))
    assert relief.reseat is not None
    plan = build(of, "first", "", numbers(of))
    assert told(plan, "R2.RL", "R2.target")["ladder_reseat"].si == pytest.approx(relief.reseat.si)
    assert told(build(bare, "first", "", numbers(bare)), "R2.RL", "R2.target_taken")


def test_heating_is_expected_to_start_from_the_likeliest_lockup_and_stays_below_the_design(house, shown):
    note = next(one for one in design(house).findings if one.code in ("LAD-69", "LAD-70"))
    assert note.value is not None
    hot = next(iter(shown.streams.values())).warmed
    assert hot is not None
    assert hot.taken_up
    highest = note.params["starts"]
    assert isinstance(highest, Amount)
    assert highest.si - 0.3 * BAR < hot.starts < highest.si
    assert hot.ends - hot.starts == pytest.approx(note.value.si - highest.si, rel=0.1)
    assert hot.ends < note.value.si
    said = told(build(house, "return_to_service", "", shown), "J3T", "J3T.expected")
    assert said["heat_ends"].si == pytest.approx(hot.ends)


def test_more_rise_than_the_vessel_lets_pass_is_told_apart():
    hot = Warmed(4.9 * BAR, 5.12 * BAR, 1.36 * BAR, taken_up=True)
    of = building()
    step = build(of, "first", "", replace(numbers(of), warmed=hot)).node("J3T")
    when = next(one.when for one in step.otherwise if one.see.id == "J3T.more.see")
    assert when["gt"][0] == {"sub": [{"value": "T3.on"}, {"value": "T3.still"}]}
    assert when["gt"][1] > hot.ends - hot.starts
    bare = replace(hot, taken_up=False)
    none = build(of, "first", "", replace(numbers(of), warmed=bare)).node("J3T")
    assert "J3T.expected_none" in {message.id for message in none.do}


def test_plan_asks_for_the_distance_of_trips_that_the_design_is_sure_of():
    of = station(twin_streams())
    early, late = sorted((p for p in of.parts() if isinstance(p, ShutOff)), key=lambda p: p.id)
    step = made(twin_streams()).node("S7.SOb")
    assert told(made(twin_streams()), "S7.SOb", "S7.work_out")["least"].si == pytest.approx(
        least_apart(of, early, late)
    )
    assert step.proves == ("SOb.stagger",)


@pytest.mark.source(kind="analytic", ref="two trips, each ± tol, are in order only from the sum of both on")
def test_trips_closer_than_both_scatter_are_not_called_in_order():
    of = station(twin_streams())
    early, late = sorted((p for p in of.parts() if isinstance(p, ShutOff)), key=lambda p: p.id)
    plan = made(twin_streams())
    step = plan.node("S7.SOb")
    told_order = told(plan, "S7.SOb", "S7.order")["order_sure"].si
    assert told_order == pytest.approx(sum(part.size for part in proof_scatter(of, early, late)))
    assert told_order >= least_apart(of, early, late)
    checks = {one.see.id: one.when for one in step.otherwise}
    assert checks["S7.unordered.see"]["lt"][1] == pytest.approx(told_order)
    assert "within two proofs' scatter" in say(plan.names["SOb.stagger"])


@pytest.mark.parametrize("trip", ["5.2 bar", "5.5 bar"])
def test_trips_of_no_sure_distance_are_written_down_and_prove_nothing(trip):
    plan = made(twin_streams(), setting("SOb", trip=trip))
    step = next(node for node in plan.nodes if node.id.startswith("S7."))
    assert [message.id for message in step.do] == ["S7.write_down", "S7.order"]
    assert not step.proves
    assert [one.see.id for one in step.otherwise] == ["S7.unordered.see"]
