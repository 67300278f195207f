"""An hour without rows: lost rows and a clock that was set ahead are told apart by the days about it."""

import numpy as np
import pytest

from steadyhead.watch.defects import long
from steadyhead.watch.defects.hours import OPEN
from steadyhead.watch.defects.judging import judge
from tests.logger.handing import channels, context
from tests.logger.measuring import Seen, measured
from tests.logger.truth import DAY, HOUR, MONDAY, place, water


def _record(seed: int, days: float, step: float) -> tuple[Seen, float]:
    rng = np.random.default_rng([515, seed])
    life = water(rng, place(rng), MONDAY + float(rng.integers(0, 400)) * DAY, days, step)
    seen = measured(rng, life, visits=0)
    first, last = seen.traces["in"].t[0], seen.traces["in"].t[-1]
    return seen, float(np.floor(rng.uniform(first + 5.5 * DAY, last - 5.5 * DAY) / step) * step)


def _told(seen: Seen, at: float, step: float) -> list[tuple[str, bool]]:
    said = judge(channels(seen), context(seen)).episodes
    near = [e for e in said if abs(e.start.timestamp() - at) <= 2.0 * step]
    return [(str(e.code), OPEN in e.words) for e in near if str(e.code) in ("gap", "clock change hour")]


@pytest.mark.parametrize("rows", [700_000, 500])
@pytest.mark.parametrize(("seed", "step"), [(1, 60.0), (2, 300.0), (3, 900.0)])
def test_set_ahead_or_lost(seed, step, rows, monkeypatch):
    monkeypatch.setattr(long, "ROWS", rows)
    seen, at = _record(seed, 20.0, step)
    for trace in seen.traces.values():
        trace.t[trace.t >= at] += HOUR
    assert _told(seen, at, step) == [("clock change hour", False)]
    seen, at = _record(seed, 20.0, step)
    for trace in seen.traces.values():
        keep = (trace.t < at) | (trace.t >= at + HOUR)
        trace.t, trace.v = trace.t[keep], trace.v[keep]
    assert _told(seen, at, step) == [("gap", False)]


def test_too_short_to_tell_names_both():
    seen, _ = _record(4, 12.0, 300.0)
    at = seen.traces["in"].t[0] + 2.0 * DAY
    for trace in seen.traces.values():
        trace.t[trace.t >= at] += HOUR
    assert _told(seen, at, 300.0) == [("gap", True)]


def test_another_length_is_a_gap():
    seen, at = _record(5, 20.0, 300.0)
    for trace in seen.traces.values():
        trace.t[trace.t >= at] += 1.5 * HOUR
    assert _told(seen, at, 300.0) == [("gap", False)]
