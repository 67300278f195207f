"""An isolating valve told in words is that valve: only what is entered of it answers the note."""

from __future__ import annotations

import pytest

from steadyhead.records.entry import Entry
from steadyhead.visits.audit.untold import untold
from tests.procedure.lane import act, before, plan, visit
from tests.procedure.quernhollow_planned import put_right
from tests.procedure.walking import Device

TOLD = ("opened the outlet valve for two minutes", "the outlet valve was opened for two minutes")


def _note(text: str, node: str = "") -> Entry:
    return Device("tab-2").make("note", {"text": text}, node)


def _asks(kind: str, entries: list[Entry]) -> bool:
    entries.sort(key=lambda one: one.time)
    return any(found.code == "RUN-54" for found in untold(plan(kind), entries))


@pytest.mark.parametrize("text", TOLD)
def test_an_act_on_something_else_answers_no_note_of_an_isolating_valve_in_words(text: str):
    hatch = act("close cover", "outside.hatch")
    assert _asks("first", before(put_right(), "", hatch, _note(text)))
    assert not _asks("first", before(put_right(), "", act("open", "IV2"), act("shut", "IV2"), _note(text)))


@pytest.mark.parametrize("text", [*TOLD, "outlet valve was cracked open for the farm"])
def test_a_yearly_note_of_the_outlet_valve_in_words_is_asked_about(text: str):
    assert _asks("yearly", before(visit("yearly"), "Y6.SO", _note(text, "Y5")))


@pytest.mark.parametrize(
    "text",
    ["Drain TD stay cracked open so pipe not freeze", "IV1 only half", "Lid of the strainer came off again"],
)
def test_a_state_somebody_left_a_thing_in_is_asked_about(text: str):
    assert _asks("first", before(put_right(), "", _note(text)))


@pytest.mark.parametrize(
    "text", ["Drain TD stays shut", "IV1 remains open", "Lid of the chamber came up hard"]
)
def test_a_state_as_it_is_to_be_left_asks_nothing(text: str):
    assert not _asks("first", before(put_right(), "", _note(text)))


def test_a_wire_pulled_is_not_answered_by_the_alarm_made_live():
    live = act("alarm live", "alarm")
    assert _asks(
        "first", before(put_right(), "", live, _note("wire got pulled, pushed it back in the terminal"))
    )


FAR = (
    "IV1 at 20 turns while raising", "had IV1 wide open for the first rise", "opened IV1 right up",
    "forgot to throttle IV1 before the rise", "three more turns on IV1 to get there",
)  # fmt: skip
V2 = ("IV1 at its V2 opening, not touched", "water at TD, IV1 open", "IV1 will be opened fully afterwards")


@pytest.mark.parametrize(("kind", "step"), [("first", "F1.SO"), ("yearly", "Y4.SO")])
def test_an_inlet_valve_told_too_far_open_at_a_raise_is_asked_about(kind: str, step: str):
    entries = visit(kind)
    for text in FAR:
        assert _asks(kind, before(entries, step, _note(text, step))), text
    for text in V2:
        assert not _asks(kind, before(entries, step, _note(text, step))), text


@pytest.mark.parametrize(
    "text", ["IV2 shut and tight since the morning, T4 steady", "TD dry, IV2 shut, 15 min"]
)
def test_a_gate_said_to_stand_as_the_steps_put_it_asks_nothing(text: str):
    assert not _asks("first", before(visit("first"), "F2.SO", _note(text, "F2.SO")))


def test_what_a_shut_off_does_of_itself_asks_nothing():
    text = "two drops from the exhaust while it shut, dry after"
    assert not _asks("first", before(visit("first"), "F2.SO", _note(text, "F2.SO")))


def test_a_gate_opened_in_part_is_asked_about():
    assert _asks(
        "yearly", before(visit("yearly"), "Y8", _note("IV2 only opened 6 turns, rest tomorrow", "Y8"))
    )
    assert _asks("first", before(visit("first"), "J1", _note("used a jumper on the switch, SO not moved")))


@pytest.mark.parametrize(
    ("text", "asks"),
    [
        ("T3 peaked at 120 psi at the act", True), ("T3 touched 900 kPa", True), ("T3 touched 9.2 bar", True),
        ("IV2 weeps, T4 comes up slowly", True), ("alarm never reached the desk", True),
        ("IV2 weeps at the gland", False), ("T3 at 40 psi", False),
    ],
)  # fmt: skip
def test_a_limit_passed_is_read_in_any_unit_and_a_proof_that_failed_in_words(text: str, asks: bool):
    entries = before(visit("first"), "F3.SO", _note(text, "F3.SO"))
    entries.sort(key=lambda one: one.time)
    assert any(found.code == "RUN-58" for found in untold(plan("first"), entries)) is asks
