"""What weighs how much in a proof: limits, waves thrown back, columns that part, what is not proved."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from steadyhead.cli.check_text import check_text
from steadyhead.cli.proof_text import proof_text
from steadyhead.design.failure_checks import _covers
from steadyhead.design.protection import prove_station, questions
from steadyhead.design.proved import fastest_held, with_proof
from steadyhead.design.ways import ways_of
from steadyhead.findings import Severity, tell
from steadyhead.records.protection import ProofSheet
from steadyhead.reports.design_tables import failures
from steadyhead.reports.ladders import ladder_picture
from steadyhead.reports.protection_tables import sections
from steadyhead.services.judging import judge_file
from steadyhead.services.protection import is_proved
from steadyhead.station import examples
from steadyhead.station.load import load
from steadyhead.surge.proof import Moved, proving, with_own_error
from steadyhead.surge.window import needle_window
from steadyhead.units import METRIC
from tests.there import there

SOURCE = examples.read("dunmarrow-bottom")


@pytest.fixture(scope="module")
def way():
    sheet: Any = prove_station(load(SOURCE).station)
    return sheet.ways[0]


def changed(way, case=None, **peak):
    """Return a proof of which every case has another consumers' peak."""

    def one(each):
        peaks = (replace(p, **peak) if p.side == "consumer" and peak else p for p in each.peaks)
        return replace(each, peaks=tuple(peaks), **(case or {}))

    return ProofSheet((replace(way, cases=tuple(map(one, way.cases))),))


def findings(sheet):
    return {one.code: one for one in judge_file(SOURCE, proof=sheet).sheet.findings}


def test_the_example_a_person_sees_first_is_proved_without_a_question(way):
    judged = judge_file(SOURCE, proof=ProofSheet((way,)))
    assert is_proved(judged.sheet.findings)
    assert not {"SUR-25", "SUR-27", "SUR-28", "SUR-44"} & {one.code for one in judged.sheet.findings}
    assert all(case.is_held for case in way.cases if case.failure.credited)


def test_what_the_proof_did_not_run_is_called_lumped_everywhere(way):
    judged = judge_file(SOURCE, proof=ProofSheet((way,)))
    ladder = there(judged.sheet.ladder)
    lumped = [peak for peak in ladder.peaks if ladder.is_lumped(peak)]
    assert {peak.within for peak in lumped} >= {30.0, 600.0}
    assert not any(peak.within == 2.0 for peak in lumped)
    rows = [row for row in failures(judged.sheet, METRIC) if "lumped" in row[0]]
    assert len(rows) == len(lumped)
    picture = there(ladder_picture(judged.loaded.station, judged.sheet))
    shown = [peak.label for peak in picture.peaks if not peak.credited]
    assert all(("lumped" in label) == (" 2 s," not in label) for label in shown)
    said = " ".join(check_text(judged, METRIC).split())
    assert said.count("lumped: not run in the proof") == len(lumped)
    bare = judge_file(SOURCE)
    assert "lumped: not" not in check_text(bare, METRIC)


def test_fast_failures_are_told_as_proved_and_the_lumped_edge_only_where_it_fits(way):
    told = tell(findings(ProofSheet((way,)))["LAD-09"]).statement
    assert told.startswith(
        "In the proof the shut-off covers a reducer that goes open within 2 min, not within 2 s."
    )
    ladder = there(judge_file(SOURCE, proof=ProofSheet((way,))).sheet.ladder)
    assert "By the lumped zone it covers those slower than" in _covers(
        replace(ladder, covers_slower_than=50.0)
    )
    assert "What lies between was not run" in _covers(replace(ladder, covers_slower_than=500.0))
    assert "What lies between was not run" in _covers(replace(ladder, covers_slower_than=1.0))


def test_a_lumped_failure_is_not_called_uncovered_where_a_faster_one_is_proved_to_hold(way):
    low = changed(way, peak=4e5, rebound=None, verdict="inside").ways[0]
    low = replace(
        low, cases=tuple(replace(c, peaks=tuple(p for p in c.peaks if p.side != "outlet")) for c in low.cases)
    )
    assert fastest_held(low, 6e5) == 2.0
    assert fastest_held(low, 3e5) is None
    assert fastest_held(low, None) is None
    ladder = there(judge_file(SOURCE, proof=ProofSheet((way,))).sheet.ladder)
    slow = replace(ladder.peaks[-1], within=30.0, credited=False, covered=False, proved=False)
    basis = ways_of(load(SOURCE).station)[0]
    assert with_proof(basis, (slow,), low, 6e5)[0].covered is None
    assert with_proof(basis, (slow,), low, 3e5)[0].covered is False


