"""Real exports of loggers are read as their descriptions say: rows, channels, what stands between them."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from steadyhead.records.logger import Context, ReadFiles
from steadyhead.watch.reading import propose

DATA = Path(os.environ.get("STEADYHEAD_DATA", Path(__file__).parents[4] / "shared" / "data"))
pytestmark = pytest.mark.skipif(not DATA.is_dir(), reason="the real files are not here")
BRUSSELS = Context("Europe/Brussels", "local time")


def read(name: str, context: Context = BRUSSELS) -> ReadFiles:
    (path,) = DATA.glob(name)
    found = propose([path], context)
    assert found.rows_total == found.rows_used + sum(found.rows_left_out.values())
    return found


def test_quoted_commas_with_offsets_and_rows_without_a_stamp():
    found = read("dov_pressure_loggers/BAOL015X*.csv")
    assert found.rows_left_out["no time"] == 3808
    assert found.rows_used == 4420
    heads = {one.heading: frame for one, frame in found.channels}
    last = heads["DRME_DRU"].collect().row(-1, named=True)
    assert last["v"] == 1043.52
    assert last["t"].isoformat() == "2017-03-20T23:00:00+00:00"


def test_a_header_of_fifty_lines_over_fixed_columns_and_a_footer():
    found = read("dov_pressure_loggers/*.MON")
    assert found.rows_used == 4019
    assert found.rows_left_out["footer"] == 1
    assert [frame.collect()["v"][0] for _, frame in found.channels][-1] == pytest.approx(273.15 + 12.35)


@pytest.mark.parametrize("name", ["3-0057_*_0706*_00", "3-0057_*_0706*_with_temp"])
def test_tabs_with_a_row_of_nothing_but_tabs(name):
    found = read(f"dov_pressure_loggers/{name}.txt")
    assert found.rows_used == 532
    assert found.readings[0] is not None
    assert (found.readings[0].decimal, found.readings[0].time.order) == (",", "dmy")


def test_two_years_of_hours_with_both_clock_changes():
    found = read(
        "bwdf_dma_inflow/InflowData.xlsx", Context("Europe/Rome", "local time, clock changes followed", 3600)
    )
    assert len(found.channels) == 10
    missing = [frame.collect()["v"].null_count() for _, frame in found.channels]
    assert (min(missing), max(missing)) == (105, 1904)
    times = found.channels[0][1].collect()["t"]
    assert times.diff().drop_nulls().n_unique() == 1
    assert {"hour twice", "hour missing"} <= {one.code for one in found.facts}


def test_seconds_since_a_start_that_the_file_does_not_tell():
    found = read("premise_plumbing_valve_log/E2_100_A1.csv")
    assert ("start", None) in {(one.field, one.taken) for one in found.doubts}
    assert found.rows_used == 2911


def test_one_second_rows_with_semicolons():
    found = read("skab/other/3.csv")
    assert found.rows_used == 1137
    assert "flow" in {one.quantity for one, _ in found.channels}


@pytest.mark.parametrize(
    ("name", "used", "left"),
    [
        ("dov_pressure_loggers/3-0057_*_1802*", 1826, {"header": 1, "blank": 1}),
        ("dov_pressure_loggers/BAOL086X*.attribs", 0, {"no samples in it": 27}),
        ("premise_plumbing_valve_log/E2aSched.csv", 9, {"header": 1}),
        ("skab/valve1/0.csv", 1147, {"header": 1}),
        ("skab/valve1/5.csv", 1154, {"header": 1}),
        ("skab/valve2/1.csv", 1063, {"header": 1}),
    ],
)
def test_each_real_file_is_read_with_all_its_rows_accounted_for(name, used, left):
    found = read(name)
    assert (found.rows_used, dict(found.rows_left_out)) == (used, left)
    if not used:
        assert found.channels == ()
        assert "nothing in it" in {one.code for one in found.facts}
