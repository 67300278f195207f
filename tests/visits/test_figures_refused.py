"""Figures of a visit that prove nothing, or that stop it: bands, flows, times of the alarm, consumers."""

from __future__ import annotations

from dataclasses import replace
from typing import cast

import pytest

from steadyhead.findings import Amount
from tests.there import there
from tests.visits.judged_visits import FITS, SET, against, judged, reads, shifted, told
from tests.visits.plan_stations import DOWN, UP, made
from tests.visits.test_refusals import LEFT, refused


@pytest.fixture(scope="module")
def first():
    return made(UP)


@pytest.fixture(scope="module")
def yearly():
    return made(UP, kind="yearly")


def outside(judgement, step):
    """Return the inputs of a step that lie outside their band, unanswered."""
    blocks = [block.remark for block in judgement.blocks]
    return {one.params["input"] for one in blocks if one.code == "RUN-14" and one.about == step}


def carried(step, name, **keys):
    """Return a change that lets a reading carry something else."""

    def change(entries):
        return [
            replace(e, payload={**e.payload, **keys})
            if e.node == step and e.payload.get("input") == name
            else e
            for e in entries
        ]

    return change


@pytest.mark.source(kind="common practice", ref="design handbook 3.1 V2, 3.2 F1 to F3, G1, G4, H2, H4")
@pytest.mark.parametrize(
    ("changes", "step", "text"),
    [
        ((reads("F1.SO", "flow", 0.0),), "F1.SO", "rf.run_flow"),
        ((reads("F1.SO", "flow", -4e-4),), "F1.SO", "rf.run_flow"),
        ((reads("F1.SO", "flow", 5e-2),), "F1.SO", "rf.run_flow"),
        ((reads("F1.SO", "T1", 3e5),), "F1.SO", "rf.run_inlet"),
        ((reads("F1.SO", "act", 6.9e5),), "F1.SO", "rf.run_above"),
        ((reads("F3.SO", "act.3", 6.9e5),), "F3.SO", "rf.run_above"),
        ((reads("F2.SO", "T3.start", 4e5),), "F2.SO", "rf.start_apart"),
        ((reads("G1.SO", "there", "25:59"),), "G1.SO", ""),
        ((reads("G4", "shown", 9e5),), "G4", "rf.alarm_shown"),
        ((reads("H2.RV", "wall.last", 268.15),), "H2.RV", "rf.wall_none"),
        ((reads("H2.RV", "wall.last", 320.0),), "H2.RV", "rf.wall_moves"),
    ],
)
def test_a_figure_that_shows_nothing_of_the_step_refuses_it(first, changes, step, text):
    found = judged(first, SET, *changes)
    assert not found.is_final
    assert text in refused(found, step) or (not text and found.step(step).state == "open")


def test_water_that_runs_backwards_is_no_zero_flow(first):
    """A lock-up and the watch after a trip ask for none at all, in whichever direction a meter counts."""
    back = carried("H2.RV", "half", flow=-3e-4)
    assert refused(judged(first, SET, back), "H2.RV") == {"rf.lockup_flow"}
    found = judged(first, SET, reads("F2.SO", "flow.after", -1e-3))
    assert found.step("F2.SO").state == "refused"


@pytest.mark.parametrize(
    ("clock", "text"),
    [("nonsense", ""), ("07:00:00", "rf.told_early"), ("20:30:00", "rf.told_ahead")],
)
def test_an_alarm_that_was_told_before_the_movement_or_long_after_is_not_proved(first, clock, text):
    found = judged(first, SET, reads("G1.SO", "there", clock))
    assert found.proof("SO.told").state in ("refused", "open")
    assert not text or text in refused(found, "G1.SO")


def test_an_alarm_that_comes_minutes_late_is_not_proved(first, yearly):
    def late(entries):
        here = next(e for e in entries if e.node == "G1.SO" and e.payload.get("input") == "here")
        hour, minute, second = (int(part) for part in here.payload["value"].split(":"))
        after = hour * 60 + minute + 6
        told = reads("G1.SO", "there", f"{after // 60:02d}:{after % 60:02d}:{second:02d}")(entries)
        return carried("G1.SO", "there")(told)

    assert "rf.told_late" in refused(judged(first, SET, late), "G1.SO")
    assert "rf.told_early" in refused(judged(yearly, LEFT, reads("Y4.SO", "told_at", "06:00")), "Y4.SO")


def test_a_remark_that_only_tells_leaves_the_closing_times_of_its_step_judged(first):
    """The first run lies high, which is told; a closing of 9 s is outside all the same (handbook F3)."""
    high = [shifted("F1.SO", name, 8e3) for name in ("hold", "act", "mid")]
    peak = reads("F2.SO", "peak", 5.35e5)
    found = judged(first, SET, *high, peak, reads("F3.SO", "closing.2", 9.0))
    assert "F3.first_high.see" in told(found)
    assert ("RUN-08", "F3.SO", "F2.time.see") in against(found)
    assert found.proof("SO.trip").state == "refused"
    alone = judged(first, SET, reads("F3.SO", "closing.2", 9.0))
    assert ("RUN-08", "F3.SO", "F2.time.see") in against(alone)


