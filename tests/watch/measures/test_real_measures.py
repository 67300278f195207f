"""Measures of real records: what they do not hold is said to be unknown, what they hold is counted."""

from __future__ import annotations

from functools import reduce

import numpy as np
import polars as pl
import pytest

from steadyhead.records.logger import Context
from steadyhead.watch.defects.judging import Judged
from steadyhead.watch.measures import days_of, demand, hunting, merge, transients
from steadyhead.watch.measures.day import Days
from tests.watch.defects.test_real_records import DATA, channel, frame, inflows

pytestmark = pytest.mark.skipif(not DATA.is_dir(), reason=f"the real records are not here: {DATA}")


def test_two_years_of_inflow_have_a_mean_and_no_pressure_measure():
    stamps, rows = inflows()
    values = [None if row[1] in (None, "NaN") else float(str(row[1])) * 1e-3 for row in rows]
    frames = [(channel("flow", "L/s", "mean"), frame(stamps, values))]
    days = days_of(frames, Context(zone="Europe/Rome"), Judged((), ("flow",)))
    got = demand(days)
    assert got.measured.trust == "good"
    assert got.measured.n_valid <= got.measured.n_total
    known = [v for v in values if v is not None]
    assert got.measured.value == pytest.approx(float(np.mean(known)), rel=0.03)
    assert len([d for d in days.days if d.end - d.start != 86_400.0]) == 5, "three springs and two autumns"
    assert hunting(days).measured.value is None
    assert "no believed outlet pressure" in hunting(days).measured.words
    assert transients(days, "inlet").cycles.value is None
    parts = [Days(days.days[k::7]) for k in range(7)]
    assert demand(reduce(merge, parts)) == got


@pytest.mark.parametrize("name", ["valve1/0", "valve2/1"])
def test_a_bench_of_twenty_minutes_gives_no_trend_and_its_stairs_are_no_hunting(name):
    table = pl.read_csv(DATA / "skab" / f"{name}.csv", separator=";", try_parse_dates=True)
    t = table["datetime"].cast(pl.Datetime("us")).dt.replace_time_zone("UTC")
    frames = [
        (channel("outlet pressure", "bar", "spot"), pl.DataFrame({"t": t, "v": table["Pressure"] * 1e5})),
        (channel("flow", "L/min", "mean"), pl.DataFrame({"t": t, "v": table["Volume Flow RateRMS"] / 6e4})),
    ]
    days = days_of(frames, Context(zone="UTC"), Judged((), ("outlet pressure", "flow")))
    assert hunting(days).period is None
    assert demand(days).changes == ()
