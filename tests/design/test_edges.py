"""Corners of the room that no story passes through."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from steadyhead.design import credit
from steadyhead.design.basis import Basis
from steadyhead.design.causes import common_causes, duration_words
from steadyhead.design.chain import inlet_before
from steadyhead.design.export import plain
from steadyhead.design.ladder_checks import _cures, _middle
from steadyhead.design.overshoot import run
from steadyhead.design.patching import changed, changed_quickly, quantity_patch
from steadyhead.design.report import finding
from steadyhead.design.rungs import rungs
from steadyhead.design.sheet import judge, to_json
from steadyhead.design.steps import stairs
from steadyhead.design.surge import sudden_stop
from steadyhead.design.twin import SteadyTwin
from steadyhead.errors import NotConverged
from steadyhead.findings import Input, Severity
from steadyhead.records.design import Patch
from tests.design.stations import (
    ALONE,
    DOWNSTREAM,
    SERIES,
    UPSTREAM,
    Data,
    limit,
    part,
    section,
    station_of,
    top,
)
from tests.design.test_overshoot import handbook_case


def basis_of(name: str, *edits: Any) -> Basis:
    station = station_of(name, *edits)
    return Basis(station, SteadyTwin(station))


def codes(name: str, *edits: Any) -> list[str]:
    return [one.code for one in judge(station_of(name, *edits)).findings]


def with_meter(data: Data) -> None:
    data["line"].insert(3, {"part": "flow_meter", "id": "FM", "size": "DN 150"})


def test_a_frozen_chamber_is_a_common_cause():
    assert any(
        "frozen" in words
        for words in common_causes(basis_of(UPSTREAM, section("station", hazards=["frost"])))
    )


def test_a_spring_closed_shut_off_keeps_its_torn_diaphragm_off_the_list():
    ladder = judge(station_of(UPSTREAM, part("SO", closes_by="spring"))).ladder
    assert ladder is not None
    assert not any("torn" in words for words in ladder.not_covered)


@pytest.mark.parametrize(
    ("seconds", "words"), [(1.25, "1.2 s"), (110.0, "110 s"), (600.0, "10 min"), (7200.0, "2 h")]
)
def test_durations_are_said_in_two_figures(seconds, words):
    assert duration_words(seconds) == words


def test_a_supply_stated_at_the_head_of_its_main_loses_friction_on_the_way():
    here, head = basis_of(UPSTREAM), basis_of(UPSTREAM, section("supply", stated_at="head of main"))
    flow = 18e-3
    lost = inlet_before(here, here.layout.reducers[0], flow, "lowest") - inlet_before(
        head, head.layout.reducers[0], flow, "lowest"
    )
    assert lost == pytest.approx(credit.main_drop(here, flow))
    twin = head.twin.steady("peak", "lowest").valves["RV"].inlet_pressure
    assert inlet_before(head, head.layout.reducers[0], flow, "lowest") == pytest.approx(twin, abs=50.0)
    cases = [
        credit.zone_case(b, within=2.0, at="average flow", trip=5.2e5, closing_time=6.0) for b in (here, head)
    ]
    assert cases[0] is not None
    assert cases[1] is not None
    assert cases[0].supply_pressure > cases[1].supply_pressure


def test_a_flow_meter_takes_its_loss_and_names_its_default():
    metered = judge(station_of(UPSTREAM, with_meter))
    assert any("FM" in one.where for one in metered.defaults)
    basis = basis_of(UPSTREAM, with_meter)
    assert inlet_before(basis, basis.layout.reducers[0], 0.018, "lowest") < inlet_before(
        basis_of(UPSTREAM), basis.layout.reducers[0], 0.018, "lowest"
    )


def test_the_second_reducer_never_sees_more_than_the_first_lets_through():
    basis = basis_of(SERIES)
    first, second = basis.layout.reducers
    assert inlet_before(basis, second, 0.0, "static") == first.duty.pressure.si


def test_a_zone_of_no_volume_counts_as_not_known():
    assert "LAD-12" in codes(UPSTREAM, section("zone", volume="0 m³"))


def test_a_hopeless_closing_time_has_no_longest():
    basis = basis_of(UPSTREAM)
    assert credit.longest_closing(basis, trip=5.2e5, room=-1.0, stated=6.0) is None
    assert credit.longest_closing(basis, trip=5.2e5, room=1e7, stated=6.0) == 60.0
    assert credit.slowest_uncovered(basis, trip=5.2e5, closing_time=6.0, room=-1.0) is None
    no_zone = basis_of(UPSTREAM, top(zone=None))
    assert credit.slowest_uncovered(no_zone, trip=5.2e5, closing_time=6.0, room=1e5) is None


def test_a_start_above_the_trip_trips_at_once():
    case = replace(handbook_case(within=2.0, demand=9e-3, dead=0.5, closing=5.6), start_pressure=5.5e5)
    result = run(case)
    assert result.trips
    assert result.trip_time == 0.0


def test_a_supply_below_the_outlet_moves_nothing():
    case = replace(handbook_case(within=2.0, demand=9e-3, dead=0.5, closing=5.6), supply_pressure=3.0e5)
    assert not run(case).trips


def test_a_slow_approach_to_the_trip_after_the_ramp_is_waited_for():
    case = handbook_case(within=0.5, demand=0.0, dead=0.5, closing=5.6)
    case = replace(case, supply_pressure=5.2e5, compliance=case.compliance * 1e4)
    result = run(case)
    assert result.trips
    assert result.trip_time > 100.0


def test_a_shut_off_that_senses_the_inlet_is_refused():
    refused = next(
        one for one in judge(station_of(UPSTREAM, part("SO", senses="T1"))).findings if one.code == "LAY-02"
    )
    assert refused.params["where"] == "on the inlet"


def test_a_reducer_alone_or_two_without_limits_have_no_failure_verdict():
    for name in (ALONE, SERIES):
        found = codes(name, top(limits=None))
        assert "LAD-01" in found
        assert not {"LAD-29", "LAD-30", "LAD-31", "LAD-32", "LAD-33"} & set(found)


def test_a_good_gauge_that_is_not_marked_is_named_beside_the_coarse_one():
    gauges = [
        {"id": "TG-1", "span": "16 bar", "accuracy": "1.6 %", "for_setting": "yes"},
        {"id": "TG-2", "span": "10 bar", "accuracy": "0.6 %"},
    ]
    told = next(
        one for one in judge(station_of(UPSTREAM, top(gauges=gauges))).findings if one.code == "SIZ-17"
    )
    assert "TG-2" in str(told.params["named"])


def test_a_trip_outside_its_spring_cannot_be_set():
    spring = {"spring_low": "6 bar", "spring_high": "12 bar"}
    found = [
        one for one in judge(station_of(UPSTREAM, part("SO", pilot=spring))).findings if one.code == "SIZ-12"
    ]
    assert [one.params["valve"] for one in found] == ["SO"]


def test_a_stated_wave_speed_is_used_and_a_wall_of_nothing_is_not():
    stated = sudden_stop(
        basis_of(UPSTREAM, lambda data: data["supply"]["main"].update(wave_speed="1000 m/s")), 0.01
    )
    assert stated is not None
    assert stated.wave_speed == 1000.0
    thin = sudden_stop(basis_of(UPSTREAM, lambda data: data["supply"]["main"].update(wall="0 mm")), 0.01)
    assert thin is not None
    assert 900.0 < thin.wave_speed < 1450.0


def test_tolerated_hunting_raises_highest_normal():
    calm, hunting = (
        judge(station_of(UPSTREAM, *edit)).ladder for edit in ((), (top(tolerances={"hunting": "0.2 bar"}),))
    )
    assert calm is not None
    assert hunting is not None
    assert hunting.highest_normal == pytest.approx(calm.highest_normal + 0.2e5)


def test_a_night_without_flow_needs_no_valve_at_all():
    sizing = judge(station_of(UPSTREAM, section("demand", night="0 L/s"))).reducers[0]
    assert next(one for one in sizing.cases if one.flow_case == "night").required_kv == 0.0


def test_defaults_of_alarm_and_demand_are_listed():
    found = judge(
        station_of(UPSTREAM, section("alarm", error=None), section("demand", exponent=None))
    ).defaults
    assert {"alarm.error", "demand.exponent"} <= {one.where for one in found}


class BrokenTwin(SteadyTwin):
    """A twin whose design settings could not be worked out."""

    def __init__(self, station: Any) -> None:
        super().__init__(station)
        self.problem = "duty of RV: not converged."


@pytest.mark.parametrize(("lockup", "bar"), [("4.25 bar", 4.25), (None, 4.2)])
def test_without_design_settings_lockup_is_stated_or_duty_and_the_usual_rise(lockup, bar, monkeypatch):
    monkeypatch.setattr("steadyhead.design.ways.SteadyTwin", BrokenTwin)
    sheet = judge(station_of(UPSTREAM, part("RV", lockup=lockup)))
    assert sheet.ladder is not None
    assert sheet.ladder.inputs.lockup == pytest.approx(bar * 1e5)
    asked = next(one for one in sheet.findings if one.code == "LAD-34")
    assert asked.severity is Severity.ASK


def test_a_duty_the_twin_cannot_reach_falls_back_to_the_plain_model(monkeypatch):
    def fails(station: Any) -> Any:
        raise NotConverged("duty of RV", 3.0, "Pa", 30)

    monkeypatch.setattr("steadyhead.design.twin.build", fails)
    twin = SteadyTwin(station_of(UPSTREAM))
    assert "not converged" in twin.problem
    assert twin.steady("average", "typical").flow > 0.0


def test_a_case_without_an_answer_is_asked_about_once_for_all_cases():
    found = [
        one
        for one in judge(station_of(UPSTREAM, part("RV", mechanics={"proportional_band": "0 bar"}))).findings
        if one.code == "LAD-34"
    ]
    assert len([one for one in found if ";" in one.case]) == 1


def test_quick_and_full_reading_of_a_change_agree():
    basis = basis_of(UPSTREAM, limit(0, fault="8 bar"))
    for steps in stairs(basis, rungs(basis)):
        patches = steps[-1].patches
        quick, full = changed_quickly(basis.station, basis.data, patches), changed(basis.data, patches)
        assert quick.model_dump(mode="json") == full.model_dump(mode="json")


def test_a_value_written_with_its_source_keeps_the_source():
    sourced = part("SO", closing={"time": {"value": "6 s", "source": "stopwatch"}, "flow": "0.4 L/s"})
    basis = basis_of(UPSTREAM, sourced)
    patch = quantity_patch(basis.data, ("line", 4, "closing", "time"), "3 s")
    assert patch == Patch(("line", 4, "closing", "time", "value"), "3 s")
    changed_part: Any = changed(basis.data, (patch,)).line[4]
    assert changed_part.closing.time.source == "stopwatch"


def test_an_entry_can_be_added_at_the_end_of_a_list():
    basis = basis_of(UPSTREAM)
    entry = {"id": "TG-3", "span": "10 bar", "accuracy": "0.25 %"}
    assert changed(basis.data, (Patch(("gauges", 2), entry),)).gauges[2].id == "TG-3"


def test_steps_that_do_not_fit_a_station_are_left_out():
    bare = basis_of(
        UPSTREAM,
        top(needs=None, limits=None, gauges=None),
        part("SO", repeatability="0.1 bar", drift="0.1 bar", closing=None),
        part("RV", repeatability="0.1 bar", drift="0.1 bar"),
    )
    kinds = {steps[0].kind for steps in stairs(bare, rungs(bare))}
    assert kinds == {"stacking", "gauge", "closing"}


def test_no_remedy_and_pairs_are_said_in_their_own_words():
    assert _cures(()).startswith("No practical change")
    basis = basis_of(DOWNSTREAM)
    window = rungs(basis).ladder.worst_case
    assert _middle(replace(window, highest=None)) == "not known"


def test_a_margin_needs_value_and_limit_of_one_kind():
    from steadyhead.design.report import pressure, seconds

    assert finding("LAD-16", "x", Severity.HEED, value=pressure(1.0), limit=seconds(1.0)).margin is None
    margin = finding("LAD-16", "x", Severity.HEED, value=seconds(1.0), limit=seconds(3.0)).margin
    assert margin is not None
    assert margin.si == 2.0


def test_what_has_no_place_in_a_sheet_is_refused():
    with pytest.raises(TypeError, match="SimpleNamespace has no place"):
        plain(SimpleNamespace())
    assert plain(Severity.STOP) == "stop"


def test_an_answer_in_words_is_kept_in_the_json():
    question = next(
        one for one in judge(station_of(UPSTREAM, top(credited=None))).findings if one.code == "LAD-10"
    )
    answer = {
        "to": "LAD-10",
        "at": question.subject,
        "value": question.value_hash,
        "answer": "slow only",
        "by": "T. Oduya",
        "until": "2028-03-31",
    }
    found: Any = to_json(judge(station_of(UPSTREAM, top(credited=None, answers=[answer]))))
    kept = next(one for one in found["findings"] if one["code"] == "LAD-10")["inputs"][-1]
    assert kept == {"label": "answer", "value": "slow only", "provenance": "T. Oduya, until 2028-03-31"}
    assert Input("answer", "slow only").amount == "slow only"
