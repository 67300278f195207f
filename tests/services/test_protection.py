"""A proof is kept and found again; what it changes in judging, plan, card and design sheet."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from steadyhead.cli.app import run
from steadyhead.design.protection import prove_station, questions
from steadyhead.design.window_checks import failure_words, window_words
from steadyhead.findings import Severity, tell
from steadyhead.records.protection import NeedleWindow, ProofSheet
from steadyhead.reports.protection_tables import edges, sections
from steadyhead.services import protection
from steadyhead.services.judging import judge_file, sheet_data
from steadyhead.services.papers import card_data, design_paper
from steadyhead.services.planning import make_plan
from steadyhead.station import examples
from steadyhead.station.load import load
from steadyhead.units import METRIC, US, say
from steadyhead.visits.windows import narrowed
from tests.surge.files import text
from tests.there import there

SOURCE = examples.read("dunmarrow-bottom")


@pytest.fixture(scope="module")
def station():
    return load(SOURCE).station


@pytest.fixture(scope="module")
def proof(station):
    return prove_station(station)


@pytest.fixture(scope="module")
def judged(proof):
    return judge_file(SOURCE, proof=proof)


def with_window(proof, **changes):
    (way,) = proof.ways
    return ProofSheet((replace(way, window=replace(way.window, **changes)),))


def codes(judged):
    return [finding.code for finding in judged.sheet.findings]


def test_a_proof_is_read_again_bit_by_bit(station, proof, tmp_path):
    assert protection.look_up(station, tmp_path) is None
    kept = there(protection.keep(station, proof, tmp_path))
    assert kept.parent == tmp_path
    assert protection.look_up(station, tmp_path) == proof
    assert hash(protection.look_up(station, tmp_path)) == hash(proof)
    assert protection.proof_of(station, place=tmp_path) == proof


@pytest.mark.parametrize("content", [b"", b"{", b"[]", b"null", b"\xff\xfe", b'{"format": 1, "key": 2}'])
def test_a_kept_proof_that_cannot_be_read_counts_for_none(station, proof, tmp_path, content):
    there(protection.keep(station, proof, tmp_path)).write_bytes(content)
    assert protection.look_up(station, tmp_path) is None


def test_a_kept_proof_whose_figures_are_no_figures_counts_for_none(station, proof, tmp_path):
    path = there(protection.keep(station, proof, tmp_path))
    held = json.loads(path.read_bytes())
    held["proof"]["ways"][0]["trip"] = "high"
    path.write_text(json.dumps(held), encoding="utf-8")
    assert protection.look_up(station, tmp_path) is None


def test_another_file_is_another_proof_and_an_answer_is_not(station):
    changed = load(SOURCE.replace(b"trip: 4.75 bar", b"trip: 4.8 bar")).station
    assert protection.key_of(changed) != protection.key_of(station)
    answer = b'answers:\n  - {to: "LAD-10", at: "credited", value: "abc", answer: "so", by: "Ilse Marrow"}\n'
    assert protection.key_of(load(SOURCE + answer).station) == protection.key_of(station)


def test_a_folder_that_cannot_be_written_loses_nothing(station, proof, tmp_path):
    blocked = tmp_path / "file"
    blocked.write_text("here is a file", encoding="utf-8")
    assert protection.keep(station, proof, blocked) is None


def test_only_some_hundred_proofs_are_kept(station, proof, tmp_path, monkeypatch):
    monkeypatch.setattr(protection, "MOST_KEPT", 2)
    for number in range(3):
        (tmp_path / f"{number}.json").write_bytes(b"{}")
    protection.keep(station, proof, tmp_path)
    assert len(list(tmp_path.glob("*.json"))) == 2


def test_a_station_without_a_shut_off_has_nothing_to_prove(tmp_path):
    alone = load(examples.read("pinnock-yard")).station
    assert protection.proof_of(alone, place=tmp_path) == ProofSheet(())
    assert list(questions(alone)) == []


def test_what_was_stopped_is_not_kept(station, tmp_path):
    assert protection.proof_of(station, place=tmp_path, cancel=lambda: True) is None
    assert not list(tmp_path.iterdir())


def test_the_ladder_stands_on_the_proved_overshoot(judged, proof):
    lumped = judge_file(SOURCE)
    (way,) = proof.ways
    ladder = judged.sheet.ladder
    assert ladder.inputs.overshoot == pytest.approx(way.overshoot)
    assert there(lumped.sheet.ladder).inputs.overshoot != pytest.approx(way.overshoot, rel=0.05)
    credited = [peak for peak in ladder.peaks if peak.credited]
    assert [peak.proved for peak in credited] == [True]
    assert credited[0].peak == pytest.approx(way.highest.consumer_peak)
    also = {(peak.within, peak.at) for peak in ladder.peaks if peak.proved and not peak.credited}
    assert also == {(2.0, "night flow"), (2.0, "average flow"), (120.0, "average flow")}
    assert ladder.worst_case.peak == pytest.approx(way.highest.consumer_peak)


def test_a_bound_gives_way_to_what_is_proved(judged):
    lumped = judge_file(SOURCE)
    assert {"LAD-37", "LAD-27"} <= set(codes(lumped))
    assert not {"LAD-37", "LAD-27"} & set(codes(judged))
    assert "SUR-31" in codes(judged)


def test_without_a_proof_nothing_is_told_of_one():
    lumped = judge_file(SOURCE)
    assert lumped.sheet.protection == ()
    assert not [code for code in codes(lumped) if code.startswith("SUR-")]


def test_every_finding_of_a_proof_has_words_in_both_units(judged, proof):
    (way,) = proof.ways
    rough = replace(
        way,
        grid_change=0.02,
        mains=(True, False),
        missing=("lowest inlet pressure, night flow",),
        hunts=("RV2",),
    )
    found = judge_file(SOURCE, proof=ProofSheet((rough,))).sheet.findings
    told = {one.code: tell(one, US).statement for one in found if one.code.startswith("SUR-")}
    assert "2 %" in told["SUR-30"]
    assert "RV2" in told["SUR-30"]
    assert "lowest inlet pressure" in told["SUR-30"]
    assert "psi" in told["SUR-26"]
    assert json.dumps(sheet_data(judged), allow_nan=False)


def test_a_large_difference_to_the_lumped_overshoot_is_explained(proof):
    (way,) = proof.ways
    cases = tuple(
        replace(case, peaks=tuple(replace(peak, peak=peak.peak + 1e5) for peak in case.peaks))
        for case in way.cases
    )
    found = judge_file(SOURCE, proof=ProofSheet((replace(way, cases=cases),)))
    (told,) = [tell(one) for one in found.sheet.findings if one.code == "SUR-29"]
    assert "the stroke takes" in told.statement
    assert "a wave in the zone's main returns after" in told.statement


def test_a_limit_ahead_of_the_shut_off_forbids_a_release_only_where_the_failure_is_credited(proof):
    (way,) = proof.ways

    def low(case):
        peaks = (
            replace(one, limit=20e5, verdict="over") if one.side == "inlet" else one for one in case.peaks
        )
        return replace(case, peaks=tuple(peaks))

    all_low = ProofSheet((replace(way, cases=tuple(map(low, way.cases))),))
    weights = {one.code: one.severity for one in judge_file(SOURCE, proof=all_low).sheet.findings}
    assert weights["SUR-25"] is Severity.STOP
    assert weights["SUR-26"] is Severity.HEED
    uncovered = there(judge_file(SOURCE, proof=all_low).sheet.ladder).not_covered
    assert "pilot of RV sticks open" in uncovered


def test_an_empty_window_forbids_a_release_and_tells_what_opens_it(proof):
    (way,) = proof.ways
    edge = way.window.slowest
    empty = with_window(proof, state="empty", slowest=replace(edge, stopwatch=5.0), fastest=edge)
    found = {one.code: one for one in judge_file(SOURCE, proof=empty).sheet.findings}
    assert found["SUR-32"].severity is Severity.STOP
    assert "Nothing that was tried" in tell(found["SUR-32"]).cure


def test_a_narrow_window_and_a_needle_outside_are_to_be_heeded(proof):
    edge = proof.ways[0].window.slowest
    narrow = with_window(proof, slowest=replace(edge, stopwatch=8.0), fastest=replace(edge, stopwatch=6.0))
    outside = with_window(proof, slowest=replace(edge, stopwatch=5.0), fastest=None)
    for sheet, words in ((narrow, "narrower than"), (outside, "lies outside")):
        (found,) = [one for one in judge_file(SOURCE, proof=sheet).sheet.findings if one.code == "SUR-31"]
        assert found.severity is Severity.HEED
        assert words in tell(found).statement


def test_the_card_prints_the_window_rounded_inwards(judged, proof):
    card = card_data(judged)
    slowest = proof.ways[0].window.slowest.stopwatch
    assert card["stopwatch_edges"][0] == "any"
    assert slowest - 0.1 <= float(card["stopwatch_edges"][1].removesuffix(" s")) <= slowest
    stroke = proof.ways[0].window.stroke
    assert "Window of the protection proof, timed at 0.25 L/s" in card["stopwatch"]
    assert f"{say(stroke.inlet, 'pressure', METRIC)} ahead" in card["stopwatch"]
    assert card_data(judge_file(SOURCE))["stopwatch_edges"] == ["", ""]
    empty = judge_file(SOURCE, proof=with_window(proof, state="empty"))
    assert "no time holds every limit" in card_data(empty)["stopwatch"]


def test_the_plan_expects_a_closing_time_inside_the_window(proof):
    edge = proof.ways[0].window.slowest
    usual = there(make_plan(SOURCE, "first").numbers).bands["closing.time"]
    cut = with_window(proof, slowest=replace(edge, stopwatch=7.5), fastest=replace(edge, stopwatch=6.5))
    found = there(make_plan(SOURCE, "first", proof=cut).numbers).bands["closing.time"]
    assert found.low == pytest.approx(usual.nominal * 6.5 / 7.0, rel=1e-6)
    assert found.high == pytest.approx(usual.nominal * 7.5 / 7.0, rel=1e-6)
    assert usual.low < found.low < found.nominal < found.high < usual.high


def test_a_needle_outside_its_window_is_expected_where_the_window_is(proof):
    window = proof.ways[0].window
    usual = there(make_plan(SOURCE, "first").numbers).bands["closing.time"]
    slow = narrowed(usual, replace(window, fastest=replace(window.slowest, stopwatch=14.0), slowest=None))
    fast = narrowed(usual, replace(window, slowest=replace(window.slowest, stopwatch=2.0)))
    assert slow.low == pytest.approx(2.0 * usual.nominal)
    assert fast.high == pytest.approx(usual.nominal * 2.0 / 7.0)
    for band in (slow, fast):
        assert 0.0 <= band.low <= band.nominal <= band.high


def test_the_design_sheet_has_a_section_for_the_proof(judged):
    import datetime

    (section,) = sections(judged.sheet, METRIC)
    names = [row[0] for row in section["rows"] if row[0]]
    assert names == [
        "RV drifts open in 2 min",
        "RV: pilot sticks open, not credited",
        "RV: diaphragm tears, not credited",
        "RV fails open in 2 s, not credited",
    ]
    assert {row[1] for row in section["rows"]} == {"Consumers", "Between the valves", "Supply main"}
    assert any(line.startswith("Slowest") for line in section["window"])
    assert design_paper(judged, METRIC, datetime.date(2027, 3, 1)).startswith(b"%PDF")


def test_a_window_in_words_has_the_ends_it_has(proof):
    edge = proof.ways[0].window.slowest
    fast, slow = replace(edge, stopwatch=8.674), replace(edge, stopwatch=10.32)
    assert window_words(slow, fast) == "8.7 s to 10.3 s"
    assert window_words(slow, None) == "at most 10.3 s"
    assert window_words(None, fast) == "at least 8.7 s"
    window = replace(proof.ways[0].window, slowest=slow, fastest=fast)
    assert edges(window) == ("8.7 s", "10.3 s")
    assert isinstance(window, NeedleWindow)
    assert failure_words(proof.ways[0].failures[0]) == "RV drifts open within 2 min"


def test_the_command_proves_and_keeps_what_it_proved(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("STEADYHEAD_PROOF", "yes")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path / "cache"))
    file = tmp_path / "station.yaml"
    file.write_bytes(text(night=20.0))
    assert run(["prove", str(file)]) == 1
    out = capsys.readouterr().out
    assert "RV drifts open in 2 min" in out
    assert "Closing time" in out
    assert len(list((tmp_path / "cache" / "steadyhead" / "proofs").iterdir())) == 1
    assert run(["prove", str(file), "--json"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert data["format"] == "steadyhead/protection-result/1"
    assert data["ways"][0]["cases"][0]["peaks"][0]["peak_pa_at_datum"] > 4e5
    run(["check", str(file), "--json"])
    assert json.loads(capsys.readouterr().out)["sheet"]["protection"]
    run(["check", str(file), "--json", "--without-proof"])
    assert not json.loads(capsys.readouterr().out)["sheet"]["protection"]


def test_a_station_with_nothing_to_prove_says_so(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("STEADYHEAD_PROOF", "yes")
    file = tmp_path / "station.yaml"
    file.write_bytes(examples.read("pinnock-yard"))
    assert run(["prove", str(file)]) == 2
    assert "has no shut-off: there is nothing to prove" in capsys.readouterr().err
