"""Random stations: a sound plan of every kind, or a refusal with its findings; never anything else."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steadyhead.findings import Severity, tell
from steadyhead.procedure.flaws import validate
from steadyhead.procedure.plain import from_json, to_json
from steadyhead.visits.feasibility import Refused, feasibility
from steadyhead.visits.items import names
from steadyhead.visits.plan import KINDS, build
from steadyhead.visits.text import render
from tests.visits import chain_stations
from tests.visits.plan_stations import LAYOUTS, numbers, part, station

A_SHARE = settings(max_examples=max(settings().max_examples // 3, 10))
"""Of the profile's examples: each is a whole plan."""
TAPS = ["T0", "T1", "T2", "T3", "T4"]
SHUT_OFF: dict[str, Any] = {
    "trip": [None, "4.6 bar", "5.2 bar", "7 bar"],
    "resets": ["by hand", "by itself"],
    "senses": ["T3", "T3", "T3", "T4", "T2", "T1"],
    "sensing_tap": ["own", "shared with reducer", "not known"],
    "closing_medium": ["own inlet", "station inlet", "not known"],
    "exhaust": ["atmosphere", "outlet", "not known"],
    "closes_by": ["line pressure", "spring", "weight", "not known"],
    "tell_tale": ["exhaust port", "chamber gauge", "stem leaves its stop", "none", "not known"],
    "limit_switch": [None, {"kind": "leaves open"}, {"kind": "reaches closed", "text": "SHUT"}],
    "live_trip": ["allowed", "allowed", "not allowed"],
    "chamber_feed": ["own filter", "shared filter"],
    "dead_band": [None, "0.4 bar"],
    "factory": [None, {"pressure": "5.2 bar", "sealed": "yes"}],
}
WHOLE = {
    "supply.min": ["3 bar", "5.5 bar", "7.2 bar"],
    "zone.other_feed": ["yes", "no"],
    "station.fire_water": ["yes", "no"],
    "station.kind": ["utility chamber", "building plant room", "irrigation"],
    "demand.zero_possible": ["yes", "no"],
    "equipment.hand_pump": ["yes", "no"],
}


def choose(draw, fields: dict[str, Any], into: dict[str, Any]) -> None:
    for name, options in fields.items():
        value = draw(st.sampled_from(options))
        if value is None:
            into.pop(name, None)
        else:
            into[name] = value


@st.composite
def changes(draw):
    def change(data: dict[str, Any]) -> None:
        for path, options in WHOLE.items():
            block, name = path.split(".")
            data[block][name] = draw(st.sampled_from(options))
        if draw(st.booleans()):
            data.pop("alarm", None)
        if draw(st.booleans()):
            data["gauges"] = data["gauges"][: draw(st.integers(0, 1))]
        for valve in ("IV1", "IV2"):
            part(data, valve)["tight"] = draw(st.sampled_from(["yes", "no", "not known"]))
            if draw(st.booleans()):
                part(data, valve).pop("turns", None)
        for one in data["line"]:
            if one["part"] == "shut_off":
                choose(draw, SHUT_OFF, one)
            if "pilot" in one and draw(st.booleans()):
                one["pilot"]["raises"] = draw(st.sampled_from(["clockwise", "anticlockwise"]))
            if one["part"] == "reducer":
                one["pilot"]["spring_high"] = draw(st.sampled_from(["5 bar", "7 bar", "16 bar"]))
        lost = draw(st.lists(st.sampled_from(["ST", "TD", "TD2", "T0", "T1", "T4", "IV2"]), max_size=1))
        data["line"] = [one for one in data["line"] if one["id"] not in lost]
        if draw(st.booleans()):
            data["line"].insert(1, {"part": "flow_meter", "id": "FM", "size": "DN 100"})

    return change


@A_SHARE
@given(st.sampled_from(LAYOUTS), changes(), st.sampled_from(KINDS), st.integers(0, 40))
def test_any_station_gets_a_sound_plan_or_a_refusal_with_findings(name, change, kind, pick):
    of = station(name, change)
    known = names(of)
    item = known[pick % len(known)] if kind == "after_repair" and known else ""
    wanted = item or ("strainer" if kind == "after_repair" else "")
    facts = feasibility(of).facts
    if facts is None:
        with pytest.raises(Refused) as refused:
            build(of, kind, wanted, numbers(of))
        found = refused.value.findings
        assert any(finding.severity is Severity.STOP for finding in found)
        assert all(tell(finding).statement for finding in found)
        return
    if kind == "restart" and facts.shut_off is None:
        with pytest.raises(Refused, match="RUN-80"):
            build(of, kind, wanted, numbers(of))
        return
    plan = build(of, kind, wanted, numbers(of))
    assert validate(plan) == ()
    assert to_json(from_json(to_json(plan))) == to_json(plan)
    assert plan.station_name in render(plan)
    holds(facts, plan)


def holds(facts, plan):
    raised = [node for node in plan.nodes if "outlet" in node.raises]
    if not facts.can_isolate:
        assert all(node.id.startswith(("ES1", "DS2", "R7R")) for node in raised)
    if not facts.is_live:
        assert not any(node.id.startswith(("F1.", "ES3", "DS3")) for node in plan.nodes)


RELIEF = {
    "crack": ["4.4 bar", "4.95 bar", "5.2 bar", "6 bar"],
    "cock": ["yes", "yes", "no", "not known"],
    "tells": ["flow switch", "none", "not known"],
    "runs_to": [None, "tundish"],
    "reseat": [None, "4.2 bar"],
}
MORE = {"EV": chain_stations.VESSEL, "CV": chain_stations.CHECK, "RL": chain_stations.RELIEF}


@st.composite
def other_parts(draw):
    """Draw parts that stand on the outlet, a direct-acting reducer, water that is heated."""

    def change(data: dict[str, Any]) -> None:
        for one in (one for one in data["line"] if one["part"] == "relief"):
            choose(draw, RELIEF, one)
        there = {one["id"] for one in data["line"]}
        for name, more in MORE.items():
            if name not in there and draw(st.integers(0, 3)) == 0:
                behind = draw(st.sampled_from(sorted(there & {"T3", "TD", "IV2", "T4", "T2", "ST"})))
                chain_stations.after(behind, more)(data)
        for one in data["line"]:
            if one["part"] == "reducer" and draw(st.integers(0, 3)) == 0:
                one["kind"] = "direct-acting"
        if draw(st.booleans()):
            data["hot_water"] = {"volume": "2 m³"}

    return change


@A_SHARE
@given(
    st.sampled_from(sorted(chain_stations.CHAINS)),
    other_parts(),
    changes(),
    st.sampled_from(KINDS),
    st.integers(0, 60),
)
def test_any_chain_gets_a_sound_plan_or_a_refusal_with_findings(name, more, change, kind, pick):
    of = chain_stations.CHAINS[name](more, change)
    known = names(of)
    item = known[pick % len(known)] if kind == "after_repair" and known else ""
    facts = feasibility(of).facts
    if facts is None:
        assert any(finding.severity is Severity.STOP for finding in feasibility(of).findings)
        return
    if kind == "restart" and facts.shut_off is None:
        return
    plan = build(of, kind, item, numbers(of))
    assert validate(plan) == ()
    assert plan.station_name in render(plan)
    holds(facts, plan)
