"""What single screens say: a cock after a night, a Stop that says a thing once, no signal, answers again."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest

from tests.web.field.field_js import PLACES, in_node

pytestmark = [pytest.mark.skipif(not shutil.which("node"), reason="no Node"), pytest.mark.by_turns(2)]


def test_a_cock_that_nobody_noted_stands_as_the_last_step_that_names_it_says(tmp_path: Path):
    nodes = [
        {"id": "B1", "do": ["Shut IV2; tag it.", "IV1 shut."]},
        {"id": "C1", "do": ["TD a little open. IV2 shut.", "Read T3 at IV1.", "T1 runs high."]},
        {"id": "C2", "do": ["Gauge cock of T4 shut."]},
    ]
    standing = [{"node": "B1", "who": "Ilse"}, {"node": "C1", "who": "Tam"}, {"node": "", "who": "Tam"}]
    standing.append({"node": "C2", "who": "Tam"})
    body = """
const book = { standing: data.standing, node: new Map(data.nodes.map((one) => [one.id, one])) }
result = ["IV1", "IV2", "TD", "V2", "SD", "T1", "T4"].map((part) => setBy(book, part, (words) => words))
"""
    data = {"nodes": nodes, "standing": standing}
    found: list[Any] = in_node(tmp_path, {"screens/nights": "setBy"}, body, data)
    said = [None if one is None else (one["words"], one["entry"]["node"]) for one in found]
    assert said == [("IV1 shut.", "B1"), ("IV2 shut.", "C1"), ("TD a little open.", "C1"), None, None, None,
                    ("Gauge cock of T4 shut.", "C2")]  # fmt: skip


def test_a_stop_says_a_sentence_once(tmp_path: Path):
    late, cure = "Watched too briefly. Watch 5 min.", "Do it again."
    cases = [
        [late, [late], f"F2 does not count: {late}", cure],
        ["T3 5.60 bar. Too high.", ["Draw water.", "Tell the desk."], "RV leaks.", cure],
        [late, [late, "Flow out of range."], "", cure],
    ]
    body = "result = data.map((one) => saidOnce(...one))"
    found = in_node(tmp_path, {"screens/stopping": "saidOnce"}, body, cases)
    assert found == [
        {"actions": [cure], "means": ""},
        {"actions": ["Draw water.", "Tell the desk."], "means": "RV leaks."},
        {"actions": ["Flow out of range."], "means": ""},
    ]


def test_nothing_is_being_sent_without_a_signal(tmp_path: Path):
    told = [{"state": "sending", "words": "Sending."}, {"state": "idle", "words": "Everything is sent."}]
    body = "result = data.map((one) => [false, true].map((isOnLine) => whenAway(one, isOnLine).words))"
    found = in_node(tmp_path, {"screens/sending": "whenAway"}, body, told)
    sent = "Everything is sent."
    assert found == [["No signal. Everything stays on this device.", "Sending."], [sent, sent]]


def test_what_was_entered_since_is_not_said_to_be_sent(tmp_path: Path):
    """Between an entry and its sending the last words of the sender still stand."""
    told = {"state": "idle", "words": "Everything is sent.", "sentAt": 1}
    cases = [
        {"unsent": 0, "refused": 0, "photos": 0},
        {"unsent": 2, "refused": 0, "photos": 0},
        {"unsent": 2, "refused": 2, "photos": 0},
        {"unsent": 0, "refused": 0, "photos": 1},
        {"unsent": 0},
    ]
    body = "result = data.cases.map((one) => whileOpen(data.told, one).words)"
    found = in_node(tmp_path, {"screens/sending": "whileOpen"}, body, {"told": told, "cases": cases})
    sent, waits = "Everything is sent.", "Not sent yet."
    assert found == [sent, waits, sent, waits, sent]


def test_what_made_a_stop_is_asked_again_before_everything_else(tmp_path: Path):
    inputs = [
        {"name": "T1", "kind": "pressure", "verdict": {"where": "inside"}},
        {"name": "T3", "kind": "pressure", "verdict": {"where": "outside"}},
        {"name": "photo", "kind": "photo", "verdict": None},
        {"name": "open", "kind": "yes_no", "verdict": {"where": ""}},
    ]
    body = "result = data.map(({ step, asked }) => stopping(step, asked).map((one) => one.name))"
    cases = [
        {"step": {"otherwise": [{"fires": fires, "tells": False}]}, "asked": inputs}
        for fires in (True, False)
    ]
    assert in_node(tmp_path, {"screens/again": "stopping"}, body, cases) == [["T3", "open"], ["T3"]]


def test_a_small_turn_can_be_noted_smaller_still_and_is_kept_as_a_short_number(tmp_path: Path):
    body = """
