"""The twin with something wrong in it: what a change does, and that nothing of it is left behind."""

from __future__ import annotations

import random
from functools import cache
from math import isfinite, isnan

import pytest

from steadyhead.design.twin import SteadyTwin
from steadyhead.procedure.causes import MOST_LISTED, weigh
from steadyhead.station.examples import read
from steadyhead.station.load import load
from steadyhead.visits.plan import figures
from steadyhead.visits.signatures.beside import warming
from steadyhead.visits.signatures.faults import both_ways, faults, ladder
from steadyhead.visits.signatures.states import TWIN, Drawn, Site
from steadyhead.visits.signatures.twin import SOUND, Change
from steadyhead.visits.trial import WaterTable
from tests.visits.signatures.test_signatures import made


@cache
def drawn(name: str) -> Drawn:
    station = load(read(name)).station
    numbers = figures(station, "first")
    model = SteadyTwin(station).model
    share = min(opening.share for opening in numbers.inlet_opening.values())
    site = Site(model, share, numbers.trickle_flow, numbers.flow_points, numbers.outlet_storage)
    return Drawn(site, {}, WaterTable(280.0, 288.0, 1e6))


def usual(one: Drawn, state: str, change: Change = SOUND) -> dict[str, float]:
    flows = one.site.flows(state)
    return one.read(state, change, flows[len(flows) // 2] if flows else 0.0)


@pytest.mark.parametrize("name", ["quillenby-row", "dunmarrow-bottom", "sorrel-flat"])
def test_nothing_of_a_fault_is_left_behind_in_any_state(name: str):
    one = drawn(name)
    states = [s for s in TWIN if "monitor" not in s and s not in ("first_open", "after_trip")]
    before = {state: usual(one, state) for state in states}
    for fault in faults(one.site.model):
        for change in fault.changes[:1]:
            for state in ("trickle", "lockup", "flow"):
                usual(one, state, change)
    after = {state: usual(one, state) for state in states}
    for state in states:
        for place, value in before[state].items():
            again = after[state][place]
            assert again == value or (isnan(again) and isnan(value)), (state, place)


def test_the_most_that_passes_is_where_the_outlet_comes_to_nothing():
    one = drawn("quillenby-row")
    frozen = Change(lift={"RV": 0.003})
    most = one.most("trickle", frozen)
    assert most is not None
    assert one.read("trickle", frozen, 0.999 * most)["T3"] < 0.3e5
    assert one.read("trickle", frozen, 0.5 * most)["T3"] > 1e5
    assert one.most("trickle", SOUND) is None


def test_a_pilot_kept_open_changes_nothing_while_it_would_stand_wider_open():
    one = drawn("quillenby-row")
    held = next(fault for fault in faults(one.site.model) if fault.row == 7)
    least, widest = held.changes[0], held.changes[-1]
    assert usual(one, "flow", least) == pytest.approx(usual(one, "flow"), abs=1.0)
    assert usual(one, "trickle", widest)["T3"] > usual(one, "trickle")["T3"] + 1e5


def test_shut_water_rises_by_about_a_bar_for_each_kelvin():
    assert 0.6e5 < warming(drawn("quillenby-row").model) < 2.0e5


def test_neighbours_of_a_row_of_severities():
    assert ladder(1) == ((0, 0),)
    assert ladder(3) == ((0, 1), (1, 2))
    assert both_ways(2) == ((0, 1), (2, 3))


def test_whatever_is_read_no_more_than_five_are_listed_and_shares_are_shares():
    chance = random.Random(5)
    for signature in made("quillenby-row", "first")[2].values():
        for _ in range(15):
            readings = {
                one.input: (chance.choice((0.0, 4e5, 8.5e5, chance.uniform(-1e5, 2e6), 1e9)), 5e3)
                for one in signature.reads
                if chance.random() < 0.8
            }
            flow = chance.choice((None, 0.0, 1e-4, 1e-2, 10.0))
            found = weigh(signature, readings, flow)
            assert len(found) <= MOST_LISTED
            assert sum(one.share for one in found) <= 1.0 + 1e-9
            assert all(isfinite(one.share) and isfinite(one.misfit) for one in found)
            assert bool(found) == bool(readings)
