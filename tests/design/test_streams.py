"""Streams beside each other: what the finding says is what the twin does."""

from __future__ import annotations

import json

import pytest

from steadyhead.design.basis import Basis
from steadyhead.design.ladder import chosen
from steadyhead.design.layout_checks import is_covered
from steadyhead.design.patching import changed
from steadyhead.design.sheet import judge, to_json
from steadyhead.design.ways import ways_of
from steadyhead.findings import Finding, Severity, tell
from steadyhead.hydraulics import build, solve
from steadyhead.hydraulics.sequence import Step, read_sequence
from steadyhead.records.station import Station
from steadyhead.records.steady import Conditions
from tests.design.stations import (
    UPSTREAM,
    Edit,
    branch,
    data_of,
    in_branch,
    limit,
    part,
    section,
    station_of,
    top,
)
from tests.design.test_sheet import units_changed
from tests.design.way_stations import FIELD, MONITORED, PLANT, STAGED
from tests.hydraulics import streams

BAR = 1e5
TRIPS = {"SOA": 5.65 * BAR, "SOB": 5.85 * BAR}
CHECK = {"part": "check_valve", "size": "DN 50"}


def found(name: str, *edits: Edit) -> dict[str, Finding]:
    return {one.code: one for one in judge(station_of(name, *edits)).findings}


def tripped_by(failing: str) -> tuple[frozenset[str], frozenset[str]]:
    """Which shut-offs a failing reducer trips when it is pushed open slowly: the first of them, and all."""
    model = build(station_of(PLANT))
    first: frozenset[str] = frozenset()
    reading = None
    lifts = [0.02 * step for step in range(1, 51)]
    steps = [
        Step(Conditions(supply_pressure=13.5 * BAR, consumer_kv=0.4, forced_lift={failing: lift}), TRIPS)
        for lift in lifts
    ]
    for reading in read_sequence(model, steps):
        first = first or reading.tripped
    assert reading is not None
    return first, reading.tripped


@pytest.mark.source(kind="independent", ref="steady twin of the whole station, shut-offs acting in sequence")
def test_a_failing_duty_stream_trips_alone_and_a_failing_standby_takes_the_healthy_one_along():
    assert tripped_by("RVA") == (frozenset({"SOA"}), frozenset({"SOA"}))
    first, both = tripped_by("RVB")
    assert "SOA" in first
    assert both == {"SOA", "SOB"}
    told = found(PLANT)["LAD-44"]
    assert (told.params["failing"], told.params["first"]) == ("RVB", "SOA")


@pytest.mark.source(kind="analytic", ref="sum of repeatability and drift of both, the gauge cancels")
@pytest.mark.parametrize(("trip", "close"), [("6.00 bar", True), ("6.02 bar", False)])
def test_trips_are_too_close_below_their_scatter_together(trip, close):
    assert ("LAD-43" in found(PLANT, part("SOB", trip=trip))) is close  # 2 · (0.10 + 0.08) = 0.36


def test_a_gauge_for_each_trip_adds_to_the_scatter():
    edits = (part("SOB", trip="6.02 bar"), top(tolerances={"gap": "0.10 bar", "same_gauge": "no"}))
    assert "LAD-43" in found(PLANT, *edits)


def test_check_valves_behind_the_sensing_taps_keep_the_streams_apart():
    edits = [in_branch(role, 7, CHECK | {"id": f"CV{role}"}) for role in ("duty", "standby")]
    codes = found(PLANT, *edits).keys()
    assert not codes & {"LAD-43", "LAD-44", "LAY-36"}


@pytest.mark.source(kind="analytic", ref="repeatability of the duty stream 0.08 bar, droop by the twin")
@pytest.mark.parametrize(("duty", "near"), [("4.75 bar", True), ("4.60 bar", False)])
def test_a_standby_stream_must_be_set_lower_by_repeatability_and_droop(duty, near):
    edit = part("RVB", duty={"pressure": duty, "flow": "0.4 L/s"}, lockup=None)
    assert ("LAD-45" in found(PLANT, edit)) is near


