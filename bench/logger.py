"""What it costs to take a clean logger file in, against reading it and writing it as Parquet and no more."""

from __future__ import annotations

import atexit
import shutil
import tempfile
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING

from bench.harness import Benchmark

if TYPE_CHECKING:
    import polars as pl

ROWS = 5_000_000
"""About eight weeks at one a second."""
KEY, WHO = "DMB-01", "Ilse Marrow"
HEADS = ("Time (UTC)", "P inlet [bar]", "P outlet [bar]", "Flow [m3/h]")


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
    columns = (
        stamps,
        np.round(8.0 + 0.1 * chance.standard_normal(ROWS), 3),
        np.round(4.0 + 0.05 * chance.standard_normal(ROWS), 3),
        np.round(20.0 + 3.0 * chance.standard_normal(ROWS), 2),
    )
    clean = pl.DataFrame(dict(zip(HEADS, columns, strict=True)))
    clean.write_csv(folder / "clean.csv", datetime_format="%Y-%m-%d %H:%M:%S")
    _odd_ones(folder, clean)
    register = open_register(folder / "empty")
    save(register, read("dunmarrow-bottom"), WHO)
    known_of(register, KEY)
    register.close()
    return folder


def _odd_ones(folder: Path, clean: pl.DataFrame) -> None:
    """Write the same samples in other shapes."""
    import polars as pl

    form, stamp = "%d.%m.%Y %H:%M:%S", HEADS[0]
    with (folder / "comma.csv").open("wb") as out:
        out.write(b"Messstelle;Wehr\nSeriennummer;4711\n\n")
        clean.write_csv(out, separator=";", decimal_comma=True, datetime_format=form)
    days = (pl.col(stamp).dt.epoch("us") / 86_400e6 + 25_569.0).round(6)
    clean.with_columns(days).write_csv(folder / "serial.csv")
    pairs = [clean.select(pl.col(stamp).alias(f"{stamp} {at}"), HEADS[at]) for at in (1, 2, 3)]
    pl.concat(pairs, how="horizontal").write_csv(folder / "pairs.csv", datetime_format="%Y-%m-%d %H:%M:%S")
    lines = (folder / "clean.csv").read_bytes().split(b"\n")
    with (folder / "words.csv").open("wb") as out:
        for at in range(0, len(lines), 50_000):
            out.write(b"\n".join(lines[at : at + 50_000]) + b"\n")
            if at:
                out.write(b"chamber opened,,,\n")
    half = len(lines) // 2
    with (folder / "stamps.csv").open("wb") as out:
        out.write(b"\n".join(lines[:half]) + b"\n")
        later = clean[half - 1 :].with_columns(pl.col(stamp).dt.to_string("%Y/%m/%d %H:%M:%S"))
        later.write_csv(out, include_header=False)


def _bare() -> None:
    import polars as pl

    stamp = pl.col("Time (UTC)").str.to_datetime("%Y-%m-%d %H:%M:%S")
    pl.scan_csv(_place() / "clean.csv").with_columns(stamp).sink_parquet(_place() / "bare.parquet")


def _take_in(name: str) -> None:
    from steadyhead.register import open_register
    from steadyhead.register.logs import logs_folder
    from steadyhead.services.logs.importing import read_files
    from steadyhead.services.logs.proposing import Given

    place = _place() / "register"
    shutil.rmtree(place, ignore_errors=True)
    shutil.copytree(_place() / "empty", place)
    register = open_register(place)
    try:
        view = read_files(register, logs_folder(register), Given(KEY, (_place() / name,), "kiosk"), WHO)
    finally:
        register.close()
    if {one.count for one in view.channels} != {ROWS}:
        raise RuntimeError(f"{name}: {[one.count for one in view.channels]} samples of {ROWS} came in")


SHAPES = {
    "taken in": "clean.csv",
    "decimal comma, lines ahead": "comma.csv",
    "days as numbers": "serial.csv",
    "pairs of columns": "pairs.csv",
    "rows of words between": "words.csv",
    "two forms of stamps": "stamps.csv",
}
"""The same samples in files of several shapes. Wanted, in times of the bare scan: the clean one 1.5, the next
three 3, the last two 10."""
BENCHMARKS = (
    Benchmark(
        name="logger-import",
        about=f"a text file of {ROWS} rows: scanned and written as Parquet, and taken into a register",
        candidates={"scan and sink": _bare}
        | {name: partial(_take_in, file) for name, file in SHAPES.items()},
        rounds=3,
    ),
)
