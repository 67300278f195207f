"""What it costs to take a clean logger file in, against reading it and writing it as Parquet and no more."""

from __future__ import annotations

import atexit
import shutil
import tempfile
from functools import cache
from pathlib import Path

from bench.harness import Benchmark

ROWS = 3_000_000
"""About five weeks at one a second."""
KEY, WHO = "DMB-01", "Ilse Marrow"


@cache
def _place() -> Path:
    """Return a folder with the file, and a register without logger data; gone with the process."""
    import numpy as np
    import polars as pl

    from steadyhead.register import open_register
    from steadyhead.services.logs.known import known_of
    from steadyhead.services.stations.saving import save
    from steadyhead.station.examples import read

    folder = Path(tempfile.mkdtemp(prefix="steadyhead-bench-logger-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    chance = np.random.default_rng(1)
    start = pl.datetime(2027, 1, 1)
    stamps = pl.datetime_range(start, start + pl.duration(seconds=ROWS - 1), "1s", eager=True)
    columns = {
        "Time (UTC)": stamps,
        "P inlet [bar]": np.round(8.0 + 0.1 * chance.standard_normal(ROWS), 3),
        "P outlet [bar]": np.round(4.0 + 0.05 * chance.standard_normal(ROWS), 3),
        "Flow [m3/h]": np.round(20.0 + 3.0 * chance.standard_normal(ROWS), 2),
    }
    pl.DataFrame(columns).write_csv(folder / "clean.csv", datetime_format="%Y-%m-%d %H:%M:%S")
    register = open_register(folder / "empty")
    save(register, read("dunmarrow-bottom"), WHO)
    known_of(register, KEY)
    register.close()
    return folder


def _bare() -> None:
    import polars as pl

    stamp = pl.col("Time (UTC)").str.to_datetime("%Y-%m-%d %H:%M:%S")
    pl.scan_csv(_place() / "clean.csv").with_columns(stamp).sink_parquet(_place() / "bare.parquet")


def _taken_in() -> None:
    from steadyhead.register import open_register
    from steadyhead.register.logs import logs_folder
    from steadyhead.services.logs.importing import read_files
    from steadyhead.services.logs.proposing import Given

    place = _place() / "register"
    shutil.rmtree(place, ignore_errors=True)
    shutil.copytree(_place() / "empty", place)
    register = open_register(place)
    try:
        read_files(register, logs_folder(register), Given(KEY, (_place() / "clean.csv",), "kiosk"), WHO)
    finally:
        register.close()


BENCHMARKS = (
    Benchmark(
        name="logger-import",
        about=f"a clean text file of {ROWS} rows: scanned and written as Parquet, and taken into a register",
        candidates={"scan and sink": _bare, "taken in": _taken_in},
        rounds=5,
    ),
)
