"""Plans around the station: heaters, another feed, fire flow, and what stands behind the outlet valve."""

from __future__ import annotations

from dataclasses import replace

import pytest

from steadyhead.findings import Severity
from steadyhead.procedure.graph import before_each
from steadyhead.records.procedure import DrainUse, Procedure
from steadyhead.visits.drains import over_permit
from steadyhead.visits.items import names
from steadyhead.visits.numbers import work_out
from steadyhead.visits.plan import build
from tests.visits.chain_stations import (
    after,
    building,
    direct_acting,
    monitor_alone,
    pair_upstream,
    pump,
    relief_beside,
)
from tests.visits.plan_stations import UP, block, numbers, setting, station


def plan(of, kind="first", item="") -> Procedure:
    return build(of, kind, item, numbers(of))


def ids(of, kind="first", item="") -> set[str]:
    return {node.id for node in plan(of, kind, item).nodes}


def step(of, node_id, kind="first"):
    return next(node for node in plan(of, kind).nodes if node.id == node_id)


def test_a_repair_that_asks_for_the_alarm_again_takes_the_monitor_out_of_the_way():
    assert {"G4", "MN0.MON", "MN1.MON"} <= ids(monitor_alone(), "after_repair", "outlet transmitter")


@pytest.mark.parametrize("kind", ["first", "return_to_service", "new_setting", "yearly"])
def test_heaters_are_off_before_the_outlet_valve_moves_and_on_when_all_is_open(kind):
    made = plan(building(), kind)
    before = before_each(made.nodes)
    off = "Y1H" if kind == "yearly" else "A9"
    back = "Y8" if kind == "yearly" else "J2"
    by_id = {node.id: node for node in made.nodes}
    assert by_id[off].opens == ("heaters_off",)
    assert "heaters_off" in by_id[back].restores
    assert "HT.on" in [message.id for message in by_id[back].do]
    first = {"yearly": "Y2", "return_to_service": "C2"}.get(kind, "B1")
    assert off in before[first]
    for node in made.nodes:
        if "EV.cut_off" in node.opens or "RL.cut_off" in node.opens:
            assert off in before[node.id]
        if {"EV.cut_off", "RL.cut_off"} & set(node.restores):
            assert node.id in before[back]


def test_a_repair_that_cuts_the_station_off_has_the_heaters_off_first():
    of = building()
    for item in names(of):
        made = plan(of, "after_repair", item)
        found = {node.id for node in made.nodes}
        assert ("B1" in found) <= ("A9" in found), item
        if "A9" in found:
            assert ("J2" if "B1" in found else "H8.EV") in found, item


def test_without_heated_water_no_step_speaks_of_heaters():
    assert not {"A9", "Y1H"} & (ids(relief_beside()) | ids(relief_beside(), "yearly"))


@pytest.mark.parametrize(("kind", "cut", "back"), [("first", "B1", "J2"), ("yearly", "Y2", "Y8")])
def test_another_feed_opened_for_the_visit_is_put_back(kind, cut, back):
    by_id = {node.id: node for node in plan(station(UP), kind).nodes}
    assert "other_feed" in by_id[cut].opens
    assert "other_feed" in by_id[back].restores
    assert "J2.other_feed" in [message.id for message in by_id[back].do]
    alone = plan(station(UP, block("zone", other_feed="no")), kind)
    assert not any("other_feed" in (*node.opens, *node.restores) for node in alone.nodes)


@pytest.mark.source(
    kind="analytic", ref="largest point is the least of fire flow and what the drain lets off"
)
def test_the_flow_test_goes_up_to_the_fire_flow_or_says_that_it_is_not_proved():
    small = work_out(station(UP, block("demand", fire="5 L/s", peak="4 L/s")), "first", samples=20)
    assert small.flow_points[-1] == pytest.approx(0.005)
    assert "NUM-09" not in {finding.code for finding in small.findings}
    of = station(UP, block("demand", fire="300 L/s"))
    large = work_out(of, "first", samples=20)
    assert large.flow_points[-1] < 0.3
    told = next(finding for finding in large.findings if finding.code == "NUM-09")
    assert told.severity is Severity.HEED
    made = build(of, "first", "", large)
    assert "NUM-09" in {note.id for note in made.notes}
    assert "H4.fire_short" in [m.id for node in made.nodes if node.id == "H4" for m in node.do]
    proved = build(station(UP, block("demand", fire="5 L/s", peak="4 L/s")), "first", "", small)
    assert "H4.fire" in [m.id for node in proved.nodes if node.id == "H4" for m in node.do]


def test_above_a_shut_relief_valve_the_consumer_side_is_watched_at_every_raise():
    of = relief_beside(pump)
    for kind, runs in (("first", ("ES3.SO", "F1.SO", "F3.SO")), ("yearly", ("Y4.SO", "Y6.SO"))):
        by_id = {node.id: node for node in plan(of, kind).nodes}
        for run in runs:
            assert "R3.watch" in [message.id for message in by_id[run].do], run
            assert {"T4.first", "T4.last"} <= {one.name for one in by_id[run].inputs}, run
    plain = {node.id: node for node in plan(station(UP, pump)).nodes}
    assert "R3.watch" not in [message.id for message in plain["F1.SO"].do]


