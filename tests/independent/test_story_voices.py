"""The same said by other fitters: in capitals, in passing, a try thrown away, a hand on two screws."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from copy import deepcopy
from typing import Any

import pytest

from steadyhead.visits.audit.capitals import in_small
from tests.independent.run_adapter import judge
from tests.independent.story_campaign import HERE

Row = dict[str, Any]
STORIES: dict[str, dict[str, Any]] = {
    s["id"]: s for s in json.loads((HERE / "seventh" / "stories.json").read_text(encoding="utf-8"))
}
pytestmark = [
    pytest.mark.by_turns(3),
    pytest.mark.source(
        kind="independent", ref="stories written from the handbook alone, without sight of the rules"
    ),
]


def said(name: str, no: int, change: Callable[[Row], object]) -> tuple[set[str], bool]:
    """Return the rules told of a story with one entry changed, and whether final is allowed."""
    story = deepcopy(STORIES[name])
    change(story["entries"][no - 1])
    return told(story)


def told(story: dict[str, Any]) -> tuple[set[str], bool]:
    answer = judge(story)
    return {i["rule"] for i in answer["issues"] if i["level"] != "info"}, answer["final_allowed"]


def instead(old: str, new: str) -> Callable[[Row], object]:
    """Return a change of an entry's words from some on."""
    return lambda row: row.update(text=row["text"][: row["text"].index(old)] + new)


def besides(text: str) -> Callable[[Row], object]:
    """Return a change that adds a sentence."""
    return lambda row: row.update(text=f"{row['text']} {text}")


def only(text: str, *, did: tuple[Row, ...] = ()) -> Callable[[Row], object]:
    """Return a change to a note without acts."""
    return lambda row: row.update(text=text, did=list(did))


def timed(words: str) -> tuple[set[str], bool]:
    """Return what is told of a record in capitals whose closing times are said in other words."""
    story = deepcopy(STORIES["T47"])
    for row in story["entries"]:
        row["text"] = re.sub(r"SHUT IN (\d\.\d) SEC", lambda m: words.replace("#", m[1]), row["text"])
    return told(story)


@pytest.mark.parametrize(
    "words",
    ["# SEC TO SHUT", "CLOSED IN # SECS", "CLOSING TIME # S", "STOPWATCH # SECONDS", "WATCH SAID # SEC"],
)
def test_a_closing_time_in_capitals_is_heard_in_any_order(words):
    assert timed(words) == (set(), True)


@pytest.mark.parametrize("words", ["SHUT IN 12.5 SEC", "CLOSED IN 1.2 SECS", "SHUT"])
def test_a_closing_time_in_capitals_that_is_wrong_or_missing_is_told(words):
    assert timed(words) == ({"closing_time_outside_window"}, False)


@pytest.mark.parametrize(
    "words", ["12.5 s to shut", "SHUT in 12.5 s", "12.5 seconds till it was home", "took 12.5secs to go shut"]
)
def test_a_closing_time_beside_small_letters_is_held_against_its_window(words):
    story = deepcopy(STORIES["T06"])
    for row in story["entries"]:
        row["text"] = re.sub(r"Full shut in \d\.\d s by the watch", words, row["text"])
    assert told(story) == ({"closing_time_outside_window"}, False)


@pytest.mark.parametrize(
    "words",
    [
        "dropped out when reset",
        "cancelled by itself at the reset",
        "alarm off after resetting",
        "text cleared upon reset",
        "and the alarm reset with it",
        "cleared as soon as we reset",
    ],
)
def test_an_alarm_that_clears_with_the_reset_is_no_hand(words):
    assert said("T09", 14, instead("cleared on reset", words)) == (set(), True)


@pytest.mark.parametrize(
    "words",
    [
        "reset the screw of its pilot a touch afterwards",
        "pilot nut nipped after the reset",
        "after the reset the pilot filter was cleaned",
    ],
)
def test_a_hand_after_the_reset_is_told(words):
    assert "proof_stale" in said("T09", 14, instead("cleared on reset", words))[0]


DESK = (
    (
        "DESK READS PIER 9 HEADER SO REACHED CLOSED AT 25 SEC. OWN PILOT. 5 MIN SHUT, NO FLOW, T3 FLAT.",
        True,
    ),
    (
        "BY ITS OWN PILOT. 25 SEC TO DESK: 'PIER NINE HEADER SO REACHED CLOSED'. TD SHUT 5 MIN. FLOW ZERO.",
        True,
    ),
    ("SO REACHED CLOSED ON THEIR SCREEN UNDER PIER NINE HEADER, OWN PILOT. 5 MIN SHUT, FLOW ZERO.", True),
    ("OPERATIONS TEXT READS MILL LANE SO REACHED CLOSED, OWN PILOT. 5 MIN SHUT, FLOW ZERO.", False),
    ("DESK GOT OTTER GATE SO REACHED CLOSED. OWN PILOT. FLOW ZERO 5 MIN, T3 FLAT.", False),
    ("JUMPERED THE CONTACTS, DESK GOT PIER NINE HEADER SO REACHED CLOSED. FLOW ZERO 5 MIN.", False),
)


