from __future__ import annotations

from dataclasses import replace
from math import inf

import pytest

from steadyhead import surge
from steadyhead.findings.telling import tell
from steadyhead.hydraulics import case
from steadyhead.surge.air import air_effect, air_findings, chamber_volume, runs_away_from
from steadyhead.surge.events import studies
from steadyhead.surge.from_station import draft
from steadyhead.surge.metrics import interpolated
from steadyhead.surge.rest import Rest
from steadyhead.surge.study import run_study
from tests.surge.files import text, way
from tests.surge.plans import kv, reducer, shut_off, station
from tests.surge.slow_air import swings

pytestmark = pytest.mark.by_turns(4)

SPECIFICATION = "physics specification of the project, worked out by its independent reference"


def demand(before: float, after: float) -> surge.Schedule:
    points = ((0.0, kv(before)), (1.0, kv(before)), (2.0, kv(after)))
    return surge.Schedule((surge.Straight("zone", "demand", points),))


def ran(air: float, before: float, after: float, until: float) -> tuple[surge.Plant, surge.Trace, Rest]:
    row = reducer(air=air)
    plan = station(row, surge.Section("T2", 0.008), shut_off(trip=99e5), reaches=100, demand=before)
    plant = surge.compile_plan(plan)
    rest = surge.steady_rest(plant)
    moves = demand(before, after)
    return plant, surge.run(plant, surge.start(plant, moves, rest), moves, until), rest


@pytest.mark.source(
    kind="independent", ref="the laws stepped one by one, apart from the engine (slow_air.py); 0.06 bar",
    note="explicit steps of 4 ms, sections without storage",
)  # fmt: skip
def test_a_step_of_demand_with_air_in_the_chamber_goes_as_the_laws_stepped_one_by_one():
    _, trace, rest = ran(1e-4, 30.0, 18.0, 4.2)
    start = {
        "flow": rest.flow, "lift": rest.lifts["RV"], "chamber": float(trace.chamber("RV")[0]),
        "middle": float(trace.pressure("T2")[0]), "outlet": float(trace.pressure("T3")[0]),
    }  # fmt: skip
    times, other = swings(air=1e-4, before=30.0, after=18.0, until=4.2, start=start)
    ours = trace.pressure("T3")
    for tenth in range(10, 40):
        moment = tenth / 10.0
        mine = interpolated(trace.time, ours, moment)
        assert mine == pytest.approx(interpolated(times, other, moment), abs=0.06e5), moment


@pytest.mark.source(
    kind="independent", ref=f"{SPECIFICATION}: 0.1 L, DN 100, 36 m³/h: period 0.69 s", note="5 %"
)
def test_a_tenth_of_a_litre_hunts_by_itself_with_the_period_of_the_reference():
    _, trace, _ = ran(1e-4, 18.0, 18.2, 60.0)
    size, period = surge.swing(trace.time, trace.pressure("T3"))
    assert period == pytest.approx(0.69, rel=0.05)
    assert size > 0.5e5


@pytest.mark.source(kind="independent", ref=f"{SPECIFICATION}: 10 mL invisible, 30 mL slower decay")
def test_a_little_air_is_not_seen_and_a_little_more_decays_slowly():
    left = []
    for air in (0.0, 1e-5, 3e-5):
        _, trace, _ = ran(air, 30.0, 29.5, 25.0)
        left.append(surge.swing(trace.time, trace.pressure("T3"))[0])
    assert left[1] == pytest.approx(left[0], abs=0.02e5)
    assert left[2] < 0.1e5


def test_the_less_water_flows_the_less_air_is_enough():
    edges = []
    for k in (5.0, 18.0, 60.0):
        plant = surge.compile_plan(station(demand=k))
        edges.append(runs_away_from(plant, surge.steady_rest(plant), reducer()))
    assert edges == sorted(edges)
    assert edges[1] == pytest.approx(1.1e-4, rel=0.1)


def test_air_is_an_event_that_tells_what_it_does():
    view, model = way(text(night=20.0, peak=55.0))
    (study,), _ = studies(view, model, "air-in-chamber")
    run = run_study(study)
    assert run is not None
    assert "L of air" in study.happens
    assert {finding.code for finding in run.findings} & {"SUR-36", "SUR-37"}


def test_where_no_air_makes_it_run_away_no_figure_stands_for_it(monkeypatch):
    view, model = way(text(night=20.0, peak=55.0))
    (study,), _ = studies(view, model, "air-in-chamber")
    run = run_study(study)
    assert run is not None
    monkeypatch.setattr("steadyhead.surge.air.runs_away_from", lambda *_: inf)
    for period in (None, 0.7):
        (told,) = air_findings(study, replace(run, period=period), surge.compile_plan(study.drafted.plan))
        said = tell(told).statement
        assert "no volume of air was found" in said
        assert "inf" not in said.split()


def test_little_air_comes_to_rest():
    _, model = way(text(peak=55.0))
    drafted = draft(model, case(model.station, "typical", "peak"))
    row = next(part for part in drafted.plan.station if isinstance(part, surge.ReducerRow))
    effect = air_effect(drafted, "RV", 0.02 * chamber_volume(row))
    assert not effect.hunts
    assert effect.runs_away_from > effect.volume


def test_swings_are_told_with_their_size_or_until_the_column_parts():
    view, model = way(text(night=20.0, peak=55.0))
    (study,), _ = studies(view, model, "air-in-chamber")
    run = run_study(study)
    assert run is not None
    plant = surge.compile_plan(study.drafted.plan)
    whole = {side: replace(getattr(run, side), is_separated=False) for side in ("supply", "consumer")}
    swinging = replace(run, swing=0.9e5, period=0.69, **whole)
    (told,) = air_findings(study, swinging, plant)
    assert "0.90 bar, every 0.69 s" in tell(told).statement
    parted = replace(swinging, consumer=replace(run.consumer, is_separated=True))
    (told,) = air_findings(study, parted, plant)
    assert "until the column parts, every 0.69 s" in tell(told).statement
    assert told.value is None
    (quiet,) = air_findings(study, replace(run, period=None), plant)
    assert quiet.code == "SUR-37"
