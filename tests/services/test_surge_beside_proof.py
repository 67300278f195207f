"""One run of an event says what it cannot tell, and weighs a failure as the protection proof does."""

from __future__ import annotations

from dataclasses import replace

import pytest

from steadyhead.cli.check_text import verdict as verdict_of
from steadyhead.cli.surge_text import surge_text
from steadyhead.design.limits import component_limits
from steadyhead.findings import Severity
from steadyhead.findings.telling import tell
from steadyhead.hydraulics import build
from steadyhead.records.surge import SurgeLimit
from steadyhead.services.judging import judge_file
from steadyhead.services.studies.surge_rows import verdict
from steadyhead.services.studies.surge_words import run_words
from steadyhead.services.surge import run_surge, surge_data
from steadyhead.station import examples
from steadyhead.station.load import load
from steadyhead.surge.causes import is_uncredited
from steadyhead.surge.doubts import otherwise
from steadyhead.surge.entry import asked_of, end_of
from steadyhead.surge.events import studies
from steadyhead.surge.study import run_study
from steadyhead.surge.together import grouped
from steadyhead.units import METRIC
from tests.station.test_reaches_and_events import text as with_reaches
from tests.surge.files import text, way

CREDITED = text(events="credited: [{failure: reducer fails open, within: 5 s, at: night flow}]\n")


@pytest.fixture(scope="module")
def stuck():
    return run_surge(CREDITED, event="pilot-stuck")


@pytest.fixture(scope="module")
def credited():
    return run_surge(CREDITED, event="fails-open")


def test_a_failure_nobody_credits_is_heeded_and_the_status_is_that_of_no_stop(stuck):
    told = [one for one in stuck.findings if one.code == "SUR-14"]
    assert told
    assert {one.severity for one in told} == {Severity.HEED}
    assert stuck.is_inside
    assert surge_data(stuck)["runs"][0]["not_credited"] is True
    assert verdict(stuck.worst) == "over, uncredited"
    assert tell(told[0]).why.startswith("Nobody credits the shut-off with it.")


def test_the_same_limit_passed_in_a_credited_failure_is_a_stop(credited):
    told = [one for one in credited.findings if one.code == "SUR-14"]
    assert {one.severity for one in told} == {Severity.STOP}
    assert not credited.is_inside
    assert verdict(credited.worst) == "exceeded"


def test_told_together_what_forbids_stands_apart_from_what_is_to_be_heeded(stuck, credited):
    together = grouped((*stuck.findings, *credited.findings))
    told = {(one.severity, one.case) for one in together if one.code == "SUR-14"}
    assert {severity for severity, _ in told} == {Severity.STOP, Severity.HEED}
    assert all("pilot-stuck" not in case for severity, case in told if severity is Severity.STOP)


@pytest.mark.parametrize(
    ("source", "event", "within", "expected"),
    [
        (CREDITED, "fails-open", None, False),
        (CREDITED, "fails-open", 10.0, False),
        (CREDITED, "fails-open", 2.0, True),
        (CREDITED, "diaphragm-torn", None, True),
        (CREDITED, "demand-falls", None, False),
        (text(), "fails-open", None, True),
        (examples.read("pinnock-yard"), "fails-open", None, False),
    ],
)
def test_a_failure_is_credited_where_the_file_credits_one_as_fast(source, event, within, expected):
    assert is_uncredited(build(load(source).station), event, within) is expected


def test_one_run_of_a_failure_that_holds_points_to_the_proof_and_never_says_nothing_to_do(stuck):
    held = replace(stuck.worst, limits=(SurgeLimit("pipes", "consumer", 0.0, 9e5, 5e5, 4e5, "inside"),))
    held = replace(held, supply=replace(held.supply, is_separated=False))
    held = replace(held, consumer=replace(held.consumer, is_separated=False))
    said = run_words(held, METRIC)
    assert "Nothing to do" not in said
    assert "That is one run as stated" in said
    assert "steadyhead prove" in said
    assert "Nothing to do in this event." in run_words(replace(held, group="demand-falls"), METRIC)
    assert "steadyhead prove" in " ".join(surge_text(stuck, METRIC, is_overview=True).split())


def test_without_a_shut_off_check_says_that_failures_are_not_stopped_and_what_shows_them():
    sheet = judge_file(examples.read("pinnock-yard")).sheet
    told = [one for one in sheet.findings if one.code == "SUR-61"]
    assert told
    assert "nothing shuts when" in tell(told[0]).statement
    assert "steadyhead surge" in tell(told[0]).cure
    assert told[0].severity in (Severity.NOTE, Severity.HEED)
    assert verdict_of(sheet).endswith("run steadyhead surge.")
    with_one = judge_file(examples.read("quillenby-row")).sheet
    assert "SUR-61" not in {one.code for one in with_one.findings}


def two(quiet: float, usual: float, limit: float):
    one = SurgeLimit("spur", "outlet", 0.0, limit, quiet, 4e5, "inside")
    return one, replace(one, peak_at_datum=usual)


@pytest.mark.parametrize(("usual", "direction"), [(5.4e5, "higher"), (4.6e5, "lower")])
def test_a_quiet_run_that_differs_by_more_than_the_room_left_is_heeded_with_its_direction(usual, direction):
    (told,) = otherwise("demand-falls", [two(5.0e5, usual, 5.3e5), two(5.0e5, 5.1e5, 9e5)])
    assert (told.code, told.severity) == ("SUR-60", Severity.HEED)
    assert told.value is not None
    assert told.value.si == pytest.approx(0.4e5)
    assert f"{direction} by 0.40 bar" in tell(told).statement
    assert "the outlet" in tell(told).statement


def test_a_difference_that_fits_into_the_room_left_is_not_heeded():
    assert not list(otherwise("demand-falls", [two(5.0e5, 5.2e5, 5.3e5)]))


def test_an_event_made_with_a_quiet_reducer_carries_the_usual_plan_beside_it():
    plastic = "main: {length: 800 m, bore: 150 mm, material: PVC-U}, volume: 60 m³, material: PVC-U"
    view, model = way(text(zone=plastic))
    found, _ = studies(view, model, "demand-falls")
    study = found[0]
    assert study.usual is not None
    assert study.usual != study.drafted.plan
    assert study.usual_until <= study.until
    limits = tuple(component_limits(view.station, model.density))
    first = run_study(study, limits, checks_grid=False)
    assert first is not None
    tight = tuple(
        replace(one, fault_at_datum=seen.sees_at_datum + 10.0)
        for one, seen in zip(limits, first.limits, strict=True)
    )
    again = run_study(study, tight, checks_grid=False)
    assert again is not None
    (told,) = (one for one in again.findings if one.code == "SUR-60")
    assert (told.severity, told.case) == (Severity.HEED, "demand-falls")


def test_reaches_that_are_stated_are_not_asked_for_again():
    stated, lumped = load(with_reaches().encode()).station.zone, load(text()).station.zone
    assert "State the reaches" in asked_of(lumped, "")
    assert "the reaches of the zone" not in asked_of(stated, "")
    assert asked_of(stated, "").startswith("Find out how the zone goes on behind its last reaches")
    assert asked_of(stated, "Close").startswith("Close; find out")
    assert (end_of(stated), end_of(lumped)) == ("its last reaches", "the zone's main")
