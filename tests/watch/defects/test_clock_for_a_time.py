"""A clock that is off for a part of a record is told with its part, and what it stamped is not used there."""

from __future__ import annotations

import numpy as np
import pytest

from steadyhead.watch.defects.episode import Code, standing
from steadyhead.watch.defects.judging import flags, judge
from steadyhead.watch.defects.series import series
from steadyhead.watch.happening.believing import scene
from tests.logger.defects import clock_drift_of_flow, clock_offset_of_flow
from tests.logger.handing import channels, context
from tests.logger.measuring import measured
from tests.logger.truth import DAY, HOUR, MONDAY, Place, water

QUIET = Place(4.0e5, 0.15e5, 0.02e5, 0.01, 8.0e5, 0.4e5, 0.3e5, 0.012, 0.3, 120.0, 0.05)


def record(seed: int, days: float = 30.0, step: float = 300.0):
    rng = np.random.default_rng([31, seed])
    return measured(rng, water(rng, QUIET, MONDAY, days, step))


def moved(seen, first: float, last: float, off: float):
    """Set the flow's clock off from one day of the record to another one."""
    trace = seen.traces["flow"]
    start = float(trace.t[0])
    inside = (trace.t >= start + first * DAY) & (trace.t <= start + last * DAY)
    trace.t[inside] += off
    trace.t, kept = np.unique(trace.t, return_index=True)
    trace.v = trace.v[kept]
    return start


def told(seen):
    return [e for e in judge(channels(seen), context(seen)).episodes if "clock" in e.code]


@pytest.mark.parametrize("off", [HOUR, -HOUR, 2100.0])
@pytest.mark.parametrize(("first", "last"), [(10.0, 17.0), (14.0, 30.0), (0.0, 12.0)])
def test_days_of_a_wrong_clock_are_told_with_their_begin_end_and_size(off, first, last):
    seen = record(round(first + last + off) % 97)
    start = moved(seen, first, last, off)
    (one,) = told(seen)
    assert one.code is Code.CLOCK_WHILE
    assert one.channels == ("flow",)
    assert one.magnitude == pytest.approx(off, abs=120.0)
    assert one.start.timestamp() == pytest.approx(start + first * DAY, abs=0.5 * DAY)
    assert one.end.timestamp() == pytest.approx(start + last * DAY, abs=0.5 * DAY)
    assert ("after" if off > 0 else "before") in one.words


@pytest.mark.parametrize("plant", [clock_offset_of_flow, clock_drift_of_flow])
@pytest.mark.parametrize("seed", range(4))
def test_a_clock_that_is_off_throughout_or_runs_away_is_no_part(plant, seed):
    seen = record(seed)
    plant(np.random.default_rng([31, seed]), seen)
    assert {e.code for e in told(seen)} == {seen.happened[-1].kind}


@pytest.mark.parametrize("seed", range(6))
def test_a_clock_that_keeps_time_is_left_alone(seed):
    assert told(record(seed, step=(60.0, 300.0, 900.0)[seed % 3])) == []


def test_what_a_wrong_clock_stamped_is_doubted_and_not_used():
    seen = record(7)
    start = moved(seen, 10.0, 17.0, HOUR)
    frames = channels(seen)
    found = judge(frames, context(seen))
    every = [series(channel, frame) for channel, frame in frames]
    flow = next(s for s in every if s.quantity == "flow")
    middle = int(np.searchsorted(flow.t, start + 13.0 * DAY))
    outside = int(np.searchsorted(flow.t, start + 25.0 * DAY))
    marks = flags(flow, found)
    assert standing(int(marks[middle])) == "doubted"
    assert standing(int(marks[outside])) == "believed"
    left = scene(every, found.episodes).flow
    assert left is not None
    inside = (left.t > start + 10.6 * DAY) & (left.t < start + 16.4 * DAY)
    assert not inside.any()
    assert (left.t > start + 25.0 * DAY).any()
