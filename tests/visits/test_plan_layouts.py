"""Plans of the four layouts: what comes before what, on every way."""

from __future__ import annotations

import pytest

from steadyhead.procedure.flaws import validate
from steadyhead.procedure.graph import ancestors, before_each, on_way, order, ways
from steadyhead.procedure.plain import from_json, to_json
from steadyhead.records.procedure import Procedure
from steadyhead.visits.plan import KINDS
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
    ]


@pytest.mark.parametrize(("name", "kind", "changes"), plans())
def test_every_plan_is_sound_survives_storing_and_raises_nothing_before_its_time(name, kind, changes):
    """V1, V2: a raise comes after the V2 opening, above duty after the tight outlet valve."""
    plan = made(name, *changes, kind=kind, item=item_for(kind))
    assert validate(plan) == ()
    assert to_json(from_json(to_json(plan))) == to_json(plan)
    ready, proved = ("Y2", "Y2") if kind == "yearly" else ("C5", "D2")
    passes = changes == CHANGES["outlet passes"]
    for way in ways(plan):
        before = before_each(on_way(plan, way))
        for node in on_way(plan, way):
            if "outlet" not in node.raises or node.id in (ready, proved):
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
    assert "DS4x" not in ancestors(plan, "DS5")


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
                assert (one.stable_for, one.stable_within) == (60.0, 5000.0)
    assert {one.instrument for one in made(UP).node("F1.SO").inputs if one.name == "act"} == {"setting gauge"}


def test_a_band_says_on_which_way_it_holds():
    act = [e for e in made(UP).node("F1.SO").expect if e.input == "act"]
    assert [e.where for e in act] == [("E0.SO", "fits"), ("E0.SO", "set")]
    repaired = made(UP, kind="after_repair", item="shut-off closing needle").node("F1.SO").expect
    assert [e.where for e in repaired if e.input == "act"] == [None]


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
def test_the_yearly_proof_takes_forty_minutes_hands_on():
    plan = yearly()
    spent = {node.id.split(".")[0]: node.minutes for node in plan.nodes}
    assert spent == {"Y1": 4, "Y2": 6, "Y3": 8, "Y4": 8, "Y5": 2, "Y6": 6, "Y7": 3, "Y8": 3}
    assert sum(spent.values()) == 40


@pytest.mark.parametrize("name", LAYOUTS)
def test_the_yearly_proof_touches_nothing_before_the_first_run(name):
    plan = yearly(name)
    first = next(i for i, node in enumerate(plan.nodes) if node.id.startswith("Y4"))
    assert not any(node.touches for node in plan.nodes[:first])
    assert plan.nodes[0].do[0].id == "Y1.first"


@pytest.mark.parametrize("name", [UP, DOWN])
def test_what_is_due_in_a_year_comes_after_the_first_run_and_before_the_last(name):
    plan = yearly(name)
    due = plan.node("Y5")
    assert {"SO.feed", "RV.filter", "ST.element"} <= set(due.touches)
    assert "Y4.SO" in ancestors(plan, "Y5")
    assert "Y5" in ancestors(plan, "Y6.SO")
    assert set(plan.node("Y6.SO").proves) == {"SO.acts", "SO.closing", "SO.trip"}


def test_yearly_the_pair_proves_that_the_second_holds_alone():
    assert "RV2.alone" in yearly(PAIR).node("Y4.RV2").proves


def test_yearly_by_injection_the_root_cock_is_opened_again():
    plan = yearly(UP, block("supply", min="1 bar"))
    assert plan.node("Y4.SO").opens == ("SO.root_shut",) == plan.node("Y6.SO").restores
    assert not any("outlet" in node.raises for node in plan.nodes if node.id.startswith(("Y4", "Y6")))
