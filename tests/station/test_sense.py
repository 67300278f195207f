"""What a file tells about itself: contradictions, figures beyond their size, facts left out."""

from __future__ import annotations

import pytest

from steadyhead.design.sheet import judge
from steadyhead.findings import CATALOGUE, Severity, tell
from steadyhead.station.defaults import kv_from_loss
from steadyhead.station.examples import names
from steadyhead.station.load import load
from steadyhead.station.sense import file_findings
from steadyhead.units import METRIC, US
from tests.station.files import example

LIMIT = "fault: 10 bar, level: 71 m"
SLOW = "closing: {time: 4 s, flow: 0.4 L/s}"
TAG = "factory: {pressure: 4.0 bar"


def found(*changes, name="quillenby-row"):
    loaded = load(example(name, *changes))
    return file_findings(loaded.station, loaded.data)


@pytest.mark.parametrize("name", [name for name in names() if name != "hobble-end"])
def test_the_examples_leave_nothing_out_and_contradict_nothing(name):
    assert found(name=name) == ()


@pytest.mark.parametrize(
    ("old", "new", "subject", "words"),
    [
        (
            "min: {value: 7.2 bar",
            "min: {value: 8.7 bar",
            "supply.min",
            "supply.min 8.7 bar and supply.typical",
        ),
        ("typical: 8.6 bar", "typical: 9.8 bar", "supply.typical", "9.8 bar and supply.static 9.6 bar"),
        ("night: 9.1 bar", "night: 9.9 bar", "supply.night", "the static inlet pressure is the highest"),
        ("night: 9.1 bar", "night: 6 bar", "supply.min", "supply.min 7.2 bar and supply.night 6 bar"),
        (
            "average: 7 L/s",
            "average: 20 L/s",
            "demand.average",
            "demand.average 20 L/s and demand.peak 18 L/s",
        ),
        ("night: {value: 1.2 L/s", "night: {value: 25 L/s", "demand.night", "demand.peak 18 L/s"),
        ("lowest: 5 °C", "lowest: 15 °C", "water.lowest", "the coldest lies above the usual"),
        ("highest: 18 °C", "highest: 8 °C", "water.temperature", "the usual lies above the warmest"),
        ("lowest: 70 m", "lowest: 110 m", "zone.lowest", "the lowest consumer lies above the highest"),
        (
            LIMIT,
            "fault: 9 bar, level: 71 m",
            "limits PVC-U distribution main: normal",
            "10 bar and limits PVC",
        ),
    ],
)
def test_values_that_exclude_each_other_stop_the_file(old, new, subject, words):
    (finding,) = found((old, new))
    assert (finding.code, finding.subject, finding.severity) == ("STN-03", subject, Severity.STOP)
    assert words in tell(finding).statement


@pytest.mark.parametrize(
    ("old", "new", "subject", "words"),
    [
        ("night: {value: 1.2 L/s", "night: {value: 8 L/s", "demand.night", "seldom above the average"),
        ("night: {value: 1.2 L/s", "night: {value: 0 L/s", "demand.night", "demand.zero_possible no:"),
        ("level: 84 m", "level: 150 m", "zone.level", "lies above the highest consumer"),
        ("level: 84 m", "level: 60 m", "zone.level", "lies below the lowest consumer"),
        (
            "level: 104 m, f",
            "level: 130 m, f",
            "needs top of Ashlow Rise: level",
            "a critical point lies above",
        ),
        (
            "level: 104 m, f",
            "level: 20 m, f",
            "needs top of Ashlow Rise: level",
            "a critical point lies below",
        ),
        (SLOW, "closing: {time: 4 s, flow: 40 L/s}", "SO: closing.flow", "above the highest hourly flow"),
    ],
)
def test_values_that_are_seldom_right_together_are_asked_about(old, new, subject, words):
    (finding,) = found((old, new))
    assert (finding.code, finding.subject, finding.severity) == ("STN-04", subject, Severity.ASK)
    assert words in tell(finding).statement


def test_no_flow_at_night_without_a_word_about_zero_flow_says_that_it_is_not_stated():
    codes = {
        f.code: tell(f).statement
        for f in found(("night: {value: 1.2 L/s", "night: {value: 0 L/s"), ("  zero_possible: no\n", ""))
    }
    assert "demand.zero_possible no (not stated)" in codes["STN-04"]
    assert "demand.zero_possible" in codes["STN-10"]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("typical: 8.6 bar", "typical: 9.62 bar"),
        ("typical: 8.6 bar", "typical: 139.5 psi"),
        ("level: 84 m", "level: 104.8 m"),
    ],
)
def test_values_that_cross_by_rounding_only_are_left_alone(old, new):
    assert found((old, new)) == ()


@pytest.mark.source(kind="analytic", ref="Kv = 0.04 (D/mm)²/√ζ: DN 80, ζ 0.5 gives 362")
def test_a_drain_that_passes_more_than_its_bore_is_asked_about():
    assert found(("kv: Kv 45", "kv: Kv 361")) == ()
    (finding,) = found(("kv: Kv 45", "kv: Kv 363"))
    assert (finding.code, finding.subject, finding.severity) == ("STN-05", "TD: kv", Severity.ASK)
    assert finding.limit is not None
    assert finding.limit.si == pytest.approx(kv_from_loss(0.5, 0.08), rel=1e-9)
    assert finding.limit.si == pytest.approx(362.0, abs=0.5)