def test_the_proof_says_what_no_closing_time_covers_and_which_walls_creep(way):
    said = " ".join(proof_text(judge_file(SOURCE, proof=ProofSheet((way,))), METRIC).split())
    assert "the shut-off's own sensing cock shut" in said
    assert "torn main diaphragm of the shut-off" in said
    assert "SUR-10" in said
    assert "whose wall gives way in time" in said


def test_the_stroke_in_a_failure_is_that_of_the_proof(way):
    shut = [
        there(case.shut_after)
        for case in way.cases
        if case.failure.within == 2.0 and (case.inlet, case.flow) == ("static", "night")
    ]
    told = findings(ProofSheet((way,)))["LAD-35"]
    assert there(told.value).si == pytest.approx(sum(shut) / len(shut))
    assert min(shut) < there(told.value).si < max(shut)


@pytest.mark.parametrize(("least", "weight"), [(6.2e5, Severity.ASK), (7.1e5, Severity.STOP)])
def test_a_wave_thrown_back_is_a_stop_where_any_number_of_mains_passes_and_else_a_question(
    way, least, weight
):
    sheet = changed(way, rebound=7.5e5, rebound_least=least)
    told = findings(sheet)["SUR-27"]
    assert told.severity is weight
    assert "7.50 bar" in tell(told).statement
    assert f"{least / 1e5:.2f} bar with 1 main like it" in tell(told).why
    judged = judge_file(SOURCE, proof=sheet)
    assert not is_proved(judged.sheet.findings)
    said = " ".join(proof_text(judged, METRIC).split())
    assert "thrown back once shut 7.50, bears" in said
    assert "thrown back: EXCEEDED" in said


def test_a_column_that_parts_is_a_question(way):
    parted = replace(way.cases[0].supply, cavity=1e-3, is_separated=True)
    sheet = changed(way, case={"supply": parted, "has_fallen_in": True})
    told = findings(sheet)["SUR-28"]
    assert told.severity is Severity.ASK
    assert "Inside the window of the closing time no column parts" in tell(told).why
    always = ProofSheet((replace(sheet.ways[0], window=replace(way.window, parts=True)),))
    assert "parts at every closing time" in tell(findings(always)["SUR-28"]).why
    assert findings(always)["SUR-31"].severity is Severity.HEED


def test_a_side_without_a_verdict_is_not_held_and_is_printed_as_such(way):
    sheet = changed(way, verdict="no verdict")
    assert not any(case.is_held for case in sheet.ways[0].cases)
    judged = judge_file(SOURCE, proof=sheet)
    assert "NO VERDICT" in proof_text(judged, METRIC)


def test_a_main_below_the_pressure_of_the_air_is_told_and_so_are_the_highest_consumers(way):
    low = replace(way.cases[0].consumers, at_highest=-0.4e5)
    told = findings(changed(way, case={"consumers": low}))["SUR-44"]
    assert told.severity is Severity.HEED
    assert "highest consumers" in tell(told).statement
    low = replace(way.cases[0].supply, pressure=-0.5e5)
    assert "supply main" in tell(findings(changed(way, case={"supply": low}))["SUR-44"]).statement


def test_a_band_of_the_closing_time_that_leaves_the_window_is_to_be_heeded(way):
    edge = way.window.slowest
    near = replace(way.window, slowest=replace(edge, stopwatch=7.5))
    told = findings(ProofSheet((replace(way, window=near),)))["SUR-31"]
    assert told.severity is Severity.HEED
    assert "reaches beyond" in tell(told).statement


def test_peak_flow_is_run_and_static_pressure_only_where_little_flows(way):
    run = {(case.inlet, case.flow) for case in way.cases}
    assert ("typical", "peak") in run
    assert ("lowest", "peak") in run
    assert ("static", "peak") not in run


def test_a_proof_is_run_at_the_trip_of_the_file_even_outside_its_window():
    high = SOURCE.replace(b"trip: 4.75 bar", b"trip: 6.2 bar")
    (asked,) = questions(load(high).station)
    assert asked.trip == pytest.approx(6.2e5)
    assert asked.trip_edge > 6.2e5
    (free,) = questions(load(SOURCE.replace(b"    trip: 4.75 bar\n", b"")).station)
    assert not free.is_trip_stated