def test_a_first_run_of_the_year_outside_its_edges_is_told_once_and_not_called_inside_them(yearly):
    low = [reads("Y4.SO", name, 4.8e5) for name in ("hold", "act", "mid", "T3.start")]
    found = judged(yearly, LEFT, *low)
    said = {text for text in told(found) if text.startswith("Y4.")}
    assert said == {"Y4.not_valid.see"}
    assert outside(found, "Y4.SO") == set()


@pytest.mark.parametrize("visit", ["first", "yearly"])
def test_a_stroke_is_read_as_it_begins_and_again_once_it_is_shut(visit):
    plan = made(DOWN, kind=visit)
    node = plan.node("F2.SO" if visit == "first" else "Y4.SO")
    named = [one.name for one in node.inputs]
    start = ["T1.start", "T2.start", "T3.start"]
    assert [name for name in named if name in start] == start
    assert named.index("T3.start") < named.index("flow") < named.index("T3") < named.index("T3.watch")
    banded = {one.input for one in node.expect}
    assert {"T1.start", "T1", "T2", "T3"} <= banded
    assert "T3.start" not in banded


@pytest.mark.parametrize("way", [SET, FITS])
def test_a_flow_test_of_zeros_is_none_whichever_way_the_reducer_came_to_its_setting(first, way):
    zeros = [reads("H4", f"{role}.{n}", 0.0) for n in range(1, 4) for role in ("T1", "T3")]
    found = judged(first, way, *zeros)
    assert {"T1.1", "T3.1", "T3.3"} <= outside(found, "H4") or found.step("H4").state == "refused"
    assert not found.is_final


def test_bands_of_a_reducer_left_as_it_stands_hold_those_of_one_just_set(first):
    by_way = {
        way: {one.input: one for one in first.node("H4").expect if one.where in (None, ("E0.RV", way))}
        for way in ("fits", "set")
    }
    assert set(by_way["fits"]) >= {name for name in by_way["set"] if name.startswith("T3.")}
    for name, wide in by_way["fits"].items():
        close = by_way["set"][name]
        assert wide.low <= close.low
        assert wide.high >= close.high


def test_a_flow_that_is_not_the_point_of_the_plan_is_no_flow_test():
    from steadyhead.services.planning import make_plan
    from steadyhead.station import examples

    plan = there(make_plan(examples.read("dunmarrow-bottom"), "first").procedure)
    points = [
        cast(Amount, said.params["point_flow"]).si for said in plan.node("H4").do if said.id == "H4.point"
    ]
    assert len(points) >= 3
    top = len(points)
    small = [
        reads("H4", f"flow.{n}", (n if n <= top else 2 * top + 1 - n) * 1e-3) for n in range(1, 2 * top + 1)
    ]
    assert "rf.flow_point" in refused(judged(plan, SET, *small), "H4")
    assert refused(judged(plan, SET), "H4") == set()


@pytest.mark.parametrize("step", ["J2", "J3"])
@pytest.mark.parametrize(("name", "value"), [("T4", 11e5), ("T3", 0.1e5), ("T4", 9e5), ("T4", 0.0)])
def test_consumers_get_their_pressure_or_nobody_leaves(step, name, value):
    from steadyhead.services.planning import make_plan
    from steadyhead.station import examples

    plan = there(make_plan(examples.read("quernhollow-lane"), "first").procedure)
    way = {"E0.SO": "set", "E0.RV": "fits", "E0.LB": "fits"}
    found = judged(plan, way, reads(step, name, value))
    above = ("RUN-08", step, "served.above.see") in against(found)
    assert above or name in outside(found, step)
    assert not found.is_final


def test_a_gauge_that_does_not_stand_at_nothing_proves_no_trip_unless_it_was_corrected(first):
    def off(entries):
        return [
            replace(e, payload={**e.payload, "zero": 3e4}) if e.kind == "instrument" else e for e in entries
        ]

    def corrected(entries):
        return [
            replace(e, payload={**e.payload, "corrected_by": -3e4}) if e.kind == "reading" else e
            for e in off(entries)
        ]

    found = judged(first, SET, off)
    unfit = {(b.remark.about, b.remark.params.get("why")) for b in found.blocks if b.remark.code == "RUN-06"}
    read_by_themselves = ("F1.SO", "H1.RV", "H2.RV", "G4", "D2")
    assert {(step, "zero off") for step in read_by_themselves} <= unfit
    assert judged(first, SET, corrected).is_final
