"""After an import its least and most are made ready: the first look reads no samples."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import polars as pl
import pytest

from steadyhead.register import open_register
from steadyhead.register.logs import buckets as buckets_module
from steadyhead.register.logs import logs_folder
from steadyhead.services.logs import warming
from steadyhead.services.logs.importing import read_files
from steadyhead.services.logs.proposing import Given
from steadyhead.services.logs.seen import window, window_view
from steadyhead.services.logs.warming import warm
from steadyhead.services.stations.saving import save
from steadyhead.station.examples import read

KEY, WHO = "DMB-01", "Ilse Marrow"
START = datetime(2027, 1, 30, tzinfo=UTC)


@pytest.fixture
def kept(tmp_path, monkeypatch):
    monkeypatch.setattr(warming, "LEAST", 1000)
    register = open_register(tmp_path / "register")
    save(register, read("dunmarrow-bottom"), WHO)
    n = 4 * 1440
    t = pl.datetime_range(START, START + timedelta(minutes=n - 1), "1m", eager=True)
    path = tmp_path / "a.parquet"
    pl.DataFrame({"time": t, "P outlet [bar]": [3.5 + 0.01 * (at % 7) for at in range(n)]}).write_parquet(
        path
    )
    view = read_files(register, logs_folder(register), Given(KEY, (path,), "kiosk"), WHO)
    yield register, logs_folder(register), view.number
    register.close()


def files(logs):
    return sorted(path.name for path in (logs.root / buckets_module.FOLDER).glob("*/*/*"))


def test_the_first_look_at_what_was_made_ready_reads_no_samples(kept, monkeypatch):
    register, logs, number = kept
    assert files(logs) == []
    assert warm(register, logs, KEY, number) == 2, "January and February"
    assert len(files(logs)) == 4
    assert warm(register, logs, KEY, number) == 2
    assert len(files(logs)) == 4

    def none_is_read(*_):
        raise AssertionError("samples were read")

    monkeypatch.setattr(buckets_module, "_counted", none_is_read)
    view = window_view(register, logs, KEY, window(register, KEY, None, None), most=200)
    assert sum(view.channels[0].buckets.count) == 4 * 1440


def test_it_may_be_stopped_and_what_is_damaged_or_short_is_left_to_the_first_look(kept, monkeypatch):
    register, logs, number = kept
    assert warm(register, logs, KEY, 0) == 0
    assert warm(register, logs, KEY, number, cancel=lambda: True) == 0
    monkeypatch.setattr(warming, "LEAST", 10**6)
    assert warm(register, logs, KEY, number) == 0
    monkeypatch.setattr(warming, "LEAST", 1)
    for path in logs.samples.glob("*/*/*/*"):
        path.unlink()
    assert warm(register, logs, KEY, number) == 0
    assert files(logs) == []