def test_without_a_supply_main_nothing_is_claimed_of_its_surge():
    line = next(line for line in SOURCE.splitlines() if b"length: 1100 m" in line)
    (asked,) = questions(load(SOURCE.replace(line + b"\n", b"")).station)
    from steadyhead.surge.proof import prove

    found: Any = prove(asked)
    peaks = [case.peak("inlet") for case in found.cases]
    assert {one.verdict for one in peaks} == {"no main"}
    assert found.window.fastest is None


def test_a_way_that_could_not_be_proved_is_asked_about_and_never_silent():
    sheet = ProofSheet((), (("", "no steady state to begin in."),))
    told = findings(sheet)["SUR-45"]
    assert told.severity is Severity.ASK
    assert "no steady state" in tell(told).statement


@pytest.mark.source(kind="analytic", ref="verdict = passed where the rise is over; else what is thrown back")
def test_each_row_shows_the_highest_with_its_own_case_and_what_is_thrown_back(way):
    """The highest until it is shut comes of one case, the wave of another: both are printed with theirs."""
    first, *others = way.cases

    def with_peaks(case, **peak):
        found = (replace(p, **peak) if p.side == "consumer" else p for p in case.peaks)
        return replace(case, peaks=tuple(found))

    low = [with_peaks(one, peak=4.0e5, rebound=5.0e5, verdict="no verdict") for one in others]
    high = with_peaks(first, peak=5.9e5, rebound=6.0e5, verdict="inside")
    wave = with_peaks(others[0], peak=4.0e5, rebound=7.5e5, verdict="no verdict")

    def row(*cases):
        proof = replace(way, cases=cases)
        told = sections(judge_file(SOURCE, proof=ProofSheet((proof,))).sheet, METRIC)[0]["rows"]
        return next(one for one in told if one[1] == "Consumers")

    shown = row(high, *low)
    assert shown[2:4] == ["5.90", "6.00"]
    assert shown[5].startswith("NO VERDICT")
    assert first.words in shown[6]
    shown = row(high, wave, *low[1:])
    assert shown[2:4] == ["5.90", "7.50"]
    assert shown[5] == "thrown back: EXCEEDED"
    assert f"thrown back: {others[0].words}" in shown[6]
    over = with_peaks(first, peak=6.9e5, rebound=7.0e5, verdict="over")
    assert row(over, wave)[5] == "EXCEEDED"


@pytest.mark.parametrize("peak", [{"rebound": 7.5e5}, {"verdict": "no verdict"}, {"verdict": "within error"}])
def test_the_ladder_calls_nothing_covered_that_the_proof_asks_about(way, peak):
    ladder = there(judge_file(SOURCE, proof=changed(way, **peak)).sheet.ladder)
    (credited,) = [one for one in ladder.peaks if one.credited]
    assert credited.covered is None
    held = there(judge_file(SOURCE, proof=ProofSheet((way,))).sheet.ladder)
    assert [one.covered for one in held.peaks if one.credited] == [True]


@pytest.mark.source(kind="analytic", ref="room to the limit against the change on halving, side by side")
@pytest.mark.parametrize(
    ("rise", "wave", "verdict"),
    [(0.5e5, 0.2e5, "inside"), (1.1e5, 0.0, "within error"), (0.0, 0.4e5, "within error")],
)
def test_a_limit_held_by_less_than_the_own_error_has_no_verdict(way, rise, wave, verdict):
    near = changed(way, peak=5.68e5, rebound=6.38e5, limit=6.68e5, verdict="inside").ways[0]
    moved = (Moved("consumer", rise, wave, 0.015), Moved("outlet", 9e5, 9e5, 0.001))
    sheet = ProofSheet((with_own_error(near, moved),))
    credited = [one.peak("consumer") for one in sheet.ways[0].cases if one.failure.credited]
    assert {there(one).verdict for one in credited} == {verdict}
    assert dict(sheet.ways[0].grid_changes) == {"consumer": 0.015, "outlet": 0.001}
    judged = judge_file(SOURCE, proof=sheet)
    told = findings(sheet)["SUR-30"]
    assert "the worst pressure of the consumers' side by 1.5 %" in tell(told).statement
    assert (told.severity is Severity.ASK) is (verdict == "within error")
    assert is_proved(judged.sheet.findings) is (verdict == "inside")
    said = proof_text(judged, METRIC)
    assert ("NO VERDICT: within its own error" in " ".join(said.split())) is (verdict == "within error")


