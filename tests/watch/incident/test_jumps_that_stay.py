"""A level of the outlet that steps with a jump of the flow is held against the row of a burst."""

from __future__ import annotations

import numpy as np
import pytest

from steadyhead.watch.happening import Event
from steadyhead.watch.incident import Incident
from tests.logger.truth import BAR, DAY, HOUR, MONDAY, Array, Water
from tests.watch.happening.test_telling import QUIET, life, with_switch
from tests.watch.incident.test_incident import told

STEPS = (Event.SETTING, Event.DEMAND)


def stepped(now: Water, start: float, flow: Array | float, outlet: float) -> None:
    """Let flow [m³/s] and outlet [bar] step and stay."""
    after = now.t >= start
    now.flow[after] += np.broadcast_to(flow, now.t.shape)[after]
    now.outlet[after] += outlet * BAR


def tell_at(start: float, flow: float, outlet: float, inlet: float = 0.0, step: float = 60.0) -> Incident:
    rng, now = life(44, days=14.0, step=step)
    stepped(now, start, flow * QUIET.mean_flow, outlet)
    now.inlet[now.t >= start] += inlet * BAR
    seen = with_switch(rng, now)
    del seen.traces["travel"]
    one = told(seen, start)
    assert one is not None
    assert one.event.code in STEPS
    return one


@pytest.mark.parametrize("hour", [2.0, 13.0])
@pytest.mark.parametrize("step", [60.0, 300.0, 900.0])
def test_a_burst_that_runs_on_is_held_against_its_row_of_the_table(hour, step):
    one = tell_at(MONDAY + 11.0 * DAY + hour * HOUR, 1.8, -0.4, -0.9, step)
    assert one.readings[0].name == "burst behind the station"
    assert one.readings[0].sure == "likely"
    assert "burst behind the station" in one.words


@pytest.mark.parametrize("hour", [2.0, 6.0, 13.0])
@pytest.mark.parametrize("step", [60.0, 300.0, 900.0])
def test_a_setting_that_moves_while_the_flow_goes_on_has_no_row(hour, step):
    one = tell_at(MONDAY + 11.0 * DAY + hour * HOUR, 0.0, -0.4, 0.0, step)
    assert one.event.code is Event.SETTING
    assert one.readings == ()
    assert "comes over days" in one.words


def test_a_flow_that_jumps_where_the_setting_was_raised_is_no_burst():
    one = tell_at(MONDAY + 11.0 * DAY + 13.0 * HOUR, 1.8, 0.5)
    assert "burst behind the station" not in one.words
