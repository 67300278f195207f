"""Plans of chains: pairs with a shut-off, monitor, relief valves, vessel, check valve, own springs."""

from __future__ import annotations

import pytest

from steadyhead.findings import Severity
from steadyhead.procedure.flaws import validate
from steadyhead.procedure.graph import before_each, needed
from steadyhead.records.procedure import Node, Procedure
from steadyhead.station.layout import read_layout
from steadyhead.visits.facts import Facts
from steadyhead.visits.feasibility import Refused, feasibility
from steadyhead.visits.items import names
from steadyhead.visits.numbers import work_out
from steadyhead.visits.plan import KINDS, build
from steadyhead.visits.text import render
from steadyhead.visits.texts import say
from tests.visits.chain_stations import (
    ANSWER,
    CHAINS,
    CHECK,
    RELIEF,
    VARIANTS,
    after,
    building,
    direct_acting,
    monitor_alone,
    monitor_downstream,
    monitor_upstream,
    pair_downstream,
    pair_upstream,
    pump,
    relief_beside,
    relief_instead,
)
from tests.visits.plan_stations import UP, block, numbers, part, setting, station, top, without


def plan(of, kind="first", item="") -> Procedure:
    return build(of, kind, item, numbers(of))


def ids(of, kind="first", item="") -> set[str]:
    return {node.id for node in plan(of, kind, item).nodes}


def step(of, node_id, kind="first") -> Node:
    return next(node for node in plan(of, kind).nodes if node.id == node_id)


def facts(of) -> Facts:
    found = feasibility(of).facts
    assert found is not None
    return found


def codes(of) -> set[str]:
    return {finding.code for finding in feasibility(of).findings}


def told(node: Node) -> str:
    return " ".join(say(message) for message in node.do)


EVERY = [(name, changes) for name in CHAINS for changes in ((), *VARIANTS.get(name, ()))]


@pytest.mark.share(3)
@pytest.mark.parametrize(("name", "changes"), EVERY)
def test_every_kind_of_plan_of_every_chain_is_sound_and_can_be_printed(name, changes):
    of = CHAINS[name](*changes)
    given = numbers(of)
    for kind in KINDS:
        if kind == "restart" and read_layout(of).shut_off is None:
            with pytest.raises(Refused, match="RUN-80"):
                build(of, kind, "", given)
            continue
        for item in names(of) if kind == "after_repair" else ("",):
            made = build(of, kind, item, given)
            assert validate(made) == (), (kind, item)
    assert of.station.name in render(build(of, "first", "", given))


@pytest.mark.parametrize("name", CHAINS)
def test_whatever_is_put_out_of_the_way_blocks_the_return_to_service(name):
    made = plan(CHAINS[name]())
    before = before_each(made.nodes)
    opens = ("cut_off", "out_of_way", ".raised", "root_shut")
    for item in {one for node in made.nodes for one in node.opens if one.endswith(opens)}:
        mends = {node.id for node in made.nodes if item in node.restores}
        assert mends & before["J2"], item


# Two reducers and a shut-off.


def test_each_stage_has_its_own_lock_up_at_its_own_drain_and_gauge():
    of = pair_upstream()
    assert facts(of).stage == "T2b"
    assert facts(of).beside == "T2a"
    first = step(of, "H2.RV1")
    assert "Shut TD2 and TD." in told(first)
    assert {one.tap for one in first.inputs if one.quantity == "pressure"} == {"T2"}
    assert {one.tap for one in step(of, "H2.RV2").inputs if one.quantity == "pressure"} == {"T3"}


def test_the_second_alone_is_proved_once_and_the_trip_by_raising_it():
    of = pair_upstream()
    found = ids(of)
    assert {"TS1.RV2", "F1.SO", "F3.SO", "F5.SO"} <= found
    run = step(of, "F1.SO")
    assert "RV2.setting" in run.touches
    assert "RV1.setting" not in run.touches


def test_the_worst_that_reaches_the_shut_off_is_the_pressure_between_the_reducers():
    assert "sees no more than what stands at T2" in told(step(pair_upstream(), "F2.SO"))


def test_a_shut_off_after_the_pair_asks_for_a_drain_on_each_section():
    of = pair_downstream()
    assert facts(of).sections == ("outlet", "between", "between 2")
    assert "PLAN-03" in codes(pair_downstream(without("TD3")))
    assert "PLAN-03" in codes(pair_downstream(without("TD2")))
    assert "PLAN-03" not in codes(pair_upstream())
    assert {"DS0", "DS2", "ES1.RV1", "ES2.RV1", "DS7", "TS1.RV2"} <= ids(of)
    ahead = before_each(plan(of).nodes)["DS2"]
    assert {"ES2.RV1", "EF1.RV1"} <= ahead


