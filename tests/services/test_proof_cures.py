"""What the proof asks for: a closing time that its window allows, and the main that nobody stated."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from steadyhead.cli.proof_text import proof_text
from steadyhead.design.protection import prove_station
from steadyhead.design.proved import fastest_held
from steadyhead.design.window_checks import asked
from steadyhead.findings import Severity, tell
from steadyhead.records.protection import ProofSheet
from steadyhead.services.judging import judge_file
from steadyhead.services.protection import is_proved
from steadyhead.station import examples
from steadyhead.station.load import load
from steadyhead.units import METRIC
from tests.there import there

SOURCE = examples.read("dunmarrow-bottom")
WITHOUT = b"\n".join(line for line in SOURCE.splitlines() if b"length: 400 m" not in line) + b"\n"


@pytest.fixture(scope="module")
def way():
    sheet: Any = prove_station(load(SOURCE).station)
    return sheet.ways[0]


@pytest.fixture(scope="module")
def unstated():
    assert load(WITHOUT).station.zone.main is None
    return there(prove_station(load(WITHOUT).station))


def cured(way, code, *, slowest=None, fastest=None, parts=False, state="open"):
    """Return what is asked for where the window has these edges by stopwatch; band 5.6 to 8.4 s. [s]"""
    edge = way.window.slowest
    slow, fast = (None if time is None else replace(edge, stopwatch=time) for time in (slowest, fastest))
    window = replace(way.window, state=state, slowest=slow, fastest=fast, parts=parts)
    sheet = ProofSheet((replace(way, window=window),))
    found = {one.code: one for one in judge_file(SOURCE, proof=sheet).sheet.findings}
    return there(tell(found[code]).cure)


def parted_at(way, closing):
    low = replace(way.cases[0].supply, cavity=1e-3, is_separated=True)
    cases = (replace(c, supply=low) if c.closing in closing else c for c in way.cases)
    return replace(way, cases=tuple(cases))


def test_a_column_that_parts_beyond_the_slow_edge_asks_for_faster_closing(way):
    told = cured(parted_at(way, ("slow",)), "SUR-28", slowest=7.0)
    assert told.startswith("Close faster. Pass less")
    assert "slowly" not in told
    assert cured(parted_at(way, ("slow",)), "SUR-28", slowest=7.0, fastest=2.0).startswith(
        "Close faster, but not below 2.0 s; see the window of the closing time."
    )


def test_a_column_that_parts_ahead_of_the_fast_edge_asks_for_slower_closing(way):
    parted = parted_at(way, ("fast",))
    assert cured(parted, "SUR-28", fastest=6.0).startswith("Close more slowly. Pass less")
    told = cured(parted, "SUR-28", fastest=6.0, slowest=12.0)
    assert told.startswith("Close more slowly, but not above 12.0 s; see the window of the closing time.")
    assert cured(parted, "SUR-28", fastest=6.0, slowest=8.5).startswith(
        "Set the closing time inside its window"
    )


def test_where_no_closing_time_helps_none_is_asked_for(way):
    parted = parted_at(way, ("slow", "fast"))
    assert cured(parted, "SUR-28", slowest=12.0, parts=True).startswith("No closing time helps by itself.")
    assert cured(parted, "SUR-28", state="empty").startswith("Pass less")
    assert cured(parted, "SUR-28", state="no limit").startswith("Whether another closing time")
    told = cured(parted, "SUR-28", fastest=6.0, slowest=7.0)
    assert told.startswith("Set the closing time inside its window.")


@pytest.mark.parametrize(
    ("slow", "fast", "edges", "says"),
    [
        (-0.4e5, -0.6e5, {}, "Close more slowly. Pass less"),
        (-0.4e5, -0.6e5, {"slowest": 11.4}, "Close more slowly, but not above 11.4 s; see the window"),
        (-0.4e5, -0.6e5, {"slowest": 8.6}, "Pass less"),
        (-0.4e5, -0.6e5, {"slowest": 5.0}, "Pass less"),
        (-0.6e5, -0.4e5, {}, "Close faster. Pass less"),
        (-0.6e5, -0.4e5, {"fastest": 5.5}, "Pass less"),
        (-0.5e5, -0.5e5, {}, "Pass less"),
        (-0.4e5, -0.6e5, {"state": "empty"}, "Pass less"),
    ],
)
def test_a_main_below_the_air_asks_for_the_pace_that_helps_and_that_the_window_allows(
    way, slow, fast, edges, says
):
    lows = {"slow": slow, "fast": fast}
    cases = (replace(c, supply=replace(c.supply, pressure=lows[c.closing])) for c in way.cases)
    assert cured(replace(way, cases=tuple(cases)), "SUR-44", **edges).startswith(says)


def test_a_consumer_main_left_out_turns_no_question_into_an_answer(way, unstated):
    judged = judge_file(WITHOUT, proof=unstated)
    told = {one.code: one for one in judged.sheet.findings}
    assert told["SUR-62"].severity is Severity.ASK
    assert not is_proved(judged.sheet.findings)
    assert is_proved(judge_file(SOURCE, proof=ProofSheet((way,))).sheet.findings)
    assert asked(judged.sheet.findings) == ("no consumer main stated, its waves not known",)
    assert "No consumer main is stated" in tell(told["SUR-31"]).statement
    assert told["SUR-31"].severity is Severity.HEED
    said = " ".join(proof_text(judged, METRIC).split())
    assert "NO VERDICT: no consumer main stated, its waves are not run" in said
    assert "the window knows no wave of it" in said


def test_without_a_consumer_main_nothing_counts_as_covered(way, unstated):
    ladder = there(judge_file(WITHOUT, proof=unstated).sheet.ladder)
    assert {one.covered for one in ladder.peaks if one.credited} == {None}
    assert fastest_held(unstated.ways[0], 9e5) is None
    assert fastest_held(way, 9e5) is not None