def test_what_moves_at_an_edge_of_the_window_only_judges_no_case(way):
    edge = Moved("consumer", 9e5, 9e5, 0.02, is_worst=False)
    found = with_own_error(way, (edge, Moved("consumer", 0.0, 0.0, 0.001)))
    assert found.cases == way.cases
    told = tell(findings(ProofSheet((found,)))["SUR-30"]).statement
    assert "the pressure at an edge of the window by 2 %" in told


def test_of_a_main_that_is_not_stated_no_column_and_no_wave_is_told(way):
    """The twin puts a stub in its place: what parts or swings in it is nobody's water."""
    line = next(line for line in SOURCE.splitlines() if b"length: 400 m" in line)
    source = SOURCE.replace(line + b"\n", b"")
    assert load(source).station.zone.main is None
    (asked,) = questions(load(source).station)
    made = proving(replace(asked, claims=asked.claims[:1]))
    run = next(made.runs())
    case = run.case(run.finish(), asked.limits, "slow")
    assert there(case.peak("consumer")).rebound is None
    assert not case.consumers.is_separated
    assert run.column(run.finish())[1] == "inlet"
    parted = replace(way.cases[0].consumers, cavity=1e-3, is_separated=True, pressure=-0.9e5)
    sheet = changed(way, case={"consumers": parted})
    assert findings(sheet)["SUR-28"].subject == "consumer main"
    bare = ProofSheet((replace(sheet.ways[0], mains=(True, False)),))
    assert not {"SUR-28", "SUR-44"} & set(findings(bare))
    assert "Consumer main: down to" not in proof_text(judge_file(SOURCE, proof=bare), METRIC)


@pytest.fixture(scope="module")
def house():
    return prove_station(load(examples.read("veldany-house")).station)


def test_a_failure_credited_at_average_flow_is_run_at_night_and_peak_flow_too(house):
    """It does not choose its hour: at night the consumers are driven highest."""
    source = examples.read("veldany-house")
    assert b"at: average flow" in source
    for one in house.ways:
        credited = [case for case in one.cases if case.failure.credited]
        assert {case.flow for case in credited} == {"night", "average", "peak"}
        assert there(one.highest).flow == "night"
        assert all(case.is_held for case in credited)
    assert is_proved(judge_file(source, proof=house).sheet.findings)


@pytest.mark.source(
    kind="independent",
    ref="own runs of all streams together: RVB driven open trips SOA at 12.6 s, SOB at 14.5 s",
)
def test_a_shut_off_beside_the_failed_stream_that_may_trip_too_is_named(house):
    source = examples.read("veldany-house")
    told = [one for one in judge_file(source, proof=house).sheet.findings if one.code == "SUR-46"]
    assert {one.subject for one in told} >= {"SOA"}
    assert {one.severity for one in told} == {Severity.HEED}
    apart = source.replace(b"trip: 5.65 bar", b"trip: 9.65 bar")
    raised = ProofSheet(tuple(replace(one, trip=9.65e5, trip_edge=9.8e5) for one in house.ways))
    assert "SUR-46" not in [one.code for one in judge_file(apart, proof=raised).sheet.findings]


@pytest.mark.source(
    kind="analytic", ref="J/k: edges belong to the needle of the station, not to the one it has"
)
@pytest.mark.parametrize("typed", [b"1.5 s", b"15 s", b"40 s"])
def test_the_window_is_the_same_whatever_closing_time_is_typed_in(way, typed):
    (asked,) = questions(load(SOURCE.replace(b"time: 7 s", b"time: " + typed)).station)
    asked = replace(asked, claims=tuple(one for one in asked.claims if one.failure.credited))
    made = proving(asked)
    found: Any = needle_window(
        list(made.runs()), asked.limits, made.setting, made.stroke, made.stopwatch, kv=made.kv
    )
    assert found.state == "open"
    assert found.fastest is None
    assert found.slowest.stopwatch == pytest.approx(way.window.slowest.stopwatch, rel=0.02)


def test_a_run_of_which_a_figure_left_all_bounds_forbids_a_release(way):
    broken = replace(way.cases[0].worth, broken_at=31.25)
    told = findings(changed(way, case={"worth": broken}))["SUR-59"]
    assert told.severity is Severity.STOP
    assert "leaves all bounds at 31.2 s" in tell(told).statement


def test_what_a_run_is_worth_is_told_over_all_credited_cases(way):
    poor = replace(way.cases[0].worth, mass_error=0.02, adjusted=-0.031, open_steps=2)
    words = tell(findings(changed(way, case={"worth": poor}))["SUR-30"]).statement
    for told in ("2 % of the water", "3.1 %", "did not close"):
        assert told in words