def test_a_first_stage_too_low_for_the_trip_leads_to_the_pump():
    def low(data):
        part(data, "RV1")["duty"]["pressure"] = "92 psi"
        part(data, "RV1").pop("lockup")

    of = pair_upstream(low, pump)
    assert "PLAN-41" in codes(of)
    assert {"IN1.SO", "IN3.SO"} <= ids(of)
    assert "F1.SO" not in ids(of)


@pytest.mark.source(
    kind="analytic", ref="no flow, water can only leave: what lies behind a shut valve drains"
)
def test_after_a_trip_every_section_behind_the_shut_off_drains_and_those_ahead_stand():
    up, down = pair_upstream(), pair_downstream()
    bands = work_out(up, "first", samples=40).bands
    assert abs(bands["after_trip.T2a"].nominal) < 1.0
    assert abs(bands["after_trip.T2b"].nominal) < 1.0
    bands = work_out(down, "first", samples=40).bands
    assert bands["after_trip.T2a"].nominal == pytest.approx(bands["lockup.T2a"].nominal, rel=0.02)
    assert bands["after_trip.T2b"].nominal > bands["trip.T3"].nominal
    assert abs(bands["after_trip.T3"].nominal) < 1.0


# Monitor.


def test_a_monitor_is_proved_by_raising_the_other_reducer_above_it():
    made = plan(monitor_alone())
    proof = next(node for node in made.nodes if node.id == "MN1.MON")
    assert "RV.raised" in proof.opens
    assert "MON.stands_in" in proof.proves
    assert proof.id in before_each(made.nodes)["H1.RV"]


def test_beyond_the_monitor_the_trip_needs_the_monitor_away_and_back_again():
    made = plan(monitor_upstream())
    before = before_each(made.nodes)
    by_id = {node.id: node for node in made.nodes}
    assert by_id["MN0.MON"].opens == ("MON.raised",)
    assert "MN0.MON" in before["F1.SO"]
    assert "MN0.MON" in before["ES3.SO"]
    assert set(by_id["MN1.MON"].restores) == {"MON.raised", "MON.out_of_way"}
    assert "F5.SO" in before["MN1.MON"]


def test_a_trip_proved_by_pump_leaves_the_monitor_where_it_stands():
    of = monitor_upstream(pump, setting("SO", live_trip="not allowed"), block("alarm", pressure="4.2 bar"))
    assert "MN0.MON" not in ids(of)
    assert "MN1.MON" in ids(of)


def test_an_alarm_above_the_hold_of_the_monitor_is_tried_with_the_monitor_away():
    made = plan(monitor_alone())
    before = before_each(made.nodes)
    assert "MN0.MON" in before["G4"]
    assert "G4" in before["MN1.MON"]
    assert "MON.raised" in next(node for node in made.nodes if node.id == "MN1.MON").restores
    yearly = before_each(plan(monitor_alone(), "yearly").nodes)
    assert "Y3A.MON" in yearly["Y4"]
    assert "Y3M.MON" in yearly["Y3A.MON"]
    assert "Y4" in yearly["Y6M.MON"]
    below = ids(monitor_alone(block("alarm", pressure="4.2 bar")))
    assert {"G4", "MN1.MON"} <= below
    assert "MN0.MON" not in below


def test_the_higher_set_is_the_monitor_wherever_it_stands():
    first, second = facts(monitor_upstream()), facts(monitor_downstream())
    assert first.monitor is not None
    assert second.monitor is not None
    assert (first.monitor.id, first.last_reducer.id) == ("MON", "RV")
    assert (second.monitor.id, second.last_reducer.id) == ("MON", "RV")


def test_settings_alike_or_a_spring_too_short_stop_the_plan():
    alike = monitor_alone(setting("MON", duty={"pressure": "4.0 bar", "flow": "5 L/s"}, lockup=None))
    short = monitor_alone(setting("RV", pilot={"spring_low": "1.5 bar", "spring_high": "4.6 bar"}))
    assert "PLAN-39" in codes(alike)
    assert "PLAN-40" in codes(short)
    assert feasibility(alike).facts is None
    assert feasibility(short).facts is None


@pytest.mark.source(kind="analytic", ref="of two in series at one tap the one that still throttles sets it")
def test_with_the_worker_open_the_outlet_stands_at_the_monitor():
    bands = work_out(monitor_alone(), "first", samples=60).bands
    assert bands["trickle.T3"].nominal < bands["monitor.T3"].nominal
    assert bands["monitor.T3"].nominal == pytest.approx(4.5e5, abs=0.05e5)
    assert bands["monitor_lockup.T3"].nominal == pytest.approx(4.7e5, abs=0.05e5)


