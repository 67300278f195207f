"""Plans with the twin's own figures: bands stand at their steps; one fact leaves the rest alone."""

from __future__ import annotations

from functools import cache, partial

import pytest

from steadyhead import __version__
from steadyhead.visits.numbers import work_out
from steadyhead.visits.plan import build, plan
from steadyhead.visits.text import render
from tests.visits.plan_stations import DOWN, LAYOUTS, PAIR, UP, differences, setting, station, top

SAMPLES = 12


@cache
def planned(name, kind="first", *changes):
    of = station(name, *changes)
    return build(of, kind, "", work_out(of, kind, samples=SAMPLES))


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_question_of_the_twin_stands_at_a_step_of_the_first_plan(name):
    of = station(name)
    asked = work_out(of, "first", samples=SAMPLES).bands
    shown = {(e.low, e.high) for node in planned(name).nodes for e in node.expect}
    yearly_too = {(e.low, e.high) for node in planned(name, "yearly").nodes for e in node.expect}
    missing = {key for key, band in asked.items() if (band.low, band.high) not in shown | yearly_too}
    assert missing <= {
        "static.T0",
        "static.T1",
        "v2_drain.T1",
        "trickle.T2",
        "lockup.T2",
        "duty.T1",
        "lockup_set.T2",
        "reset.T3",
        "trip.T3",
        "trip_set.T3",
        "trickle_set.T2",
    }


@pytest.mark.parametrize("name", LAYOUTS)
def test_the_plan_of_an_example_prints(name):
    text = render(planned(name))
    assert "expected" in text
    assert "Water let off" in text


@pytest.mark.parametrize(
    ("change", "changed"),
    [
        pytest.param(top(equipment={"hand_pump": "no"}), {"A6", "D2", "EF1.RV"}, id="no pump"),
        pytest.param(setting("SO", tell_tale="none"), {"ES4.SO", "F1.SO"}, id="no tell-tale"),
        pytest.param(
            setting("SO", closes_by="spring"), {"C3", "C4", "D4.SO", "F2.SO"}, id="closed by a spring"
        ),
    ],
)
def test_a_fact_of_the_crew_or_the_pilot_moves_no_band(change, changed):
    assert differences(planned(UP), planned(UP, "first", change))["changed"] == changed


@pytest.fixture
def few_samples(monkeypatch):
    few = partial(work_out, samples=SAMPLES)
    monkeypatch.setattr("steadyhead.visits.plan.work_out", few)


def test_the_plan_carries_version_hash_and_a_name_of_its_own(few_samples):
    made = plan(station(DOWN), "return_to_service", station_hash="ab" * 32)
    assert made.engine_version == __version__
    assert made.station_hash == "ab" * 32
    assert made.id == "DMB-01.return_to_service.abababababab"


def test_without_figures_the_twin_is_asked(few_samples):
    assert build(station(PAIR), "yearly").nodes[0].id == "Y1"
