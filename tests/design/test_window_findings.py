"""What the findings about the trip's window say, and when they are silent; found missing by mutants."""

from __future__ import annotations

import re
from types import SimpleNamespace
from typing import Any

import pytest

from steadyhead.design.basis import Basis
from steadyhead.design.credit import credited_overshoot
from steadyhead.design.ladder import stack
from steadyhead.design.ladder_checks import _cures, _trip, window_inputs
from steadyhead.design.rungs import rungs
from steadyhead.design.sheet import judge
from steadyhead.design.twin import SteadyTwin
from steadyhead.findings import tell
from steadyhead.units import METRIC
from tests.design.code_cases import CASES, DAY
from tests.design.stations import UPSTREAM, part, station_of, top
from tests.design.test_ladder import BAR, worked_example


def found(code, name, *edits):
    return [one for one in judge(station_of(name, *edits), DAY).findings if one.code == code]


def test_an_empty_window_names_both_its_edges_and_every_tolerance_of_the_trip():
    (one,) = found("LAD-04", *[CASES["LAD-04"][0], *CASES["LAD-04"][1]])
    assert re.search(r" and at most \d", tell(one, METRIC).statement)
    named = {each.label for each in one.inputs}
    assert {"trip: repeatability", "trip: drift", "trip: gauge"} <= {n.partition(" (")[0] for n in named}
    assert {"highest normal", "gap"} <= named


def test_a_window_open_either_way_asks_nothing_about_the_way_tolerances_add_up():
    assert found("LAD-05", *[CASES["LAD-05"][0], *CASES["LAD-05"][1]])
    assert not found("LAD-05", UPSTREAM, top(stacking="root-sum-square"))


@pytest.mark.parametrize(("trip", "said"), [(5.0, ["LAD-06"]), (5.1, [])])
def test_a_trip_below_the_lower_edge_is_a_stop_though_the_upper_edge_is_not_known(trip, said):
    ladder = stack(worked_example(fault_limit=None, trip=trip * BAR))
    assert ladder.worst_case.verdict == "not known"
    assert [one.code for one in _trip(ladder, ladder.worst_case, "SO trip", ())] == said


def test_cures_stand_one_behind_the_other_with_single_blanks():
    class Cure:
        kinds, words, caution = ("trip",), "Lower it.", ""

    assert _cures((Cure(), Cure())) == "Each of these opens it alone: Lower it. Lower it."  # type: ignore[arg-type]


def test_a_trip_outside_the_window_is_worked_out_for_the_middle_of_the_window_it_gets_there():
    station = station_of(UPSTREAM, part("SO", trip="6.2 bar"))
    found = rungs(Basis(station, SteadyTwin(station)), full=False)
    window = found.ladder.worst_case
    assert window.highest is not None
    assert found.worked_trip == pytest.approx(0.5 * (window.lowest + window.highest), abs=200.0)


@pytest.mark.parametrize("moved", [None, 0.0, 20_000.0, -1e9])
def test_the_overshoot_moves_by_what_a_proof_adds_and_never_below_nothing(moved):
    station = station_of(UPSTREAM)
    basis = Basis(station, SteadyTwin(station))
    now = rungs(basis, correction=moved)
    assert now.worked_trip is not None
    assert now.closing is not None
    lumped = credited_overshoot(basis, now.worked_trip, now.closing.si)
    assert lumped is not None
    assert lumped > 0.0
    assert now.ladder.inputs.overshoot == pytest.approx(max(lumped + (moved or 0.0), 0.0))


@pytest.mark.parametrize("trip", ["4.9 bar", "9.5 bar"])
def test_what_the_window_rests_on_says_where_it_is_not_worked_out_for_the_chosen_trip(trip):
    station = station_of(UPSTREAM, part("SO", trip=trip))
    now = rungs(Basis(station, SteadyTwin(station)))
    rests_on = {one.label: one.provenance for one in window_inputs(Basis(station, SteadyTwin(station)), now)}
    is_moved = now.worked_trip != now.ladder.inputs.trip
    said = rests_on["overshoot of the credited failure"].endswith("for a trip in the window's middle")
    assert said is is_moved


def test_the_two_trips_of_that_test_lie_inside_and_outside_the_window():
    for trip, is_inside in (("4.9 bar", True), ("9.5 bar", False)):
        station = station_of(UPSTREAM, part("SO", trip=trip))
        assert rungs(Basis(station, SteadyTwin(station))).ladder.worst_case.trip_inside is is_inside


def test_a_proof_moves_the_overshoot_of_every_trip_by_what_it_adds_at_its_own():
    station = station_of(UPSTREAM)
    basis = Basis(station, SteadyTwin(station))
    bare = rungs(basis, full=False)
    assert bare.closing is not None
    lumped = credited_overshoot(basis, 5.5 * BAR, bare.closing.si)
    assert lumped is not None
    proof: Any = SimpleNamespace(trip=5.5 * BAR, overshoot=lumped + 30_000.0)
    now = rungs(basis, full=False, proof=proof)
    assert now.correction == pytest.approx(30_000.0)
    assert now.worked_trip is not None
    assert now.closing is not None
    here = credited_overshoot(basis, now.worked_trip, now.closing.si)
    assert here is not None
    assert now.ladder.inputs.overshoot == pytest.approx(here + 30_000.0)