def test_where_the_outlet_valve_passes_the_monitor_is_neither_set_nor_proved():
    of = monitor_alone(setting("IV2", tight="no"))
    assert "PLAN-44" in codes(of)
    assert not {"MN0.MON", "MN1.MON"} & ids(of)
    assert all("out_of_way" not in item for node in plan(of).nodes for item in node.opens)


# Relief valves.


def test_a_relief_below_the_trip_is_proved_first_then_shut_off_and_put_back():
    made = plan(relief_beside())
    before = before_each(made.nodes)
    by_id = {node.id: node for node in made.nodes}
    assert by_id["R3.RL"].opens == ("RL.cut_off",)
    assert by_id["R4.RL"].restores == ("RL.cut_off",)
    for run in ("F1.SO", "ES3.SO"):
        assert {"R1.RL", "R2.RL", "R3.RL"} <= before[run]
    assert "F5.SO" in before["R4.RL"]
    assert "R4.RL" in before["H1.RV"]
    assert "RL: cock open, sealed, read by a second person." in told(by_id["J4"])


def test_one_fact_the_relief_above_the_trip_is_not_touched_and_told():
    of = station(UP, after("T3", {**RELIEF, "crack": "5.6 bar"}))
    assert "PLAN-37" in codes(of)
    assert not any(node_id.startswith("R") for node_id in ids(of))


@pytest.mark.parametrize("cock", ["no", "not known"])
def test_a_relief_that_cannot_be_shut_off_leads_to_the_pump(cock):
    of = relief_beside(setting("RL", cock=cock), pump)
    found = next(finding for finding in feasibility(of).findings if finding.code == "PLAN-36")
    assert found.severity is (Severity.HEED if cock == "no" else Severity.ASK)
    assert {"R1.RL", "R2.RL", "IN3.SO"} <= ids(of)
    assert not {"R3.RL", "R4.RL", "F1.SO"} & ids(of)


def test_without_pump_and_cock_there_is_no_plan():
    judged = feasibility(relief_beside(setting("RL", cock="no"), top(equipment={"hand_pump": "no"})))
    assert judged.facts is None
    assert {"PLAN-10", "PLAN-36"} <= {finding.code for finding in judged.findings}


def test_a_relief_in_place_of_a_shut_off_is_raised_to_and_no_trip_is_proved():
    of = relief_instead()
    found = ids(of)
    assert {"R1.RL", "R2.RL"} <= found
    assert not any(node_id.startswith(("F", "R3", "R4", "IN", "ES3")) for node_id in found)
    assert "PLAN-42" in codes(of)
    assert "PLAN-17" not in codes(of)


def test_the_pump_stays_below_the_relief():
    of = relief_beside(pump)
    stop = work_out(of, "first", samples=20).pumped["out_of_way"].reading
    assert stop <= 4.95e5 - 0.1e5
    assert "the pump stays below its crack" in told(step(of, "D2"))


def test_the_crack_is_expected_with_the_gauge_and_the_reseat_below_it():
    bands = work_out(relief_beside(), "first", samples=60).bands
    crack, reseat = bands["relief_crack.RL"], bands["relief_reseat.RL"]
    assert crack.low < 4.95e5 < crack.high
    assert reseat.nominal < crack.low


def test_a_relief_without_a_flow_switch_is_put_on_the_round():
    assert "put on the round" in told(step(relief_beside(setting("RL", tells="none")), "R2.RL"))


def test_the_yearly_visit_takes_the_relief_as_found_before_the_first_trip():
    made = plan(relief_beside(), "yearly")
    before = before_each(made.nodes)
    assert {"Y3R.RL", "Y3S.RL", "Y3I.RL"} <= before["Y4.SO"]
    assert "Y6R.RL" in before["Y8"]


# Heated water, vessel, check valve.


def test_a_vessel_is_read_empty_stays_cut_off_for_the_tests_and_comes_back():
    made = plan(building())
    before = before_each(made.nodes)
    by_id = {node.id: node for node in made.nodes}
    assert by_id["B7.EV"].opens == ("EV.cut_off",)
    assert "water side empty" in told(by_id["B7.EV"])
    assert "H2.RV" in before["H8.EV"]
    assert "H8.EV" in before["J1"]


