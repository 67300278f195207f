from __future__ import annotations

import json
from typing import Any

import pytest

from steadyhead.design.sheet import judge, to_json
from steadyhead.findings import Severity
from steadyhead.hydraulics import build, solve
from steadyhead.records.design import DesignSheet
from steadyhead.records.station import Station
from steadyhead.records.steady import Conditions
from tests.design.stations import (
    ALONE,
    DOWNSTREAM,
    EXAMPLES,
    SERIES,
    UPSTREAM,
    Data,
    data_of,
    limit,
    part,
    section,
    station_of,
    top,
)


def codes(sheet: DesignSheet) -> set[str]:
    return {one.code for one in sheet.findings}


def severity(sheet: DesignSheet, code: str) -> Severity:
    return next(one.severity for one in sheet.findings if one.code == code)


def turned_round(data: Data) -> None:
    """The downstream example with the shut-off moved ahead of the reducer; same parts, same taps."""
    by_id = {one["id"]: one for one in data["line"]}
    by_id["RV"]["senses"] = "T3"
    order = ["T0", "IV1", "ST", "T1", "SO", "T2", "TD2", "RV", "T3", "TD", "IV2", "T4"]
    data["line"] = [by_id[name] for name in order]


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_same_file_gives_the_same_sheet(name):
    first, second = (json.dumps(to_json(judge(station_of(name))), sort_keys=True) for _ in range(2))
    assert first == second


def zero_flow_outlet(station: Station) -> float:
    model = build(station)
    supply = station.supply.static.si
    running = solve(model, Conditions(supply_pressure=supply, consumer_flow=station.demand.night.si))
    return solve(model, Conditions(supply_pressure=supply, consumer_flow=0.0), running).taps["T3"]


@pytest.mark.source(
    kind="analytic", ref="agreement on words: lock-up is the twin's zero-flow outlet, no rise added again"
)
@pytest.mark.parametrize(
    "edit", [lambda data: None, turned_round], ids=["shut-off downstream", "shut-off upstream"]
)
def test_highest_normal_is_the_twins_zero_flow_outlet_and_tolerances_in_both_orders(edit):
    station = station_of(DOWNSTREAM, edit)
    ladder = judge(station).ladder
    assert ladder is not None
    adds = sum(one.size for one in ladder.inputs.highest_normal_adds)
    assert ladder.highest_normal == pytest.approx(zero_flow_outlet(station) + adds, abs=50.0)


def test_turning_the_order_round_leaves_highest_normal_where_it_is():
    here, turned = judge(station_of(DOWNSTREAM)).ladder, judge(station_of(DOWNSTREAM, turned_round)).ladder
    assert here is not None
    assert turned is not None
    assert turned.highest_normal == here.highest_normal


def test_a_layout_that_is_not_covered_gets_findings_and_no_ladder():
    def two(data: Data) -> None:
        data["line"].insert(4, dict(next(p for p in data["line"] if p["id"] == "SO"), id="SO2"))

    sheet = judge(station_of(UPSTREAM, two))
    assert sheet.ladder is None
    assert "LAY-01" in codes(sheet)
    assert not sheet.releasable


def test_a_shut_off_that_senses_between_the_valves_is_refused_with_the_reason():
    sheet = judge(station_of(DOWNSTREAM, part("SO", senses="T2")))
    refused = next(one for one in sheet.findings if one.code == "LAY-02")
    assert refused.severity is Severity.STOP
    assert refused.params["where"] == "between the valves"
    assert sheet.ladder is None


def test_a_shared_sensing_tap_strikes_the_sensing_line_from_what_is_credited():
    own, shared = (
        judge(station_of(UPSTREAM, part("SO", sensing_tap=how))).ladder
        for how in ("own", "shared with reducer")
    )
    assert own is not None
    assert shared is not None
    assert not any("sensing line shut" in words for words in own.not_covered)
    assert any("sensing line shut" in words for words in shared.not_covered)
    assert any("blind" in words for words in shared.common_causes)


def test_an_unknown_fault_limit_is_not_releasable_and_leaves_the_window_open_above():
    sheet = judge(station_of(UPSTREAM, lambda data: data.pop("limits")))
    assert severity(sheet, "LAD-01") is Severity.STOP
    assert sheet.ladder is not None
    assert sheet.ladder.worst_case.verdict == "not known"
    assert sheet.ladder.worst_case.lowest > 0.0


