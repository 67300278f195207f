"""Restart after a trip: nothing reset first, the cause from the readings, the reducer tested cut off."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import pytest

from steadyhead.errors import InputError
from steadyhead.hydraulics.mains import wave_speed_of, zone_stiffness
from steadyhead.procedure.graph import ancestors, covering, on_way
from steadyhead.records.plan_numbers import RestartEnd
from steadyhead.services.example_year import clean_visit
from steadyhead.services.example_year.clean_answers import fine
from steadyhead.station.defaults import GRAVITY
from steadyhead.visits.feasibility import Refused, feasibility
from steadyhead.visits.plan import build
from steadyhead.visits.restarting import in_words, worked_out, worst_of
from steadyhead.visits.several.judging import judge
from tests.procedure.walking import RESTARTS
from tests.visits import stream_stations as ss
from tests.visits.judged_visits import acts, against, before, judged, reads, shifted, told
from tests.visits.plan_stations import (
    ALONE,
    DOWN,
    PAIR,
    UP,
    block,
    differences,
    made,
    numbers,
    setting,
    station,
    top,
    without,
)


def way(*options: str) -> dict[str, str]:
    return dict(zip(("R1", "R6", "R8"), options, strict=True))


ENDINGS = ("trip proved", "returns", "returns watched", "stays isolated")
TESTED = {end: way("real", "to be tested", end) for end in ENDINGS}


def restart(name: str = UP, *changes):
    return made(name, *changes, kind="restart")


@pytest.mark.parametrize("name", [UP, DOWN])
@pytest.mark.parametrize("options", RESTARTS)
def test_a_restart_that_goes_as_it_should_is_final_whichever_way_it_went(name, options):
    assert judged(restart(name), way(*options)).is_final


@pytest.mark.parametrize("name", [UP, DOWN])
def test_nothing_is_reset_before_every_tap_is_read_and_the_cause_looked_for(name):
    plan = restart(name)
    assert {"R1", "R3", "R4", "R5", "R6", "R7"} <= ancestors(plan, "R7R")
    assert not any(
        m.id.startswith(("ES5", "RS7R")) for i in ("R3", "R4", "R5", "R6", "R7") for m in plan.node(i).do
    )
    for at, step, text in (
        (("R4", "T1"), "R4", "RS4.reset_first"),
        (("R6", "T3.first"), "R6", "RS6.reset_first"),
        (("R7", "turns"), "R7R", "RS7R.reset_first"),
    ):
        found = judged(plan, TESTED["returns"], before("reset", "SO", *at))
        assert ("RUN-09", step, text) in against(found), at
    tested = judged(plan, TESTED["returns"], acts("reset", "SO", after=("R7", "water")))
    assert tested.is_final


@pytest.mark.source(kind="common practice", ref="design handbook 7.4 R6 a to f; no single source")
def test_ahead_of_the_reducer_an_open_one_proves_nothing_once_the_outlet_has_sunk():
    """Setting about 4.1 bar; the outlet at 4.5 bar with the reducer open is a failed reducer."""
    plan, on = restart(UP), TESTED["returns"]
    sunk = [
        reads("R4", "T1", 8.6e5),
        reads("R4", "rv_open", True),
        reads("R6", "T3.first", 3e5),
        reads("R6", "T3.last", 3e5),
    ]
    assert "RS6.c_nothing.see" in told(judged(plan, on, *sunk))
    assert judged(plan, on, *sunk).is_final
    high = [reads("R4", "rv_open", True), reads("R6", "T3.first", 4.5e5), reads("R6", "T3.last", 4.5e5)]
    assert ("RUN-08", "R6", "RS6.c.see") in against(judged(plan, on, *high))
    failed = way("real", "reducer failed", "stays isolated")
    assert ("RUN-08", "R6", "RS6.c.see") not in against(judged(plan, failed, *high))
    held = [reads("R4", "rv_open", False), *high[1:]]
    assert "RS6.a.see" in told(judged(plan, on, *held))


@pytest.mark.source(kind="common practice", ref="design handbook 7.4 R6 f, 3.6: T2 tells the cause at once")
def test_behind_the_reducer_the_pressure_between_the_valves_tells_the_cause():
    plan, on = restart(DOWN), TESTED["returns"]
    at_lockup = [reads("R6", "T2.first", 3.4e5), reads("R6", "T2.last", 3.4e5)]
    assert "RS6.f_sound.see" in told(judged(plan, on, *at_lockup))
    for last in (3.9e5, 7e5):
        climbing = [reads("R6", "T2.first", 3.4e5), reads("R6", "T2.last", last)]
        assert ("RUN-08", "R6", "RS6.f_failed.see") in against(judged(plan, on, *climbing))
        failed = way("real", "reducer failed", "stays isolated")
        assert judged(plan, failed, *climbing).is_final
    assert "R7" not in {n.id for n in on_way(plan, way("real", "reducer failed", "stays isolated"))}


@pytest.mark.parametrize("name", [UP, DOWN])
def test_an_outlet_that_rises_with_the_shut_off_shut_is_no_case_for_a_test(name):
    plan = restart(name)
    rises = [reads("R6", "T3.first", 3e5), reads("R6", "T3.last", 3.3e5)]
    assert ("RUN-08", "R6", "RS6.b.see") in against(judged(plan, TESTED["returns"], *rises))
    assert judged(plan, way("real", "shut-off passes", "stays isolated"), *rises).is_final
    assert "RS6.e.see" in told(judged(plan, TESTED["returns"], reads("R6", "warm", True)))


def test_a_peak_in_the_log_below_the_trip_is_a_trip_without_cause():
    plan = restart(UP)
    assert "RS6.d.see" in told(judged(plan, TESTED["returns"], reads("R6", "peak", 4.2e5)))
    assert "RS6.d.see" not in told(judged(plan, TESTED["returns"], reads("R6", "peak", 5.2e5)))


def test_consumers_above_their_limit_are_relieved_before_anything_else():
    plan = restart(UP)
    assert "R5" in ancestors(plan, "R6")
    stays = judged(plan, TESTED["returns"], reads("R5", "now", 9e5), reads("R5", "after", 9e5))
    assert ("RUN-08", "R5", "RS5.high.see") in against(stays)
    relieved = judged(plan, TESTED["returns"], reads("R5", "now", 9e5), reads("R5", "after", 3e5))
    assert relieved.is_final


@pytest.mark.parametrize(
    ("options", "changes", "text"),
    [
        (("real", "reducer failed", "returns"), (), "RS8.unsafe.see"),
        (("real", "shut-off passes", "trip proved"), (), "RS8.unsafe.see"),
        (("alarm only", "to be tested", "returns"), (), "RS8.unproved.see"),
        (("real", "to be tested", "returns"), (reads("R8", "understood", False),), "RS8.not_known.see"),
        (
            ("real", "to be tested", "returns watched"),
            (reads("R8", "understood", False), reads("R8", "second", True)),
            "RS8.stop.see",
        ),
        (("real", "to be tested", "returns"), (reads("R8", "touched", True),), "RS8.untouched.see"),
        (("real", "to be tested", "returns"), (reads("R7T", "lockup", 4.6e5),), "RS7T.fails.see"),
        (("real", "to be tested", "returns"), (reads("R7R", "peak", 6e5),), "RS7R.over.see"),
        (("real", "to be tested", "returns"), (reads("R7", "turns", 6.0),), "RS7.far.see"),
        (("real", "to be tested", "returns"), (reads("J2", "trips", True),), "RSJ.second.see"),
    ],
)
def test_what_must_not_go_back_is_stopped(options, changes, text, monkeypatch):
    monkeypatch.setattr(clean_visit, "fine", tolerant(fine))
    found = judged(restart(UP), way(*options), *changes)
    assert text in {b.remark.message.id for b in found.blocks if b.remark.message is not None}
    assert not found.is_final


def tolerant(answers):
    """Return answers even where nothing fine can be answered: the way itself is what is wrong."""

    def lenient(node, way, seen, limits=None):
        try:
            return answers(node, way, seen, limits)
        except ValueError:
            return {one.name: True if one.quantity == "yes_no" else "as planned" for one in node.inputs}

    return lenient


def test_no_deviation_sends_an_untested_station_back():
    plan = restart(UP)
    assert {"RV.holds", "R8"} <= plan.never


def test_a_reducer_that_does_not_hold_is_no_hindrance_where_the_station_stays_isolated():
    found = judged(restart(UP), TESTED["stays isolated"], reads("R7T", "lockup", 4.15e5 + 0.0))
    assert found.is_final


def test_a_station_left_isolated_is_final_only_once_it_is_back_by_a_plan_of_its_own():
    plan = restart(UP, block("station", fire_water="yes"))

    def not_yet(entries):
        return [e for e in entries if e.node not in ("R8B", "K2")]

    found = judged(plan, TESTED["stays isolated"], not_yet)
    assert not found.is_final
    assert {"outlet_shut", "inlet_down", "fire_cover"} <= {i.name for i in found.items if i.state == "open"}
    assert judged(plan, TESTED["stays isolated"]).is_final


@pytest.mark.parametrize("name", [UP, DOWN])
def test_an_alarm_without_a_trip_asks_for_all_of_f_and_g_a_trip_for_one_run(name):
    plan = restart(name)
    alone = {n.id.split(".")[0] for n in on_way(plan, way("alarm only", "to be tested", "trip proved"))}
    assert {"F1", "F2", "F3", "F5", "G1", "G2", "G3", "D2", "H1"} <= alone
    assert not {"R7", "R7R", "R7T"} & alone
    real = {n.id.split(".")[0] for n in on_way(plan, TESTED["trip proved"])}
    assert {"F1", "F2", "G1", "D2", "H1", "R7T"} <= real
    assert not {"F3", "F5", "G3"} & real
    untouched = {n.id.split(".")[0] for n in on_way(plan, TESTED["returns"])}
    assert not {"F1", "D2", "R8C", "A8"} & untouched


@pytest.mark.source(
    kind="analytic", ref="t = V β Δp / Q: 190 m³, duty down to nothing at the highest consumer"
)
def test_the_zone_lasts_as_long_as_its_elastic_water_feeds_the_demand():
    of = station(UP)
    facts = feasibility(of).facts
    assert facts is not None
    found, stiffness = worked_out(facts, numbers(of)), zone_stiffness(of.zone)
    assert stiffness is not None
    highest = of.zone.highest or of.zone.level
    room = 4.0e5 - 999.7 * GRAVITY * (highest.si - of.station.datum.si if highest else 0.0)
    held = stiffness.compliance * room
    assert found.lasts["lowest"] == pytest.approx(held / of.demand.night.si, rel=2e-3)
    assert found.lasts["average"] == pytest.approx(held / of.demand.average.si, rel=2e-3)
    assert in_words(found.lasts["lowest"]) in " ".join(
        str(v) for m in restart(UP).node("R2").do for v in m.params.values()
    )


@pytest.mark.source(
    kind="analytic", ref="Joukowsky 1900: ρ a V at the filling speed, within the weakest limit"
)
def test_the_refill_stays_below_the_consumers_limit_by_the_bound_of_a_sudden_stop():
    of = station(UP)
    facts = feasibility(of).facts
    assert facts is not None
    found = worked_out(facts, numbers(of))
    refill, normal, main = found.refill, found.normal, of.zone.main
    assert refill is not None
    assert normal is not None
    assert main is not None
    assert 0.0 < refill.speed <= 0.3
    assert refill.surge == pytest.approx(999.7 * wave_speed_of(main, 999.7).si * refill.speed, rel=2e-3)
    assert 4.0e5 + refill.surge <= normal[1] + 1.0
    assert refill.slack < refill.whole / 100.0


@pytest.mark.source(kind="analytic", ref="Joukowsky 1900: ρ a V up to the lower edge of the trip")
def test_the_last_air_of_a_refill_does_not_trip_the_shut_off_a_second_time():
    of = station(UP)
    facts = feasibility(of).facts
    assert facts is not None
    known = numbers(of)
    free = worked_out(facts, replace(known, target_reading={"duty": 4.0e5})).refill
    held = worked_out(facts, replace(known, target_reading={"duty": 4.0e5, "trip_low": 4.5e5})).refill
    assert free is not None
    assert held is not None
    assert free.surge > 0.5e5
    assert held.surge == pytest.approx(0.5e5)
    assert held.speed == pytest.approx(free.speed * held.surge / free.surge)


def test_what_is_refilled_is_labelled_a_bound_without_air():
    plan = restart(UP)
    assert [m.id for m in plan.node("J2").do][:6] == [
        "RSJ.warn", "RSJ.suction", "RSJ.balance", "RSJ.drained", "RSJ.bound", "RSJ.low_end",
    ]  # fmt: skip
    assert {"note.refill", "note.restart"} <= {m.id for m in plan.notes}
    unknown = restart(UP, block("zone", volume=None, main=None))
    assert "RSJ.unknown" in {m.id for m in unknown.node("J2").do}
    assert {"RUN-83"} <= {m.id for m in unknown.notes}
    assert "RS2.time_unknown" in {m.id for m in unknown.node("R2").do}


def test_without_limits_nobody_judges_the_consumers_pressure():
    plan = restart(UP, top(limits=[]))
    assert not plan.node("R5").otherwise
    assert "RUN-84" in {m.id for m in plan.notes}


DRAWN: tuple[tuple[Literal["shut", "wide open"], Literal["sound", "failed"], float, bool, bool], ...] = (
    ("shut", "sound", 4.3e5, False, False),
    ("shut", "failed", 4.8e5, True, False),
    ("wide open", "sound", 4.4e5, False, False),
    ("wide open", "failed", 8.4e5, True, True),
)
ENDS = tuple(
    RestartEnd(found, health, throttled, outlet, trips, passes)
    for throttled in (False, True)
    for found, health, outlet, trips, passes in DRAWN
)


def test_the_worst_of_both_ends_sound_and_failed_is_the_verdict():
    assert worst_of(ENDS, throttled=False) == ENDS[3]
    of = station(DOWN)
    plan = build(of, "restart", "", replace(numbers(of), restart_ends=ENDS), engine_version="0")
    said = {m.id: m.params for m in plan.node("R7R").do}
    assert said["RS7R.ends"]["found"] == "wide open"
    assert said["RS7R.ends"]["health"] == "failed"
    assert "RUN-82" in {m.id for m in plan.notes}
    sound = replace(numbers(of), restart_ends=ENDS[:1])
    assert "RUN-82" not in {m.id for m in build(of, "restart", "", sound, engine_version="0").notes}
    assert worst_of((), throttled=False) is None


def test_where_nothing_shuts_by_itself_there_is_nothing_to_restart():
    for name in (ALONE, PAIR):
        with pytest.raises(Refused, match="RUN-80"):
            restart(name)


def test_of_several_streams_the_one_that_tripped_is_named():
    of = ss.station(ss.twin_streams())
    known = ss.numbers(of, "restart", "")
    with pytest.raises(Refused, match="RUN-81"):
        build(of, "restart", "", known)
    for item in ("a", "stream A", "SOa"):
        plan = build(of, "restart", item, known)
        assert "R7T" in {node.id for node in plan.nodes}
        assert "F1.SOa" in {node.id for node in plan.nodes}
        assert not any("SOb" in node.id for node in plan.nodes)
    with pytest.raises(InputError, match="where nothing trips"):
        build(of, "restart", "x", known)
    with pytest.raises(InputError, match="one stream"):
        made(UP, kind="restart", item="main")


def test_behind_a_shared_shut_off_each_reducer_is_tested_alone_and_both_come_back():
    of = ss.station(ss.low_flow())
    assert judge(of, "restart").mode == "station out"
    plan = build(of, "restart", "", ss.numbers(of, "restart", ""))
    ids = [node.id for node in plan.nodes]
    assert [i for i in ids if i.startswith(("S1", "R7T", "S3", "H3"))][:4] == [
        "S1.low",
        "R7T.low",
        "S1.m",
        "R7T.m",
    ]
    assert len([i for i in ids if i.startswith(("S3", "H3"))]) == 2
    for one in covering(plan):
        nodes = on_way(plan, one)
        opened = {item for node in nodes for item in node.opens}
        assert opened <= {item for node in nodes for item in node.restores}


ONE_FACT = [
    ((setting("SO", resets="by itself"),), {"R3", "R4", "R7R", "F2R.SO", "G2.SO"}, {"F1.SO", "F2.SO"}),
    ((without("T4"),), {"R0", "R4", "R5", "R7", "R7T", "D2", "J2", "J3", "R10"}, {"R6", "R8", "F1.SO"}),
    (
        (block("zone", other_feed="no"),),
        {"R2", "R6B", "R6C", "R7", "R8C", "R8I", "R8B", "J2"},
        {"R6", "F1.SO", "R8"},
    ),
    ((block("station", sensitive_consumers="a dialysis ward"),), {"R2"}, None),
    (
        (setting("SO", limit_switch=None), top(alarm=None)),
        {"R1", "R9", "F2.SO", "H1.RV", "J4", "J5", "EF3.RV"},
        {"R6"},
    ),
    ((block("demand", night="0.6 L/s"),), {"R2"}, {"R6", "R7", "R8"}),
    ((block("supply", min="5.4 bar"),), {"F5.SO", "G1.SO", "G2.SO"}, {"R0", "R4", "R6", "R7T"}),
]


@pytest.mark.parametrize(("changes", "touched", "kept"), ONE_FACT)
def test_one_fact_changed_changes_its_own_steps_of_a_restart(changes, touched, kept):
    found = differences(restart(UP), restart(UP, *changes))
    every = found["changed"] | found["added"] | found["removed"]
    assert touched <= every
    if kept is None:
        assert every == touched
    else:
        assert not kept & every


def test_the_shut_off_behind_the_reducer_changes_what_is_read_drained_and_judged():
    up, down = restart(UP), restart(DOWN)
    assert "T2.last" in {one.name for one in down.node("R6").inputs}
    assert "T2.last" not in {one.name for one in up.node("R6").inputs}
    assert "RS7R.drain_open_between" in {m.id for m in down.node("R7R").do}
    assert "DS6" in {node.id for node in down.nodes}


def test_a_raise_of_a_restart_says_how_to_leave_it_and_holds_the_test_limit():
    plan = restart(UP)
    for node in plan.nodes:
        if node.raises:
            assert node.back_out
    peak = next(o for o in plan.node("R7R").otherwise if o.see.id == "RS7R.over.see")
    limit = plan.limits.get("test_limit", numbers(station(UP)).test_limit["outlet"])
    assert str(limit)[:4] in str(peak.when)


def test_the_peak_is_held_against_the_limit_in_a_fault_at_the_close():
    plan = restart(UP)
    found = judged(plan, TESTED["returns"], reads("R10", "peak", 9e5), reads("R10", "inspected", False))
    assert ("RUN-08", "R10", "RS10.weak.see") in against(found)
    assert judged(plan, TESTED["returns"], shifted("R10", "peak", 0.0)).is_final


def test_that_the_zone_runs_dry_is_told_and_holds_up_no_step() -> None:
    dry = next(one for one in restart(UP).node("R2").otherwise if one.meaning.id == "RS2.runs_dry.means")
    assert dry.tells
