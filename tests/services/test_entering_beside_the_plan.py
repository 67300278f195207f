"""Entering what the plan has no step for: things by any spelling, whole valves, notes that ask back."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from pathlib import Path

import pytest

from steadyhead.errors import InputError
from steadyhead.procedure.ledger import dump
from steadyhead.records.entry import Entry
from steadyhead.services.entering import Entered, Stamp, enter
from steadyhead.services.plan_files import plan_file
from steadyhead.services.running import judge_run
from tests.procedure.lane import before, plan, visit
from tests.procedure.quernhollow_planned import put_right
from tests.procedure.walking import Device

TOLD = (
    "replaced the seat disc of the shut-off",
    "swapped the SO seat",
    "gave SO a nip",
    "changed the closing needle",
    "left the pilot cock shut",
    "IV1 left shut",
    "TD left open a crack",
    "contacts bridged",
    "fitted a jumper across the limit switch",
    "alarm left on test",
    "swapped gauge TG-07 for TG-08 halfway",
    "gauge TG-07 dropped",
)
QUIET = (
    "all dry",
    "run 1 a bit high",
    "nut tight, painted",
    "IV1 and IV2 found shut as tagged",
    "SO not touched",
    "seals on SO and RV",
    "the trip nut looks old, replace next year",
    "gate of the yard left open for the crew",
    "chamber cover closed",
    "SO reset by hand",
    "T3 steady at 4.02",
)


@cache
def _stored() -> bytes:
    return plan_file(plan("first"))


@cache
def _day() -> tuple[Entry, ...]:
    return tuple(put_right())


def _noted(text: str, node: str = "") -> list[Entry]:
    return before(list(_day()), "", Device("tab-2").make("note", {"text": text}, node))


def _codes(entries: list[Entry]) -> list[str]:
    return [finding.code for finding in judge_run(_stored(), dump(entries)).words]


def _enter(folder: Path, entries: list[Entry], words: str) -> Entered:
    place = folder / "visit.jsonl"
    if not place.exists():
        place.write_bytes(dump(entries))
    stamp = Stamp("", "tab-1", "2027-04-16T10:00+01:00")
    return enter(_stored(), str(place), words.split(), stamp)


def _all_noted(texts: Sequence[str]) -> list[Entry]:
    return before(list(_day()), "", *(Device("tab-2").make("note", {"text": text}) for text in texts))


def test_a_note_that_tells_of_a_touch_or_of_something_left_stands_against_final():
    entries = _all_noted(TOLD)
    run = judge_run(_stored(), dump(entries))
    assert [finding.code for finding in run.words] == ["RUN-54"] * len(TOLD)
    assert {finding.subject for finding in run.words} == {entry.id for entry in entries[-len(TOLD) :]}
    assert not run.is_final


def test_a_note_that_tells_of_neither_forbids_nothing():
    assert judge_run(_stored(), dump(_all_noted(QUIET))).is_final


def test_an_answer_in_words_is_answered_by_its_number_too(tmp_path: Path):
    told = _enter(tmp_path, list(_day()), "J4 seals=swapped-the-SO-seat")
    assert _enter(tmp_path, [], f"do nothing touched to={told.first}").entries[0].payload["to"]


def test_a_note_is_told_at_the_moment_it_is_entered_and_answered_by_its_number(tmp_path: Path):
    told = _enter(tmp_path, list(_day()), "note gauge TG-07 dropped")
    assert [finding.code for finding in told.amiss()] == ["RUN-54"]
    answered = _enter(tmp_path, [], f"do nothing touched to={told.first}")
    assert answered.after.is_final


def test_a_note_turned_into_an_act_is_held_against_the_proofs(tmp_path: Path):
    told = _enter(tmp_path, list(_day()), "note replaced the seat disc of the shut-off")
    acted = _enter(tmp_path, [], "do replace thing=SO.seat")
    assert [finding.code for finding in acted.after.words] == []
    assert ("SO.trip", "valid", "stale") in acted.proofs
    assert told.after.judgement.proof("SO.trip").state == "valid"


def test_a_note_at_the_step_that_works_the_thing_asks_nothing():
    entries = visit("first", {"E0.SO": "set", "E0.RV": "fits", "E0.LB": "fits"})
    note = Device("tab-2").make("note", {"text": "SO setting lowered 5 turns, last one eased in"}, "ES4.SO")
    assert _codes(before(entries, "ES5.SO", note)) == []


def test_an_act_before_the_note_answers_nothing_that_was_left():
    entries = before(list(_day()), "", Device("tab-2").make("action", {"do": "open", "thing": "IV1"}),
                     Device("tab-3").make("note", {"text": "IV1 left shut"}))  # fmt: skip
    assert _codes(entries) == ["RUN-54"]


@pytest.mark.parametrize("thing", ["so.setting", "SO.seat", "SO", "iv2", "outside.ladder"])
def test_a_thing_is_taken_in_any_spelling_and_a_part_of_it_as_the_whole(thing: str, tmp_path: Path):
    assert len(_enter(tmp_path, list(_day()), f"do replace thing={thing}").entries) == 1


def test_an_unknown_thing_is_refused_and_the_whole_valve_offered_before_any_note(tmp_path: Path):
    with pytest.raises(InputError, match="whole valve: SO, RV, LB"):
        _enter(tmp_path, list(_day()), "do replace thing=closing disc")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("do turn thing=outside.SO.setting", "names something of the station"),
        ("position outside.SO=shut", "names something of the station"),
        ("position BY=open", "plan does not know"),
        ("do open thing=hatch", "plan does not know"),
    ],
)
def test_a_name_of_the_station_outside_and_a_place_nobody_knows_are_refused(
    words: str, told: str, tmp_path: Path
):
    with pytest.raises(InputError, match=told):
        _enter(tmp_path, list(_day()), words)


def test_somebody_else_agrees_to_a_touch_taken_back_by_its_number(tmp_path: Path):
    touch = _enter(tmp_path, list(_day()), "do lower thing=SO.setting")
    back = _enter(tmp_path, [], f"void {touch.first} reason=typed-in-the-wrong-file")
    assert "RUN-56" in [finding.code for finding in back.amiss()]
    stamp = Stamp(
        "Tam Oduya" if back.entries[0].who != "Tam Oduya" else "Ilse Marrow",
        "tab-1",
        "2027-04-16T11:00+01:00",
    )
    looked = ["do", "second look", f"to={back.first}"]
    assert enter(_stored(), str(tmp_path / "visit.jsonl"), looked, stamp).after.is_final


def test_a_touch_of_nothing_named_is_refused_where_the_step_works_nothing(tmp_path: Path):
    with pytest.raises(InputError, match="turn what"):
        _enter(tmp_path, list(_day()), "J4 do turn")


@pytest.mark.parametrize(
    "words", ["H2.RV do lock", "F1.SO do shut", "F1.SO do turn", "J2 do open", "H1.RV do hold"]
)
def test_what_is_moved_or_touched_is_named_at_every_step(words: str, tmp_path: Path):
    with pytest.raises(InputError) as refused:
        _enter(tmp_path, list(_day()), words)
    assert refused.value.problem == f"is missing: {words.split()[-1]} what?"
    assert "RV.setting" in refused.value.remedy or not words.startswith(("F1", "H1"))


@pytest.mark.parametrize("words", ["do trip", "do stroke by hand", "do draw water", "do defeat"])
def test_at_no_step_nothing_goes_without_a_name(words: str, tmp_path: Path):
    with pytest.raises(InputError, match="is missing"):
        _enter(tmp_path, list(_day()), words)


@pytest.mark.parametrize("words", ["F1.SO do trip", "F1.SO do draw water", "C1S.SO do defeat"])
def test_a_stroke_water_and_what_a_step_orders_go_without_a_name_at_their_step(words: str, tmp_path: Path):
    assert len(_enter(tmp_path, list(_day()), words).entries) == 1


def test_nothing_touched_names_its_note(tmp_path: Path):
    with pytest.raises(InputError, match="which note"):
        _enter(tmp_path, list(_day()), "do nothing touched")
    with pytest.raises(InputError, match="is no note"):
        _enter(tmp_path, [], "do nothing touched to=1")


def test_a_raise_entered_before_the_outlet_valve_is_proved_says_so_at_once(tmp_path: Path):
    place = tmp_path / "yearly.jsonl"
    stored = plan_file(plan("yearly"))
    enter(
        stored,
        str(place),
        ["person", "name=Tam", "role=technician"],
        Stamp("Tam", "t", "2027-04-14T08:00+01:00"),
    )
    told = enter(stored, str(place), ["Y4.SO", "turns=1", "turns"], Stamp("", "t", "08:10"))
    assert "RUN-53" in [finding.code for finding in told.amiss()]