def test_a_standby_stream_locked_shut_does_not_count():
    sheet = judge(station_of(PLANT, branch("duty", locked_shut="yes")))
    assert sheet.streams[1].ladder.inputs.lockup == pytest.approx(4.6 * BAR)
    codes = {one.code for one in sheet.findings}
    assert "LAY-34" in codes
    assert "LAD-43" not in codes


def test_the_ladder_of_the_sheet_is_the_narrowest():
    sheet = judge(station_of(PLANT))
    widths = [chosen(stream.ladder, sheet.stacking).width for stream in sheet.streams]
    assert sheet.ladder is sheet.streams[1].ladder
    assert widths[1] == min(widths)  # type: ignore[type-var]


def test_what_all_ways_share_is_told_once_and_the_rest_with_its_way():
    told = judge(station_of(PLANT)).findings
    keys = [(one.code, one.subject, one.value_hash) for one in told]
    assert len(keys) == len(set(keys))
    assert sum(one.code == "LAD-56" for one in told) == 1
    assert {one.case.split(",")[0] for one in told if one.code == "LAD-09"} == {
        "duty stream", "standby stream",
    }  # fmt: skip


def test_remedies_of_a_stream_open_its_window_when_applied_to_the_whole_file():
    weak = limit(1, component="filter bowl", fault="5.2 bar", normal="5.2 bar")
    edits = (weak, top(stacking="worst case"))
    station = station_of(PLANT, *edits)
    checked = 0
    for stream in judge(station).streams:
        assert chosen(stream.ladder, station.stacking).verdict == "empty"
        assert stream.remedies
        for remedy in stream.remedies:
            again = judge(changed(data_of(PLANT, *edits), remedy.patches))
            same = next(one for one in again.streams if one.stream == stream.stream)
            assert chosen(same.ladder, again.stacking).verdict == "open", remedy.words
            checked += 1
    assert checked > 3


def test_lowering_a_duty_beside_one_that_leads_lowers_both():
    edits = (limit(1, fault="5.2 bar", normal="5.2 bar"), top(stacking="worst case"))
    sheet = judge(station_of(PLANT, *edits))
    words = [r.words for r in sheet.streams[1].remedies if "duty" in r.kinds]
    assert not words or all("RVA" in one and "RVB" in one for one in words)


@pytest.mark.source(kind="independent", ref="steady twin of the whole station just below and above")
def test_at_a_handover_the_main_reducer_starts_to_carry():
    station = station_of(FIELD)
    sheet, model = judge(station), build(station)
    later = sheet.handovers[1]
    supply = station.supply.typical.si
    shares = []
    for factor in (0.9, 1.1):
        flow = factor * later.flow
        shares.append(solve(model, Conditions(supply, consumer_flow=flow)).valves["RV2"].flow / flow)
    assert shares[0] < 0.01 < shares[1]


def test_two_equal_settings_and_a_reversed_lead_are_told_apart():
    def low(duty: str, lockup: str) -> Edit:
        return part("LB", duty={"pressure": duty, "flow": "60 gpm"}, lockup=lockup)

    assert "LAD-47" in found(FIELD, low("65 psi", "68 psi"))
    assert "LAD-48" in found(FIELD, low("60 psi", "63 psi"))
    assert not found(FIELD, low("70 psi", "73 psi")).keys() & {"LAD-46", "LAD-47", "LAD-48"}


def test_a_shared_shut_off_is_judged_at_its_worst_way():
    sheet = judge(station_of(FIELD, part("SO", trip="60 psi")))
    assert sum(one.code == "LAD-06" for one in sheet.findings) == 1
    assert [stream.shut_off for stream in sheet.streams] == ["SO", "SO"]


def test_a_stream_on_its_own_is_judged_as_a_station_of_that_line():
    station = station_of(PLANT)
    duty = ways_of(station)[0]
    alone = judge(duty.station)
    assert alone.ladder is not None
    stream = judge(station).streams[0]
    assert stream.ladder.worst_case == alone.ladder.worst_case


