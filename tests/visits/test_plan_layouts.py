"""Plans of the four layouts: what comes before what, on every way."""

from __future__ import annotations

import pytest

from steadyhead.procedure.flaws import validate
from steadyhead.procedure.graph import ancestors, before_each, on_way, order, ways
from steadyhead.procedure.plain import from_json, to_json
from steadyhead.records.procedure import Procedure
from steadyhead.visits.plan import KINDS
from steadyhead.visits.text import render, render_step
from tests.visits.plan_stations import (
    ALONE,
    DOWN,
    LAYOUTS,
    PAIR,
    UP,
    block,
    made,
    part,
    setting,
    station,
    top,
)

CHANGES = {
    "as it is": (),
    "by injection": (block("supply", min="1 bar"),),
    "no pump": (top(equipment={"hand_pump": "no"}),),
    "outlet passes": (setting("IV2", tight="no"),),
    "no alarm": (top(alarm=None),),
    "fire": (block("station", fire_water="yes", hazards=["traffic", "electric"]),),
}


def item_for(kind: str) -> str:
    return "strainer" if kind == "after_repair" else ""


def plans() -> list[object]:
    return [
        pytest.param(name, kind, changes, id=f"{name}-{kind}-{told}")
        for name in LAYOUTS
        for kind in KINDS
        for told, changes in CHANGES.items()
        if kind != "restart" or name in (UP, DOWN)
    ]


@pytest.mark.share(3)
@pytest.mark.parametrize(("name", "kind", "changes"), plans())
def test_every_plan_is_sound_survives_storing_and_raises_nothing_before_its_time(name, kind, changes):
    """V1, V2: a raise comes after the V2 opening, above duty after the tight outlet valve."""
    plan = made(name, *changes, kind=kind, item=item_for(kind))
    assert validate(plan) == ()
    assert to_json(from_json(to_json(plan))) == to_json(plan)
    ready, proved = ("Y2", "Y2") if kind == "yearly" else ("C5", "D2")
    if kind == "restart":
        ready, proved = "R8C", "D2"
    passes = changes == CHANGES["outlet passes"]
    for way in ways(plan):
        before = before_each(on_way(plan, way))
        for node in on_way(plan, way):
            if "outlet" not in node.raises or node.id in (ready, proved):
                continue
            if node.id == "R7R":
                assert "R7" in before[node.id]
                continue
            assert ready in before[node.id], (node.id, way)
            to_duty_only = node.id.startswith(("ES1", "DS2"))
            assert to_duty_only if passes else proved in before[node.id], (node.id, way)


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_step_of_the_first_plan_lies_on_a_way_and_the_tables_order_stands(name):
    plan = made(name)
    listed = {node.id for way in ways(plan) for node in on_way(plan, way)}
    assert listed == {node.id for node in plan.nodes}
    for way in ways(plan):
        assert set(order(plan, way)) == {node.id for node in on_way(plan, way)}


def test_both_pilots_have_both_ways():
    plan = made(UP)
    assert [choice.id for choice in plan.choices] == ["E0.SO", "E0.RV"]
    both = {tuple(sorted(way.items())) for way in ways(plan)}
    assert len(both) == 4
    fits = {n.id for n in on_way(plan, {"E0.SO": "fits", "E0.RV": "fits"})}
    must_be_set = {n.id for n in on_way(plan, {"E0.SO": "set", "E0.RV": "set"})}
    assert {"C1F.SO", "C1F.RV", "EF1.RV", "EF2.SO", "EF3.RV"} <= fits
    assert {"C1S.SO", "C1S.RV", "ES1.RV", "ES2.RV", "ES3.SO", "ES4.SO", "ES5.SO", "ES6.SO"} <= must_be_set
    assert not {"ES1.RV", "ES4.SO", "C1S.SO"} & fits
    assert not {"EF1.RV", "EF2.SO", "EF3.RV"} & must_be_set


def test_a_shut_off_out_of_the_way_blocks_the_end_until_its_trip_is_proved():
    up, down = made(UP), made(DOWN)
    assert up.node("C1S.SO").opens == ("SO.out_of_way",) == up.node("F5.SO").restores
    assert down.node("C1S.SO").opens == ("SO.out_of_way",) == down.node("DS7").restores
    assert {"F5.SO", "H5", "G5"} <= ancestors(down, "DS7")
    assert "DS7" in ancestors(down, "J1")


