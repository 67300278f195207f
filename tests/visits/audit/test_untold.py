"""Notes and answers in words that tell of what no entry says are asked about; plain ones are not."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from steadyhead.findings import Finding, Severity
from steadyhead.procedure.ledger import dump, read
from steadyhead.records.entry import Entry
from steadyhead.services.auditing import audit_words
from steadyhead.visits.audit.untold import untold
from tests.procedure.lane import PROVED, act, before, plan, stands, visit
from tests.procedure.quernhollow_planned import put_right
from tests.procedure.walking import Device

NOTES = json.loads((Path(__file__).parent / "site_notes.json").read_text(encoding="utf-8"))
DONE = (
    ("first", "B1", "IV2 closed slowly, then IV1"),
    ("first", "B4", "strainer lid off, basket cleaned, refitted with a new gasket"),
    ("first", "B5", "both pilot filters cleaned"),
    ("first", "C2.main", "IV1 cracked, air out at the covers"),
    ("first", "C3.main", "RV cover bled last"),
    ("first", "C5.main", "IV1 opened in three stages"),
    ("first", "D2.main", "pumped to 6.5, IV2 shut and tight"),
    ("first", "D4.SO", "SO stroked by hand, switch seen"),
    ("first", "F1.SO", "RV raised in steps of 0.07"),
    ("first", "F2R.SO", "RV lowered, TD opened, SO reset"),
    ("first", "H1.RV", "RV screw raised to 4.0, nut tightened"),
    ("first", "G1.SO", "SO closed, alarm came in 4 s"),
    ("first", "H3.low", "IVL1 and IVL2 opened"),
    ("first", "J2", "IV1 opened, then IV2 in stages"),
    ("first", "J4", "gauges off, seals fitted, drains shut"),
    ("yearly", "Y2", "IV2 shut, IV1 brought to its V2 opening"),
    ("yearly", "Y4.SO", "reducer raised in small steps, SO tripped"),
    ("yearly", "Y7.RV", "RV lowered back to duty, nut tight"),
    ("yearly", "Y8", "IV2 opened slowly, TD shut"),
    ("yearly", "Y8", "IV2 opened two turns, shut again as T4 moved, then opened in stages"),
    ("restart", "R1", "SO tripped at 02:14, T3 had risen to 6.6"),
    ("restart", "R7", "IV2 shut, IV1 shut"),
    ("restart", "R7R", "SO reset at the V2 opening, RV seen to close"),
)
BESIDE = (
    *(
        ("first", step, text)
        for step in ("F1.SO", "F3.SO", "G4", "H2.RV", "J4")
        for text in (
            "opened IV2 two turns and shut it again",
            "gave the SO screw a hair",
            "wedge still in the shut-off lever",
            "BY opened for the baker",
        )
    ),
    *(
        ("restart", step, text)
        for step in ("R1", "R3", "R4", "R5", "R6", "R7")
        for text in ("reset the shut-off to get water on, it held", "opened the shut-off by hand")
    ),
    *(
        ("yearly", step, text)
        for step in ("Y4.SO", "Y5.main", "Y6.SO", "Y8")
        for text in (
            "SO screw an eighth out",
            "cleaned SO filter",
            "lowered trip a little for safety",
            "SO left tripped",
            "opened IV2 two turns and shut it again",
        )
    ),
)


@cache
def _day() -> tuple[Entry, ...]:
    return tuple(put_right())


def _notes(texts: Iterable[str], node: str = "") -> list[Entry]:
    return [Device("tab-2").make("note", {"text": text}, node) for text in texts]


def _asked(texts: Sequence[str]) -> set[str]:
    """Return which notes at the end of the day put right are asked about."""
    entries = before(_day(), "", *_notes(texts))
    said = {one.id: one.payload["text"] for one in entries[-len(texts) :]}
    return {said[found.subject] for found in untold(plan("first"), entries)}


def _at_steps(kind: str, told: Sequence[tuple[str, str, str]], *, named: bool) -> set[tuple[str, str]]:
    """Return which notes written in the middle of their steps are asked about; named: at the step itself."""
    entries = visit(kind, PROVED if kind == "restart" else None)
    first = {one.node: one for one in reversed(entries)}
    made = {}
    for number, (_, step, text) in enumerate(told):
        (note,) = _notes([text], step if named else "")
        id_ = f"0190bbbb-0000-7000-8000-{number:012d}"
        at = first[step]
        made[id_] = (step, text)
        entries.append(replace(note, run=at.run, id=id_, t_device=at.t_device, clock_offset=1.0, t_mono=0.0))
    entries.sort(key=lambda one: one.time)
    return {made[found.subject] for found in untold(plan(kind), entries)}


def test_every_telling_note_of_the_set_is_asked_about():
    asked = _asked(NOTES["telling"])
    assert [text for text in NOTES["telling"] if text not in asked] == []


def test_what_is_not_heard_yet_is_known_by_name():
    """Whoever teaches the reader one of these moves it up."""
    assert _asked(NOTES["unheard"]) == set()


def test_no_plain_note_of_the_set_is_asked_about():
    assert _asked(NOTES["plain"]) == set()


def test_a_note_of_what_the_record_says_anyway_is_not_asked_about():
    assert _asked(NOTES["settled"]) == set()


@pytest.mark.parametrize("kind", ["first", "yearly", "restart"])
@pytest.mark.parametrize("named", [True, False])
def test_a_note_of_what_its_step_asks_for_is_not_asked_about(kind: str, named: bool):
    told = [one for one in DONE if one[0] == kind]
    if named:
        assert _at_steps(kind, told, named=True) == set()
    else:
        assert set().union(*(_at_steps(kind, [one], named=False) for one in told)) == set()


@pytest.mark.parametrize("kind", ["first", "yearly", "restart"])
def test_a_note_of_what_its_step_does_not_ask_for_is_asked_about(kind: str):
    told = [one for one in BESIDE if one[0] == kind]
    assert _at_steps(kind, told, named=True) == {(step, text) for _, step, text in told}


@pytest.mark.parametrize("kind", ["first", "yearly", "restart", "return-to-service", "new-setting"])
def test_the_answers_in_words_of_a_clean_visit_are_not_asked_about(kind: str):
    assert untold(plan(kind), visit(kind)) == ()


def _touched(text: str) -> tuple[Finding, ...]:
    entries = [
        replace(one, payload={**one.payload, "value": text}) if one.payload.get("input") == "touched" else one
        for one in visit("yearly")
    ]
    return untold(plan("yearly"), entries)


@pytest.mark.parametrize("text", ["SO screw an eighth out", "cleaned SO filter"])
def test_an_answer_in_words_that_tells_of_a_touch_is_asked_about_and_names_the_proofs_that_rest_on_it(
    text: str,
):
    found = _touched(text)
    assert {one.code for one in found} == {"RUN-54"}
    assert "SO.trip" in str(found[0].params["rests"])


@pytest.mark.parametrize("text", ["nothing", "the RV screw, half a turn", "no"])
def test_an_answer_in_words_that_tells_of_what_the_step_works_is_not_asked_about(text: str):
    assert all(one.params["step"] != "Y5.main" for one in _touched(text))


@pytest.mark.parametrize("answer", [act("reset", "SO"), act("open", "so"), None])
def test_a_shut_off_left_tripped_is_answered_by_its_reset_and_not_by_leaving(answer: Entry | None):
    noted = before(visit("yearly"), "Y6.SO", *_notes(["SO left tripped over lunch"], "Y6.SO"))
    entries = noted if answer is None else before(noted, "Y8", replace(answer, id="reset"))
    assert len(untold(plan("yearly"), sorted(entries, key=lambda one: one.time))) == (answer is None)


def test_a_touch_is_not_answered_by_moving_the_same_thing():
    (note,) = _notes(["gave the SO screw a quarter turn"])
    moved = before(_day(), "", act("reset", "SO"), note)
    assert [one.code for one in untold(plan("first"), moved)] == ["RUN-54"]
    turned = before(_day(), "", act("turn", "SO.setting"), note)
    assert untold(plan("first"), turned) == ()


def _stops(entries: Sequence[Entry]) -> list[str]:
    found = audit_words(plan("first"), read(dump(entries)))
    return [one.code for one in found if one.severity is Severity.STOP]


def test_a_touch_read_out_of_a_note_of_what_protects_is_denied_by_two_people_only():
    (note,) = _notes(["gave SO screw ¼ turn out"])
    asked = before(_day(), "", note)
    answered = before(asked, "", act("nothing touched", to=asked[-1].id))
    assert _stops(asked) == _stops(answered) == ["RUN-23"]
    for who, codes in (("Nobody Known", ["RUN-23"]), ("Tam Oduya", []), (note.who, ["RUN-23"])):
        looked = replace(act("second look", to=asked[-1].id), who=who)
        assert _stops(before(answered, "", looked)) == codes, who


@pytest.mark.parametrize(
    "text",
    [
        "photo of the SO screw taken",
        "took a picture of the SO setting screw",
        "Name plate on the reducer is painted over, number taken from the drawing",
    ],
)
def test_a_picture_of_a_thing_and_what_is_written_on_it_ask_nothing(text: str):
    assert _stops(before(_day(), "", *_notes([text]))) == []


@pytest.mark.parametrize(
    "text", ["photo taken, then SO screw turned a bit", "took the SO spring out, photo of it"]
)
def test_a_touch_told_beside_a_picture_is_heard(text: str):
    assert _stops(before(_day(), "", *_notes([text]))) != []


@pytest.mark.parametrize(
    "text", ["opened IV2 two turns and shut it again", "the outlet valve was opened for two minutes"]
)
def test_a_gate_moved_is_answered_by_an_entry_of_that_hour_and_not_by_a_later_one(text: str):
    noted = before(visit("first"), "F1.SO", *_notes([text]))
    later = [*noted, replace(before(noted[:-1], "J2", stands("IV2", "open", "J2"))[-1], id="later")]
    then = [*noted, replace(before(noted[:-1], "F1.SO", act("open", "IV2"))[-1], id="then")]
    in_time = [sorted(one, key=lambda each: each.time) for one in (noted, later, then)]
    assert [len(untold(plan("first"), one)) for one in in_time] == [1, 1, 0]


INNER = (
    ("yearly", "Y7.RV", "sensing line isolated for a moment"),
    ("yearly", "Y7.RV", "rinsed the pilot strainer"),
    ("yearly", "Y2", "lock nut was loose, tightened it"),
    ("yearly", "Y8", "knocked the closing lever"),
    ("yearly", "Y8", "bypass left cracked"),
    ("yearly", "Y4.SO", "isolated SO sensing for a moment"),
)


def test_a_part_inside_a_valve_told_without_its_id_is_not_answered_by_an_entry_about_another():
    for one in INNER:
        assert _at_steps("yearly", [one], named=False) == {one[1:]}


def test_a_part_inside_a_valve_told_without_its_id_is_answered_by_an_entry_about_it():
    entries = list(_day())
    told = _notes(["rinsed the pilot strainer"])
    assert untold(plan("first"), before(entries, "", *told))
    answered = before(entries, "", *told, act("clean", "RV.filter"))
    assert untold(plan("first"), answered) == ()
    assert untold(plan("first"), before(entries, "", *told, act("tighten nut", "RV.nut")))


@pytest.mark.parametrize(
    "text",
    [
        "Paint mark on the adjusting screw still in line, unbroken",
        "Drawing shows the drain on the other side than it is built",
    ],
)
def test_a_mark_still_in_line_and_a_drawing_ask_nothing(text: str):
    assert _asked([text]) == set()


@pytest.mark.parametrize(
    ("words", "asked"),
    [
        ("QUERNHOLLOW LN SO REACHED CLOSED", False),
        ("02:47 P1 Quernhollow Ln: SO reached closed.", False),
        ("QUERNHOLLOW LN SO REACHED CLOSED, then cleaned the SO filter", True),
    ],
)
def test_the_words_of_the_screen_that_an_answer_repeats_tell_of_nothing_done(words: str, asked: bool):
    entries = [
        replace(one, payload={**one.payload, "value": words})
        if (one.node, one.payload.get("input")) == ("G1.SO", "words")
        else one
        for one in visit("first")
    ]
    assert any(found.code == "RUN-54" for found in untold(plan("first"), entries)) is asked