def test_a_station_of_one_way_is_judged_as_itself():
    (only,) = ways_of(station_of(UPSTREAM))
    assert isinstance(only, Basis)
    assert only.whole is None
    assert is_covered(only)
    assert judge(station_of(UPSTREAM)).streams == ()


def test_a_self_resetting_shut_off_that_the_other_stream_lets_reopen_is_told():
    told = found(PLANT, part("SOA", resets="by itself", dead_band="0.3 bar"))
    assert told["LAD-51"].severity is Severity.HEED
    assert "LAD-51" not in found(PLANT, part("SOA", resets="by itself", dead_band="1.4 bar"))


def test_two_stages_under_a_shut_off_fail_one_at_a_time():
    sheet = judge(station_of(STAGED))
    assert sheet.ladder is not None
    assert "both stages go open together" in " ".join(sheet.ladder.not_covered)
    between = max(peak.peak or 0.0 for peak in sheet.ladder.peaks)
    assert between < station_of(STAGED).supply.min.si


def _odd() -> dict[str, Station]:
    duty = streams.stream("a", "duty", "4 bar", "5.1 bar")
    standby = streams.stream("b", "standby", "3.7 bar", "5.4 bar")
    third = streams.stream("c", "standby", "3.4 bar", "5.6 bar")
    small = {"id": "lb", "role": "low flow", "line": [streams.direct("LB", "T3", "4.25 bar")]}
    bypass = {"id": "by", "role": "manual bypass", "line": [streams.valve("BV")]}
    inner = {"part": "parallel", "id": "IN", "branches": [duty, standby]}
    empty = {"id": "e", "role": "standby", "line": [streams.valve("X")]}
    other = {"id": "bz", "role": "manual bypass", "line": [streams.valve("BZ")]}
    return {
        "nested": streams.loaded(streams.line_with([{"id": "o", "line": [inner]}, small, bypass])),
        "three": streams.loaded(streams.line_with([duty, standby, third])),
        "a branch without valves": streams.loaded(streams.line_with([duty, empty])),
        "bypasses only": streams.loaded(streams.line_with([bypass, other])),
        "one duty branch": streams.loaded(streams.line_with([duty, bypass])),
    }


@pytest.mark.parametrize(("name", "covered"), [
    ("nested", True), ("three", True), ("a branch without valves", False), ("bypasses only", False),
    ("one duty branch", True),
])  # fmt: skip
def test_odd_groups_of_branches_are_judged_or_refused_with_a_finding(name, covered):
    sheet = judge(_odd()[name])
    assert (sheet.ladder is not None) is covered
    assert any(one.code == "LAY-01" for one in sheet.findings) is not covered
    assert json.dumps(to_json(sheet), allow_nan=False)
    for one in sheet.findings:
        tell(one)


def test_fire_water_past_a_shut_off_is_settled_only_with_the_authority_that_decided():
    edit = section("station", fire_water="yes")
    asked = found(FIELD, edit)["LAY-26"]
    assert asked.severity is Severity.ASK
    given = {
        "to": asked.code,
        "at": asked.subject,
        "value": asked.value_hash,
        "answer": "allowed",
        "by": "P. Ould",
    }
    assert found(FIELD, edit, top(answers=[given]))["LAY-26"].severity is Severity.ASK
    decided = {"authority": "Mesquill fire district, letter 7", "decided": "2026-02-11"}
    assert found(FIELD, edit, top(answers=[given | decided]))["LAY-26"].severity is Severity.ASK
    full = given | decided | {"shut_off": "allowed"}
    settled = found(FIELD, edit, top(answers=[full]))["LAY-26"]
    assert settled.severity is Severity.NOTE
    assert "decided by Mesquill fire district, letter 7, on 2026-02-11" in tell(settled).answer


