"""Test gauges of visits: what they say of a record, and of which record they say nothing."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import polars as pl
import pytest

from steadyhead.records.logger import Context, GaugeVisit
from steadyhead.watch.defects.offsets import against_gauges
from steadyhead.watch.defects.series import series
from tests.logger.handing import channels
from tests.logger.measuring import measured
from tests.logger.truth import MONDAY, place, water


def _inlet(tap):
    rng = np.random.default_rng(8)
    seen = measured(rng, water(rng, place(rng), MONDAY, 5.0, 300.0), visits=0)
    channel, frame = next(one for one in channels(seen) if one[0].quantity == "inlet pressure")
    collected = frame.collect() if isinstance(frame, pl.LazyFrame) else frame
    return series(replace(channel, place=tap), collected.lazy())


@pytest.mark.parametrize(("tap", "told"), [("T1", 1), (None, 1), ("T0", 0)])
def test_a_gauge_at_t1_says_nothing_of_a_record_ahead_of_the_strainer(tap, told):
    one = _inlet(tap)
    at = float(one.t[len(one.t) // 2])
    visit = GaugeVisit(datetime.fromtimestamp(at, UTC), inlet=float(np.median(one.v)) - 0.9e5)
    found = against_gauges(one, [one], Context(visits=(visit,)))
    assert len(found) == told
    for each in found:
        assert each.confidence == "likely"
        assert each.words.startswith("At one reading the record stands")