@pytest.mark.parametrize(("words", "right"), DESK, ids=[row[0][:30] for row in DESK])
def test_a_desks_text_in_a_note_in_capitals_is_told_from_the_note(words, right):
    rules, _ = said("T11", 9, instead("SWITCH AND", words))
    assert rules == (set() if right else {"alarm_by_jumper"})


ATTENDED = (
    ("T1 back in two minutes, T3 left standing at 0.", True),
    ("Gauges gone to zero and back.", True),
    ("Desk called to say the zone is well.", True),
    ("Called out the readings to the man up top.", True),
    ("Pressure left standing behind the reducer.", True),
    ("Took the whole lot to bubble-free.", True),
    ("Then the whole lot of us off to lunch.", False),
    ("Left it standing like that and drove to the depot.", False),
    ("Both up in the van for an hour.", False),
)


@pytest.mark.parametrize(("words", "stays"), ATTENDED, ids=[row[0] for row in ATTENDED])
def test_water_that_stands_is_no_station_that_is_left(words, stays):
    assert said("T06", 18, besides(words)) == ((set(), True) if stays else ({"restore_missing"}, False))


@pytest.mark.parametrize(
    "words",
    [
        "First try no good: meter still 0.02 L/s, TD not home. Chucked it. TD shut, meter 0, started over.",
        "Began, but meter shows 0.3 L/s, so abandoned. Shut TD properly and from scratch.",
        "Lock-up broken off after 2 min, meter read 0.05: hose valve. Fresh start below.",
        "Meter 0.02 L/s. That's no lock-up. Shut TD and restarted.",
    ],
)
def test_a_try_that_is_thrown_away_and_made_again_is_let_be(words):
    assert said("T51", 40, only(words)) == (set(), True)
    assert "lockup_with_flow" in said("T51", 41, besides("Meter still 0.02 L/s."))[0]


def test_what_was_expected_of_running_water_is_not_asked_of_the_lock_up():
    assert said("T52", 11, lambda row: row["readings"].reverse()) == (set(), True)
    assert said("T52", 11, lambda row: row["readings"][0].update(value=470))[0] == {"prediction_mismatch"}


def test_a_run_told_roughly_is_what_was_signed_and_no_other_figure():
    for rough in ("around 5.1.", "5,1 bar on the dial near enough."):
        assert "K1" not in said("T30", 31, only(rough, did=STORIES["T30"]["entries"][30]["did"]))[0]
    other = deepcopy(STORIES["T30"])
    other["sign_off"]["as_left"]["trip"] = 5.4
    assert "K1" in told(other)[0]


GAUGE = (
    ("M-47 on T3 still sits at 2.6 bar, funny, carried on. ", True),
    ("M-47 hung at 2.6 bar with TD running dry. ", True),
    ("T3 zero on M-84; M-47 would not go under 2.6 bar, never mind. ", True),
    ("M-47 did not come down with the others. ", True),
    ("M-47 keeps showing 2.6 bar, let it be. ", True),
    ("M-47 came down last, then 0. ", False),
    ("M-47 on T3 stays at 2.6 bar: its cock was shut; opened it, 0. ", False),
    ("M-47 stuck at 2.6 bar, so swapped it for another, zero. ", False),
    ("T4 stays 3.88 bar on M-84. ", False),
)


@pytest.mark.parametrize(("words", "dead"), GAUGE, ids=[row[0][:30] for row in GAUGE])
def test_a_gauge_that_stands_on_a_vented_section_is_not_live(words, dead):
    def change(row: Row) -> None:
        instead("M-47 on T3", words)(row)
        row["readings"] = [r for r in row["readings"] if r["value"] == 0]

    assert said("T03", 10, change) == (({"gauge_not_live"}, False) if dead else (set(), True))


def test_a_reading_alone_shows_a_gauge_that_did_not_follow_until_it_is_seen_at_zero():
    story = deepcopy(STORIES["T03"])
    instead("M-47 on T3", "After 6 min dry.")(story["entries"][9])
    assert told(story) == ({"gauge_not_live"}, False)
    zero = {**story["entries"][9]["readings"][-1], "instrument": "M-47"}
    story["entries"][11]["readings"].append(zero)
    assert told(story) == (set(), True)


