"""Advice for a real plan, the turns answered by the steady twin of the station with another spring in it."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from math import sqrt

import pytest

from steadyhead.hydraulics import build
from steadyhead.procedure.advice import advise
from steadyhead.procedure.plain import from_json, to_json
from steadyhead.records.advice import Event
from steadyhead.services.planning import make_plan
from steadyhead.station import examples
from steadyhead.station.load import load
from steadyhead.station.mechanics import pressure_per_turn
from steadyhead.visits.drains import outlet_drain
from steadyhead.visits.gauging import taps_with_gauges
from steadyhead.visits.trial import Trial, WaterTable
from steadyhead.visits.turns import lowest_lockup

UP, DOWN = "quernhollow-lane", "dunmarrow-bottom"


@cache
def made(name: str):
    plan = make_plan(examples.read(name), "first")
    assert plan.procedure is not None
    return plan


class Line:
    """The outlet of a station in the trickle, its reducer fitted with another spring."""

    def __init__(self, name: str, factor: float):
        from steadyhead.station.streams import views

        plan = made(name)
        self.station = views(load(examples.read(name), name).station)[0].station
        self.model = build(self.station)
        kelvin = self.station.water.temperature.si
        water = WaterTable(kelvin, kelvin, self.model.atmosphere + self.station.supply.typical.si)
        self.trial = Trial(self.model, {}, water)
        self.reducer = self.model.layout.reducers[-1]
        drain = outlet_drain(self.model.layout)
        assert drain is not None
        self.drain = drain
        self.rate = factor * pressure_per_turn(self.reducer.pilot).si
        self.turned = 0.0
        self.trickle = plan.numbers.trickle_flow

    def read(self) -> float:
        lockup = max(lowest_lockup(self.model, self.reducer), 1e4) + self.rate * self.turned
        share = self.trickle / (self.trial.full(self.drain.id) * sqrt(self.reducer.duty.pressure.si))
        state = self.trial.at(drains={self.drain.id: min(share, 1.0)}, lockup={self.reducer.id: lockup})
        tap = taps_with_gauges(self.station, self.model.layout)["T3"]
        return tap.at_tap(state.taps["T3"], self.trial.density)


@pytest.mark.source(kind="independent", ref="steady twin of the station, spring by a factor off its plate")
@pytest.mark.parametrize("factor", [0.5, 1.0, 1.4, 3.0])
@pytest.mark.parametrize(("name", "steps"), [(UP, ("ES1.RV", "ES3.SO")), (DOWN, ("DS2", "DS3"))])
def test_the_twin_is_brought_to_duty_and_to_the_trip_and_never_past_the_limit(name, steps, factor):
    advising = from_json(to_json(made(name).procedure)).advice
    line = Line(name, factor)
    events, turns = [Event("read", line.read())], 0
    for step in steps:
        aim = next(one for one in advising.aims if one.step == step and one.valve == "RV")
        screw = replace(advising.screw(aim), trip=None)
        for _ in range(30):
            found = advise(screw, events)
            if found.status != "turn":
                break
            line.turned += found.turn
            turns += 1
            events += [Event("turn", found.turn), Event("read", line.read())]
            assert events[-1].amount <= screw.limit, (step, turns)
            assert events[-1].amount <= found.worst or found.turn < 0.0
        assert found.status in ("there", "no nearer"), (step, found)
        assert abs(events[-1].amount - aim.target) <= 0.16e5
    assert turns <= 25


def test_a_plan_carries_a_screw_for_every_pilot_and_an_aim_for_every_step_that_turns_one():
    for name, wanted in ((UP, {"RV", "SO", "LB"}), (DOWN, {"RV", "SO"})):
        procedure = made(name).procedure
        assert {screw.valve for screw in procedure.advice.screws} == wanted
        steps = {node.id for node in procedure.nodes}
        assert {aim.step for aim in procedure.advice.aims} <= steps
        assert from_json(to_json(procedure)).advice.aims[0].step == procedure.advice.aims[0].step


def test_the_limit_of_a_table_leaves_the_error_of_the_gauge_out():
    line, limits = Line(UP, 1.0), made(UP).procedure.limits
    gauge = taps_with_gauges(line.station, line.model.layout)["T3"].gauge
    screw = next(one for one in made(UP).procedure.advice.screws if one.valve == "RV")
    assert screw.limit == pytest.approx(limits["test_limit@main"] - gauge.error, abs=10.0)