def test_downstream_both_pilots_are_set_on_the_line_with_two_drains():
    plan = made(DOWN)
    ids = [node.id for node in plan.nodes]
    assert [i for i in ids if i.startswith("DS")] == [
        "DS0", "DS1", "DS2", "DS3", "DS4", "DS4x", "DS5", "DS6", "DS7",
    ]  # fmt: skip
    assert not any(i.startswith(("ES1", "ES3", "ES4", "ES5", "ES6", "F2R")) for i in ids)
    assert {m.params.get("td2") for m in plan.node("DS6").do} >= {"TD2"}
    assert plan.node("DS4x").inputs[0].name == "shut"
    assert {one.name for one in plan.node("DS4x").inputs if one.unless is not None} == {"T2", "T3", "open"}


def test_downstream_where_it_never_shut_the_plan_says_what_is_noted_all_the_same():
    plan = made(DOWN)
    assert "Has it never shut: none of this; say so." in " ".join(render_step(plan, "DS4x").split())


def test_downstream_without_a_tell_tale_it_is_brought_back_before_the_nut():
    plan = made(DOWN, setting("SO", tell_tale="none"))
    assert "DS4x" in ancestors(plan, "DS5")


def test_the_first_of_two_reducers_is_set_before_the_second_and_the_second_alone_before_both():
    plan = made(PAIR)
    for way in ways(plan):
        second = "EF1.RV2" if way["E0.RV2"] == "fits" else "ES1.RV2"
        first = "EF1.RV1" if way["E0.RV1"] == "fits" else "ES2.RV1"
        assert first in ancestors(plan, second, way)
    assert {"TS1.RV2", "H1.RV1", "H1.RV2", "H2.RV1", "H2.RV2"} <= ancestors(plan, "H4")
    assert "T2" in {one.name for one in plan.node("TS1.RV2").inputs}
    assert plan.node("H2.RV1").inputs[0].tap == "T2"


def test_a_reducer_alone_has_the_alarm_but_no_trip():
    ids = {node.id for node in made(ALONE).nodes}
    assert {"G4", "G5", "H1.RV", "H2.RV", "D2"} <= ids
    assert not any(i.startswith(("F", "G1", "IN", "E0.SO")) for i in ids)


def test_a_reducer_alone_that_nothing_raises_is_left_sealed():
    plan = made(ALONE, top(alarm=None))
    fits = {n.id for n in on_way(plan, {"E0.RV": "fits"})}
    assert "H1F.RV" in fits
    assert not {"EF3.RV", "H1.RV", "G4"} & fits


def test_readings_need_their_gauge_and_their_minute():
    for node in made(UP).nodes:
        for one in node.inputs:
            if one.tap and one.stable_for:
                held = 10.0 if one.name.startswith("hold") else 60.0
                assert (one.stable_for, one.stable_within) == (held, 5000.0)
    assert {one.instrument for one in made(UP).node("F1.SO").inputs if one.name == "act"} == {"setting gauge"}


def test_a_band_says_on_which_way_it_holds():
    middle = [e for e in made(UP).node("F1.SO").expect if e.input == "mid"]
    assert [e.where for e in middle] == [("E0.SO", "fits"), ("E0.SO", "set")]
    repaired = made(UP, kind="after_repair", item="shut-off closing needle").node("F1.SO").expect
    assert [e.where for e in repaired if e.input == "mid"] == [None]


def test_without_a_figure_nothing_is_expected():
    from dataclasses import replace

    from steadyhead.visits.plan import build
    from tests.visits.plan_stations import numbers

    bare = replace(numbers(station(UP)), bands={})
    plan = build(station(UP), "first", "", bare)
    assert not any(node.expect for node in plan.nodes)
    assert [node.id for node in plan.nodes] == [node.id for node in made(UP).nodes]


