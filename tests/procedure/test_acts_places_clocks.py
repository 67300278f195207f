"""Acts, positions and clocks beside the plan: what is bridged, taken back, hidden, moved or told late."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from datetime import datetime
from functools import cache
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import pytest

from steadyhead.procedure.clocks import doubts
from steadyhead.procedure.judged import plain_judgement
from steadyhead.procedure.judging import judge
from steadyhead.procedure.ledger import gathered
from steadyhead.procedure.plain import plain
from steadyhead.procedure.record import lay
from steadyhead.procedure.shielding import missing_now
from steadyhead.procedure.steps import look
from steadyhead.procedure.touching import touches
from steadyhead.records.entry import Entry, plain_entry
from steadyhead.records.run import Judgement
from steadyhead.services.entering.book import Book
from steadyhead.services.entering.making import moment
from tests.procedure.in_js import in_node
from tests.procedure.lane import act, against, before, judged, plan, stands, visit
from tests.procedure.test_in_js import close
from tests.procedure.walking import Device

PLACES = (
    ("RV", "shut", "in service"),
    ("RV.filter", "shut", "open"),
    ("RV.pilot", "shut", "in service"),
    ("T3.cock", "shut", "shut and plugged"),
    ("ST.drain", "open", "shut"),
    ("alarm", "test", "live"),
    ("SO.out_of_way", "yes", "restored"),
    ("PG", "removed", "in place"),
    ("IV1", "", "open"),
)
"""Things, how they are said to stand, and how they are to be left."""


@cache
def _visit() -> tuple[Entry, ...]:
    return tuple(visit("first"))


def _judged(entries: list[Entry]) -> Judgement:
    return judge(plan("first"), gathered(entries))


def _with(*new: Entry, step: str = "") -> set[tuple[str, str]]:
    return against(_judged(before(list(_visit()), step, *new)))


def _placed(*new: Entry) -> list[Entry]:
    """Return entries at the end of the visit, with ids and times of their own."""
    return before(list(_visit()), "", *new)[len(_visit()) :]


def _amended(old: Entry, kind: str, who: str = "Ilse Marrow", **payload: Any) -> Entry:
    """Return what takes an entry back, ten seconds after it."""
    made = Device("tab-2").make(kind, payload, replaces=old.id, who=who)
    place: dict[str, Any] = {
        "run": old.run,
        "t_device": old.t_device,
        "clock_offset": old.clock_offset + 10.0,
    }
    return replace(
        made, id=f"0190aaaa-0000-7000-8000-9{kind:0>11.11}".replace(" ", "0"), device_seq=7, **place
    )


def _looked(back: Entry, who: str, **more: str) -> Entry:
    return _later(back, "action", {"do": "second look", "to": back.id, **more}, who)


def _later(old: Entry, kind: str, payload: dict[str, Any], who: str = "Ilse Marrow") -> Entry:
    """Return an entry a minute after another, with an id of its own."""
    device = Device("tab-3")
    made = device.make(kind, payload, who=who)
    place: dict[str, Any] = {
        "run": old.run,
        "t_device": old.t_device,
        "clock_offset": old.clock_offset + 60.0,
    }
    number = sum(map(ord, kind))
    return replace(made, id=f"0190aaaa-0000-7000-8000-97777777{number:04d}", device_seq=number, **place)


def test_a_bridged_contact_stands_open_until_the_bridge_is_removed():
    things = ("SO.switch", "so.cable", "SO", "alarm")
    bridged = [act("bridge contacts", thing, "J4") for thing in things]
    names = {"SO.switch bridged", "SO.cable bridged", "SO bridged", "alarm bridged"}
    assert {one for one in _with(*bridged) if one[0] == "RUN-13"} == {("RUN-13", name) for name in names}
    assert not {code for code, _ in _with(*bridged, *(act("remove bridge", thing) for thing in things))} & {
        "RUN-13", "RUN-50", "RUN-51",
    }  # fmt: skip


def test_a_contact_bridged_at_a_step_that_opens_something_else_stands_open_too():
    assert ("RUN-13", "SO.switch bridged") in _with(act("bridge contacts", "SO.switch", "B1"), step="B1")


@pytest.mark.parametrize(
    ("kind", "payload"),
    [
        ("correction", {"reason": "slip", "payload": {"do": "look"}}),
        ("correction", {"reason": "slip", "payload": {"thing": "outside.ladder"}}),
        ("correction", {"reason": "slip", "payload": {"thing": "RV.setting"}}),
        ("void", {"reason": "not done"}),
    ],
)
def test_a_touch_of_what_protects_is_taken_back_by_two_people_only(kind: str, payload: dict[str, Any]):
    touch = _placed(act("lower", "SO.setting"))[0]
    back = _amended(touch, kind, **payload)
    entries = [*_visit(), touch, back]
    found = _judged(entries)
    assert ("RUN-56", "run") in against(found)
    assert [remark.params["what"] for remark in found.told if remark.code == "RUN-55"] == ["lower SO.setting"]
    assert ("RUN-56", "run") in against(_judged([*entries, _looked(back, "ilse marrow")]))
    entries.append(_later(back, "person", {"name": "Tam Oduya"}))
    assert ("RUN-56", "run") not in against(_judged([*entries, _looked(back, "Tam Oduya")]))
    assert ("RUN-56", "run") in against(_judged([*entries, _looked(back, "Nobody Known")]))
    assert ("RUN-56", "run") in against(_judged([*entries, _looked(back, "Tam Oduya", thing="outside.x")]))


def test_an_act_corrected_to_say_nothing_of_what_was_done_touches_all_the_same():
    touch = _placed(act("lower", "SO.setting"))[0]
    found = _judged([*_visit(), touch, _amended(touch, "correction", reason="x", payload={"do": None})])
    assert ("RUN-51", "SO.setting") in against(found)
    assert found.proof("SO.trip").state == "stale"


@pytest.mark.parametrize(("text", "codes"), [("nut of SO given a nip", {("RUN-56", "run")}), ("rain", set())])
def test_a_note_taken_back_is_told_and_stands_against_final_where_it_names_what_protects(
    text: str, codes: set[tuple[str, str]]
):
    note = _placed(Device("tab-2").make("note", {"text": text}))[0]
    found = _judged([*_visit(), note, _amended(note, "void", reason="slip")])
    assert against(found) == codes
    assert [remark.params["what"] for remark in found.told if remark.code == "RUN-55"] == [f"note: {text}"]


def test_nothing_of_the_station_lies_outside_and_nothing_outside_forbids_anything():
    inside = (
        *("outside.SO.setting", "outside.SO", "Outside so", "outside.spring of SO", "outside.IV1"),
        *("outside.shut-off", "outside.pilot screw", "outside.bypass", "outside.by-pass valve"),
    )
    beyond = ("outside.ladder", "outside.pump", "outside.hatch")
    acts = [act("replace", thing) for thing in (*inside, *beyond)]
    assert _with(*acts, act("bridge contacts", "outside.SO.cable"), stands("outside.TD", "open")) == {
        *(("RUN-51", thing) for thing in (*inside, "outside.SO.cable", "outside.TD")),
        ("RUN-13", "outside.SO.cable bridged"),
    }


def test_an_act_a_thing_or_a_place_the_plan_does_not_know_stands_against_final():
    told = (
        act("jumper", "SO.switch"),
        act("pull fuse", "alarm"),
        act("vent", "hydrant"),
        stands("BY", "open"),
    )
    wanted = {("RUN-51", thing) for thing in ("SO.switch", "alarm", "hydrant", "BY")}
    assert wanted <= _with(*told, stands("BY", "open"))


def test_a_valve_moved_nobody_says_how_far_stands_against_final_until_it_is_said():
    moved = [act("turn", "IV1", "", amount=30.0), act("turn", "IV2"), act("vent", "TD"), act("stop", "SO")]
    assert _with(*moved) == {("RUN-52", thing) for thing in ("IV1", "IV2", "TD", "SO")}
    said = (stands("IV1", "open"), stands("IV2", "34 turns"), stands("TD", "shut"), stands("SO", "open"))
    assert _with(*moved, *said) == set()


def test_a_valve_turned_before_the_step_that_opens_it_asks_nothing():
    assert _with(act("turn", "IV1"), act("turn", "IV2"), act("vent", "TD"), step="J2") == set()


def test_whatever_is_said_to_stand_otherwise_than_it_works_stands_against_final():
    told = [stands(thing, how) for thing, how, _ in PLACES]
    wanted = {("RUN-52", thing.removesuffix(".cock")) for thing, _, _ in PLACES}
    assert {one for one in _with(*told) if one[0] == "RUN-52"} == wanted
    assert "RUN-52" not in {code for code, _ in _with(*told, *(stands(one, good) for one, _, good in PLACES))}


def test_a_shut_off_tripped_at_the_last_step_is_said_to_be_open_again_before_final():
    entries = visit("yearly")
    trip, reset = act("trip", "SO", "Y8"), act("reset", "SO", "Y8")
    assert ("RUN-52", "SO") in against(judged("yearly", before(entries, "Y8", trip)))
    assert ("RUN-52", "SO") in against(judged("yearly", before(entries, "Y8", trip, reset)))
    said = before(entries, "Y8", trip, reset, stands("SO", "open", "Y8"))
    assert against(judged("yearly", said)) == set()


@pytest.mark.parametrize(("how", "refused"), [("cracked", True), ("open", True), ("shut", False)])
def test_a_position_moves_the_outlet_valve_as_an_act_does(how: str, *, refused: bool):
    entries = before(list(_visit()), "F1.SO", stands("IV2", how))
    assert (("RUN-53", "F1.SO") in against(_judged(entries))) is refused


@pytest.mark.parametrize(("how", "lost"), [("cracked", ("IV2.tight",)), ("shut", ())])
def test_what_a_raise_would_be_begun_without_is_known_before_it_is_begun(how: str, lost: tuple[str, ...]):
    first = next(at for at, entry in enumerate(_visit()) if entry.node == "ES1.RV" or entry.node == "F1.SO")
    so_far = list(_visit()[:first])
    record = lay(plan("first"), before(so_far, "", stands("IV2", how)))
    assert missing_now(record, look(record), "F1.SO") == lost


@pytest.mark.parametrize("do", ["inject", "connect"])
def test_water_moved_through_a_shut_off_after_its_proofs_makes_them_stale(do: str):
    assert ("RUN-12", "SO.trip") in _with(act(do, "SO"))


def test_water_moved_through_a_shut_off_by_the_step_that_proves_it_takes_nothing():
    assert _with(act("vent", "SO", "F3.SO"), step="F5.SO") == set()


def test_a_test_gauge_taken_off_is_no_touch():
    assert _with(act("remove", "TG-07"), act("disconnect", "TG-11")) == set()


def _unsure(touch: Entry, *others: Entry) -> bool:
    """Return whether it is not known that a touch came before the proofs of the shut-off."""
    return any(code == "RUN-15" for code, _ in against(_judged([*_visit(), touch, *others])))


def _reading() -> Entry:
    return next(entry for entry in _visit() if entry.node == "F1.SO" and entry.kind == "reading")


def _turned(back: float, device: str, **more: Any) -> Entry:
    """Return a turn of the trip screw some time before the first reading of its proof."""
    one = _reading()
    made = Device(device).make("action", {"do": "lower", "thing": "SO.setting"}, "ES4.SO", t_mono=100.0)
    offset = one.clock_offset - back
    return replace(made, id="turned", run=one.run, t_device=one.t_device, clock_offset=offset, **more)


@pytest.mark.parametrize(("back", "unsure"), [(600.0, False), (30.0, True)])
def test_an_act_entered_late_is_judged_by_its_hour_within_its_minute(back: float, *, unsure: bool):
    typed: dict[str, Any] = {"typed_at": "2027-04-14T20:00:00+01:00"}
    late = _turned(back, "tab-1", device_seq=9000, clock_within=60.0, more=typed, t_mono=0.0)
    assert _unsure(late) is unsure


@pytest.mark.parametrize(("ran", "unsure"), [(3600.0, True), (3.0 * 3600.0, False)])
def test_an_act_on_a_clock_set_forward_since_may_have_come_after_the_reading(ran: float, *, unsure: bool):
    touch = _turned(7200.0, "tab-2")
    note = Device("tab-2").make("note", {"text": "here"}, t_mono=100.0 + ran)
    later: dict[str, Any] = {
        "run": touch.run,
        "t_device": touch.t_device,
        "clock_offset": touch.clock_offset + 3.0 * 3600.0,
    }
    assert _unsure(touch, replace(note, id="noted", device_seq=2, **later)) is unsure


def test_a_clock_set_forward_says_later_than_it_was_and_before_that_earlier():
    made = [Device("tab-2").make("note", {"text": "x"}) for _ in range(2)]
    old = replace(made[0], device_seq=1, t_mono=10.0)
    new = replace(made[1], device_seq=2, t_mono=20.0, clock_offset=3600.0)
    doubt = doubts([old, new])
    assert (doubt.late(old), doubt.early(old)) == (3590.0, 0.0)
    assert (doubt.late(new), doubt.early(new)) == (0.0, 3590.0)


@pytest.mark.parametrize(
    ("now", "typed", "wanted"),
    [
        ("2027-04-15T00:12", "00:10", "2027-04-15T00:10"),
        ("2027-04-15T00:30", "23:40", "2027-04-14T23:40"),
        ("2027-04-14T23:58", "08:05", "2027-04-14T08:05"),
        ("2027-04-14T23:58", "23:59", "2027-04-14T23:59"),
        ("2027-04-20T12:00", "08:05", "2027-04-14T08:05"),
        ("2026-11-26T12:00", "00:10", "2027-04-14T00:10"),
    ],
)
def test_a_time_of_day_means_the_nearest_past_one(now: str, typed: str, wanted: str):
    last = replace(_reading(), t_device="2027-04-14T23:50:00+01:00", clock_offset=0.0)
    book = cast(Book, SimpleNamespace(entries=(last,)))
    found = moment(book, typed, datetime.fromisoformat(f"{now}:00+01:00"))
    assert found == datetime.fromisoformat(f"{wanted}:00+01:00")


def test_an_act_touches_by_itself_what_it_names():
    record = lay(plan("first"), _placed(act("lower", "SO.setting")))
    assert [set(one.things) for one in touches(record)] == [{"SO.setting"}]


def _told_both_ways() -> list[list[Entry]]:
    """Return records of which each holds several of the cases above."""
    touch, note = _placed(act("lower", "SO.setting"), Device("tab-2").make("note", {"text": "SO nut"}))
    back = _amended(touch, "correction", reason="slip", payload={"thing": "outside.ladder"})
    gone = _amended(note, "void", reason="slip")
    bridged = [act("bridge contacts", "so.switch", "B1"), act("remove", "TG-07"), act("inject", "SO")]
    late = _turned(600.0, "tab-1", device_seq=9000, clock_within=60.0, more={"typed_at": "2027-04-14T20:00Z"})
    later: dict[str, Any] = {
        "run": late.run,
        "t_device": late.t_device,
        "clock_offset": late.clock_offset + 3.0 * 3600.0,
    }
    set_ = replace(Device("tab-2").make("note", {"text": "x"}, t_mono=200.0), id="set", device_seq=2, **later)
    whole = list(_visit())
    return [
        [*whole, touch, note, back, gone],
        [*whole, touch, note, back, _looked(back, "Tam Oduya"), gone],
        before(whole, "", *(stands(thing, how) for thing, how, _ in PLACES), *bridged, act("", "SO")),
        before(
            whole, "J2", act("turn", "IV2"), act("trip", "SO"), act("lock", "SO"), stands("outside.SO", "x")
        ),
        [*before(whole, "F1.SO", stands("IV2", "cracked")), replace(late, id="late")],
        [*whole, _turned(7200.0, "tab-2"), set_],
    ]


@pytest.mark.skipif(not shutil.which("node"), reason="no Node")
def test_acts_places_and_clocks_are_judged_alike_in_javascript(tmp_path: Path):
    cases = _told_both_ways()
    data = {"plan": plain(plan("first")), "cases": [[plain_entry(one) for one in case] for case in cases]}
    body = "result = data.cases.map((one) => judge(data.plan, one))"
    for found, case in zip(in_node(tmp_path, body, data), cases, strict=True):
        close(found, json.loads(json.dumps(plain_judgement(_judged(case)))))
