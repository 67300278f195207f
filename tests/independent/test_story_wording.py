"""What a note says beside the work: the same words told of a screen, a tap or a paper are no breach."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

import pytest

from steadyhead.visits.audit.notes import clauses
from steadyhead.visits.audit.rules.hands import plain_telling
from tests.independent.run_adapter import judge
from tests.independent.story_campaign import HERE, clean
from tests.independent.story_edits import near, of

INNOCENT = (
    ("G1", "{NAME} SO REACHED CLOSED stood on the screen after that."),
    ("H5", "Exhaust of the shut-off gave two drops while we stood there; dry since."),
    ("H5", "The shut-off's filter let nothing by."),
    ("A2", "Office closed till eight; numbers given by phone and printed after: 2291, 604."),
    ("A7", "Everything as found in the list: valves, cocks, needle turns, screw heights, seals."),
    ("A7", "Position list filled in from upstream to downstream."),
    ("B4", "T1 said 0 before the lid was lifted."),
    ("G1", "The message clears only by hand at the desk."),
    ("G1", "Valve open again after four min, lamp out."),
    ("J2", "T4 swung a bit as IV2 came off its seat, calm in a minute."),
    ("H2", "Earlier look at trickle (0.4 L/s) was not the lock-up."),
    ("F3", "Setting at top of range struck from the open list."),
    ("A2", "(At Pell Garth they reset at full inlet and had it trip twice.)"),
    ("G1", "(The Dale Mill crew used a jumper for this once. Here the valve itself moved.)"),
    ("F3", "Lowered, it reopens at 4.70 bar coming down: dead band 0.40 bar."),
    ("H1", "Needle swung, mean taken; peak to peak 0.04 bar, period 5 s."),
)
TOLD = (
    ("H1", "A little over, and let down again onto duty.", ("V9",), True),
    ("D3", "The cock of TG-17, which had been shut since the forward test began, opened too.", (), True),
    ("A7", "Cleaned and brushed both pilots, then the as-found photographs.", ("as_found_not_first",), False),
    ("F3", "T3 put above the trip, then let down until it acted.", ("V9",), True),
    ("H2", "The sampling tap at T3 left dribbling for the laboratory.", ("lockup_with_flow",), True),
    ("H1", "The pointer still walking to and fro, middle taken.", ("V5",), False),
    ("B5", "Filter cap unscrewed with the section still at 3.6 bar.", ("opened_under_pressure",), False),
)


@pytest.fixture(scope="module")
def story() -> dict[str, Any]:
    return next(s for s in clean(HERE) if s["id"] == "U16")


def said(answer: dict[str, Any]) -> list[dict[str, Any]]:
    return [i for i in answer["issues"] if i["level"] != "info"]


@pytest.mark.parametrize(("node", "sentence"), INNOCENT, ids=[row[1][:40] for row in INNOCENT])
def test_words_of_a_screen_a_paper_or_a_tap_are_no_breach(story, node, sentence):
    told = deepcopy(story)
    of(told, node)[-1]["text"] += " " + sentence.format(NAME=told["station"]["name"].upper())
    assert said(judge(told)) == []


@pytest.mark.parametrize(("node", "sentence", "rules", "refused"), TOLD, ids=[row[1][:40] for row in TOLD])
def test_what_a_note_tells_late_or_in_passing_is_heard(story, node, sentence, rules, refused):
    told = deepcopy(story)
    row = of(told, node)[-1]
    if node in ("A7", "B5"):
        row["text"] = sentence
        row["did"] = [d for d in row.get("did") or [] if d["verb"] == "recorded"]
    elif node == "D3":
        told["entries"].insert(told["entries"].index(row) + 1, near(row, 950, sentence))
    else:
        row["text"] += f" {sentence}"
    answer = judge(told)
    assert any(i["rule"] in rules or i["entry"] in (row["no"], 950) for i in said(answer))
    assert not (refused and answer["final_allowed"])


def test_a_record_without_one_closing_time_is_refused(story):
    told = deepcopy(story)
    for row in told["entries"]:
        if row["node"] in ("F1", "F2", "F3", "F4"):
            row["text"] = "Raised in steps of 0.05 bar with 15 s; held, acted. 5 min shut, no flow."
    answer = judge(told)
    assert "closing_time_outside_window" in {i["rule"] for i in said(answer)}
    assert not answer["final_allowed"]


def test_a_drain_not_named_beside_zero_flow_is_asked_about_and_no_breach(story):
    told = deepcopy(story)
    row = of(told, "H2")[-1]
    row["text"] = "Zero flow by the meter, 20 min, T3 stands; wall steady."
    row["did"], row["positions"] = [], {}
    answer = judge(told)
    asked = [i["text"] for i in answer["issues"] if i["entry"] == row["no"]]
    assert said(answer) == []
    assert any("is not written" in text for text in asked)


def test_a_gauge_that_the_comparison_leaves_out_is_not_live(story):
    told = deepcopy(story)
    row = of(told, "A6")[-1]
    row["text"] = "TG-17 and TG-14 vented, zeros 0; on T4 they agree within their classes."
    row["did"][0]["object"] = "TG-17,TG-14"
    row["readings"] = row["readings"][::2]
    assert {i["rule"] for i in said(judge(told))} == {"gauge_not_live"}


def test_what_a_station_calls_by_its_own_name_is_no_other_place(story):
    told = deepcopy(story)
    of(told, "G1")[-1]["text"] += " At Quillet Fold the shut-off lock nut was tightened after that."
    assert "proof_stale" in {i["rule"] for i in said(judge(told))}


def test_a_leak_scaled_from_the_first_edge_serves_the_standby_too():
    told = deepcopy(next(s for s in clean(HERE / "sixth") if s["id"] == "N30"))
    assert said(judge(told)) == []
    row = of(told, "D2")[-1]
    row["text"] = row["text"].replace("scaled", "looked at").replace("Scaled", "Looked at")
    assert "V1" in {i["rule"] for i in said(judge(told))}


def test_what_a_desk_shows_is_no_telling_of_ours():
    assert "SO" not in plain_telling("ALDER FLUME SO REACHED CLOSED stood on the screen")
    assert plain_telling("SO nut tightened") == "SO nut tightened"


def test_a_gauge_that_says_something_is_no_hearsay():
    assert [c.mood for c in clauses("T1 said 0. Tam said it was 0.")] == ["done", "doubtful"]


@pytest.mark.parametrize(
    ("words", "heard"), [("Same list, my eyes, with pictures.", True), ("Same list, my eyes.", False)]
)
def test_a_second_look_told_by_whose_eyes_counts_where_pictures_are_told(words, heard):
    told = deepcopy(next(s for s in clean(HERE / "fourth") if s["id"] == "H22"))
    row = of(told, "J4")[-1]
    row["did"], row["text"] = [], words
    missing = "second_look_missing" in {i["rule"] for i in said(judge(told))}
    assert missing is not heard