def test_screw_directions_are_told_or_the_plate_is_to_be_read():
    known, unknown = made(UP), made(UP, lambda data: part(data, "RV")["pilot"].pop("raises"))
    assert known.node("F1.SO").do[1].params["raise_rv"] == "@screw.clockwise"
    assert known.node("H1.RV").do[1].params["lower_rv"] == "@screw.anticlockwise"
    assert unknown.node("F1.SO").do[1].params["raise_rv"] == "@screw.unknown"
    assert "PLAN-27" in {note.id for note in unknown.notes}


def test_a_fast_run_is_made_where_the_design_credits_a_fast_failure():
    fast = made(UP, top(credited=[{"failure": "reducer fails open", "within": "2 s"}]))
    assert "F4.SO" in ancestors(fast, "F5.SO")
    assert "F4.SO" not in {node.id for node in made(UP).nodes}


def test_a_shared_root_cock_is_shut_only_behind_a_shut_inlet():
    plan = made(UP, block("supply", min="1 bar"), setting("SO", sensing_tap="shared with reducer"))
    assert [m.id for m in plan.node("IN1.SO").do][:3] == ["IN1.told", "IN1.shared", "IN1.root"]


def test_the_root_cock_is_on_the_list_until_its_gauge_follows():
    plan = made(UP, block("supply", min="1 bar"))
    assert plan.node("IN1.SO").opens == ("SO.root_shut",) == plan.node("IN4.SO").restores
    assert {"IN5.SO", "F5.SO"} <= ancestors(plan, "J1")


def test_a_bypass_is_shut_at_rest_and_locked_at_the_end():
    def with_bypass(data):
        main = [p for p in data["line"] if p["id"] in ("SO", "T2", "RV")]
        rest = [p for p in data["line"] if p["id"] not in ("SO", "T2", "RV")]
        group = {
            "part": "parallel",
            "id": "G",
            "branches": [
                {"id": "M", "role": "main", "line": main},
                {
                    "id": "BY",
                    "role": "manual bypass",
                    "locked_shut": "yes",
                    "line": [{"part": "isolating_valve", "id": "BV", "size": "DN 80"}],
                },
            ],
        }
        data["line"] = [*rest[:4], group, *rest[4:]]

    plan = made(UP, with_bypass)
    assert "C1.bypass" in [m.id for m in plan.node("C1").do]
    assert "J4.bypass" in [m.id for m in plan.node("J4").do]


def yearly(name: str = UP, *changes) -> Procedure:
    return made(name, *changes, kind="yearly")


@pytest.mark.source(
    kind="common practice", ref="design handbook 3.7: minutes by step, 40 hands-on; own estimate there"
)
def test_the_yearly_proof_takes_the_forty_minutes_and_what_they_leave_out():
    """On top of the table's 40: watching (D2) 10, recoveries 9, three decisions, the alarm 10."""
    plan = yearly()
    shortest = min(ways(plan), key=lambda way: sum(node.minutes for node in on_way(plan, way)))
    assert set(shortest.values()) == {"left"}
    spent = {node.id.split(".")[0]: node.minutes for node in on_way(plan, shortest) if node.minutes}
    assert spent == {"Y1": 4, "Y2": 6, "Y3": 8, "Y4": 8, "Y6": 8, "Y7": 3, "Y8": 3}
    assert sum(node.minutes for node in on_way(plan, shortest)) == 40
    assert sum(node.on_top for node in on_way(plan, shortest)) == 10 + 9 + 3 + 10
    assert "hands-on 40 to" in render(plan)
    assert {node.id for node in plan.nodes if node.minutes == 20} == {"Y5O.SO", "Y5O.RV", "Y5O.ST"}


@pytest.mark.parametrize("name", LAYOUTS)
def test_the_yearly_proof_touches_nothing_before_the_first_run(name):
    plan = yearly(name)
    first = next(i for i, node in enumerate(plan.nodes) if node.id.startswith("Y4"))
    assert not any(node.touches for node in plan.nodes[:first])
    assert plan.nodes[0].do[0].id == "Y1.first"


