"""What plans tell the judge: limits, what readings carry, and what nobody may do without."""

from __future__ import annotations

from dataclasses import replace

import pytest

from steadyhead.procedure.judging import judge
from steadyhead.procedure.ledger import gathered
from steadyhead.procedure.plain import from_json, to_json
from steadyhead.records.entry import Entry
from steadyhead.records.procedure import Procedure
from steadyhead.services.planning import make_plan
from steadyhead.station import examples
from steadyhead.visits.recording import LIMITS
from tests.procedure.walking import clean_ways, walk


def plan(name: str, visit: str = "first") -> Procedure:
    made = make_plan(examples.read(name), visit)
    assert made.procedure is not None
    return made.procedure


@pytest.fixture(scope="module")
def quillenby() -> Procedure:
    return plan("quillenby-row")


@pytest.mark.source(
    kind="independent", ref="examples/quillenby-row.yaml: trip 5.2 bar ± 0.15, duty 4.0 at 5 L/s, 24 turns"
)
def test_limits_are_those_of_the_station_file(quillenby: Procedure) -> None:
    limits = quillenby.limits
    assert set(limits) <= set(LIMITS)
    assert limits["trip"] == pytest.approx(5.2e5)
    assert limits["duty"] == pytest.approx(4.0e5)
    assert limits["repeatability"] == pytest.approx(0.15e5)
    assert limits["duty_flow"] == pytest.approx(5e-3)
    assert limits["inlet_turns"] == 24
    assert limits["trip_low"] < limits["trip"] < limits["trip_high"] <= limits["test_limit"] * (1 + 1e-9)
    assert 0 < limits["stopwatch_from"] < limits["stopwatch_to"]
    assert limits["instrument_error"] * 4 == pytest.approx(limits["tolerance_up"], rel=0.5)
    assert limits["raising_turns"] < limits["inlet_turns"]


def test_of_several_streams_each_has_its_own_limits() -> None:
    limits = plan("quernhollow-lane").limits
    assert {name.partition("@")[0] for name in limits} <= set(LIMITS)
    assert limits["duty@main"] < limits["duty@low"]


def test_everything_a_minimum_certificate_needs_is_never_accepted_otherwise(quillenby: Procedure) -> None:
    wanted = {
        "gauges.compared", "IV2.tight", "SO.acts", "SO.closing", "SO.trip", "SO.told", "RV.duty",
        "SO.out_of_way", "fire_cover", "alarm_test", "A4",
    }  # fmt: skip
    assert wanted <= quillenby.never
    assert not {"station.droop", "RV.lockup", "SO.fails_loud", "RV.tight", "gauges_on"} & quillenby.never


def test_a_relief_valve_in_place_of_a_shut_off_is_never_done_without() -> None:
    assert {"RL.crack", "RL.reseat"} <= plan("orrowby-mill").never


def test_the_middle_of_each_run_is_worked_out_and_the_gauge_for_it_is_judged(quillenby: Procedure) -> None:
    for step, runs in (("F1.SO", [""]), ("F3.SO", [".2", ".3"])):
        inputs = {one.name: one for one in quillenby.node(step).inputs}
        for run in runs:
            assert inputs[f"mid{run}"].worked is not None
            assert inputs[f"act{run}"].error_most == pytest.approx(quillenby.limits["instrument_error"])
            assert inputs[f"act{run}"].carries == ("flow",)
    read = [one for node in quillenby.nodes for one in node.inputs]
    assert all(one.traced for one in read if one.instrument in ("gauge", "setting gauge"))


def test_either_duty_or_trickle_is_enough(quillenby: Procedure) -> None:
    inputs = {one.name: one for one in quillenby.node("H1.RV").inputs}
    assert inputs["duty"].unless == {"given": "trickle"}
    assert inputs["trickle"].unless == {"given": "duty"}


def test_the_steps_of_the_signature_do_not_stand_against_it(quillenby: Procedure) -> None:
    assert quillenby.after == ("K1", "K2")


def test_what_the_judge_is_told_survives_the_file(quillenby: Procedure) -> None:
    again = from_json(to_json(quillenby))
    assert again.never == quillenby.never
    assert to_json(again) == to_json(quillenby)
    assert again.node("H1.RV").inputs[1].carries == ("flow",)


@pytest.mark.source(kind="published", ref="design handbook 3.3: a flow that is not zero makes it no lock-up")
@pytest.mark.parametrize(
    ("name", "visit"),
    [("quernhollow-lane", "first"), ("quillenby-row", "first"), ("dunmarrow-bottom", "yearly")],
)
def test_a_lock_up_read_with_water_running_or_without_its_flow_is_refused(name: str, visit: str) -> None:
    made = plan(name, visit)
    walked = walk(made, clean_ways(made)[0])
    asked = {
        (node.id, one.name)
        for node in made.nodes
        for one in node.inputs
        if (node.id.startswith(("H2", "Y7L")) and one.name in ("first", "half", "last"))
        or (node.id.startswith("Y3") and one.name == "lockup")
    }
    found = [entry for entry in walked if (entry.node, entry.payload.get("input")) in asked]
    assert found
    for entry in found:
        for flow in (0.35e-3, None):
            payload = {**entry.payload, "flow": flow}
            entries = [replace(one, payload=payload) if one is entry else one for one in walked]
            if flow is None:  # a meter noted at the same step says it too
                entries = [one for one in entries if not _is_meter(one, entry.node)]
            judged = judge(made, gathered(entries))
            codes = {block.remark.code for block in judged.blocks if block.remark.about == entry.node}
            assert judged.step(entry.node).state == "refused", (entry.node, flow)
            assert codes & {"RUN-06", "RUN-09"}, (entry.node, flow)


def _is_meter(entry: Entry, step: str) -> bool:
    return entry.node == step and entry.payload.get("quantity") == "flow"