SCREWS = (
    ("Raised the reducer and lowered the shut-off together till it went.", True),
    ("RV up with one hand, SO down with the other hand, till it tripped.", True),
    ("While I turned the reducer up Una brought the SO screw down.", True),
    ("One of us on each: reducer raised, SO lowered, at the same time.", True),
    ("Lowered SO and raised RV in one go.", True),
    ("Reducer up to 56.1 m first, then SO down by eighths until it acted.", False),
    ("Indicator and switch went together as the SO came down; reducer left alone.", False),
    ("T2 and T3 down together once the SO closed; reducer not touched.", False),
)


@pytest.mark.parametrize(("words", "both"), SCREWS, ids=[row[0][:30] for row in SCREWS])
def test_two_screws_moved_at_once_are_told_in_any_words(words, both):
    set_alone = {"verb": "adjusted", "object": "shut-off pilot", "detail": "lowered until it acted"}
    rules, _ = said("T23", 29, only(words, did=() if both else (set_alone,)))
    assert ("V6" in rules) == both


NUT = (
    ("Shut-off lock nut a shade slack, nipped it up before sealing.", True),
    ("SO pilot nut: tweaked it tight and renewed its seal.", True),
    ("New seal on the shut-off pilot after I gave its nut a pull.", True),
    ("The shut-off's lock nut was finger loose, so I did it up and put the seal back.", True),
    ("Put a spanner on the shut-off nut to be sure and sealed it.", True),
    ("New seal wired through the shut-off nut and pulled tight.", False),
    ("Shut-off nut tried with two fingers, did not give, fresh seal put on.", False),
    ("Seal of the shut-off pilot cut off by mistake, new one fitted; nut and mark as they were.", False),
    ("Wire of the shut-off seal twisted, lead crimped and ends cut.", False),
)


@pytest.mark.parametrize(("words", "touched"), NUT, ids=[row[0][:30] for row in NUT])
def test_a_nut_nipped_while_a_seal_is_put_on_is_a_touch(words, touched):
    expected = ({"proof_stale"}, False) if touched else (set(), True)
    assert said("T37", 45, instead("While I was", words)) == expected


INLET = (
    ("Opened IV1 fully for more water, left so for the runs.", True),
    ("Took IV1 all the way out, T1 steadier now.", True),
    ("IV1 now wide open, in stages over 9 min.", True),
    ("Ran the inlet valve up to its back stop and left it.", True),
    ("IV1 cranked right up in 9 min, stays there.", True),
    ("IV1 left at 2.5 turns; fully open only at H4.", False),
    ("Wanted IV1 wide open for the runs, refused.", False),
    ("IV1 wound down to the stop and back out to 2.5 turns.", False),
    ("IV1 full open comes later, with the flow test.", False),
    ("IV1 opened right up and shut again to feel the travel, now 2.5 turns.", False),
)


@pytest.mark.parametrize(("words", "wide"), INLET, ids=[row[0][:30] for row in INLET])
def test_an_inlet_valve_put_wide_in_words_counts_for_the_raise(words, wide):
    assert said("T50", 28, only(words)) == (({"V2"}, False) if wide else (set(), True))


OTHERS = (
    ("A7", "Nothing touched before the list was done."),
    ("A7", "Not a finger on a cock till all was down on paper."),
    ("B4", "Waited for the hiss to end and T1 at zero, then the lid."),
    ("B2", "T4 stays up, naturally, that is the town's side."),
    ("G1", "Nobody near the switch when it came, the valve itself did it."),
    ("G5", "Old pressure recorder on the wall is stuck at 4, has been for years, we don't use it."),
    ("J4", "Cap back on the shut-off pilot screw, finger tight, screw not turned."),
    ("J4", "Test cocks across the pipe, shut."),
    ("ES4", "Reducer's screw alone while the other came down."),
    ("F3", "Reset handle stiff but went."),
    ("H2", "Before it TD ran 0.35 L/s, then shut."),
    ("K1", "Papers done in the van."),
)


@pytest.mark.parametrize(("node", "words"), OTHERS, ids=[row[1][:30] for row in OTHERS])
def test_plain_remarks_of_other_people_are_let_be(node, words):
    rows = [row["no"] for row in STORIES["T06"]["entries"] if row["node"] == node] or [49]
    assert said("T06", rows[-1], besides(words)) == (set(), True)


def test_air_left_at_the_end_is_not_taken_back_by_what_was_ahead_of_it():
    assert said("T38", 19, besides("Second bleed: no air left.")) == (set(), True)
    assert said("T38", 19, besides("Stream not yet bubble-free, left it at that."))[0] != set()
    assert said("T38", 17, besides("A lorry went by, the lid rattled.")) == (set(), True)


def test_so_that_goes_on_with_a_sentence_is_not_the_shut_off():
    assert in_small("NUT TIGHT, SO WE SEALED IT. THE SO SHUT.") == "nut tight, so we sealed it. the SO shut."
    assert in_small("TD shut, SO REACHED CLOSED.") == "TD shut, SO REACHED CLOSED."