@pytest.mark.parametrize("name", [PLANT, MONITORED])
def test_streams_in_us_units_are_judged_as_the_metric_ones(name):
    metric, us = judge(station_of(name)), judge(station_of(name, units_changed))
    assert [(f.code, f.severity) for f in us.findings] == [(f.code, f.severity) for f in metric.findings]
    assert metric.ladder is not None
    assert us.ladder is not None
    assert us.ladder.worst_case.lowest == pytest.approx(metric.ladder.worst_case.lowest, rel=1e-6)


def test_equal_trips_of_two_streams_forbid_a_release_until_answered():
    equal = found(PLANT, part("SOB", trip="5.65 bar"))
    assert equal["LAD-43"].severity is Severity.ASK
    assert found(PLANT)["LAD-43"].severity is Severity.HEED


def test_a_standby_that_trips_before_the_duty_stream_is_asked_about():
    reversed_trips = found(PLANT, part("SOA", trip="5.85 bar"), part("SOB", trip="5.65 bar"))
    told = reversed_trips["LAD-44"]
    assert told.severity is Severity.ASK
    assert (told.params["failing"], told.params["first"]) == ("RVA", "SOB")
    assert found(PLANT)["LAD-44"].severity is Severity.HEED


def test_a_monitor_that_stands_by_wide_open_is_not_told_that_it_cannot_hold():
    sheet = judge(station_of(MONITORED))
    monitor = next(one for one in sheet.reducers if one.reducer == "MON")
    assert any(case.state == "wide open" for case in monitor.cases)
    assert not [f for f in sheet.findings if f.code == "SIZ-04" and f.params["reducer"] == "MON"]
    starved = judge(station_of(MONITORED, section("supply", min="4.55 bar")))
    assert {f.params["reducer"] for f in starved.findings if f.code == "SIZ-04"} == {"RV"}


def test_an_alarm_above_what_the_monitor_holds_is_told_and_one_below_it_is_not():
    late = found(MONITORED, top(alarm={"pressure": "5.0 bar", "error": "0.05 bar"}))["LAD-78"]
    assert late.limit is not None
    assert late.value is not None
    assert late.value.si == pytest.approx(5.05e5)
    assert late.limit.si < 5.2e5
    assert "LAD-78" not in found(MONITORED, top(alarm={"pressure": "4.85 bar", "error": "0.05 bar"}))


@pytest.mark.parametrize("name", [PLANT, FIELD, MONITORED, STAGED])
def test_cavitation_is_judged_only_where_water_passes(name):
    sheet = judge(station_of(name))
    for sizing in sheet.reducers:
        for case in sizing.cases:
            words = f"{case.inlet_case} inlet pressure, {case.flow_case} flow"
            if case.state not in ("shut", "lock-up"):
                continue
            assert not [
                f
                for f in sheet.findings
                if f.code in ("SIZ-09", "SIZ-10", "SIZ-11")
                and f.params["reducer"] == sizing.reducer
                and f.case.endswith(words)
            ]


def test_a_reducer_that_senses_beyond_its_isolating_valve_is_told_once():
    told = [f for f in judge(station_of(FIELD)).findings if f.code == "LAY-42"]
    assert sorted((f.params["reducer"], f.params["valve"]) for f in told) == [("LB", "IVL2"), ("RV2", "IVM2")]
    assert "LAY-42" not in found(PLANT)


def test_a_fire_main_without_a_shut_off_asks_the_authority_and_other_stations_do_not():
    edit = section("station", kind="fire main")
    asked = found(MONITORED, edit)["LAY-43"]
    assert asked.severity is Severity.ASK
    assert "LAY-26" not in found(MONITORED, edit)
    assert "LAY-43" not in found(MONITORED)
    assert "LAY-43" not in found(MONITORED, section("station", fire_water="yes"))
    assert "LAY-43" not in found(FIELD, edit)


@pytest.mark.parametrize("edit", [section("station", fire_water="yes"), section("demand", fire="9 L/s")])
def test_any_fire_demand_through_a_shut_off_is_asked_about(edit):
    assert found(PLANT, edit)["LAY-26"].severity is Severity.ASK