def test_a_trip_set_to_the_middle_of_the_window_lies_inside_when_read_again():
    for trip in ("4.4 bar", "5.9 bar", None):
        sheet = judge(station_of(UPSTREAM, part("SO", trip=trip)))
        code = "LAD-07" if trip is None else "LAD-06"
        middle = next(one.params["middle"] for one in sheet.findings if one.code == code)
        again = judge(station_of(UPSTREAM, part("SO", trip=f"{middle.si / 1e5:.3f} bar")))  # type: ignore[union-attr]
        assert again.ladder is not None
        assert again.ladder.worst_case.trip_inside is True
        assert not codes(again) & {"LAD-04", "LAD-06", "LAD-07", "LAD-08"}


def test_an_answered_question_becomes_a_note_and_comes_back_when_the_value_changes():
    asks = (limit(0, fault="8.2 bar"), top(stacking="root-sum-square"), part("SO", trip="4.7 bar"))
    sheet = judge(station_of(UPSTREAM, *asks))
    asked = next(one for one in sheet.findings if one.code == "LAD-05")
    assert asked.severity is Severity.ASK
    answer = {
        "to": asked.code,
        "at": asked.subject,
        "value": asked.value_hash,
        "answer": "decided",
        "by": "I. Marrow",
    }
    settled = judge(station_of(UPSTREAM, *asks, top(answers=[answer])))
    assert severity(settled, "LAD-05") is Severity.NOTE
    changed = judge(station_of(UPSTREAM, *asks, limit(0, fault="8.19 bar"), top(answers=[answer])))
    assert severity(changed, "LAD-05") is Severity.ASK


def test_a_stop_cannot_be_answered_away():
    wrong = part("SO", trip="5.9 bar")
    stop = next(one for one in judge(station_of(UPSTREAM, wrong)).findings if one.code == "LAD-06")
    answer = {
        "to": stop.code,
        "at": stop.subject,
        "value": stop.value_hash,
        "answer": "it will do",
        "by": "nobody",
    }
    assert severity(judge(station_of(UPSTREAM, wrong, top(answers=[answer]))), "LAD-06") is Severity.STOP


def test_without_a_shut_off_the_static_inlet_is_held_against_the_fault_limit():
    assert severity(judge(station_of(ALONE)), "LAD-30") is Severity.NOTE
    assert severity(judge(station_of(ALONE, limit(0, fault="7 bar"))), "LAD-29") is Severity.STOP


def test_two_reducers_cover_each_other_and_not_both():
    sheet = judge(station_of(SERIES))
    assert {"LAD-32", "LAD-33"} <= codes(sheet)
    assert sheet.ladder is not None
    assert "both reducers fail open" in sheet.ladder.not_covered


def test_the_shut_off_covers_failures_slower_than_the_time_it_names():
    ladder = judge(station_of(UPSTREAM)).ladder
    assert ladder is not None
    edge = ladder.covers_slower_than
    assert edge is not None
    limit_pa = ladder.inputs.fault_limit
    assert limit_pa is not None
    for factor, covered in ((1.02, True), (0.98, False)):
        credit = [
            {"failure": "reducer drifts open", "within": f"{edge * factor:.3f} s", "at": at}
            for at in ("night flow", "average flow")
        ]
        again = judge(station_of(UPSTREAM, top(credited=credit))).ladder
        assert again is not None
        assert all(peak.covered for peak in again.peaks if peak.credited) is covered


def units_changed(data: Data) -> None:
    """The same station said in US units."""
    pressures = {"bar": 14.503773773}
    flows = {"L/s": 15.850323141}
    lengths = {"m": 1 / 0.3048}

    def said(text: str) -> str:
        number, _, unit = text.partition(" ")
        try:
            value = float(number)
        except ValueError:
            return text
        for table, name in ((pressures, "psi"), (flows, "US gpm"), (lengths, "ft")):
            if unit in table:
                return f"{value * table[unit]!r} {name}"
        return text

    def walk(node: Any) -> Any:
        if isinstance(node, dict):
            return {
                key: walk(value) if key not in ("source", "notes", "name") else value
                for key, value in node.items()
            }
        if isinstance(node, list):
            return [walk(one) for one in node]
        return said(node) if isinstance(node, str) else node

    for key in list(data):
        data[key] = walk(data[key])


