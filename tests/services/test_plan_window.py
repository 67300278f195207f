"""A plan says which window of the protection proof a closing time is held to, and in which state."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from steadyhead.design.window_checks import asked
from steadyhead.findings import Finding, Severity, tell
from steadyhead.records.protection import (
    Failure,
    NeedleWindow,
    ProofSheet,
    Protection,
    Stroke,
    WindowEdge,
)
from steadyhead.services.planning import make_plan, plan_text
from steadyhead.station import examples
from steadyhead.visits.windows import with_windows

SOURCE = examples.read("dunmarrow-bottom")
FAILURE = Failure("RV", "drifts open", 120.0, credited=True)


def edge(seconds):
    return WindowEdge(0.3, seconds, seconds, "consumer", "house fittings", FAILURE, "static", "night")


def proof(*, fastest=None, slowest=None, state="open"):
    window = NeedleWindow(
        state=state,
        is_hydraulic=True,
        slowest=None if slowest is None else edge(slowest),
        fastest=None if fastest is None else edge(fastest),
        needle_kv=0.3,
        stopwatch=7.0,
        stroke=Stroke(3.4e5, 3.4e5, 0.25e-3, is_stated=True),
    )
    way = Protection(
        way="", words="", shut_off="SO", trip=4.75e5, trip_edge=5.05e5, closing_times=(8.4, 5.6),
        closing_source="stated", cases=(), grid_change=None, missing=(), mains=(True, True),
        is_zone_known=True, hunts=(), window=window, engine_version="0",
    )  # fmt: skip
    return ProofSheet((way,))


def planned(*given: Any, **more: Any) -> Any:
    """Return a plan; of these stations each has numbers."""
    return make_plan(*given, **more)


def told(made):
    return [one for one in made.findings if one.code == "SUR-50"]


@pytest.fixture(scope="module")
def usual():
    return planned(SOURCE, "first").numbers.bands["closing.time"]


def test_the_plan_says_the_window_and_the_state_it_belongs_to(usual):
    made = planned(SOURCE, "first", proof=proof(fastest=6.5, slowest=7.5))
    (found,) = told(made)
    assert (found.severity, found.subject) == (Severity.NOTE, "SO")
    assert found.params["proved"] == "6.5 s to 7.5 s"
    words = tell(found).statement
    assert "the band of the step is cut to the window" in words
    assert "0.25 L/s with 3.40 bar ahead and 3.40 bar behind" in words
    printed = " ".join(plan_text(made).split())
    assert "On the stopwatch SO may take" in printed
    assert "cut to the window of the protection proof" in printed


def test_a_needle_outside_is_heeded_on_the_plan_and_its_band_is_the_window(usual):
    made = planned(SOURCE, "first", proof=proof(slowest=3.0))
    (found,) = told(made)
    assert found.severity is Severity.HEED
    assert "outside. Set the needle" in tell(found).statement
    assert str(found.params["window"]).startswith("at most")
    assert made.numbers.bands["closing.time"].high == pytest.approx(usual.nominal * 3.0 / 7.0)


def test_a_band_well_inside_its_window_stays_and_is_said_to():
    made = planned(SOURCE, "first", proof=proof(fastest=1.0, slowest=70.0))
    (found,) = told(made)
    assert found.severity is Severity.NOTE
    assert "lies inside" in tell(found).statement
    assert "cut to the window of the protection proof" not in " ".join(plan_text(made).split())


@pytest.mark.parametrize("made", [proof(state="empty", slowest=2.0, fastest=4.0), proof()])
def test_without_a_window_nothing_is_said_of_one(made, usual):
    found = planned(SOURCE, "first", proof=made)
    assert not told(found)
    assert found.numbers.bands["closing.time"] == usual


def test_a_closing_timed_in_service_is_held_to_the_same_needle():
    end = b"closes: clockwise, tight: %s}\n  - {part: tap, id: T4}"
    source = SOURCE.replace(end % b"yes", end % b"no")
    assert source != SOURCE
    bare = planned(source, "yearly").numbers.bands
    held = planned(source, "yearly", proof=proof(fastest=6.9, slowest=7.1)).numbers.bands
    for key in ("closing.time", "closing_service.time"):
        assert held[key].low == pytest.approx(max(bare[key].low, bare[key].nominal * 6.9 / 7.0))
        assert held[key].high == pytest.approx(min(bare[key].high, bare[key].nominal * 7.1 / 7.0))


def test_each_stream_is_told_its_own_window():
    source = examples.read("quernhollow-lane")
    names = list(planned(source, "first").numbers.streams)
    (only,) = proof(fastest=0.5, slowest=500.0).ways
    ways = tuple(replace(only, way=name) for name in names)
    found = told(planned(source, "first", proof=ProofSheet(ways)))
    assert {one.subject.partition(":")[0] for one in found} == {f"stream {name}" for name in names}


def test_a_window_in_which_a_column_parts_is_printed_with_that_on_the_plan():
    (way,) = proof(fastest=1.0, slowest=70.0).ways
    parting = ProofSheet((replace(way, window=replace(way.window, parts=True)),))
    (found,) = told(planned(SOURCE, "first", proof=parting))
    assert found.severity is Severity.HEED
    assert "At each of these times a water column parts, which is not judged." in tell(found).statement


def test_a_window_is_told_with_its_open_questions_until_they_are_answered():
    numbers = planned(SOURCE, "first").numbers
    made = proof(fastest=1.0, slowest=70.0)
    doubted, settled = (with_windows(numbers, made, questions=one) for one in (("a spur",), ()))
    assert "Open in the proof: a spur." in tell(doubted.findings[-1]).statement
    assert "pen in the proof" not in tell(settled.findings[-1]).statement
    assert asked([Finding("SUR-27", "spur", Severity.ASK)]) == ("a wave thrown back over a limit",)
    assert not asked([Finding("SUR-27", "spur", Severity.HEED), Finding("SUR-31", "SO", Severity.ASK)])
