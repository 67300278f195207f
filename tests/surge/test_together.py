"""Findings of many runs: each kind once, figures of the worst, names of all."""

from __future__ import annotations

from dataclasses import replace

import pytest

from steadyhead.findings import Finding, Severity, tell
from steadyhead.findings.model import Amount, pressure
from steadyhead.surge.hunting import Settled, joined_settled
from steadyhead.surge.together import grouped, in_event, named

pytestmark = pytest.mark.by_turns(4)


def passed(event, peak, severity=Severity.STOP, component="pipes", code="SUR-14"):
    return Finding(
        code,
        component,
        severity,
        {"component": component, "why": "", "cure": "", **in_event(event)},
        value=pressure(peak),
        limit=pressure(7e5),
        margin=pressure(7e5 - peak),
        case=event,
    )


def test_one_kind_is_told_once_with_the_figures_of_the_worst():
    (found,) = grouped([passed("a", 8e5), passed("b", 9e5), passed("c", 7.5e5)])
    told = tell(found)
    assert "the events a, b and c" in told.statement
    assert "9.00 bar" in told.statement
    assert told.statement.endswith("Worst in b.")
    assert told.case == ""
    assert found.case == "a, b, c"


def test_another_subject_is_another_finding_and_the_weightier_comes_first():
    found = grouped([passed("a", 8e5, Severity.HEED, "hose"), passed("a", 8e5)])
    assert [one.subject for one in found] == ["pipes", "hose"]


def test_the_weightiest_severity_rules_a_group():
    (found,) = grouped([passed("a", 9e5, Severity.HEED, code="SUR-10"), passed("b", 8e5, code="SUR-10")])
    assert found.severity is Severity.STOP
    assert found.value == pressure(8e5)


def test_limits_passed_by_what_forbids_and_by_what_is_to_be_heeded_are_told_apart():
    """So that a failure nobody credits does not read as forbidding, nor hide behind one that does."""
    stop, heed = grouped([passed("a", 9e5, Severity.HEED), passed("b", 8e5)])
    assert (stop.severity, stop.value, stop.case) == (Severity.STOP, pressure(8e5), "b")
    assert (heed.severity, heed.value, heed.case) == (Severity.HEED, pressure(9e5), "a")


def test_findings_of_the_file_are_told_once():
    one = Finding("SUR-05", "zone.volume", Severity.HEED)
    assert grouped([one, one, one]) == (one,)


def test_events_of_one_way_stand_together():
    names = [named("opening", "stream A"), named("restart", "stream A"), named("opening", "stream B")]
    (found,) = grouped([passed(name, 8e5) for name in names])
    assert "opening and restart (stream A), opening (stream B)" in tell(found).statement


def test_many_events_are_counted():
    (found,) = grouped([passed(name, 8e5) for name in "abcdefghij"])
    assert "a, b, c, d, e and 5 more" in tell(found).statement


def test_a_small_cavity_is_told_in_litres():
    params = {"main": "supply main", "place": "at the station", "out": "", **in_event("a")}
    found = Finding("SUR-01", "supply main", Severity.HEED, params, value=Amount("volume", 4.3e-3), case="a")
    assert "4.3 L" in tell(found).statement


def test_reasons_of_what_is_not_run_stay_apart():
    def missed(event, reason):
        params = {"reason": reason, **in_event(event)}
        return Finding("SUR-17", "the run", Severity.HEED, params, case=event)

    found = grouped([missed("a", "no flow."), missed("b", "no flow."), missed("c", "too much flow.")])
    assert [tell(one).statement for one in found] == [
        "Not run: the events a and b. no flow.",
        "Not run: the event c. too much flow.",
    ]


def test_what_runs_move_is_told_once_for_all_reducers_it_is_the_same_for():
    alike = [Finding("SUR-35", name, Severity.NOTE, {"moved": "one main"}) for name in ("RV", "LB", "RV")]
    other = Finding("SUR-35", "RX", Severity.NOTE, {"moved": "two mains"})
    found = grouped([*alike, other])
    told = [(one.subject, one.params["moved"]) for one in found]
    assert told == [("RV and LB", "one main"), ("RX", "two mains")]
    assert "has RV and LB hunting" in tell(found[0]).statement


def test_ways_settled_together_tell_what_each_moves_and_no_more():
    first = Settled({"RV": {"mains of the zone": 1.0}}, "one main", hunted=("RV",))
    second = Settled({"LB": {"mains of the zone": 1.0}}, "one main", hunted=("LB",))
    both = joined_settled([first, second, Settled()])
    (told,) = grouped([*first.findings(), *second.findings(), *both.findings()])
    assert told.subject == "RV and LB"
    assert told.params["moved"] == "one main"


def test_a_limit_passed_for_several_reasons_says_whose_reason_it_tells():
    by_hand = passed("opening", 9.0e5)
    failing = passed("pilot-stuck", 8.0e5)
    failing = replace(failing, params={**failing.params, "why": "It fails."})
    by_hand = replace(by_hand, params={**by_hand.params, "why": "A hand is too fast."})
    (found,) = grouped([by_hand, failing])
    assert "A hand is too fast. So it is in opening" in tell(found).why
    (alone,) = grouped([failing, failing])
    assert tell(alone).why == "It fails."