@pytest.mark.parametrize("name", [UPSTREAM, DOWNSTREAM, ALONE])
def test_a_file_in_us_units_is_judged_as_the_metric_one(name):
    metric, us = judge(station_of(name)), judge(station_of(name, units_changed))
    assert [(f.code, f.severity) for f in us.findings] == [(f.code, f.severity) for f in metric.findings]
    assert us.ladder is not None
    assert metric.ladder is not None
    assert us.ladder.worst_case.lowest == pytest.approx(metric.ladder.worst_case.lowest, rel=1e-6)
    if metric.ladder.worst_case.highest is not None:
        assert us.ladder.worst_case.highest == pytest.approx(metric.ladder.worst_case.highest, rel=1e-5)


@pytest.mark.parametrize("name", EXAMPLES)
def test_lifting_the_whole_station_changes_no_code(name):
    def lift(data: Data) -> None:
        def up(text: str) -> str:
            number, unit = text.rsplit(" ", 1)
            return f"{float(number.replace(' ', '')) + 100:g} {unit}"

        def raise_level(node: Any, key: str) -> None:
            value = node.get(key)
            if isinstance(value, dict):
                value["value"] = up(value["value"])
            elif value is not None:
                node[key] = up(value)

        raise_level(data["station"], "datum")
        for key in ("level", "lowest", "highest"):
            raise_level(data.get("zone", {}), key)
        for one in [*data.get("limits", []), *data.get("needs", [])]:
            raise_level(one, "level")

    here, high = judge(station_of(name)), judge(station_of(name, lift))
    assert [f.code for f in high.findings] == [f.code for f in here.findings]
    assert here.ladder is not None
    assert high.ladder is not None
    assert high.ladder.highest_normal == pytest.approx(here.ladder.highest_normal, abs=200.0)


def test_names_in_the_json_end_in_their_unit_and_numbers_have_nine_digits():
    found = to_json(judge(station_of(UPSTREAM)))
    ladder: Any = found["ladder"]
    assert {"highest_normal_pa", "covers_slower_than_s"} <= ladder.keys()
    assert ladder["inputs"]["trip_pa"] == 520000.0
    assert ladder["peaks"][0].keys() >= {"within_s", "closing_time_s", "overshoot_pa", "peak_pa"}
    reducers: Any = found["reducers"]
    assert reducers[0]["cases"][0].keys() >= {"flow_m3_s", "velocity_m_s", "required_kv_m3_h_bar", "sigma_1"}

    def numbers(node: Any) -> Any:
        if isinstance(node, dict):
            for value in node.values():
                yield from numbers(value)
        elif isinstance(node, list):
            for value in node:
                yield from numbers(value)
        elif isinstance(node, float):
            yield node

    assert all(float(f"{number:.9g}") == number for number in numbers(found))


def test_every_default_the_sheet_rests_on_says_where_it_comes_from():
    sheet = judge(station_of(UPSTREAM, part("SO", closing=None), top(credited=None, gauges=None)))
    assert len(sheet.defaults) > 20
    assert all(one.provenance for one in sheet.defaults)
    assert {"lockup pressure", "time in which a reducer drifts open, none credited"} <= {
        one.what for one in judge(station_of(ALONE)).defaults
    } | {one.what for one in sheet.defaults}


def test_a_supply_stated_below_the_datum_is_carried_up():
    lower = judge(station_of(ALONE, section("supply", level="8 m"))).ladder
    assert lower is not None
    here = next(one for one in judge(station_of(ALONE)).findings if one.code == "LAD-30").value
    below = next(
        one
        for one in judge(station_of(ALONE, section("supply", level="8 m"))).findings
        if one.code == "LAD-30"
    ).value
    assert here is not None
    assert below is not None
    assert here.si - below.si == pytest.approx(10.0 * 9.81 * 999.5, rel=1e-3)


def test_the_data_of_a_test_station_is_a_fresh_copy():
    data_of(UPSTREAM)["line"].clear()
    assert data_of(UPSTREAM)["line"]
