"""The period of a hunting outlet is the same in the event and in the measure, each within what it states."""

from __future__ import annotations

import re

import numpy as np
import pytest

from steadyhead.watch.happening import Event
from steadyhead.watch.measures import hunting
from tests.logger.measuring import measured
from tests.logger.truth import BAR
from tests.watch.happening.test_telling import QUIET, life, said
from tests.watch.measures.test_measures import of


@pytest.mark.parametrize(
    ("step", "period"),
    [
        (1.0, 4.3), (1.0, 7.1), (0.5, 9.0), (1.0, 11.4), (1.0, 12.0), (2.0, 13.8), (2.0, 22.5), (5.0, 31.0),
        (5.0, 47.0),
    ],
)  # fmt: skip
def test_event_and_measure_state_the_same_period(step, period):
    rng, now = life(9, days=2.0, step=step)
    at = (now.flow > 0.6 * QUIET.mean_flow) & (now.flow < 0.9 * QUIET.mean_flow)
    now.outlet[at] += 0.12 * BAR * np.sin(2.0 * np.pi * now.t[at] / period)
    seen = measured(rng, now)
    (one,) = [h for h in said(seen) if h.code is Event.HUNTING]
    told = re.search(r"period about (\d+) s \(± ([\d.]+) s\)", one.words)
    assert told is not None
    about, reach = float(told[1]), float(told[2])
    assert abs(about - period) <= reach + 0.5
    got = hunting(of(seen))
    assert got.periods is not None
    assert got.period is not None
    low, high = got.periods
    assert low <= period <= high
    assert high <= 1.6 * low
    assert low <= got.period <= high
    assert f"period {low:.1f} to {high:.1f} s" in got.measured.words
    assert low - reach - 0.5 <= about <= high + reach + 0.5
