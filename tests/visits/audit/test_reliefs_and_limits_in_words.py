"""Notes of relief valves, of limits passed, and of gates that were not shut: heard by classes of words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from steadyhead.procedure.ledger import dump, read
from steadyhead.records.entry import Entry
from steadyhead.services.auditing import audit_words
from steadyhead.visits.audit.untold import agreed_notes, untold
from tests.procedure.lane import act, against, before, judged, plan, stands, visit
from tests.procedure.walking import Device

MILL, FLAT, LANE = "orrowby-mill", "mesquill-flat", "quernhollow-lane"
KEPT = (
    "gagged the relief",
    "plugged the relief discharge",
    "put a blank in the relief outlet",
    "gag screw left in the relief",
    "blank flange still on the outlet of the relief valve",
    "relief tied down with wire for the run",
    "screwed the relief down so it would not lift",
    "safety valve pinned",
    "plug screwed into the relief tail pipe",
    "someone had stuffed a rag in the relief outlet",
)
MOVED = (
    "relief isolated",
    "relief cock turned off",
    "shut the cock under the relief",
    "relief valved off while we raised",
    "lifted the relief by hand, it hung up",
    "popped the relief with the lever",
    "relief set up half a turn",
)
PASSED = (
    "went past the stop point, carried on",
    "T3 was above the test limit, carried on",
    "exceeded the test limit by half a bar",
    "ran 0.3 over the stop point",
    "pressure went beyond the upper limit for a moment",
    "T3 read 5.9, over the test limit",
    "pushed on past the stop point because it was late",
    "reached 2 bar above the limit, brought down",
    "outlet ran 0.4 bar over the limit before TD was opened",
    "T3 0.3 bar above the stop pressure, TD opened",
    "the SO acted above the test limit",
    "T3 got above the rating of the section",
    "limit was exceeded on run 2",
)
UNDONE = (
    "we did not close IV2",
    "never shut IV2",
    "IV2 was not closed for the run",
    "left IV2 open for the farm",
    "raised without closing IV2",
    "forgot to shut IV2 before the pump",
)
PLAIN = (
    "RL lifted at 4.62, water at the ditch",
    "relief lifted at 4.6 and seated at 4.4",
    "relief valve cracked at the third step",
    "relief opened with a bang, closed dry",
    "RL simmered at 4.5 before it lifted",
    "RL closed again at 4.4",
    "relief shut at 4.4",
    "relief stands seated",
    "relief chattered once",
    "relief discharge pipe free, nobody in front",
    "relief cock open, sealed, read by Hark",
    "relief lifts well before the shut-off",
    "relief valve wiped dry with a rag",
    "relief tail pipe not blocked",
    "nothing gagged, nothing plugged",
    "photo of the relief cock",
    "great relief when the rain stopped",
    "relief crew arrived at noon",
    "stayed 0.3 below the test limit",
    "T3 never went past the stop point",
    "we stopped at the stop point",
    "noise went above the stated limit, ear protection worn",
    "T3 crept up but stayed under the upper edge",
    "walked past the stop sign on the road",
    "limit switch passed its test",
    "gauge needle steady, did not pass the limit",
    "would stop if T3 went over the limit",
    "litres went over the limit of the permit, desk told",
    "peak 5.3, limit 5.6",
    "did not open IV2 during the runs",
    "did not close IV2 until T4 stood",
    "did not shut IV2 fast",
)


def _asked(kind: str, station: str, step: str, texts: Sequence[str]) -> dict[str, str]:
    """Return which notes written at the end of a step are asked about, and by which finding."""
    entries = visit(kind, None, station)
    at = next(one for one in reversed(entries) if one.node == step)
    told, made = {}, []
    for number, text in enumerate(texts):
        note = Device("tab-2").make("note", {"text": text}, step)
        id_ = f"0190bbbb-0000-7000-8000-{number:012d}"
        told[id_] = text
        made.append(replace(note, run=at.run, id=id_, t_device=at.t_device, clock_offset=1.0, t_mono=0.0))
    ordered = sorted([*entries, *made], key=lambda one: one.time)
    return {told[one.subject]: one.code for one in untold(plan(kind, station), ordered)}


def test_what_keeps_a_relief_valve_from_lifting_cuts_it_off_or_lifts_it_is_asked_about():
    asked = _asked("yearly", MILL, "Y3R.RL", (*KEPT, *MOVED))
    assert [text for text in (*KEPT, *MOVED) if asked.get(text) != "RUN-54"] == []


def test_a_relief_valve_that_is_in_no_plan_is_asked_about_too():
    asked = _asked("first", LANE, "F1.SO", KEPT)
    assert [text for text in KEPT if text not in asked] == []


def test_a_limit_passed_in_words_is_asked_about():
    asked = _asked("yearly", LANE, "Y4.SO", PASSED)
    assert [text for text in PASSED if asked.get(text) != "RUN-58"] == []


@pytest.mark.parametrize(("station", "step"), [(LANE, "Y2"), (LANE, "Y4.SO"), (MILL, "Y2")])
def test_a_gate_that_was_not_shut_as_the_plan_asks_is_asked_about(station: str, step: str):
    asked = _asked("yearly", station, step, UNDONE)
    assert [text for text in UNDONE if asked.get(text) != "RUN-54"] == []


@pytest.mark.parametrize(
    ("station", "step"), [(MILL, "Y3R.RL"), (MILL, "Y2"), (FLAT, "Y4.SO"), (LANE, "Y4.SO"), (LANE, "Y8")]
)
def test_what_a_relief_valve_does_of_itself_and_a_limit_kept_ask_nothing(station: str, step: str):
    assert _asked("yearly", station, step, PLAIN) == {}


def test_a_gate_left_open_to_the_consumers_is_as_it_should_be():
    told = ("left IV2 open", "IV2 left open and sealed")
    assert _asked("yearly", LANE, "Y8", told) == {}


@pytest.mark.parametrize("step", ["Y3I.RL", "Y4.SO"])
def test_a_relief_valve_cut_off_as_planned_asks_nothing(step: str):
    assert _asked("yearly", FLAT, step, ("relief isolated, tagged", "relief cock shut")) == {}


def _noted(station: str, step: str, text: str, *more: Entry) -> list[str]:
    note = Device("tab-2").make("note", {"text": text}, step)
    entries = before(visit("yearly", None, station), "Y7.RV", note, *more)
    entries.sort(key=lambda one: one.time)
    return [one.code for one in untold(plan("yearly", station), entries)]


@pytest.mark.parametrize(
    ("text", "answer"),
    [
        ("gagged the relief", act("defeat", "RL")),
        ("relief isolated", act("shut", "RL.cock")),
        ("relief isolated", stands("RL", "cock shut")),
        ("lifted the relief by hand", act("stroke by hand", "RL")),
        ("we did not close IV2", stands("IV2", "open")),
    ],
)
def test_such_a_note_is_answered_by_an_entry_about_the_thing(text: str, answer: Entry):
    assert _noted(MILL, "", text) == ["RUN-54"]
    assert _noted(MILL, "", text, answer) == []


@pytest.mark.parametrize("text", ["relief screw capped", "gagged the relief", "safety valve pinned"])
@pytest.mark.parametrize(
    "answer", [stands("outside.relief", "capped"), act("defeat", "outside.relief valve")], ids=["is", "act"]
)
def test_a_note_of_a_relief_valve_that_is_in_no_plan_is_answered_by_one_outside(text: str, answer: Entry):
    assert _noted(LANE, "J4", text) == ["RUN-54"]
    assert _noted(LANE, "J4", text, answer) == []
    assert _noted(LANE, "J4", text, stands("outside.gate", "shut")) == ["RUN-54"]


def test_a_relief_valve_outside_can_be_placed_where_the_plan_has_none_and_else_not():
    said = stands("outside.relief", "capped")
    assert against(judged("yearly", before(visit("yearly"), "", said))) == set()
    told = against(judged("yearly", before(visit("yearly", None, MILL), "", said), MILL))
    assert ("RUN-51", "outside.relief") in told


def test_one_outside_answers_no_note_where_the_plan_has_a_relief_valve():
    assert _noted(MILL, "", "gagged the relief", stands("outside.relief", "capped")) == ["RUN-54"]


def test_a_note_of_a_relief_valve_is_denied_by_somebody_else_too_where_the_plan_has_none():
    note = Device("tab-2").make("note", {"text": "gagged the relief"}, "J4")
    entries = before(visit("yearly"), "", note)
    denied = before(entries, "", act("nothing touched", to=entries[-1].id))
    assert agreed_notes(plan("yearly"), denied) == frozenset()
    looked = replace(act("nothing touched", to=entries[-1].id), who="Tam Oduya")
    person = Device("tab-3").make("person", {"name": "Tam Oduya"})
    agreed = before(denied, "", replace(person, t_mono=1.0), looked)
    assert agreed_notes(plan("yearly"), agreed) == {entries[-1].id}


def test_a_limit_passed_in_words_is_answered_by_its_reading_or_denied():
    text = "went past the stop point"
    payload = {"input": "T3", "quantity": "pressure", "tap": "T3", "value": 9e5}
    note = Device("tab-2").make("note", {"text": text}, "Y4.SO")
    noted = before(visit("yearly"), "Y6.SO", note)
    stored = plan("yearly")
    assert [one.code for one in audit_words(stored, read(dump(noted)))] == ["RUN-58"]
    shown = before(noted, "Y6.SO", Device("tab-3").make("reading", payload, "Y4.SO"))
    denied = before(noted, "", act("nothing touched", to=noted[-1].id))
    for answered in (shown, denied):
        assert audit_words(stored, read(dump(answered))) == ()


@pytest.mark.parametrize(
    "text",
    [
        "T3 touched the rating",
        "needle into the red mark",
        "peak 5.9 bar against a limit of 5.3",
        "T3 was higher than allowed",
        "test limit broken for a second",
    ],
)
def test_a_limit_touched_or_broken_in_other_words_is_asked_about(text: str):
    assert _noted(LANE, "Y4.SO", text) == ["RUN-58"]


@pytest.mark.parametrize(
    "text",
    [
        "outlet got to 7 bar before we could get TD open",
        "overshoot to 7.1 bar on run 2",
        "exceeded the limit/stop",
        "the limit on the card was exceeded",
        "we blew through the stop pressure",
        "needed 5.7 bar to make it go",
        "SO failed to act on the first go",
        "the shut-off never moved on run 1",
        "desk never got the alarm, we entered what it should say",
        "could not prove IV2 tight, zone took water",
        "water still running at TD while we read the lock-up",
    ],
)
def test_a_figure_past_the_limit_and_what_failed_are_asked_about(text: str):
    assert _noted(LANE, "Y4.SO", text) == ["RUN-58"]


@pytest.mark.parametrize(
    "text",
    [
        "SO acted before the upper edge was passed",
        "read T3 5.12, not more than permitted",
        "the permit is for 10 m3, we ran over what was allowed by 0.2 m3",
        "held up past the permitted hour",
        "it was above the upper edge of the plate where the mark is painted",
        "SO acted at 5.1 bar",
        "T1 read 11.4 bar",
        "rating of the outlet is 16 bar",
    ],
)
def test_other_limits_and_figures_inside_ask_nothing(text: str):
    assert _noted(LANE, "Y4.SO", text) == []


@pytest.mark.parametrize(
    "text",
    [
        "pumped up to the test limit",
        "T3 stayed below what is allowed",
        "red mark on the gauge glass is faded",
    ],
)
def test_a_limit_that_was_kept_is_not(text: str):
    assert _noted(LANE, "Y4.SO", text) == []
