"""What a zone throws back: through how many mains its rest is entered, and where a vessel stands."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from steadyhead.design.protection import questions
from steadyhead.hydraulics import build, case
from steadyhead.station import examples
from steadyhead.station.load import load
from steadyhead.surge.entry import entered, mains_of, with_entry
from steadyhead.surge.from_station import draft
from steadyhead.surge.plan import Consumers, Vessel
from steadyhead.surge.plant import STATION, compile_plan
from steadyhead.surge.proof import proving
from steadyhead.surge.proof_run import FailureRun, situation
from steadyhead.surge.vessels import with_vessel


def made(name, number=0):
    return proving(list(questions(load(examples.read(name)).station))[number])


def highest(of, here, speed=1.0):
    """Return the highest of the consumers until the shut-off is shut, and at all. [Pa]"""
    run = FailureRun(here, of.question.claims[0].failure, of.setting)
    end = run.finish(of.setting.faster(speed))
    peak = next(one for one in run.peaks(end, of.question.limits) if one.side == "consumer")
    return peak.peak, peak.rebound


def test_a_plan_says_through_how_many_mains_its_zone_is_entered():
    plan = made("quillenby-row").situations[0].drafted.plan
    assert [mains_of(with_entry(plan, float(count))) for count in (1, 2, 3)] == [1, 2, 3]
    assert mains_of(plan) == 3
    assert entered(with_entry(plan, 1.0)) == with_entry(plan, 1.0)


@pytest.mark.source(
    kind="analytic",
    ref="r = −(n − 1)/(n + 1) where n mains go on: the more, the more comes back, from an open end all",
)
def test_the_more_mains_go_on_behind_the_end_the_more_is_thrown_back():
    of = made("quillenby-row")
    here = next(one for one in of.situations if (one.inlet, one.flow) == ("static", "average"))
    found, rises = [], []
    for count in (1.0, 2.0, 3.0, 1000.0):
        plan = with_entry(here.drafted.plan, count)
        each = situation(replace(here.drafted, plan=plan), here.inlet, here.flow, here.shut_off)
        rise, thrown = highest(of, each, 0.5)
        found.append(thrown)
        rises.append(rise)
    assert found == sorted(found)
    assert found[-1] > found[2] + 0.5e5
    assert max(rises) - min(rises) < 0.25e5


@pytest.mark.source(
    kind="analytic", ref="V β of the two parts of a main is that of the main; its way is as long"
)
def test_a_vessel_beside_the_station_leaves_the_main_as_long_as_it_is():
    station = load(examples.read("veldany-house")).station
    view = next(iter(questions(station))).view
    main: Any = station.zone.main
    drafted = draft(build(view.station), case(view.station, "typical", "average"))
    near, far = (pipe for pipe in drafted.plan.pipes if pipe.side == "consumer")
    assert near.is_station
    assert not far.is_station
    assert near.above == STATION
    assert near.below == far.above == "vessel"
    assert near.length + far.length == pytest.approx(main.length.si)
    assert near.level_below == pytest.approx(far.level_above)
    assert [j.id for j in drafted.plan.joints if isinstance(j, Consumers) and j.vessel] == ["vessel"]
    (told,) = [one for one in drafted.findings if one.code == "SUR-08"]
    away: Any = told.params["away"]
    assert away.si == pytest.approx(near.length)


def test_a_vessel_at_the_station_keeps_the_wave_from_the_house_and_not_from_the_pipe_up_to_it():
    of = made("veldany-house")
    here = next(one for one in of.situations if (one.inlet, one.flow) == ("static", "average"))
    run = FailureRun(here, of.question.claims[0].failure, of.setting)
    end = run.finish(of.setting)
    peaks: dict[str, Any] = {one.side: one for one in run.peaks(end, of.question.limits)}
    assert peaks["consumer"].rebound < peaks["consumer"].peak + 0.15e5
    assert peaks["outlet"].rebound > peaks["consumer"].rebound + 0.3e5
    assert "consumer main" in peaks["consumer"].place


@pytest.mark.parametrize("side", ["supply", "consumer"])
def test_a_vessel_put_to_a_plan_keeps_its_time_step_and_softens_its_side(side):
    of = made("quillenby-row")
    here = next(one for one in of.situations if (one.inlet, one.flow) == ("static", "average"))
    plan = with_vessel(here.drafted.plan, Vessel(0.5), here.plant.step, side)
    assert compile_plan(plan).step == pytest.approx(here.plant.step, rel=0.05)
    assert with_vessel(plan, Vessel(0.5), here.plant.step, side) == plan
    helped = situation(replace(here.drafted, plan=plan), here.inlet, here.flow, here.shut_off)
    peaks = []
    for each in (here, helped):
        run = FailureRun(each, of.question.claims[0].failure, of.setting)
        end = run.finish(of.setting)
        name = "inlet" if side == "supply" else "consumer"
        peak = next(one for one in run.peaks(end, of.question.limits) if one.side == name)
        peaks.append(peak.highest)
    assert peaks[1] < peaks[0]