def test_where_water_is_heated_a_rise_with_a_warm_wall_is_no_leak():
    cold, warm = step(relief_beside(), "H2.RV"), step(building(), "H2.RV")
    assert len(warm.otherwise) == len(cold.otherwise) + 1
    assert "not a leak" in " ".join(say(one.meaning) for one in warm.otherwise)
    assert "Heaters off" in told(warm)


def test_the_zone_is_watched_with_heaters_off_then_on_before_anybody_leaves():
    made = plan(building())
    assert "J3T" in needed(next(node for node in made.nodes if node.id == "J4").needs)
    assert "A rise now is no leak" in told(next(node for node in made.nodes if node.id == "J3T"))
    assert "J3T" not in ids(relief_beside())
    assert "J3T" in ids(building(without("EV")))


def test_behind_a_check_valve_a_dry_drain_says_nothing_of_the_outlet_valve():
    plain, checked = step(station(UP), "B2"), step(station(UP, after("TD", CHECK)), "B2")
    assert "a dry TD says nothing of IV2" in told(checked)
    assert "vent it there" in told(checked)
    assert "check" not in told(plain)
    ahead = step(station(UP, after("ST", CHECK)), "B2")
    assert told(ahead) == told(plain)


# Direct-acting reducers.


def test_a_direct_acting_reducer_has_no_pilot_to_bleed_clean_or_trim():
    of = direct_acting()
    made = plan(of)
    words = " ".join(told(node) for node in made.nodes if node.id.split(".")[0] in ("A5", "B5", "C3", "ES2"))
    assert "pilot of RV" not in words
    assert "speed needle" not in words
    assert "no chamber" in words
    touched = {name for node in made.nodes for name in (*node.touches, *node.depends_on)}
    assert not touched & {"RV.pilot", "RV.filter", "RV.needles", "RV.sensing"}
    assert not any(item.startswith("reducer pilot") for item in names(of))


@pytest.mark.source(kind="common practice", ref="lock-up of a direct-acting reducer 0.3 to 1 bar above duty")
def test_a_direct_acting_reducer_locks_up_well_above_duty():
    band = work_out(direct_acting(), "first", samples=100).bands["lockup.T3"]
    assert 4.0e5 + 0.3e5 - 0.4e5 < band.low < 4.0e5 + 0.6e5
    assert band.high > 4.0e5 + 0.8e5


# Self-resetting, irrigation, fire water.


def test_a_self_resetting_shut_off_behind_a_pair_is_proved_not_to_cycle():
    of = pair_upstream(setting("SO", resets="by itself"))
    assert {"F3R.SO", "F3C.SO", "G2.SO"} <= ids(of)
    assert "does it still stand?" in render(plan(of))


def test_a_line_drained_for_the_winter_is_filled_and_bled_before_it_is_read():
    made = plan(pair_upstream(), "yearly")
    choice = next(choice for choice in made.choices if choice.id == "Y0")
    assert {name: nodes for name, _, nodes in choice.options} == {"full": ("Y0F",), "drained": ("Y0A", "Y0B")}
    assert "Y0" in before_each(made.nodes)["Y2"]
    other = plan(pair_upstream(block("station", kind="utility chamber")), "yearly")
    assert not any(node.id.startswith("Y0") for node in other.nodes)


def test_a_field_valve_moves_at_its_own_speed_before_the_crew_leaves():
    made = plan(pair_upstream())
    assert "J3F" in needed(next(node for node in made.nodes if node.id == "J4").needs)
    assert "weed" in told(next(node for node in made.nodes if node.id == "B5")).casefold()


def test_what_the_fire_authority_decided_stands_at_the_steps():
    of = station(UP, top(answers=[ANSWER]))
    for node_id in ("A2", "A3"):
        assert "Brae fire service, letter 12; decided: 2026-05-04" in told(step(of, node_id))
    assert "letter 12" in told(step(of, "Y1", "yearly"))
    assert "letter 12" not in told(step(station(UP), "A2"))


# A way through a station of several: valves proved elsewhere.


def test_valves_proved_on_another_way_are_neither_set_nor_proved_here():
    from dataclasses import replace

    from steadyhead.visits.tables import whole
    from steadyhead.visits.tables.desk import Desk

    of = pair_upstream()
    mine = replace(facts(of), own=frozenset({"RV2"}))
    found = {node.id for node in whole.nodes(Desk(mine, numbers(of)))}
    assert {"EF1.RV2", "ES1.RV2", "H1.RV2", "H2.RV2"} <= found | {"H1F.RV2"}
    assert not any(node_id.endswith((".RV1", ".SO")) for node_id in found)
    assert not any(node_id.startswith(("F", "TS", "G4")) for node_id in found)
