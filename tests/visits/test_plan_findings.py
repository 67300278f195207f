"""Findings of a plan: each is raised, told in words, and stops or changes what it says."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from steadyhead.findings import CATALOGUE, Severity, tell
from steadyhead.findings.catalogue.procedure import ENTRIES
from steadyhead.findings.model import Finding
from steadyhead.records.station import Station
from steadyhead.units import US
from steadyhead.visits.feasibility import Refused, feasibility, past_due
from steadyhead.visits.plan import build, findings, not_released, plan
from tests.visits.chain_stations import (
    RELIEF,
    after,
    monitor_for_shut_off,
    relief_for_shut_off,
    shut_off_ahead,
)
from tests.visits.plan_stations import (
    ALONE,
    DOWN,
    PAIR,
    UP,
    block,
    made,
    numbers,
    part,
    setting,
    station,
    top,
    weak_outlet,
    without,
)


def no_direction(data):
    part(data, "RV")["pilot"].pop("raises")


def third_reducer(data):
    spare = dict(part(data, "RV2"), id="RV3")
    data["line"].insert(-1, spare)


def weak_between(data):
    for limit in data["limits"]:
        if limit.get("side") == "between":
            limit.update(fault="6 bar", normal="6 bar")


def no_between(data):
    data["limits"] = [limit for limit in data["limits"] if limit.get("side") != "between"]


LOW = block("supply", min="1 bar")
NO_PUMP = top(equipment={"hand_pump": "no"})
PUMP = top(equipment={"hand_pump": "yes"})
ALIKE = setting("MON", duty={"pressure": "4.0 bar", "flow": "5 L/s"}, lockup=None)
SHORT = setting("RV", pilot={"spring_low": "1.5 bar", "spring_high": "4.6 bar"})


def low_stage(data):
    part(data, "RV1")["duty"]["pressure"] = "92 psi"
    part(data, "RV1").pop("lockup")


RAISED = [
    ("PLAN-01", PAIR, (third_reducer,), Severity.STOP),
    ("PLAN-02", UP, (without("TD"),), Severity.STOP),
    ("PLAN-03", DOWN, (without("TD2"),), Severity.STOP),
    ("PLAN-04", UP, (without("IV1"),), Severity.STOP),
    ("PLAN-04", UP, (without("IV2"),), Severity.STOP),
    ("PLAN-05", PAIR, (without("T2"), setting("RV1", senses="T4")), Severity.STOP),
    ("PLAN-06", UP, (setting("SO", senses="T2"),), Severity.STOP),
    ("PLAN-07", UP, (setting("SO", trip=None),), Severity.STOP),
    ("PLAN-08", DOWN, (setting("RV", senses="T3"),), Severity.STOP),
    ("PLAN-08", UP, (setting("RV", senses="T1"),), Severity.STOP),
    ("PLAN-09", DOWN, (weak_between,), Severity.STOP),
    ("PLAN-10", UP, (LOW, NO_PUMP), Severity.STOP),
    ("PLAN-11", UP, (LOW,), Severity.HEED),
    ("PLAN-12", UP, (lambda d: part(d, "RV")["pilot"].update(spring_high="5 bar"),), Severity.HEED),
    ("PLAN-13", UP, (setting("IV2", tight="no"),), Severity.HEED),
    ("PLAN-14", UP, (setting("SO", live_trip="not allowed"),), Severity.HEED),
    ("PLAN-15", UP, (setting("SO", senses="T4"),), Severity.HEED),
    ("PLAN-16", UP, (setting("SO", limit_switch=None),), Severity.HEED),
    ("PLAN-17", ALONE, (), Severity.HEED),
    ("PLAN-18", PAIR, (), Severity.HEED),
    ("PLAN-19", UP, (setting("SO", sensing_tap="not known"),), Severity.HEED),
    ("PLAN-20", UP, (setting("SO", tell_tale="none"),), Severity.HEED),
    ("PLAN-21", UP, (setting("SO", closes_by="not known"),), Severity.HEED),
    ("PLAN-22", ALONE, (setting("IV2", tight="no"),), Severity.HEED),
    ("PLAN-23", UP, (), Severity.HEED),
    ("PLAN-24", UP, (NO_PUMP,), Severity.HEED),
    ("PLAN-25", PAIR, (), Severity.HEED),
    ("PLAN-26", UP, (block("station", fire_water="yes"),), Severity.ASK),
    ("PLAN-26", ALONE, (block("station", fire_water="yes"),), Severity.HEED),
    ("PLAN-26", UP, (block("station", kind="fire main"),), Severity.ASK),
    ("PLAN-26", UP, (), Severity.HEED),
    ("PLAN-27", UP, (no_direction,), Severity.HEED),
    ("PLAN-28", DOWN, (no_between,), Severity.HEED),
    ("PLAN-32", UP, (weak_outlet,), Severity.HEED),
    ("PLAN-33", UP, (setting("IV1", tight="no"),), Severity.HEED),
    ("PLAN-34", UP, (), Severity.NOTE),
    ("PLAN-31", ALONE, (setting("IV2", tight="no"), NO_PUMP), Severity.HEED),
    ("PLAN-36", UP, (after("T3", {**RELIEF, "cock": "not known"}), PUMP), Severity.ASK),
    ("PLAN-36", UP, (after("T3", {**RELIEF, "cock": "no"}), PUMP), Severity.HEED),
    ("PLAN-37", UP, (after("T3", {**RELIEF, "crack": "5.6 bar"}),), Severity.HEED),
    ("PLAN-38", UP, (after("T4", RELIEF),), Severity.HEED),
    ("PLAN-39", UP, (monitor_for_shut_off, ALIKE), Severity.STOP),
    ("PLAN-40", UP, (monitor_for_shut_off, SHORT), Severity.STOP),
    ("PLAN-41", PAIR, (shut_off_ahead, low_stage, PUMP), Severity.HEED),
    ("PLAN-42", UP, (relief_for_shut_off,), Severity.HEED),
    ("PLAN-43", UP, (monitor_for_shut_off,), Severity.HEED),
    ("PLAN-44", UP, (monitor_for_shut_off, setting("IV2", tight="no")), Severity.HEED),
    ("PLAN-45", UP, (relief_for_shut_off, setting("IV2", tight="no")), Severity.HEED),
]


@pytest.mark.parametrize(("code", "name", "changes", "severity"), RAISED)
def test_a_fact_raises_its_finding(code, name, changes, severity):
    found = [f for f in feasibility(station(name, *changes)).findings if f.code == code]
    assert [f.severity for f in found] == [severity]
    assert_told(found[0])
    if severity is Severity.STOP:
        with pytest.raises(Refused, match=code):
            made(name, *changes)
    else:
        assert code in {note.id for note in made(name, *changes).notes}


def is_live(of: Station) -> bool:
    facts = feasibility(of).facts
    assert facts is not None
    return facts.is_live


def assert_told(finding: Finding) -> None:
    for told in (tell(finding), tell(finding, US)):
        for words in (told.title, told.statement, told.why, told.cure):
            assert words
            assert "{" not in words
            assert "!" not in words


def test_a_gauge_past_its_date_is_told_on_the_day_and_named_for_no_proof():
    late = top(gauges=[{"id": "TG-1", "span": "10 bar", "accuracy": "0.6 %", "due": "2024-06-30"}])
    of = station(UP, late)
    given = numbers(of)
    [finding] = past_due(of, date(2026, 11, 25))
    assert (finding.code, finding.severity) == ("PLAN-35", Severity.HEED)
    assert_told(finding)
    plan = build(of, "first", "", given, day=date(2026, 11, 25))
    assert "PLAN-35" in {note.id for note in plan.notes}
    assert "note.gauges" not in {note.id for note in plan.notes}
    assert {"A6.due", "A6.past_due"} <= {m.id for m in plan.node("A6").do}
    assert "TG-1 due 2024-06-30" in str(plan.node("A6").do[0].params["gauges_due"])
    on_time = build(of, "first", "", given, day=date(2024, 6, 30))
    assert "A6.past_due" not in {m.id for m in on_time.node("A6").do}
    assert past_due(of, None) == ()


def test_a_design_that_is_not_released_stands_on_the_face_of_its_plan():
    plan = made(UP)
    stop, heed = Finding("PLAN-02", "line", Severity.STOP), Finding("PLAN-23", "line", Severity.HEED)
    face = not_released(plan, [stop, heed])
    assert [note.id for note in face.notes[:2]] == ["note.not_released", "PLAN-02"]
    assert face.notes[2:] == plan.notes
    assert not_released(plan, [heed]) is plan


def test_every_code_of_the_plan_is_raised_by_a_test_here():
    by_numbers = {"PLAN-29", "PLAN-30", "PLAN-35"}
    of_streams = {entry.code for entry in ENTRIES if entry.code >= "PLAN-46"}  # raised in test_plan_streams
    assert {entry.code for entry in ENTRIES} - of_streams == {code for code, *_ in RAISED} | by_numbers
    assert {entry.code for entry in ENTRIES} <= set(CATALOGUE)


@pytest.mark.parametrize(
    ("code", "change"),
    [
        pytest.param("PLAN-29", {"inlet_opening": {}}, id="no opening"),
        pytest.param("PLAN-30", {"test_limit": {}}, id="no limit"),
    ],
)
@pytest.mark.parametrize("name", [UP, DOWN])
def test_a_section_that_no_drain_holds_or_no_limit_bounds_stops_the_plan(code, change, name):
    of = station(name)
    bad = replace(numbers(of), **change)
    with pytest.raises(Refused, match=code) as refused:
        build(of, "first", "", bad)
    for finding in refused.value.findings:
        assert_told(finding)
    assert code in {f.code for f in findings(of, bad)}


def test_a_stop_of_the_figures_stops_the_plan_too():
    of = station(UP)
    stop = Finding("NUM-01", "IV1", Severity.STOP)
    with pytest.raises(Refused, match="NUM-01"):
        build(of, "first", "", replace(numbers(of), findings=(stop,)))
    assert findings(of, replace(numbers(of), findings=(stop,)))[0].code == "NUM-01"


def test_a_refusal_carries_all_findings_and_asks_the_twin_nothing():
    with pytest.raises(Refused) as refused:
        plan(station(UP, without("TD"), without("IV2")), "first")
    assert {f.code for f in refused.value.findings} >= {"PLAN-02", "PLAN-04"}


def test_findings_without_figures_are_those_of_the_file():
    assert findings(station(UP)) == tuple(feasibility(station(UP)).findings)


@pytest.mark.source(
    kind="common practice", ref="design handbook 3.2 ES3: inlet at trip + 0.5 bar; no single source"
)
def test_the_inlet_must_stand_half_a_bar_above_the_trip_to_be_raised():
    """Trip 5.2 bar; levels carry the supply to the datum: 10 m above it add 0.98 bar."""
    assert is_live(station(UP, block("supply", min="5.69 bar"))) is False
    assert is_live(station(UP, block("supply", min="5.71 bar"))) is True
    assert is_live(station(UP, block("supply", min="4.75 bar", level="106 m"))) is True


@pytest.mark.source(
    kind="common practice", ref="design handbook 2.3: spring range to trip + 10 %; no single source"
)
def test_the_reducer_spring_must_reach_a_tenth_beyond_the_trip():
    def spring(top_of_range):
        return lambda data: part(data, "RV")["pilot"].update(spring_high=top_of_range)

    assert is_live(station(UP, spring("5.71 bar"))) is False
    assert is_live(station(UP, spring("5.73 bar"))) is True
