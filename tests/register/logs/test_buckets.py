"""Buckets of samples: extremes kept at every width, gaps not closed, made again when they are not whole."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import polars as pl
import pytest

from steadyhead.records.logger import Channel
from steadyhead.register.logs.buckets import LEVELS, US, buckets, clear_old, place_of, width_for
from steadyhead.register.logs.frames import KeptChannel, groups
from steadyhead.register.logs.layout import LogsFolder
from steadyhead.register.logs.parts import named, write_parts

START = round(datetime(2027, 1, 1, tzinfo=UTC).timestamp()) * US
CHANNEL = Channel(
    "outlet pressure, spot", None, "outlet pressure", "spot", "bar", 1e5, 0.0, False, None, "UTC", "linear",
    (), "P",
)  # fmt: skip


def kept(root, *imports):
    """Return a channel whose imports hold times [s from the start] and values."""
    logs, parts = LogsFolder(root), []
    for number, (t, v) in enumerate(imports, 1):
        at = (np.asarray(t, dtype=np.float64) * US).astype(np.int64) + START
        frame = pl.DataFrame({"t": at, "v": np.asarray(v, dtype=float)}).with_columns(
            pl.col("t").cast(pl.Datetime("us", "UTC")),
            pl.lit(0, pl.UInt32).alias("flag"),
            pl.int_range(1, pl.len() + 1, dtype=pl.UInt64).alias("row"),
        )
        staged = root / f"staged{number}"
        staged.mkdir(parents=True)
        for path, part in write_parts(frame.lazy(), staged, f"i{number}"):
            told = named(part, "DMB-01", "outlet-pressure-spot")
            logs.part(told.name).parent.mkdir(parents=True, exist_ok=True)
            path.replace(logs.part(told.name))
            parts.append((number, told))
    return logs, KeptChannel(CHANNEL.id, CHANNEL, tuple(parts))


def test_one_sample_of_a_year_is_seen_when_all_of_the_year_is_shown(tmp_path):
    t = np.arange(0.0, 365 * 86_400.0, 20.0)
    v = np.full(t.size, 4.0e5)
    v[777_777] = 9.0e5
    v[33_333] = 1.0e5
    logs, one = kept(tmp_path, (t, v))
    end = START + 365 * 86_400 * US
    width = width_for(START, end, 2000)
    for _ in range(2):  # made, then read
        found = buckets(logs, one, START, end, width)
        assert found.frame.height <= 2000
        assert found.frame["high"].max() == 9.0e5
        assert found.frame["low"].min() == 1.0e5
        assert found.frame["count"].sum() == t.size
        assert found.usual == 20.0 * US
    at = START + round(t[777_777] * US)
    near = buckets(logs, one, at - 40 * US, at + 60 * US, width_for(at - 40 * US, at + 60 * US, 2000))
    assert near.frame["from"].to_list() == [at + shift * US for shift in (-40, -20, 0, 20, 40)]
    assert near.frame["high"].to_list()[2] == 9.0e5


@pytest.mark.parametrize("width", [5, 60, 300, 3600, 86_400])
def test_every_width_tells_what_the_samples_say(tmp_path, width):
    rng = np.random.default_rng(3)
    t = np.cumsum(rng.choice([1.0, 7.0, 1500.0], size=4000, p=[0.6, 0.38, 0.02]))
    v = rng.normal(4e5, 1e4, size=t.size)
    v[::50] = np.nan
    logs, one = kept(tmp_path, (t, v))
    found = buckets(logs, one, START, START + round(t[-1] + 1) * US, width * US).frame
    at, good = (t * US).astype(np.int64) + START, np.isfinite(v)
    at, v = at[good], v[good]
    place = at - at % (width * US)
    assert found["bucket"].to_list() == sorted(set(place.tolist()))
    for row in found.sample(min(40, found.height), seed=1).iter_rows(named=True):
        mine = place == row["bucket"]
        assert (row["low"], row["high"]) == (v[mine].min(), v[mine].max())
        assert (row["first"], row["last"]) == (v[mine][0], v[mine][-1])
        assert (row["from"], row["to"], row["count"]) == (at[mine][0], at[mine][-1], mine.sum())
        assert row["longest"] == max(np.diff(at[mine]), default=0)


def test_of_two_imports_the_earlier_is_counted_and_what_is_gone_is_cleared(tmp_path):
    t = np.arange(0.0, 7200.0, 10.0)
    logs, one = kept(tmp_path, (t, np.full(t.size, 4e5)), (t[100:], np.full(t.size - 100, 5e5)))
    found = buckets(logs, one, START, START + 7200 * US, 60 * US).frame
    assert (found["high"].max(), found["count"].sum()) == (4e5, t.size)
    later = KeptChannel(one.name, one.channel, tuple(p for p in one.parts if p[0] == 2))
    assert buckets(logs, later, START, START + 7200 * US, 60 * US).frame["low"].min() == 5e5
    assert clear_old(logs, "DMB-01", [later]) == len(LEVELS)
    assert clear_old(logs, "DMB-01", []) == len(LEVELS)


def test_what_is_not_whole_is_made_again(tmp_path):
    t = np.arange(0.0, 7200.0, 10.0)
    logs, one = kept(tmp_path, (t, t))
    first = buckets(logs, one, START, START + 7200 * US, 3600 * US).frame
    (stretch,) = groups(one.parts)
    for width in LEVELS:
        path = place_of(logs, stretch, width)
        path.write_bytes(path.read_bytes()[:40])
    assert buckets(logs, one, START, START + 7200 * US, 3600 * US).frame.equals(first)
    assert not list((tmp_path / "buckets").rglob("*.new"))
