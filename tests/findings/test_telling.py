"""Findings in sentences: one mark at the end, nothing said twice, answers that can be pasted."""

from __future__ import annotations

import re

import pytest
from ruamel.yaml import YAML

from steadyhead.cli.check_text import check_text
from steadyhead.findings import Finding, Severity, tell
from steadyhead.findings.model import Amount, Parameter, flow, pressure
from steadyhead.findings.telling import answer_line
from steadyhead.services.judging import judge_file
from steadyhead.station import examples
from steadyhead.units import METRIC


def low_night(case: str) -> Finding:
    params: dict[str, Parameter] = {"reducer": "RV", "night": flow(0.5e-3), "low": flow(0.67e-3)}
    return Finding("SIZ-05", "RV", Severity.HEED, params, flow(0.5e-3), flow(0.67e-3), case=case)


def test_what_the_statement_names_is_not_said_again():
    told = tell(low_night("night inlet pressure, night flow"))
    assert "Night flow" in told.statement
    assert told.case == "night inlet pressure"
    assert tell(low_night("night flow")).case == ""


@pytest.mark.parametrize("answer", ["Agreed.", "Agreed?", "See ../notes", "Agreed"])
def test_no_sentence_ends_twice(answer: str):
    params = {"to": "LAD-16", "at": "SO", "by": "Ilse Marrow", "until": answer, "answer": answer}
    statement = tell(Finding("STN-02", "answers[0]", Severity.HEED, params)).statement
    assert not statement.endswith("..")
    assert "?." not in statement
    assert answer.rstrip(".") in statement


@pytest.mark.parametrize(
    "subject", ["SO: trip", "line[4] SO: trip", "demand.fire", 'a "quoted" one', "#7", "Ümläut"]
)
def test_an_answer_line_is_read_back_as_it_is_meant(subject: str):
    finding = Finding("LAD-16", subject, Severity.ASK, value=pressure(5.2e5))
    (read,) = YAML(typ="safe").load(answer_line(finding))
    assert read["to"] == "LAD-16"
    assert read["at"] == subject
    assert read["value"] == finding.value_hash


def test_an_answer_line_keeps_a_value_of_digits_as_text():
    """A hash may consist of digits; unquoted it would be read as a number."""
    for number in range(4000):
        finding = Finding("LAD-16", "SO", Severity.ASK, value=Amount("pressure", float(number)))
        if finding.value_hash.replace("e", "", 1).isdigit():
            (read,) = YAML(typ="safe").load(answer_line(finding))
            assert read["value"] == finding.value_hash
            return
    pytest.fail("no such value among those tried")


@pytest.mark.parametrize("name", examples.names())
def test_no_finding_of_an_example_stutters(name: str):
    for finding in judge_file(examples.read(name)).sheet.findings:
        told = tell(finding)
        for text in (told.statement, told.why, told.cure):
            assert ".." not in text
            assert "  " not in text
        assert all(part.casefold() not in told.statement.casefold() for part in told.case.split(", ") if part)


def windows_of(text: str) -> set[tuple[str, ...]]:
    return set(
        re.findall(
            r"(\d+\.\d+)(?: bar)?(?: to | and at most |, highest )(\d+\.\d+) bar", " ".join(text.split())
        )
    )


@pytest.mark.parametrize("trip", ["5.0 bar", "4.7 bar", "5.4 bar"])
def test_a_finding_prints_the_window_of_the_trip_as_the_ladder_does(trip: str):
    source = examples.read("quernhollow-lane").replace(b"trip: 5.1 bar", f"trip: {trip}".encode())
    judged = judge_file(source)
    told = [tell(one) for one in judged.sheet.findings if one.code in ("LAD-05", "LAD-06")]
    assert told
    in_findings = {window for one in told for window in windows_of(one.statement)}
    in_ladder = windows_of(check_text(judged, METRIC).partition("Findings")[0])
    assert in_findings <= in_ladder


def test_the_middle_and_the_trip_stand_on_their_side_of_a_narrow_window():
    amounts = {"lowest": 4.8412e5, "highest": 4.8448e5, "middle": 4.843e5}
    params = {name: pressure(si) for name, si in amounts.items()}
    words = {"stacking": "Worst case", "side": "above"}
    one = Finding("LAD-06", "SO", Severity.STOP, {**params, **words}, pressure(4.8471e5), pressure(4.8448e5))
    told = tell(one)
    assert told.statement == "Worst case: trip 4.847 bar lies above the window 4.842 bar to 4.844 bar."
    assert told.cure == "Set the trip between 4.842 bar and 4.844 bar, best in the middle: 4.843 bar."
