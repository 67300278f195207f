from __future__ import annotations

import json
import os
import random
import subprocess
import sys
from math import isnan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.hydraulics.kernel import assembly, layout
from steadyhead.laws.compiling import mode
from tests.hydraulics.kernel import wild
from tests.hydraulics.kernel.lines import T1, T2, T3, Station, ending

seeds = st.integers(0, 2**31 - 1)
ORDINARY = {
    "consumers": st.floats(0.01, 200.0),
    "supply": st.floats(5.0, 20.0),
    "lockup": st.floats(1.0, 4.5),
    "shut_off_downstream": st.booleans(),
    "exponent": st.sampled_from([0.5, 0.8, 1.0]),
}
ordinary = st.builds(Station, **ORDINARY)


@given(seed=seeds)
def test_wild_stations_are_solved_or_say_why_not(seed):
    _, found = wild.solved(seed)
    assert ending(found) in ("solved", "trapped pressure unknown", "water column parts")
    if ending(found) == "solved":
        assert not any(isnan(pressure) for pressure in found.nodes)
        assert abs(found.residual) <= 1e-6 * 40e5
    if ending(found) == "water column parts":
        assert all(isnan(pressure) for pressure in found.nodes)


@given(seed=seeds)
def test_water_that_enters_leaves_again(seed):
    station, found = wild.solved(seed)
    if ending(found) != "solved":
        return
    line, at = station.line(), station.at()
    drained = float(line.values[2][layout.FULL]) * max(float(found.nodes[T3]), 0.0) ** 0.5
    entering = float(found.flows[7])
    if not found.is_flowing:
        assert entering == 0.0
        return
    consumed = float(found.flows[0])
    if station.outlet_valve == 0.0:
        assert consumed == 0.0
    if station.shut_off_lift > 0.0:
        assert entering == pytest.approx(consumed + drained, rel=1e-9, abs=1e-15)
    if not isnan(station.drawn) and station.outlet_valve > 0.0 and station.shut_off_lift > 0.0:
        assert consumed == at[layout.DRAWN]


@given(seed=seeds)
def test_no_element_adds_energy_and_flow_never_turns_back(seed):
    station, found = wild.solved(seed)
    if ending(found) != "solved":
        return
    line = station.line()
    for row in range(line.end):
        flow = float(found.flows[row])
        assert flow >= 0.0
        outlet, inlet = float(found.nodes[row]), float(found.nodes[row + 1])
        if line.kinds[row] == layout.PIPE:
            inlet -= float(line.values[row][layout.RISE]) * 999.7 * 9.81
        if flow > 0.0:
            assert inlet >= outlet - 1e-9 * max(abs(inlet), 1e5)


@given(seed=seeds)
def test_stems_pilots_and_chambers_stay_within_their_stops(seed):
    station, found = wild.solved(seed)
    if ending(found) != "solved":
        return
    row = station.reducer_row
    out = found.outcomes[row]
    outlet, inlet = float(found.nodes[row]), float(found.nodes[row + 1])
    assert 0.0 <= out[layout.OUT_LIFT] <= 1.0
    assert 0.0 <= out[layout.OUT_PILOT] <= 1.0
    slack = 1e-9 * max(abs(inlet), abs(outlet), 1e5)
    assert min(inlet, outlet) - slack <= out[layout.OUT_CHAMBER] <= max(inlet, outlet) + slack
    assert 0 <= int(out[layout.OUT_STATE]) < len(layout.STATES)


@given(station=ordinary, more=st.floats(1.0, 5.0))
def test_more_draw_off_means_more_flow_and_less_pressure(station, more):
    here, there = station.solved(), station.but(consumers=station.consumers * more).solved()
    assert there.flows[0] >= here.flows[0] * (1.0 - 1e-12)
    for node in (T1, T3):
        assert there.nodes[node] <= here.nodes[node] * (1.0 + 1e-12)


@given(station=ordinary, more=st.floats(0.0, 5.0))
def test_more_supply_never_means_less_pressure_or_flow(station, more):
    here, there = station.solved(), station.but(supply=station.supply + more).solved()
    for node in (T1, T2, T3):
        assert there.nodes[node] >= here.nodes[node] * (1.0 - 1e-9)
    assert there.flows[0] >= here.flows[0] * (1.0 - 1e-9)


@given(station=ordinary, more=st.floats(0.0, 3.0))
def test_higher_setting_never_means_less_outlet(station, more):
    here, there = station.solved(), station.but(lockup=station.lockup + more).solved()
    assert there.nodes[T3] >= here.nodes[T3] * (1.0 - 1e-9)


@given(station=ordinary, height=st.floats(-40.0, 40.0))
def test_levels_shifted_together_change_nothing(station, height):
    here = station.but(supply_levels=(5.0, 2.0), zone_levels=(2.0, -3.0)).solved()
    there = station.but(
        supply_levels=(5.0 + height, 2.0 + height), zone_levels=(2.0 + height, -3.0 + height)
    ).solved()
    for one, other in zip(here.nodes, there.nodes, strict=True):
        assert other == pytest.approx(float(one), rel=1e-9, abs=1e-3)


@given(station=ordinary)
def test_flow_imposed_as_found_gives_the_same_pressures(station):
    free = station.solved()
    if not free.is_flowing:
        return
    imposed = station.but(drawn=float(free.flows[0])).solved()
    for one, other in zip(free.nodes, imposed.nodes, strict=True):
        assert other == pytest.approx(float(one), rel=1e-6, abs=20.0)


@given(station=ordinary)
def test_outlet_at_flow_stands_below_lock_up_by_band_times_pilot(station):
    found = station.solved()
    row = station.reducer_row
    out = found.outcomes[row]
    if layout.STATES[int(out[layout.OUT_STATE])] != "holding":
        return
    expected = station.lockup * 1e5 - station.band * 1e5 * out[layout.OUT_PILOT]
    assert found.nodes[row] == pytest.approx(float(expected), abs=1e-3)


@given(seed=seeds)
def test_a_solution_used_again_leaves_no_trace_of_the_last(seed):
    draw = random.Random(seed)
    first, second = wild.wild_station(draw), wild.wild_station(draw)
    shared = wild.blank(first)
    assembly.solve_line(first.line(), first.at(), None, shared)
    again = assembly.solve_line(second.line(), second.at(), None, shared)
    fresh = second.solved()
    assert wild.numbers(again.nodes) == wild.numbers(fresh.nodes)
    assert wild.numbers(again.flows) == wild.numbers(fresh.flows)


def test_compiled_and_plain_engine_give_the_same_numbers():
    count = 400
    other = "plain" if mode() == "compiled" else "compiled"
    place = os.environ | {"STEADYHEAD_ENGINE": other, "PYTHONPATH": os.pathsep.join(sys.path)}
    done = subprocess.run(
        [sys.executable, "-m", "tests.hydraulics.kernel.wild", str(count)],
        env=place, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    theirs, ours = json.loads(done.stdout), json.loads(wild.report(count))
    assert [answer[0] for answer in theirs] == [answer[0] for answer in ours]
    for one, another in zip(theirs, ours, strict=True):
        for mine, yours in zip([*one[1:3], *one[3]], [*another[1:3], *another[3]], strict=True):
            for a, b in zip(mine, yours, strict=True):
                assert (a is None) == (b is None)
                assert a is None or a == pytest.approx(b, rel=1e-12, abs=1e-12)