const small = 39 / 360
result = [sizesBy(small).filter((one) => one < small).map(sizeWords), sizesBy(0.375).map(sizeWords),
  [1 / 36, 39 / 360, 0.375, 1].map(countWords)]"""
    imports = {"screens/turning": "countWords, sizesBy", "pictures/dial": "sizeWords"}
    little, usual, kept = in_node(tmp_path, imports, body, None)
    assert little == ["10°", "20°", "30°"]
    assert usual == ["⅛ turn", "¼ turn", "⅜ turn", "½ turn", "¾ turn", "1 turn"]
    assert kept == ["0.027", "0.108", "0.375", "1"]


def test_days_and_times_are_told_in_the_one_form_of_the_house_whatever_the_language(tmp_path: Path):
    body = "result = [...data.map(dayWords), timeWords(new Date(2027, 3, 5, 15, 4, 9).getTime())]"
    found = in_node(
        tmp_path, {"saying": "dayWords, timeWords"}, body, ["2027-04-05T12:00:00Z", 1_791_000_000_000]
    )
    assert found == ["5 Apr 2027", "3 Oct 2026", "15:04:09"]
    assets = PLACES["field"].parent
    assert [one.name for one in assets.rglob("*.js") if "toLocale" in one.read_text("utf-8")] == []


def test_what_a_second_look_finds_otherwise_is_told_at_its_end(tmp_path: Path):
    rows = [{"part": "IV1", "words": ""}, {"part": "TD", "words": "drain TD"}]
    body = "result = [otherWords(data), otherWords(data, { IV1: '', TD: 'open' })]"
    found = in_node(tmp_path, {"screens/looking": "otherWords"}, body, rows)
    assert found == ["", "Not as it is to be left: drain TD is open. Put it right, then look again."]


def test_a_cock_of_the_list_is_told_before_how_it_is_to_be_left(tmp_path: Path):
    told = ["shut", "gauge cock: open to a live gauge", "its exhaust: free"]
    found = in_node(
        tmp_path,
        {"screens/opening": "leftWords"},
        "result = data.map((should) => leftWords({ should }))",
        told,
    )
    assert found == [
        "to be left shut",
        "gauge cock to be left open to a live gauge",
        "its exhaust to be left free",
    ]


def test_a_second_look_notes_only_what_stands_so_and_offers_what_else_is_seen(tmp_path: Path):
    rows = [
        ["gauge cock: open to a live gauge, or shut and plugged", ["open", "fully open", "shut and plugged"]],
        ["fully open, 34 turns", ["open 34 turns", "open"]],
        ["shut", ["shut", "closed"]],
        ["live, off test", ["live", "on"]],
    ]
    body = (
        "result = data.map(([should, says]) => waysOf({ should }, says)"
        ".map((one) => [one.how, one.isLeft === true]))"
    )
    found = in_node(tmp_path, {"screens/looking": "waysOf"}, body, rows)
    assert found == [
        [["open", True], ["shut and plugged", True], ["shut, not plugged", False]],
        [["open 34 turns", True], ["partly open", False], ["shut", False]],
        [["shut", True], ["open", False]],
        [["live", True], ["otherwise", False]],
    ]


def test_a_second_look_stands_on_the_list_that_was_read_and_not_on_the_record_after_it(tmp_path: Path):
    def made(id_: str, node: str, kind: str = "observation", do: str = "") -> dict[str, Any]:
        return {"id": id_, "node": node, "kind": kind, "payload": {"do": do}}

    read = [made("1", "J4"), made("2", "J5"), made("3", "K1"), made("4", "J4", "action", "second look")]
    body = "result = data.map((standing) => listEntry({ book: { standing } })?.id ?? null)"
    found = in_node(tmp_path, {"screens/looking": "listEntry"}, body, [read, read[1:3], []])
    assert found == ["1", "3", None]


def test_a_day_within_words_is_written_as_everywhere_else(tmp_path: Path):
    words = [
        "TG-1 due 2027-06-30; TG-2 due 2027-01-02.",
        "QUR-2027-04-14-9, 12027-04-14, 2027-13-01",
        "5.12 bar",
    ]
    said = in_node(tmp_path, {"saying": "datedWords"}, "result = data.map(datedWords)", words)
    assert said == ["TG-1 due 30 Jun 2027; TG-2 due 2 Jan 2027.", *words[1:]]