@pytest.mark.parametrize("name", [UP, DOWN])
def test_what_is_due_in_a_year_comes_after_the_first_run_and_before_the_last(name):
    plan = yearly(name)
    touched = {node.id: node.touches for node in plan.nodes if node.id.startswith("Y5O")}
    assert touched == {
        "Y5O.SO": ("SO.feed",),
        "Y5O.RV": ("RV.filter",),
        "Y5O.ST": ("ST.element",),
    }
    assert "Y4.SO" in ancestors(plan, "Y5")
    assert {"Y5", "Y5.SO", "Y5.RV", "Y5.ST"} <= ancestors(plan, "Y6.SO")
    assert set(plan.node("Y6.SO").proves) == {"SO.acts", "SO.closing", "SO.trip"}


def test_a_shut_off_that_was_opened_is_proved_by_three_runs_of_its_own():
    plan = yearly()
    left = {"Y5.SO": "left", "Y5.RV": "left", "Y5.ST": "left"}
    runs = {node.id for node in on_way(plan, left) if node.id.startswith(("Y5O", "Y6"))}
    assert runs == {"Y6.SO", "Y6H"}
    opened = [node for node in on_way(plan, left | {"Y5.SO": "opened"}) if node.id.startswith(("Y5O", "Y6"))]
    assert [node.id for node in opened] == ["Y5O.SO", "Y6T.SO", "Y6H"]
    assert {"mid.2", "mid.3", "mid.4"} <= {one.name for one in opened[1].inputs}
    assert "Y4.SO" not in str(opened[1].otherwise[0].when)


def test_yearly_the_pressures_are_brought_together_before_the_outlet_valve_opens():
    do = [m.id for m in yearly().node("Y8").do]
    assert do[:4] == ["Y8.inlet", "J2.equal", "Y8.outlet", "Y8.drain"]


@pytest.mark.parametrize("name", [UP, DOWN, ALONE, PAIR])
def test_without_a_pump_every_yearly_raise_watches_the_consumer_side(name):
    plan = yearly(name, top(equipment={"hand_pump": "no"}))
    raising = [n for n in plan.nodes if "outlet" in n.raises]
    assert raising
    for node in raising:
        assert {"T4.first", "T4.last"} <= {one.name for one in node.inputs}
        assert node.otherwise[0].then.id == "Y4.follows.then"
    with_pump = yearly(name)
    assert not any(o.then.id == "Y4.follows.then" for n in with_pump.nodes for o in n.otherwise)


def test_the_yearly_pump_test_is_that_of_the_first_visit():
    first, again = made(UP).node("D2"), yearly().node("Y2")
    assert {o.see.id for o in first.otherwise} <= {o.see.id for o in again.otherwise}
    assert {one.name for one in first.inputs} <= {one.name for one in again.inputs}
    assert "SO.tight" not in again.proves
    assert again.proves == ("IV2.tight",)


LIVE = (setting("IV2", tight="no"),)


def test_while_consumers_stay_connected_the_inlet_is_shut_before_the_reset_and_runs_move_the_pilot_alone():
    plan = yearly(UP, *LIVE)
    assert [n.id for n in plan.nodes] == ["Y1", "Y2", "Y3", "Y4.SO", "Y5", "Y6.SO", "Y6H", "Y8"]
    assert not plan.node("Y6H").raises
    shut, pilot, back = plan.node("Y5"), plan.node("Y6.SO"), plan.node("Y8")
    assert [m.id for m in shut.do][:2] == ["Y5s.inlet", "Y5s.reset"]
    assert shut.opens == ("inlet_down",)
    assert pilot.proves == ("SO.switches",)
    assert "SO.root_shut" in pilot.restores
    assert [m.id for m in back.do][:2] == ["Y8.refill", "Y8.stages"]
    assert "inlet_down" in back.restores
    assert {"T3", "T3.near", "T4"} >= {
        o.when["gt"][0]["value"] for o in (*back.otherwise, *plan.node("Y2").otherwise) if "gt" in o.when
    }


def test_a_stroke_in_service_has_no_band_of_the_trickle_and_names_its_surge():
    plan = yearly(UP, *LIVE)
    cautions = {h.caution.id for n in plan.nodes for h in n.hazards}
    assert "hz.stroke_service" in cautions
    assert "hz.shut_off_stroke" not in cautions
    assert not plan.drain_budget or all(use.node != "Y4" for use in plan.drain_budget)
    assert {e.why.id for e in plan.node("Y4.SO").expect} <= {"why.trip_mid", "why.closing_service"}


