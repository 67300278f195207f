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
