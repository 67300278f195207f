"""A long clean file is handed on as it is parsed; at the first row that does not fit nothing counts."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

import polars as pl
import pytest

from steadyhead.records.logger import Context
from steadyhead.register.logs.parts import AsTheyCome
from steadyhead.watch.reading import straight as straight_
from steadyhead.watch.reading.big import read_big
from tests.watch.reading.test_big import LAZILY
from tests.watch.reading.test_shapes import MADE, compare

STRAIGHT = {
    "plain_commas", "german_with_junk_and_latin1", "american_half_days", "pairs_with_own_lengths",
    "serial_days", "epoch_seconds", "hour_missing",
}  # fmt: skip
"""Shapes that are handed on for certain."""


@pytest.fixture
def keeper(tmp_path, monkeypatch):
    monkeypatch.setattr(straight_, "BATCH", 7)
    return AsTheyCome(tmp_path / "parts", "x")


@pytest.mark.parametrize("name", LAZILY)
def test_every_shape_reads_the_same_with_a_keeper(name, tmp_path, keeper):
    shape = MADE[name]()
    path = tmp_path / "a.txt"
    path.write_bytes(next(iter(shape.files.values())))
    found = read_big(path, shape.context, tmp_path, keeper=keeper)
    assert found is not None
    compare(found, shape.expected)
    assert found.rows_total == found.rows_used + sum(found.rows_left_out.values())
    is_straight = bool(keeper.frames)
    assert is_straight or name not in STRAIGHT
    assert is_straight != any(tmp_path.glob("*.parquet"))
    alone = read_big(path, shape.context, tmp_path)
    assert alone is not None
    assert (found.rows_used, found.rows_left_out, found.words) == (
        alone.rows_used, alone.rows_left_out, alone.words,
    )  # fmt: skip
    for (_, mine), (_, theirs) in zip(found.channels, alone.channels, strict=True):
        assert mine.collect().equals(theirs.collect())


def lines(start=datetime(2027, 10, 30, 20), count=400):
    yield "Time (UTC),P inlet [bar],P outlet [bar]"
    for at in range(count):
        when = start + timedelta(minutes=5 * at)
        yield f"{when:%Y-%m-%d %H:%M:%S},{8 + at % 9 / 100:.2f},{4 + at % 5 / 100:.2f}"


@pytest.mark.parametrize(
    ("at", "instead"),
    [
        (200, "2027-10-31 12:35:00,8.01,Err"), (200, "Deckel offen,,"),
        (200, "2027-10-30 20:00:00,8.01,4.01"),
        (399, "Ende der Aufzeichnung,,"), (200, "2027-10-31 12:30:00,8.01,4.01"),
    ],
)  # fmt: skip
def test_at_a_row_that_does_not_fit_nothing_is_kept_and_the_file_is_read_with_care(
    at, instead, tmp_path, keeper
):
    told = list(lines())
    told[at + 1] = instead
    path = tmp_path / "a.csv"
    path.write_text("\n".join(told) + "\n", "utf-8")
    found = read_big(path, Context(), tmp_path, keeper=keeper)
    assert found is not None
    assert not keeper.frames
    assert not list(tmp_path.rglob("parts/*.parquet"))
    assert found.rows_total == len(told)
    assert all(frame.collect()["t"].is_sorted() for _, frame in found.channels)


def test_the_clocks_of_a_zone_change_in_the_middle_of_batches_as_in_the_whole(tmp_path, keeper, monkeypatch):
    context = replace(Context(), zone="Europe/Berlin", interval=300.0)
    utc = [datetime(2027, 10, 30, 16) + timedelta(minutes=5 * at) for at in range(300)]
    told = ["Time,P inlet [bar],P outlet [bar]"]
    for at, when in enumerate(utc):
        local = when + timedelta(hours=2 if when < datetime(2027, 10, 31, 1) else 1)
        told.append(f"{local:%Y-%m-%d %H:%M:%S},{8 + at % 9 / 100},4.{at:03d}")
    path = tmp_path / "a.csv"
    path.write_text("\n".join(told) + "\n", "utf-8")
    for size in (1, 13, 1000):
        monkeypatch.setattr(straight_, "BATCH", size)
        found = read_big(path, context, tmp_path, keeper=keeper)
        assert found is not None
        assert keeper.frames
        for _, frame in found.channels:
            times = frame.collect()["t"].dt.replace_time_zone(None).to_list()
            assert times == utc


def test_parts_of_many_channels_are_small_and_give_back_what_came(tmp_path, monkeypatch):
    monkeypatch.setattr("steadyhead.register.logs.parts.MOST", 40)
    monkeypatch.setattr("steadyhead.register.logs.parts.BATCH", 50)
    keeper = AsTheyCome(tmp_path, "x")
    keeper.begin([list(range(30))])
    start = datetime(2027, 1, 31, 20)
    times = pl.datetime_range(start, start + timedelta(hours=9, minutes=59), "1m", time_unit="us", eager=True)
    frame = pl.DataFrame({
        "t": times.dt.replace_time_zone("UTC"), "row": pl.Series(range(600), dtype=pl.UInt64),
        **{f"v{at}": [float(at * 1000 + row) for row in range(600)] for at in range(30)},
    })  # fmt: skip
    for at in range(0, 600, 70):
        keeper.add(0, frame[at : at + 70])
    frames = keeper.end()
    assert max(part.count for parts in keeper.written for _, part in parts) <= 21
    assert {part.month for _, part in keeper.written[3]} == {"2027-01", "2027-02"}
    back = frames[29].collect()
    assert back["v"].to_list() == frame["v29"].to_list()
    assert back["t"].equals(frame["t"])
    assert back["row"].equals(frame["row"])
