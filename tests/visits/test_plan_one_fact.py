"""One physical fact changed: exactly the right steps change, all others stay byte for byte."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from steadyhead.records.procedure import Message, Node, Procedure
from steadyhead.visits.feasibility import Refused, feasibility
from steadyhead.visits.plan import build
from tests.visits.plan_stations import (
    ALONE,
    DOWN,
    LAYOUTS,
    PAIR,
    UP,
    Change,
    block,
    differences,
    made,
    numbers,
    part,
    setting,
    station,
    top,
    weak_outlet,
    without,
)

INJECTED = {"IN1.SO", "IN2.SO", "IN3.SO", "IN4.SO", "IN5.SO"}
LIVE = {"ES3.SO", "ES4.SO", "ES5.SO", "ES6.SO", "F1.SO", "F2.SO", "F2R.SO", "F3.SO"}
BY_METHOD = {"D2", "F5.SO", "G1.SO", "G2.SO", "G4", "J1"}
"""D2 stays below the trip; F5, G1, G2, G4 and J1 follow another last run."""
OF_RANGE = {"A5", "E0.RV", "C1S.RV", "ES1.RV"}
"""What prints the range of a spring, or how many turns its screw has."""


def assert_changes(
    name: str,
    *changes: Change,
    added: set[str] | None = None,
    removed: set[str] | None = None,
    changed: set[str],
) -> None:
    found = differences(made(name), made(name, *changes))
    assert found == {"added": added or set(), "removed": removed or set(), "changed": changed}


def short_spring(data: dict[str, Any]) -> None:
    part(data, "RV")["pilot"]["spring_high"] = "5.5 bar"


def shut_off_after_the_reducer(data: dict[str, Any]) -> None:
    reducer, shut_off, tap = (part(data, name) for name in ("RV", "SO", "T2"))
    reducer["senses"] = "T2"
    line: list[dict[str, Any]] = []
    for one in data["line"]:
        line.append(reducer if one is shut_off else shut_off if one is reducer else one)
        if one is tap:
            line.append({"part": "drain", "id": "TD2", "size": "DN 25", "runs_to": "sump"})
    data["line"] = line


@pytest.mark.parametrize("name", LAYOUTS)
def test_a_station_without_its_drain_gets_no_plan(name):
    with pytest.raises(Refused, match="PLAN-02") as refused:
        made(name, without("TD"))
    assert refused.value.findings[0].code == "PLAN-02"


@pytest.mark.parametrize("name", [DOWN, PAIR])
def test_a_section_between_the_valves_without_a_drain_gets_no_plan(name):
    with pytest.raises(Refused, match="PLAN-03"):
        made(name, without("TD2"))


def test_an_inlet_too_low_to_raise_leads_to_injection():
    change = block("supply", min="5.4 bar")
    assert "PLAN-11" in {f.code for f in feasibility(station(UP, change)).findings}
    assert_changes(UP, change, added=INJECTED, removed=LIVE, changed=BY_METHOD)


def test_an_inlet_just_high_enough_changes_no_step():
    """Trip 5.2 bar and 0.5 bar of headroom."""
    assert_changes(UP, block("supply", min="5.7 bar"), changed=set())


def test_a_reducer_spring_too_short_leads_to_injection():
    """A5 and E0 print the range that is to be read on the plate; no screw has more turns than its range."""
    assert "PLAN-12" in {f.code for f in feasibility(station(UP, short_spring)).findings}
    assert_changes(UP, short_spring, added=INJECTED, removed=LIVE, changed=BY_METHOD | OF_RANGE)


def test_a_shut_off_that_senses_between_the_valves_is_refused_with_the_reason():
    with pytest.raises(Refused, match="PLAN-06") as refused:
        made(UP, setting("SO", senses="T2"))
    assert refused.value.findings[0].params["where"] == "between the valves"


def test_a_shut_off_that_senses_the_inlet_is_refused():
    with pytest.raises(Refused, match="PLAN-06") as refused:
        made(DOWN, setting("SO", senses="T1"))
    assert refused.value.findings[0].params["where"] == "on the inlet"


def test_a_reducer_that_senses_beyond_the_shut_off_is_refused():
    with pytest.raises(Refused, match="PLAN-08"):
        made(DOWN, setting("RV", senses="T3"))


def test_a_shut_off_that_senses_the_consumer_side_leads_to_injection():
    assert_changes(UP, setting("SO", senses="T4"), added=INJECTED, removed=LIVE, changed=BY_METHOD | {"A5"})


def test_the_shut_off_moved_behind_the_reducer_changes_the_steps_that_know_their_place():
    """A1 to A4, A6 to A8, D1 to D3, E0, EF3, G3 to G5, H1, H4, H6, J3 on and K stay as they are."""
    assert_changes(
        UP,
        shut_off_after_the_reducer,
        added={"DS0", "DS1", "DS2", "DS3", "DS4", "DS4x", "DS5", "DS6", "DS7"},
        removed={"ES1.RV", "ES3.SO", "ES4.SO", "ES5.SO", "ES6.SO", "F2R.SO"},
        changed={"A5", "B2", "B5", "C1", "C3", "C5", "D4.SO"}
        | {"EF1.RV", "EF2.SO", "ES2.RV", "F1.SO", "F2.SO", "F3.SO", "F5.SO"}
        | {"G1.SO", "G2.SO", "H2.RV", "H5", "J1", "J2"},
    )


def test_a_shared_sensing_tap_changes_where_it_is_found_bled_watched_and_rested_on():
    """F, G1 and H rest on the shared line; A5, C3 and J4 speak of it; F1 watches for both gauges frozen."""
    assert_changes(
        UP,
        setting("SO", sensing_tap="shared with reducer"),
        changed={"A5", "C3", "J4", "F1.SO", "F2.SO", "F3.SO", "G1.SO", "H1.RV", "H2.RV", "H4", "H5"},
    )


def test_a_self_resetting_shut_off_adds_reset_and_cycles_and_an_alarm_that_must_stand():
    assert_changes(
        UP,
        setting("SO", resets="by itself"),
        added={"F3R.SO", "F3C.SO"},
        changed={"ES5.SO", "F2R.SO", "F5.SO", "G2.SO", "G4"},
    )


def test_without_a_pump_the_outlet_valve_is_tried_by_the_reducer():
    """D2 turns the screw, so that EF1 is held against what D2 found."""
    assert_changes(UP, top(equipment={"hand_pump": "no"}), changed={"A6", "D2", "EF1.RV"})


@pytest.mark.parametrize(
    ("name", "changed"),
    [
        pytest.param(UP, {"ES4.SO", "F1.SO"}, id="upstream"),
        pytest.param(DOWN, {"DS4", "DS4x", "F1.SO"}, id="downstream"),
    ],
)
def test_without_a_tell_tale_the_setting_goes_on_to_full_action(name, changed):
    assert_changes(name, setting("SO", tell_tale="none"), changed=changed)


def test_an_outlet_valve_that_passes_leads_to_injection_and_takes_the_lockup_away():
    assert_changes(
        UP,
        setting("IV2", tight="no"),
        added=INJECTED | {"H1F.RV"},
        removed=LIVE | {"D2", "D3.RV", "EF3.RV", "H2.RV"},
        changed={
            "C1S.SO",
            "EF1.RV",
            "ES1.RV",
            "F5.SO",
            "G1.SO",
            "G2.SO",
            "G4",
            "H1.RV",
            "H4",
            "J1",
            "J4",
        },
    )


def test_a_line_that_may_not_be_raised_leads_to_injection():
    change = setting("SO", live_trip="not allowed")
    assert_changes(UP, change, added=INJECTED, removed=LIVE, changed=BY_METHOD)


def test_without_a_limit_switch_nobody_is_told_and_a_finding_says_so():
    change = setting("SO", limit_switch=None)
    assert "PLAN-16" in {f.code for f in feasibility(station(UP, change)).findings}
    assert_changes(
        UP, change, removed={"G1.SO", "G2.SO", "G3.SO"}, changed={"D4.SO", "F2.SO", "G5", "J1", "J4"}
    )


def test_a_spring_that_closes_changes_what_a_bleed_and_a_stroke_do():
    assert_changes(UP, setting("SO", closes_by="spring"), changed={"C3", "C4", "D4.SO", "F2.SO"})


NO_FIRE = block("demand", fire=None)


@pytest.mark.parametrize(
    ("name", "change"),
    [
        pytest.param(DOWN, block("station", fire_water="yes"), id="said so"),
        pytest.param(ALONE, block("station", kind="fire main"), id="a fire main"),
        pytest.param(UP, None, id="a fire demand"),
    ],
)
def test_fire_water_changes_permits_calls_isolation_and_the_end(name, change):
    """However the file says it: the flag, the kind of station, or a fire demand."""
    before, after = (made(name), made(name, change)) if change else (made(name, NO_FIRE), made(name))
    tested = set() if change else {"H4"}
    assert differences(before, after) == {
        "added": set(),
        "removed": set(),
        "changed": {"A2", "A3", "B1", "J5"} | tested,
    }
    assert "PLAN-26" in {note.id for note in after.notes}
    assert "PLAN-26" not in {note.id for note in before.notes}


def test_closing_water_from_the_station_inlet_past_the_reducer_is_followed_stroked_watched_and_left_open():
    change = setting("SO", closing_medium="station inlet")
    assert_changes(DOWN, change, changed={"A5", "A7", "D4.SO", "F2.SO", "J4"})


def test_closing_water_that_is_not_known_is_looked_for():
    assert_changes(DOWN, setting("SO", closing_medium="not known"), changed={"A5"})


def test_ahead_of_the_reducer_the_station_inlet_is_the_valves_own():
    assert_changes(UP, setting("SO", closing_medium="station inlet"), changed=set())


def test_an_inlet_valve_that_passes_asks_for_a_second_one_further_up():
    change = setting("IV1", tight="no")
    assert_changes(UP, change, changed={"B1"})
    plan = made(UP, change)
    assert {"PLAN-33"} <= {note.id for note in plan.notes}
    assert "V2.second" in {rule.id for rule in plan.invariants}


def test_an_outlet_section_rated_below_the_trip_leads_to_injection():
    """Rated 5.0 bar in normal running at the datum, trip 5.2 bar: the line is never raised to it."""
    assert_changes(UP, weak_outlet, added=INJECTED, removed=LIVE, changed={*BY_METHOD, "J2", "J3", "J6"})
    assert "PLAN-32" in {f.code for f in feasibility(station(UP, weak_outlet)).findings}


def test_without_another_feed_only_the_isolation_and_its_undoing_change():
    assert_changes(UP, block("zone", other_feed="no"), changed={"A3", "B1", "J2", "J3", "J6"})


def test_without_a_high_alarm_its_step_goes():
    assert_changes(UP, top(alarm=None), removed={"G4"}, changed={"G5", "H1.RV", "J2", "J3", "J6"})


def test_another_inlet_pressure_changes_bands_and_turns_only():
    inlet = block("supply", typical="8.8 bar", static="9.9 bar")
    of = station(UP, inlet)
    other = numbers(of)
    openings = {name: replace(o, share=0.05, turns=1.25) for name, o in other.inlet_opening.items()}
    tables = tuple(replace(table, readings={"T3": (1e5, 2e5, 3e5)}) for table in other.turn_tables)
    other = replace(other, inlet_opening=openings, turn_tables=tables)
    after = build(of, "first", "", other, station_hash="0" * 64, engine_version="0")
    before = made(UP)
    assert [_bare(node) for node in after.nodes] == [_bare(node) for node in before.nodes]
    assert after.choices == before.choices
    assert {m.id for m in after.invariants} == {m.id for m in before.invariants}
    assert after != before


def _bare(node: Node) -> Node:
    """Return a step without figures: bands, minutes, litres, amounts in texts."""
    return replace(
        node,
        title=_words(node.title),
        do=tuple(_words(m) for m in node.do),
        expect=tuple(replace(e, low=None, high=None, nominal=None, why=_words(e.why)) for e in node.expect),
        back_out=tuple(replace(b, do=_words(b.do)) for b in node.back_out),
        hazards=tuple(replace(h, caution=_words(h.caution)) for h in node.hazards),
        otherwise=tuple(
            replace(o, see=_words(o.see), meaning=_words(o.meaning), then=_words(o.then))
            for o in node.otherwise
        ),
        refuses=tuple(one for one in node.refuses if one.message.id != "rf.turns_off"),
        litres=0.0,
    )


def _words(message: Message) -> Message:
    return Message(message.id, {name: v for name, v in message.params.items() if isinstance(v, str)})


def test_the_same_station_gives_the_same_bytes_again():
    first: Procedure = made(UP)
    assert differences(first, made(UP)) == {"added": set(), "removed": set(), "changed": set()}


def test_a_reducer_alone_says_what_is_not_protected():
    plan = made(ALONE)
    assert not any(node.id.startswith(("F", "G1", "IN", "DS")) for node in plan.nodes)
    assert {"note.unprotected", "PLAN-17"} <= {note.id for note in plan.notes}
