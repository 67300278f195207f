"""Corners of the judge that a small wrong change went through: each case here is one that it would turn."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Any

import pytest

from steadyhead.errors import InputError
from steadyhead.procedure.entry_form import entry_of
from steadyhead.procedure.fitness import unfit
from steadyhead.procedure.graph import order
from steadyhead.procedure.ledger import gathered
from steadyhead.procedure.naming import stands_shut
from steadyhead.procedure.plain import from_json, to_json
from steadyhead.procedure.record import lay
from steadyhead.procedure.restoring import restored_by
from steadyhead.procedure.steps import look
from steadyhead.procedure.stops import said_stops
from steadyhead.records.entry import Entry
from steadyhead.records.procedure import Input, Procedure
from tests.procedure.lane import act, against, before, judged, plan, stands, visit
from tests.procedure.minded_vectors import minded
from tests.procedure.pen import Made, Pen, clean
from tests.procedure.small import sound, step, tea
from tests.procedure.test_judge_edges import PLAN
from tests.procedure.test_judge_edges import judged as judged_kettle
from tests.procedure.test_standing_all_through import _after, _near
from tests.procedure.walking import clean_ways

ROW = "quillenby-row"
Path = tuple[str | int, ...]


def _places(data: Any, at: Path = ()) -> Iterator[Path]:
    """Yield where each value of a stored plan stands, that of lists and maps too."""
    if at:
        yield at
    found = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for key, value in found:
        yield from _places(value, (*at, key))


def _inside(at: Path) -> bool:
    """Return whether a place lies in an expression or in values that go with a text, whose kinds are free."""
    return bool({"needs", "when", "unless", "worked", "params"} & set(at[:-1]))


def _swapped(data: Any, at: Path, value: Any) -> bytes:
    copy = json.loads(json.dumps(data))
    spot = copy
    for key in at[:-1]:
        spot = spot[key]
    spot[at[-1]] = value
    return json.dumps(copy).encode()


FREE = {"params", "needs", "when", "unless", "worked", "streams"}
"""Fields that take a map with anything in it."""


def taken_all_the_same(stored: Any, places: Iterable[Path]) -> list[Path]:
    """Return the places of a stored plan at which something of another kind is read without a word."""
    taken = []
    for at in places:
        try:
            from_json(_swapped(stored, at, {"no": ["such", {}]}))
        except InputError:
            continue
        taken.append(at)
    return [at for at in taken if at[-1] not in FREE]


STORED = json.loads(to_json(sound()))
PLACES = [at for at in _places(STORED) if not _inside(at)]


def test_each_field_of_a_stored_plan_refuses_what_is_of_another_kind() -> None:
    assert to_json(from_json(json.dumps(STORED).encode())) == to_json(sound())
    assert len(PLACES) > 200
    assert not taken_all_the_same(STORED, PLACES)


def test_a_step_with_nothing_but_a_choice_is_begun() -> None:
    pen = Pen()
    pen.write("choice", "Q", {"choice": "Q", "option": "weak"})
    steps = look(lay(PLAN, gathered(map(entry_of, pen.made)).standing))
    assert [name for name, one in steps.items() if one.begun] == ["Q"]


def test_over_all_ways_each_way_comes_before_the_step_that_one_of_them_is_enough_for() -> None:
    made = sound()
    ways = tea(step("A"), step("B1", "A"), step("C", {"any": ["B1", "B2"]}), step("B2", "A"))
    mixed = replace(made, nodes=ways.nodes, choices=())
    assert order(mixed) == ("A", "B1", "B2", "C")
    assert order(mixed, {}) == ("A", "B1", "C", "B2")


def test_a_step_that_is_never_ready_on_its_way_has_no_order_there() -> None:
    made = sound()
    bound = replace(made, nodes=(*made.nodes, step("Z", "B2")))
    assert order(bound, {"Q": "strong"})[-1] == "Z"
    with pytest.raises(ValueError, match="never met: Z"):
        order(bound, {"Q": "weak"})


@pytest.mark.parametrize(
    "text",
    ["not shut", "never shut", "nearly shut", "almost closed", "hardly shut", "34 turns from shut",
     "a hair of closed", "a turn off shut", "coming to shut", "stopped before closed", "un shut"],
)  # fmt: skip
def test_short_of_shut_is_not_shut(text: str) -> None:
    assert not stands_shut(text)
    assert stands_shut(text.split()[-1])


def _note(device: str, number: int, minute: int, text: str) -> Entry:
    time = f"2027-04-14T09:{minute:02d}:00Z"
    return Entry(f"{device}-{number}", "", "A4", device, number, "note", {"text": text}, "Tam", time)


@pytest.mark.parametrize(("first", "second"), [("tab-1", "tab-2"), ("tab-2", "tab-1")])
def test_what_another_tablet_agreed_before_a_stop_does_not_lift_it_whatever_its_numbers(
    first: str, second: str
) -> None:
    agreed = _note(first, 9, 0, "Aired. Agreed with Isla.")
    stop = _note(second, 1, 5, "Stop: gas.")
    late = _note(first, 10, 10, "Aired. Agreed with Isla.")
    assert said_stops([agreed, stop]) == (stop,)
    assert said_stops([agreed, stop, late]) == ()


def test_an_act_corrected_twice_is_told_with_the_last_reason_and_agreed_to_by_the_last() -> None:
    def mended(pen: Pen, made: dict[str, Made]) -> None:
        done = pen.do("turn", "cup.handle")
        for thing, reason in (("cup.foot", "first"), ("lid", "second")):
            told = {"reason": reason, "payload": {"thing": thing}}
            pen.write("correction", "", told, replaces=done["id"])

    told = [one for one in judged_kettle(mended, plan=minded()).told if one.code == "RUN-55"]
    assert [(one.params["reason"], one.entries[-1]) for one in told] == [("second", "d1-015")]


def test_words_are_asked_for_no_tap_and_no_gauge() -> None:
    pen = Pen()
    clean(pen)
    record = lay(PLAN, gathered(map(entry_of, pen.made)).standing)
    row = next(one for one in record.rows if one.entry.kind == "observation" and one.entry.node == "C")
    for quantity in ("yes_no", "text", "time_of_day"):
        one = Input("seen", quantity, "T", "gauge", traced=True)
        assert unfit(one, row, record, ()) == ()
    assert unfit(Input("seen", "pressure", "T", "gauge", traced=True), row, record, ())


@pytest.mark.parametrize(
    "do",
    ["open", "shut", "crack", "throttle", "isolate", "hold", "release", "lock", "unlock", "connect",
     "disconnect"],
)  # fmt: skip
def test_a_move_that_does_not_say_of_what_is_asked_for_it(do: str) -> None:
    found = judged_kettle(lambda pen, made: pen.do(do, "", "C"), plan=minded())
    assert any(one.remark.code == "RUN-51" for one in found.blocks)


def test_what_is_put_back_without_a_name_puts_back_no_item_of_the_plan() -> None:
    pen = Pen()
    for do in ("reset", "restore", "alarm live", "remove bridge", "release", "open", "tighten nut"):
        pen.do(do)
    record = lay(minded(), gathered(map(entry_of, pen.made)).standing)
    assert not {name for row in record.rows for name in restored_by(record, row)} & {"lid", "safe.seal"}


def _yearly(*again: str, instead: bool = True) -> set[tuple[str, str]]:
    """Return what stands against a yearly proof whose first run was made with the consumers connected."""
    procedure: Procedure = plan("yearly", ROW)
    (other,) = [one for one in procedure.minding.instead if one.step == "Y4.SO"]
    ways = clean_ways(procedure)
    way = next(one for one in ways if (one[other.choice] == other.option) is instead)
    entries = visit("yearly", way, ROW)
    moved = _near(entries, "Y4.SO", "act", -0.5, act("open", "IV2"), act("shut", "IV2"))
    return against(judged("yearly", _after(moved, again) if again else moved, ROW))


def test_a_first_run_with_the_consumers_connected_is_made_good_only_by_a_valve_proved_after_it() -> None:
    assert ("RUN-48", "Y4.SO") in _yearly()
    assert ("RUN-48", "Y4.SO") in _yearly("Y6T.SO")
    assert ("RUN-48", "Y4.SO") not in _yearly("Y2", "Y6T.SO")
    assert ("RUN-48", "Y4.SO") in _yearly("Y2", "Y6.SO", instead=False)


def test_what_was_proved_before_a_run_with_the_consumers_connected_does_not_make_it_good() -> None:
    way = next(one for one in clean_ways(plan("yearly", ROW)) if one["Y5.SO"] == "opened")
    entries = _after(visit("yearly", way, ROW), ("Y4.SO", "Y2"))
    latest = _near(entries[::-1], "Y4.SO", "act", -0.5, act("open", "IV2"), act("shut", "IV2"))
    assert ("RUN-48", "Y4.SO") in against(judged("yearly", latest, ROW))


def test_of_two_openings_the_one_that_was_not_put_back_in_time_is_named() -> None:
    gate = "fenwarren-gate"
    entries = visit("first", None, gate)
    begin = next(one for one in entries if one.node == "MN1.MON")
    wide = [act("open", "IV1", "H4", amount=34.0, unit="turns") for _ in range(2)]
    opened = before(entries, "MN1.MON", wide[0], stands("IV1", "at V2"), wide[1])
    back = replace(
        stands("IV1", "at V2"),
        id="back", run=begin.run, device="tab-9", device_seq=1, t_device=begin.t_device, t_mono=0.0,
        clock_offset=-1.0, clock_within=600.0,
    )  # fmt: skip
    found = judged("first", [*opened, back], gate)
    named = [one.remark.entries for one in found.blocks if one.remark.code == "RUN-48"]
    ids = [one.id for one in opened if one.payload.get("amount") == 34.0]
    assert named, against(found)
    assert ids[1] in named[0]
    assert ids[0] not in named[0]