def test_while_consumers_stay_connected_no_screw_is_raised_before_the_trip_is_set_and_proved():
    plan = made(UP, *LIVE)
    rest = plan.node("C1S.SO")
    assert not rest.opens
    assert not rest.touches
    assert {"IN3.SO", "IN4.SO"} <= ancestors(plan, "ES1.RV")
    assert "IN2.SO" in ancestors(plan, "ES1.RV", {"E0.SO": "set", "E0.RV": "set"})
    assert plan.node("IN2.SO").opens == ("SO.out_of_way",) == plan.node("F5.SO").restores
    down = made(DOWN, *LIVE)
    assert "IN4.SO" in ancestors(down, "DS2")


def test_between_runs_by_pump_the_drain_stands_open_before_the_reset():
    assert "IN3.release" in [m.id for m in made(UP, block("supply", min="1 bar")).node("IN3.SO").do]
    assert "IN3.release_between" in [m.id for m in made(DOWN, block("supply", min="1 bar")).node("IN3.SO").do]


def test_downstream_both_drains_are_tried_before_any_way_reads_the_reducer():
    plan = made(DOWN)
    fits = {"E0.SO": "fits", "E0.RV": "fits"}
    assert "DS1" in ancestors(plan, "EF1.RV", fits)
    assert "DS1" in ancestors(plan, "F1.SO", fits)


def test_a_self_resetting_shut_off_is_raised_for_its_reset_and_lowered_after_its_cycles():
    plan = made(UP, setting("SO", resets="by itself"))
    assert [m.id for m in plan.node("F3R.SO").do] == ["F3R.raise", "F3R.fall"]
    assert [m.id for m in plan.node("F3C.SO").do] == ["F3C.raise", "F3C.draw", "F3C.lower"]
    assert plan.node("F3R.SO").raises == ("outlet",)


def test_the_supply_is_never_flushed_through_the_valves():
    open_pipe = made(UP).node("B3")
    assert [message.id for message in open_pipe.do[:2]] == ["B3.lead", "B3.drains_shut"]
    assert not any("TD" in map(str, m.params.values()) for m in open_pipe.do)
    assert "PLAN-34" in {note.id for note in made(UP).notes}
    assert "PLAN-34" not in {note.id for note in yearly().notes}


def test_a_drain_ahead_of_the_valves_leads_the_flush_where_it_carries_it():
    from dataclasses import replace

    from steadyhead.records.plan_numbers import Flush
    from steadyhead.visits.plan import build
    from tests.visits.plan_stations import numbers

    of = station(UP)
    plan = build(of, "first", "", replace(numbers(of), flush=Flush(0.02, "ID", 1.1, 1.1)))
    assert plan.node("B3").do[0].params == {"flush_drain": "ID"}


def test_the_screw_d2_turned_is_read_before_and_held_against_it_after():
    plan = made(UP, top(equipment={"hand_pump": "no"}))
    found = [e for e in plan.node("D2").expect if e.input == "found"]
    assert [e.where for e in found] == [("E0.RV", "fits")]
    assert not [e for e in plan.node("EF1.RV").expect if e.input == "reading"]
    assert {"D2r.first", "D2r.first_fits", "ES1.quarter"} <= {m.id for m in plan.node("D2").do}
    untouched = made(UP, top(equipment={"hand_pump": "no"}), kind="after_repair", item="strainer")
    assert [e for e in untouched.node("EF1.RV").expect if e.input == "reading"]


def test_yearly_the_pair_proves_that_the_second_holds_alone():
    assert "RV2.alone" in yearly(PAIR).node("Y4.RV2").proves


def test_yearly_by_injection_the_root_cock_is_opened_again():
    plan = yearly(UP, block("supply", min="1 bar"))
    assert plan.node("Y4.SO").opens == ("SO.root_shut",) == plan.node("Y6.SO").restores
    assert not any("outlet" in node.raises for node in plan.nodes if node.id.startswith(("Y4", "Y6.")))
