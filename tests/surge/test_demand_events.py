"""Events of the file: how they move demand, whether they trip, and the smallest that does."""

from __future__ import annotations

from dataclasses import replace

import pytest

from steadyhead import surge
from steadyhead.errors import InputError
from steadyhead.hydraulics import solve
from steadyhead.surge.demand_events import step_shares
from steadyhead.surge.events import names_of, studies
from steadyhead.surge.kernel import layout as at
from steadyhead.surge.smallest import Stopped, _edge, smallest_trip
from steadyhead.surge.study import run_study
from tests.surge.files import text, way
from tests.surge.test_reaches import TREE


def with_events(*events, source=None):
    lines = "".join(f"  - {{{event}}}\n" for event in events)
    return (source or text()).replace(b"line:\n", f"events:\n{lines}line:\n".encode())


def only(source, event):
    view, model = way(source)
    (study,), missed = studies(view, model, event)
    assert "SUR-17" not in [finding.code for finding in missed]
    return study


def ran(study):
    run = run_study(study)
    assert run is not None
    return run


@pytest.mark.source(kind="analytic", ref="the draw-off is the flow before plus the stated change, at rest")
def test_an_event_moves_the_flow_by_what_it_states_and_back():
    source = with_events("id: fill, draws: 10 m³/h, within: 2 s, lasts: 15 s")
    study = only(source, "fill")
    run = ran(study)
    drawn, time = run.trace.flows["consumers"], run.trace.time
    base = study.drafted.before.consumer_flow
    assert base == pytest.approx(30.0 / 3600.0, rel=1e-6)
    during = [q for q, t in zip(drawn, time, strict=True) if 14.0 < t < 17.5]
    assert sum(during) / len(during) == pytest.approx(base + 10.0 / 3600.0, rel=0.02)
    assert drawn[-1] == pytest.approx(base, rel=0.02)
    assert run.shut_offs[0].trip is None
    assert run.smallest is not None
    assert not run.smallest.trips


@pytest.mark.source(kind="analytic", ref="an edge found by halving: it trips there and 3 % below it does not")
def test_the_smallest_event_that_trips_trips_and_a_smaller_one_does_not():
    source = with_events("id: pump, stops: 25 m³/h, within: 0.2 s", source=text(night=20.0))
    study = only(source, "pump")
    assert study.trial is not None
    found = smallest_trip(study.drafted.plan, study.trial)
    assert found is not None
    assert found.least is not None
    assert found.shut_off == "SO"

    def trips(change, within):
        view, model = way(
            with_events(
                f"id: pump, stops: {-change * 3600.0:.6g} m³/h, within: {within:.6g} s",
                source=text(night=20.0),
            )
        )
        (one,), _ = studies(view, model, "pump")
        plant = surge.compile_plan(one.drafted.plan)
        schedule, state = one.begin(plant)
        trace = surge.run(plant, state, schedule, 22.0)
        row = state.row_state[plant.rows["SO"]]
        return row[at.TRIPS] > 0.0 and len(trace.time) > 0

    assert trips(found.least, 0.2)
    assert not trips(0.97 * found.least, 0.2)
    if found.trips:
        assert abs(found.least) <= abs(found.change)
        assert found.slowest is not None
        assert found.slowest >= found.within


def test_a_search_can_be_stopped_and_a_station_without_a_trip_has_none():
    source = with_events("id: pump, stops: 25 m³/h, within: 1 s")
    study = only(source, "pump")
    with pytest.raises(Stopped):
        smallest_trip(study.drafted.plan, study.trial, lambda: True)
    assert run_study(study, cancel=lambda: True) is None
    bare = only(source.replace(b"    trip: 5.5 bar\n", b""), "pump")
    assert smallest_trip(bare.drafted.plan, bare.trial) is None


def test_an_event_that_trips_is_told_for_a_shut_off_is_for_faults():
    source = with_events("id: pump, stops: 30 m³/h, within: 0.1 s", source=text(night=20.0)).replace(
        b"trip: 5.5 bar", b"trip: 4.6 bar"
    )
    run = ran(only(source, "pump"))
    assert run.shut_offs[0].trip is not None
    assert "SUR-43" in [finding.code for finding in run.findings]
    assert run.smallest is not None
    assert run.smallest.trips
    assert run.smallest.least is not None
    assert abs(run.smallest.least) <= 30.0 / 3600.0


def test_an_event_at_one_reach_moves_that_reach_alone():
    source = with_events(
        "id: hydrant, stops: 8 m³/h, within: 1 s, at: peak flow, place: D", source=text(zone=TREE)
    )
    study = only(source, "hydrant")
    view, model = way(source)
    before = solve(model, study.drafted.case.conditions).consumer_flow
    plant = surge.compile_plan(study.drafted.plan)
    rest = surge.steady_rest(plant)
    own = rest.pipe_flows["reach D"]
    assert own == pytest.approx(0.1 * (before - 8.0 / 3600.0) + 8.0 / 3600.0, rel=1e-3)
    schedule, state = study.begin(plant)
    surge.advance(plant, state, schedule, int(20.0 / plant.step))
    end = state.joint_state[plant.joints["end of D"]]
    assert float(end[at.DRAW]) == pytest.approx(0.1 * (before - 8.0 / 3600.0), rel=0.05)
    assert view.station.events[0].place == "D"


def test_more_that_stops_than_flows_is_not_run_and_told():
    view, model = way(with_events("id: pump, stops: 90 m³/h, within: 1 s"))
    found, missed = studies(view, model, "pump")
    assert not found
    assert "SUR-17" in [finding.code for finding in missed]


def test_events_of_the_file_stand_beside_ours_and_may_not_take_their_names():
    view, _ = way(with_events("id: pump, stops: 9 m³/h, within: 1 s"))
    assert names_of(view.station)[-1] == "pump"
    view, model = way(with_events("id: opening, stops: 9 m³/h, within: 1 s"))
    with pytest.raises(InputError, match="every station has"):
        studies(view, model)


def test_shares_go_there_and_back():
    assert step_shares(1.0)[-1] == (2.0, 1.0)
    assert step_shares(1.0, 5.0)[-1] == (8.0, 0.0)


@pytest.mark.source(kind="analytic", ref="bisection to 2 % of itself, either sign, over decades")
@pytest.mark.parametrize(("yes", "no", "edge"), [(8.0, 0.0, 3.0), (-8.0, 0.0, -3.0), (0.1, 400.0, 37.0)])
def test_an_edge_is_found_to_two_per_cent(yes, no, edge):
    found = _edge(lambda size: abs(size - yes) <= abs(edge - yes), yes, no)
    assert found == pytest.approx(edge, rel=0.021)


def test_a_run_knows_its_event():
    run = ran(replace(only(with_events("id: pump, stops: 9 m³/h, within: 9 s"), "pump"), trial=None))
    assert run.group == "pump"
    assert run.smallest is None
