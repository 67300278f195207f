"""Findings in sentences: one mark at the end, nothing said twice, answers that can be pasted."""

from __future__ import annotations

import pytest
from ruamel.yaml import YAML

from steadyhead.findings import Finding, Severity, tell
from steadyhead.findings.model import Amount, Parameter, flow, pressure
from steadyhead.findings.telling import answer_line
from steadyhead.station import examples


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
    from steadyhead.services.judging import judge_file

    for finding in judge_file(examples.read(name)).sheet.findings:
        told = tell(finding)
        for text in (told.statement, told.why, told.cure):
            assert ".." not in text
            assert "  " not in text
        assert all(part.casefold() not in told.statement.casefold() for part in told.case.split(", ") if part)