def test_the_yearly_visit_reads_the_first_of_two_reducers_at_its_own_tap():
    found = step(pair_upstream(), "Y3", "yearly")
    taps = {one.name: one.tap for one in found.inputs}
    assert taps["stage.trickle"] == taps["stage.lockup"] == "T2"
    assert {"stage.trickle", "stage.lockup"} <= {one.input for one in found.expect}
    assert {"RV1.as_found", "RV2.as_found"} <= set(found.proves)


def test_a_metered_drain_is_read_by_its_meter():
    of = station(UP, setting("TD", metered="yes"))
    flow = next(one for one in step(of, "H1.RV").inputs if one.name == "flow")
    assert flow.instrument == "meter"


@pytest.mark.source(
    kind="analytic", ref="water running out into open air stands at no less than air pressure"
)
def test_an_open_drain_is_never_expected_below_air_pressure():
    bands = work_out(direct_acting(block("demand", peak="40 L/s")), "first", samples=60).bands
    gauge = 0.2e5
    assert all(band.low > -gauge for key, band in bands.items() if key.startswith("v2_drain"))


@pytest.mark.source(
    kind="analytic", ref="leak = V beta dp / t of a full section; from the figures of the plan"
)
def test_a_stiff_section_that_falls_is_a_leak_only_where_its_wall_has_not_cooled():
    of = station(UP, pump, block("demand", zero_possible="yes"))
    found = step(of, "D2")
    said = {message.id: message for message in found.do}
    assert said["D2.stiff"].params["fall_leak"].si == pytest.approx(0.05e5 * 1e-10 / 600.0)
    groups = [one.see.id for one in found.otherwise]
    assert groups.index("D2.cools.see") < groups.index("D2.falls.see")
    assert "D2.leaks.see" not in groups


def test_a_gauge_for_setting_below_the_inlet_is_named_where_gauges_are_checked():
    weak = station(UP, block("supply", static="13 bar", night="12 bar"))
    for kind, where in (("first", "A6"), ("yearly", "Y1")):
        assert "A6.low_span" in [message.id for message in step(weak, where, kind).do]
        fine = station(UP, block("supply", typical="8.8 bar", night="9.3 bar", static="9.9 bar"))
        assert "A6.low_span" not in [message.id for message in step(fine, where, kind).do]


@pytest.mark.source(kind="analytic", ref="two drains to one place: 6 m3 + 6 m3 over 10 m3")
def test_water_let_off_to_one_place_is_summed_over_its_drains():
    drain = {"part": "drain", "id": "SD", "size": "DN 50", "runs_to": "ditch", "allowed": "10 m³"}
    of = station(UP, after("T1", drain), setting("TD", runs_to="Ditch", allowed="10 m³"))
    uses = (DrainUse("B3", "SD", 0.01, 600.0), DrainUse("H4", "TD", 0.01, 600.0))
    (told,) = over_permit(uses, of.parts())
    assert told.params["drain"] == "SD and TD"
    assert told.value is not None
    assert told.value.si == pytest.approx(12.0)
    apart = station(UP, after("T1", {**drain, "runs_to": "sewer"}), setting("TD", allowed="10 m³"))
    assert over_permit(uses, apart.parts()) == ()


def test_where_the_twin_tells_trickle_from_duty_by_nothing_the_step_says_what_decides():
    of = station(UP)
    reading = {**numbers(of).target_reading, "duty.T3": 4.0e5, "trickle.T3": 4.0e5, "lockup.T3": 4.13e5}
    near = build(of, "first", "", replace(numbers(of), target_reading=reading))
    assert "H1.between" in [m.id for node in near.nodes if node.id == "H1.RV" for m in node.do]
    apart = build(of, "first", "", replace(numbers(of), target_reading={**reading, "trickle.T3": 4.08e5}))
    assert "H1.between" not in [m.id for node in apart.nodes if node.id == "H1.RV" for m in node.do]


def test_a_setting_gauge_below_the_inlet_is_cautioned_at_every_step_that_reads_it_with_the_inlet_open():
    weak = station(UP, block("supply", static="13 bar", night="12 bar"))
    for kind in ("first", "yearly"):
        for node in plan(weak, kind).nodes:
            read = any(one.instrument == "setting gauge" for one in node.inputs)
            told = "hz.short_gauge" in [hazard.caution.id for hazard in node.hazards]
            assert told == (read and node.id not in ("D2", "Y2")), node.id
    fine = station(UP, block("supply", typical="8.8 bar", night="9.3 bar", static="9.9 bar"))
    assert "hz.short_gauge" not in [h.caution.id for n in plan(fine).nodes for h in n.hazards]
