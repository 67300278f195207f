"""A switch that stays at open hides no trip that flow and outlet show, and makes none of a still night."""

from __future__ import annotations

import numpy as np
import pytest

from steadyhead.watch.happening import Event, Happening
from tests.logger.happening import EVENTS
from tests.logger.measuring import Seen
from tests.logger.truth import BAR, DAY, HOUR, MONDAY, Water
from tests.watch.happening.test_telling import life, plant_trip, said, with_switch
from tests.watch.incident.test_incident import told

TRIPS = {Event.TRIP, Event.TRIPPED_AGAIN}
DENIES = "the switch stayed at open: it contradicts"
START = MONDAY + 8.0 * DAY + 2.0 * HOUR


def with_dead_switch(rng: np.random.Generator, now: Water) -> Seen:
    now.closed[:] = 0.0
    return with_switch(rng, now)


def trips(seen: Seen) -> list[Happening]:
    return [h for h in said(seen) if h.code in TRIPS]


@pytest.mark.parametrize("step", [60.0, 300.0])
def test_a_trip_is_told_less_surely_where_its_switch_stays_at_open(step):
    rng, now = life(1, step=step)
    start, end = plant_trip(now)
    (one,) = trips(with_dead_switch(rng, now))
    assert one.code is Event.TRIP
    assert one.confidence == "likely"
    assert DENIES in one.words.partition(". ")[0]
    assert any(DENIES in why for why in one.evidence)
    assert one.start.timestamp() == pytest.approx(start, abs=2.0 * step + 120.0)
    assert one.end.timestamp() == pytest.approx(end, abs=2.0 * step)


def test_a_sound_switch_tells_its_trip_once_and_surely():
    rng, now = life(1, step=60.0)
    plant_trip(now)
    (one,) = trips(with_switch(rng, now))
    assert one.confidence == "certain"
    assert DENIES not in one.words


def test_the_steps_of_such_a_trip_name_the_switch_and_no_reset():
    rng, now = life(1, step=60.0)
    start, _ = plant_trip(now)
    one = told(with_dead_switch(rng, now), start + HOUR)
    assert one is not None
    words = [step.words for step in one.steps]
    assert "The switch of the shut-off stays at open: it contradicts." in words
    assert not any("it was reset" in each for each in words)


def still(now: Water, hours: float) -> np.ndarray:
    part = (now.t >= START) & (now.t < START + hours * HOUR)
    now.flow[part] = 0.0
    return np.asarray(part)


def lock_up(now: Water, part: np.ndarray) -> None:
    """A zone without demand: the reducer shuts a little higher."""
    now.outlet[part] = QUIET_LOCKUP


QUIET_LOCKUP = 4.3 * BAR


def locked_with_a_rise(now: Water, part: np.ndarray) -> None:
    """A pump in the zone stops: the outlet leaps to the trip, then the reducer holds its lock-up."""
    lock_up(now, part)
    now.outlet[(now.t >= START - 60.0) & (now.t < START + 120.0)] = 5.2 * BAR


def stays_high(now: Water, part: np.ndarray) -> None:
    """The zone is warm or its seat leaks: it stands at the trip without flow."""
    now.outlet[part | ((now.t >= START - 600.0) & (now.t < START))] = 5.2 * BAR


def isolated(now: Water, part: np.ndarray) -> None:
    """The station was isolated by hand and the zone drains: no rise went before."""
    now.outlet[part] = 4.0 * BAR * np.exp(-(now.t[part] - START) / 1800.0)


def pumps_stop(now: Water, part: np.ndarray) -> None:
    """Pumps of the supply stop: after a wave inlet and outlet fall away."""
    isolated(now, part)
    now.outlet[(now.t >= START - 120.0) & (now.t < START)] = 5.2 * BAR
    now.inlet[part] = 1.0 * BAR


@pytest.mark.parametrize("what", [lock_up, locked_with_a_rise, stays_high, isolated, pumps_stop])
@pytest.mark.parametrize("step", [60.0, 300.0])
def test_hours_without_flow_are_no_trip_where_a_sound_switch_says_open(what, step):
    rng, now = life(2, step=step)
    what(now, still(now, 3.0))
    assert trips(with_dead_switch(rng, now)) == []


@pytest.mark.parametrize("kind", ["still nights", "thermal rise", "backfeed", "supply loss"])
@pytest.mark.parametrize("number", [0, 1, 2])
def test_planted_life_without_flow_is_no_trip_where_a_sound_switch_says_open(kind, number):
    rng, now = life(700 + number)
    EVENTS[kind](rng, now)
    assert trips(with_dead_switch(rng, now)) == []


def test_a_switch_that_reports_its_changes_alone_denies_a_trip_as_well():
    rng, now = life(1, step=60.0)
    start, _ = plant_trip(now)
    seen = with_dead_switch(rng, now)
    trace = seen.traces["closed"]
    few = [0, 1, now.t.size // 4, now.t.size - 1]
    trace.t, trace.v = trace.t[few], trace.v[few]
    (one,) = trips(seen)
    assert DENIES in one.words
    steps = told(seen, start + HOUR)
    assert steps is not None
    assert not any("switch" in step.words for step in steps.steps)
