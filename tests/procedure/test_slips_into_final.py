"""What slipped into a final run by its wording: a position, an act that names nothing, a whole valve."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import pytest

from steadyhead.procedure.judging import judge
from steadyhead.procedure.ledger import dump, read
from steadyhead.records.entry import Entry
from steadyhead.records.procedure import Procedure
from steadyhead.services.planning import make_plan
from steadyhead.station import examples
from tests.procedure.lane import act, against, before, judged, stands, visit
from tests.procedure.walking import walk

pytestmark = pytest.mark.by_turns(2)

LANE, MILL, FLAT = "quernhollow-lane", "orrowby-mill", "mesquill-flat"
SET = {"E0.SO": "set", "E0.RV": "set", "E0.LB": "set"}


def _codes(kind: str, entries: Sequence[Entry], station: str = LANE) -> set[str]:
    return {code for code, _ in against(judged(kind, entries, station))}


def _again(entries: Sequence[Entry], *steps: str) -> list[Entry]:
    """Return what was entered at some steps, to be entered once more."""
    return [one for one in entries if one.node in steps]


def _by_another(entries: Sequence[Entry], *steps: str) -> list[Entry]:
    """Return the same, entered on another device: the numbers of one tell its order, not its clock alone."""
    return [replace(one, device="tab-8") for one in _again(entries, *steps)]


@pytest.mark.parametrize("how", ["gagged", "Capped", "isolated", "held shut", "gagd", "screwed down"])
@pytest.mark.parametrize(("kind", "step"), [("yearly", "Y8"), ("return-to-service", "J2")])
def test_a_relief_valve_said_to_be_kept_from_lifting_is_to_be_proved(how: str, kind: str, step: str):
    codes = _codes(kind, before(visit(kind, None, MILL), step, stands("RL", how)), MILL)
    assert codes & {"RUN-12", "RUN-50"}


@pytest.mark.parametrize("how", ["wedged open", "defeated", "locked open", "out of service", "pinned"])
@pytest.mark.parametrize(("kind", "step"), [("yearly", "Y8"), ("first", "J2")])
def test_a_shut_off_said_to_be_kept_from_closing_is_to_be_proved(how: str, kind: str, step: str):
    assert "RUN-12" in _codes(kind, before(visit(kind), step, stands("SO", how)))


@pytest.mark.parametrize(
    "how",
    ["bolted open", "open, strap on lever", "open on override", "open, will not close", "not in service"],
)
def test_a_shut_off_said_to_stand_with_a_word_that_nobody_knows_is_to_be_proved(how: str):
    said = (stands("SO", how), stands("SO", "open"))
    assert "RUN-12" in _codes("yearly", before(visit("yearly"), "Y8", *said))


@pytest.mark.parametrize("how", ["wired shut", "shut, plugged and dry", "seated, not in service"])
def test_a_relief_valve_said_to_be_seated_with_a_word_that_nobody_knows_is_to_be_proved(how: str):
    said = (stands("RL", how), stands("RL", "seated"))
    assert _codes("yearly", before(visit("yearly", None, MILL), "Y8", *said), MILL) & {"RUN-12", "RUN-50"}


@pytest.mark.parametrize(
    "how", ["open, stem up, 34 mm", "open again, not tripped", "reset by hand, fully open"]
)
def test_a_shut_off_said_to_be_open_in_more_words_loses_no_proof(how: str):
    assert _codes("yearly", before(visit("yearly"), "Y8", stands("SO", how))) == set()


@pytest.mark.parametrize("how", ["tripped, latched", "fully closed", "shut", "opening", "half open"])
def test_a_shut_off_said_to_move_as_it_should_loses_no_proof(how: str):
    assert _codes("first", before(visit("first"), "F2.SO", stands("SO", how, "F1.SO"))) == set()


def test_an_alarm_said_to_be_on_test_loses_no_proof():
    assert _codes("first", before(visit("first"), "B1", stands("alarm", "on test", "A8"))) == set()


@pytest.mark.parametrize("how", ["dry", "in service", "seated", "cock open", "open"])
def test_a_relief_valve_that_has_a_cock_is_left_dry_too(how: str):
    assert _codes("yearly", before(visit("yearly", None, MILL), "", stands("RL", how)), MILL) == set()


def test_a_shut_off_defeated_late_by_an_act_that_names_nothing_is_to_be_proved_again():
    entries = visit("first", SET)
    late = [act("defeat", "", "C1S.SO"), *_again(entries, "F5.SO")]
    assert {("RUN-12", "SO.acts"), ("RUN-12", "SO.trip")} <= against(
        judged("first", before(entries, "", *late))
    )


@pytest.mark.parametrize(("out", "back"), [("break wire", "join wire"), ("bridge contacts", "remove bridge")])
def test_a_wire_put_out_and_back_late_by_acts_that_name_nothing_is_to_be_proved_again(out: str, back: str):
    late = (act(out, "", "G3.SO"), act(back, "", "G3.SO"))
    assert ("RUN-12", "SO.told") in against(judged("first", before(visit("first"), "", *late)))


def test_a_shut_off_defeated_at_its_step_by_an_act_that_names_nothing_is_as_planned():
    assert _codes("first", before(visit("first", SET), "C2.main", act("defeat", "", "C1S.SO"))) == set()


@pytest.mark.parametrize("do", ["shut", "lock", "hold", "isolate", "vent"])
def test_an_act_that_names_nothing_at_no_step_is_one_nobody_can_place(do: str):
    assert ("RUN-51", do) in against(judged("yearly", before(visit("yearly"), "", act(do))))


@pytest.mark.parametrize(
    ("step", "do"),
    [("Y7.RV", "lock"), ("Y7.RV", "hold"), ("Y4.SO", "open"), ("Y8", "shut"), ("Y6.SO", "disconnect")],
)
def test_a_move_that_names_nothing_at_a_step_is_one_nobody_can_place(step: str, do: str):
    assert ("RUN-51", do) in against(judged("yearly", before(visit("yearly"), "", act(do, "", step))))


@pytest.mark.parametrize(("step", "do"), [("Y7.RV", "draw water"), ("Y5.main", "reset"), ("Y8", "vent")])
def test_water_moved_and_a_stroke_name_nothing_at_their_step(step: str, do: str):
    assert _codes("yearly", before(visit("yearly"), "Y8", act(do, "", step))) == set()


@pytest.mark.parametrize(
    ("step", "do"),
    [("F1.SO", "turn"), ("H1.RV", "turn"), ("ES2.RV", "turn"), ("F1.SO", "tighten nut"), ("F3.SO", "adjust"),
     ("H1.RV", "replace"), ("ES4.SO", "knock")],
)  # fmt: skip
def test_a_touch_that_names_nothing_at_a_step_is_asked_for(step: str, do: str):
    assert ("RUN-51", do) in against(judged("first", before(visit("first", SET), step, act(do, "", step))))


@pytest.mark.parametrize(
    ("step", "do"),
    [("F1.SO", "raise"), ("H1.RV", "lower"), ("H1.RV", "tighten nut"), ("ES6.SO", "tighten nut"),
     ("ES2.RV", "adjust"), ("B4", "clean")],
)  # fmt: skip
def test_a_touch_that_a_step_orders_names_nothing_there(step: str, do: str):
    assert _codes("first", before(visit("first", SET), step, act(do, "", step))) == set()


@pytest.mark.parametrize("how", ["shut", "Closed", "fully shut", "shut tight"])
@pytest.mark.parametrize(
    ("kind", "step"), [("yearly", "Y8"), ("return-to-service", "J4"), ("yearly", ""), ("first", "K1")]
)
def test_a_relief_valve_said_to_be_shut_asks_whether_it_is_seated_or_its_cock_shut(
    how: str, kind: str, step: str
):
    shut = stands("RL", how)
    assert _codes(kind, before(visit(kind, None, MILL), step, shut), MILL) == {"RUN-57"}


@pytest.mark.parametrize(("thing", "how"), [("RL", "seated"), ("RL", "cock open"), ("RL.cock", "open")])
def test_a_relief_valve_said_to_be_shut_is_answered_by_which_it_is(thing: str, how: str):
    said = (stands("RL", "shut"), stands(thing, how))
    assert (
        _codes("return-to-service", before(visit("return-to-service", None, MILL), "J4", *said), MILL)
        == set()
    )


def test_a_relief_valve_said_to_be_shut_before_it_was_seen_to_lift_stood_seated():
    assert _codes("yearly", before(visit("yearly", None, MILL), "Y2", stands("RL", "shut")), MILL) == set()


@pytest.mark.parametrize("how", ["shut and dry", "seated, shut", "cock open and sealed"])
def test_a_relief_valve_said_to_be_shut_and_which_asks_nothing(how: str):
    assert _codes("yearly", before(visit("yearly", None, MILL), "", stands("RL", how)), MILL) == set()


def test_a_relief_valve_whose_cock_is_said_to_be_shut_is_to_be_proved_again():
    shut = (stands("RL", "cock shut"), stands("RL", "cock open"))
    assert "RUN-50" in _codes(
        "return-to-service", before(visit("return-to-service", None, MILL), "J2", *shut), MILL
    )
    at_its_step = stands("RL", "cock shut", "Y3I.RL")
    assert _codes("yearly", before(visit("yearly", None, FLAT), "Y4.SO", at_its_step), FLAT) == set()


@cache
def _of_cock(cock: str) -> Procedure:
    """Return the plan of a return to service whose relief valve has no cock, or may have one."""
    text = examples.read(MILL).replace(b"cock: yes", f"cock: {cock}".encode())
    made = make_plan(text, "return-to-service")
    assert made.procedure is not None
    return made.procedure


@pytest.mark.parametrize(
    ("cock", "thing", "how", "codes"),
    [
        ("not known", "RL", "shut", {"RUN-57"}),
        ("no", "RL", "shut", set()),
        ("no", "RL", "seated", set()),
        ("not known", "RL.cock", "open", set()),
    ],
)
def test_a_relief_valve_that_has_no_cock_stands_shut_as_it_should(
    cock: str, thing: str, how: str, codes: set[str]
):
    said = before(walk(_of_cock(cock), {}), "J4", stands(thing, how))
    assert {block.remark.code for block in judge(_of_cock(cock), read(dump(said))).blocks} == codes


@pytest.mark.parametrize("cock", ["no", "not known", "yes"])
def test_a_cock_said_to_be_shut_is_a_touch_whatever_the_file_says_of_it(cock: str):
    said = before(walk(_of_cock(cock), {}), "J4", stands("RL.cock", "shut"), stands("RL.cock", "open"))
    assert "RUN-50" in {block.remark.code for block in judge(_of_cock(cock), read(dump(said))).blocks}


def test_a_relief_valve_shut_at_the_step_that_shuts_its_cock_is_as_planned():
    shut = stands("RL", "shut", "Y3I.RL")
    assert _codes("yearly", before(visit("yearly", None, FLAT), "Y4.SO", shut), FLAT) == set()


def _in_first_run(do: str, thing: str) -> set[str]:
    """Return what stands against a yearly visit with an act between the last hold and the action."""
    entries = visit("yearly")
    hold = next(one for one in entries if one.node == "Y4.SO" and one.payload.get("input") == "hold")
    row = replace(act(do, thing, "Y4.SO"), run=hold.run, t_device=hold.t_device, clock_offset=30.0)
    return _codes("yearly", [*entries, row])


@pytest.mark.parametrize("do", ["lower", "raise", "turn", "tighten nut", "knock", "stroke by hand", "defeat"])
def test_a_shut_off_named_whole_and_worked_in_its_first_run_has_no_value_as_found(do: str):
    assert "RUN-09" in _in_first_run(do, "SO")


@pytest.mark.parametrize("do", ["reset", "hold", "vent", "isolate"])
def test_a_shut_off_named_whole_and_moved_in_its_first_run_has_no_value_as_found(do: str):
    assert "RUN-09" in _in_first_run(do, "SO")


@pytest.mark.parametrize("do", ["stroke by hand", "reset", "shut", "hold", "vent", "unlock", "defeat"])
def test_a_move_that_names_nothing_in_the_first_run_is_one_of_the_shut_off(do: str):
    assert "RUN-09" in _in_first_run(do, "")


def test_a_reset_that_names_nothing_before_the_first_run_is_one_of_the_shut_off():
    assert "RUN-09" in _codes("yearly", before(visit("yearly"), "Y4.SO", act("reset", "", "Y2")))


def test_a_stroke_of_another_thing_in_the_first_run_touches_nothing():
    assert _in_first_run("stroke by hand", "outside.pump") == set()


@pytest.mark.parametrize("thing", ["SO", ""])
def test_a_shut_off_that_trips_in_its_first_run_has_one(thing: str):
    assert _in_first_run("trip", thing) == set()


@pytest.mark.parametrize("do", ["draw water", "raise", "drain"])
def test_the_raise_and_water_drawn_in_the_first_run_name_nothing(do: str):
    assert _in_first_run(do, "") == set()


@pytest.mark.parametrize("do", ["raise", "adjust", "replace"])
def test_a_relief_valve_worked_between_lift_and_reseat_has_neither(do: str):
    entries = visit("yearly", None, MILL)
    touched = replace(act(do, "RL.setting"), device="tab-9")
    assert ("RUN-09", "Y3S.RL") in against(judged("yearly", before(entries, "Y3S.RL", touched), MILL))
    after = before(entries, "Y4", touched, *_by_another(entries, "Y3S.RL"))
    assert ("RUN-09", "Y3S.RL") in against(judged("yearly", after, MILL))
    whole = before(entries, "Y4", touched, *_by_another(entries, "Y3R.RL", "Y3S.RL"))
    assert _codes("yearly", whole, MILL) == set()


def test_a_relief_valve_defeated_at_the_step_that_cuts_it_off_loses_nothing_and_late_all():
    entries = visit("first", None, FLAT)
    out, back = act("defeat", "RL", "R3.RL"), act("restore", "RL", "R4.RL")
    planned = before(before(entries, "R3.RL", out), "R4.RL", replace(back, device="tab-3"))
    assert _codes("first", planned, FLAT) == set()
    late = before(entries, "J2", out, *_again(entries, "R4.RL"))
    assert ("RUN-12", "RL.crack") in against(judged("first", late, FLAT))


@cache
def _by_quarter(stated: str) -> Procedure:
    """Return the plan of a return to service at a station whose isolating valves open by a quarter turn."""
    text = examples.read(MILL).replace(b"turns: 14 turns, ", stated.encode())
    made = make_plan(text, "return-to-service")
    assert made.procedure is not None
    return made.procedure


@pytest.mark.source(kind="own estimate", ref="a valve of a quarter turn is open by one")
@pytest.mark.parametrize("stated", ["turns: 0.25 turn, ", ""], ids=["stated", "not stated"])
@pytest.mark.parametrize(("turns", "open_"), [(0.25, True), (0.1, False), (0.0, False)])
def test_a_valve_of_a_quarter_turn_is_open_by_one(stated: str, turns: float, open_: bool):
    made = [
        replace(one, payload={**one.payload, "value": turns})
        if one.node == "J2" and str(one.payload.get("input")).startswith("turns")
        else one
        for one in walk(_by_quarter(stated), {})
    ]
    codes = {block.remark.code for block in judge(_by_quarter(stated), read(dump(made))).blocks}
    assert ("RUN-09" not in codes) is open_


def _answers(entries: Sequence[Entry], step: str, name: str, value: bool) -> list[Entry]:
    """Return the entries with one question answered so."""
    return [
        replace(one, payload={**one.payload, "value": value})
        if one.node == step and one.payload.get("input") == name
        else one
        for one in entries
    ]


@pytest.mark.parametrize(("kind", "step"), [("return-to-service", "C1F.SO"), ("first", "C1F.RV")])
def test_a_pilot_said_not_to_be_left_untouched_stands_against_final_and_nobody_accepts_it(
    kind: str, step: str
):
    found = judged(kind, _answers(visit(kind), step, "untouched", value=False))
    assert [(one.remark.code, one.remark.about, one.may_accept) for one in found.blocks] == [
        ("RUN-08", step, False)
    ]


@pytest.mark.parametrize(
    ("said", "codes"),
    [
        ((act("open", "IV2"),), {"RUN-09", "RUN-48"}),
        ((stands("IV2", "open"),), {"RUN-09", "RUN-48"}),
        ((act("crack", "IV2"), act("shut", "IV2")), set()),
        ((stands("IV2", "shut"),), set()),
    ],
)
def test_a_shut_off_is_reset_after_a_trip_with_the_outlet_valve_shut_only(
    said: tuple[Entry, ...], codes: set[str]
):
    assert _codes("restart", before(visit("restart"), "R7R", *said)) == codes


@pytest.mark.parametrize(("class_", "codes"), [(0.005, set()), (0.025, {"RUN-06"})])
@pytest.mark.source(kind="own estimate", ref="a gauge errs no more than the relief valve it proves")
def test_a_relief_valve_in_place_of_a_shut_off_is_proved_with_a_gauge_that_is_true_enough(
    class_: float, codes: set[str]
):
    made = [
        replace(one, payload={**one.payload, "class": class_}) if one.kind == "instrument" else one
        for one in visit("first", None, MILL)
    ]
    assert codes <= _codes("first", made, MILL)
    assert codes or not _codes("first", made, MILL)


@pytest.mark.parametrize(
    ("kind", "station", "step"),
    [("first", MILL, "R2.RL"), ("yearly", MILL, "Y3S.RL"), ("restart", "dunmarrow-bottom", "R7T")],
)
def test_what_follows_a_lift_or_a_reset_is_not_read_before_it(kind: str, station: str, step: str):
    entries = visit(kind, None, station)
    first = [
        replace(one, t_device=entries[1].t_device, clock_offset=1.0 + at / 100.0) if one.node == step else one
        for at, one in enumerate(entries)
    ]
    assert against(judged(kind, first, station)) == {("RUN-09", step)}


@pytest.mark.parametrize(
    ("station", "kind", "step", "name"),
    [
        (LANE, "return-to-service", "C1.main", "ticked"),
        (MILL, "first", "E0.RV", "fits"),
        (FLAT, "first", "R3.RL", "tagged"),
    ],
)
def test_an_answer_that_the_step_was_not_done_as_written_stands_against_final(
    station: str, kind: str, step: str, name: str
):
    said = _answers(visit(kind, None, station), step, name, value=False)
    assert ("RUN-08", step) in against(judged(kind, said, station))