@pytest.mark.parametrize(
    ("old", "new", "subject"),
    [
        ("    duty: {pressure: 4.0", "    kv: Kv 800\n    duty: {pressure: 4.0", "RV: kv"),
        ("    trip: 5.2 bar", "    kv: Kv 2000\n    trip: 5.2 bar", "SO: kv"),
        ("id: ST, size: DN 150", "id: ST, kv_clean: Kv 2000, size: DN 150", "ST: kv_clean"),
        ("id: IV1, name", "id: IV1, kv: Kv 9000, name", "IV1: kv"),
    ],
)
def test_a_valve_that_passes_more_than_its_bore_is_asked_about(old, new, subject):
    assert [(f.code, f.subject) for f in found((old, new))] == [("STN-05", subject)]


@pytest.mark.parametrize(
    ("old", "new", "subject", "words"),
    [
        (TAG, "factory: {pressure: 1.0 bar", "RV", "outside its spring, 1.5 bar to 7 bar"),
        (TAG, "factory: {pressure: 5.5 bar", "RV", "more than 10 % away from the setting wanted, 4.0 bar"),
        ("    trip: 5.2 bar", "    trip: 5.2 bar\n    factory: {pressure: 7 bar}", "SO", "wanted, 5.2 bar"),
        ("    trip: 5.2 bar", "    factory: {pressure: 2 bar}", "SO", "outside its spring"),
    ],
)
def test_a_tag_that_does_not_fit_is_to_be_heeded(old, new, subject, words):
    (finding,) = found((old, new))
    assert (finding.code, finding.severity) == ("STN-06", Severity.HEED)
    assert finding.subject == f"{subject}: factory.pressure"
    assert words in tell(finding).statement


def test_a_tag_at_the_lock_up_fits():
    assert found((TAG, "factory: {pressure: 4.4 bar")) == ()


@pytest.mark.parametrize(
    ("old", "code", "severity"),
    [
        ("    resets: by hand\n", "STN-07", Severity.ASK),
        ("    exhaust: atmosphere\n", "STN-08", Severity.HEED),
        ("    closing_medium: own inlet\n", "STN-09", Severity.HEED),
        ("    pilot: {spring_low: 3 bar, spring_high: 9 bar, raises: clockwise}", "STN-10", Severity.NOTE),
    ],
)
def test_a_fact_left_out_is_told_by_what_it_would_change(old, code, severity):
    new = old.replace(", raises: clockwise", "") if "raises" in old else ""
    (finding,) = found((old, new))
    assert (finding.code, finding.severity) == (code, severity)


def test_all_minor_facts_left_out_come_in_one_note_with_what_each_changes():
    (note,) = found(
        ("turns: 24 turns, closes: clockwise, ", ""),
        (", runs_to: road gully with permit", ""),
        ("  zero_possible: no\n", ""),
    )
    told = tell(note).statement
    for words in ("IV1: turns (", "IV1: closes (", "TD: runs_to (", "demand.zero_possible ("):
        assert words in told


def test_the_closing_medium_of_a_shut_off_downstream_is_asked_for_once():
    text = example("dunmarrow-bottom", ("    closing_medium: own inlet\n", ""))
    codes = [f.code for f in judge(load(text).station).findings]
    assert "LAY-15" in codes
    assert "STN-09" not in codes


def test_the_design_sheet_carries_them_and_an_answer_settles_a_question():
    text = example("quillenby-row", ("    resets: by hand\n", ""))
    (asked,) = [f for f in judge(load(text).station).findings if f.code == "STN-07"]
    line = (
        f'  - {{to: STN-07, at: "{asked.subject}", value: "{asked.value_hash}", answer: by hand, by: Ada}}\n'
    )
    (note,) = [f for f in judge(load(f"{text}answers:\n{line}").station).findings if f.code == "STN-07"]
    assert note.severity is Severity.NOTE


def test_an_answer_still_fits_after_another_part_was_put_in_before():
    text = example("quillenby-row", ("    resets: by hand\n", ""))
    longer = text.replace("  - {part: tap, id: T1}\n", "  - {part: vent, id: V1}\n  - {part: tap, id: T1}\n")
    hashes = [
        next(f for f in judge(load(source).station).findings if f.code == "STN-07").value_hash
        for source in (text, longer)
    ]
    assert hashes[0] == hashes[1]


def test_the_likely_slip_is_read_before_the_stops_it_causes():
    text = example("quillenby-row", ("    trip: 5.2 bar", "    trip: 5.2 psi"))
    findings = judge(load(text).station).findings
    assert findings[0].code == "SLIP-01"
    assert findings[1].severity is Severity.STOP


@pytest.mark.parametrize("code", [code for code in CATALOGUE if code.startswith("STN-")])
def test_every_code_is_told_without_a_gap_in_both_units(code):
    loads = [
        ("    resets: by hand\n", ""),
        ("    exhaust: atmosphere\n", ""),
        ("    closing_medium: own inlet\n", ""),
        ("kv: Kv 45", "kv: Kv 4500"),
        (TAG, "factory: {pressure: 1.0 bar"),
        ("level: 84 m", "level: 150 m"),
        ("lowest: 5 °C", "lowest: 15 °C"),
        ("turns: 24 turns, closes: clockwise, ", ""),
        ("peak: 18 L/s", "peak: 285 gpm"),
    ]
    told = [f for f in found(*loads) if f.code == code]
    assert told or code in ("STN-01", "STN-02", "STN-13")
    for finding in told:
        for units in (METRIC, US):
            words = tell(finding, units)
            assert "{" not in words.statement + words.why + words.cure
