"""Real records hold no defect that is not there: the daily cycle of demand is called nothing."""

from __future__ import annotations

import csv
import os
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

import openpyxl
import polars as pl
import pytest

from steadyhead.records.logger import Channel, Context, Quantity, Statistic
from steadyhead.watch.defects.judging import judge

DATA = Path(os.environ.get("STEADYHEAD_DATA", Path(__file__).parents[4] / "shared" / "data"))
"""Openly licensed records outside the project; none of it is copied into it."""
pytestmark = pytest.mark.skipif(not DATA.is_dir(), reason="the real records are not here")
ROME = ZoneInfo("Europe/Rome")


def channel(quantity: Quantity, unit: str, statistic: Statistic) -> Channel:
    return Channel(
        quantity, None, quantity, statistic, unit, 1.0, 0.0, False, None, "", "linear", (), quantity
    )


def frame(t: list[datetime], v: list[float | None]) -> pl.DataFrame:
    return pl.DataFrame(
        {"t": pl.Series(t).cast(pl.Datetime("us", "UTC")), "v": pl.Series(v, dtype=pl.Float64)}
    )


def inflows() -> tuple[list[datetime], list[tuple[object, ...]]]:
    book = openpyxl.load_workbook(DATA / "bwdf_dma_inflow" / "InflowData.xlsx", read_only=True)
    rows = list(book.worksheets[0].iter_rows(values_only=True))[1:]
    seen: set[datetime] = set()
    stamps = []
    for row in rows:
        when = datetime.strptime(str(row[0]), "%d/%m/%Y %H:%M")
        stamps.append(when.replace(tzinfo=ROME, fold=int(when in seen)).astimezone(UTC))
        seen.add(when)
    return stamps, rows


def test_two_years_of_hourly_inflow_of_four_districts_are_called_nothing():
    stamps, rows = inflows()
    said = []
    for k in (1, 4, 8, 10):
        values = [None if row[k] in (None, "NaN") else float(str(row[k])) * 1e-3 for row in rows]
        frames = [(channel("flow", "L/s", "mean"), frame(stamps, values))]
        said += [(k, e.code, e.start) for e in judge(frames, Context(zone="Europe/Rome")).episodes]
    assert said == []


@pytest.mark.parametrize("name", ["valve1/0", "valve1/5", "valve2/1"])
def test_a_bench_whose_pressure_goes_in_stairs_shows_stairs_and_no_more(name):
    table = pl.read_csv(DATA / "skab" / f"{name}.csv", separator=";", try_parse_dates=True)
    t = table["datetime"].cast(pl.Datetime("us")).dt.replace_time_zone("UTC")
    frames = [
        (channel("outlet pressure", "bar", "spot"), pl.DataFrame({"t": t, "v": table["Pressure"] * 1e5})),
        (channel("flow", "L/min", "mean"), pl.DataFrame({"t": t, "v": table["Volume Flow RateRMS"] / 6e4})),
    ]
    said = judge(frames, Context()).episodes
    assert [(str(e.code), e.channels) for e in said] == [("quantisation", ("outlet pressure",))]
    assert said[0].magnitude == pytest.approx(0.328e5, rel=0.01)


def test_years_of_air_pressure_twice_a_day_show_their_one_gap():
    with (DATA / "dov_pressure_loggers" / "BAOL086X_179793.csv").open(encoding="latin1") as file:
        rows = [row for row in csv.DictReader(file) if row["DRME_OCR_UTC_DTE"] and row["DRME_DRU"]]
    stamps = [
        datetime.strptime(row["DRME_OCR_UTC_DTE"], "%d/%m/%Y %H:%M:%S %z").astimezone(UTC) for row in rows
    ]
    values: list[float | None] = [float(row["DRME_DRU"].replace(",", ".")) * 98.0665 for row in rows]
    said = judge([(channel("outlet pressure", "m head", "spot"), frame(stamps, values))], Context()).episodes
    assert [str(e.code) for e in said] == ["gap"]
    longest = max(b - a for a, b in pairwise(stamps))
    assert timedelta(seconds=said[0].magnitude or 0.0) == longest
