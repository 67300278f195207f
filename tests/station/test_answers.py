"""Answers in the file: what they settle, and what happens to those that fit nothing."""

from __future__ import annotations

import pytest

from steadyhead.findings import CATALOGUE, Amount, Finding, Severity, tell
from steadyhead.records.station import Answer
from steadyhead.station.answers import answered, unmatched


def finding(severity):
    return Finding("SLIP-01", "supply.static", severity, {}, Amount("pressure", 139e5), case="Beside it.")


def answer(**changed):
    given = {"to": "SLIP-01", "at": "supply.static", "value": finding(Severity.ASK).value_hash}
    return Answer(**{**given, "answer": "it is so", "by": "M. Farrow", **changed})


@pytest.mark.parametrize("severity", [Severity.ASK, Severity.HEED])
def test_a_fitting_answer_turns_a_finding_into_a_note(severity):
    (note,) = answered([finding(severity)], [answer()])
    assert note.severity is Severity.NOTE
    assert note.case == "Beside it."
    assert (note.inputs[-1].label, note.inputs[-1].amount) == ("answer", "it is so")
    assert note.inputs[-1].provenance == "M. Farrow"


def test_a_stop_stays_a_stop_whatever_is_answered():
    stop = finding(Severity.STOP)
    assert answered([stop], [answer()]) == (stop,)


@pytest.mark.parametrize("changed", [{"to": "SLIP-02"}, {"at": "supply.min"}, {"value": "0"}])
def test_an_answer_to_something_else_settles_nothing(changed):
    asked = finding(Severity.ASK)
    assert answered([asked], [answer(**changed)]) == (asked,)
    (stale,) = unmatched([asked], [answer(**changed)])
    assert (stale.code, stale.subject, stale.severity) == ("STN-01", "answers[0]", Severity.HEED)
    assert "M. Farrow" in tell(stale).statement


def test_an_answer_for_another_value_is_not_told_beside_one_that_fits_the_same_question():
    asked = finding(Severity.ASK)
    assert unmatched([asked], [answer(value="0"), answer()]) == ()
    (stale,) = unmatched([asked], [answer(), answer(at="supply.min", value="0")])
    assert stale.subject == "answers[1]"
    nobody = answer(to="LAY-26", value="0")
    assert [one.code for one in unmatched([asked], [nobody, answer()])] == ["STN-01"]


def test_an_answer_holds_while_the_figure_reads_the_same_in_four_digits():
    def judged(pressure):
        return Finding("SLIP-01", "supply.static", Severity.ASK, {"seen": Amount("pressure", pressure)})

    assert judged(5.0312e5).value_hash == judged(5.0312e5 * (1 + 1e-7)).value_hash
    assert judged(5.03e5).value_hash != judged(5.04e5).value_hash


def test_an_answer_that_settled_something_is_not_reported():
    given = [answer()]
    assert unmatched(answered([finding(Severity.ASK)], given), given) == ()


@pytest.mark.parametrize("code", [code for code in CATALOGUE if code.startswith(("SLIP-", "STN-"))])
def test_every_code_of_this_room_says_why_and_what_to_do(code):
    entry = CATALOGUE[code]
    assert entry.title
    assert entry.why
    assert entry.cure
    assert entry.sources
