"""What it costs to take in a year at one sample a second, in time and in memory, and that length costs none.

Each candidate is a process of its own, so that its peak of memory is its own: `python -m bench.logger_length
WHAT FOLDER ROWS`. Times are told against scanning the clean file and writing it as Parquet in the same run;
both hold the start of the process and the reading of its modules.
"""

from __future__ import annotations

import json
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

KEY, WHO = "DMB-01", "Ilse Marrow"
HEADS = ("Time (UTC)", "P inlet [bar]", "P outlet [bar]", "Flow [m3/h]")
YEAR = 365 * 86_400
LENGTHS = (5_000_000, YEAR)
PIECE = 28 * 86_400
"""Rows that are made and written at a time."""
SHAPES = {
    "taken in": ("clean.csv", 1.5),
    "decimal comma, lines ahead": ("comma.csv", 3.0),
    "rows of words between": ("words.csv", 10.0),
}
"""Files of the same samples, and the times of the bare scan that each may take."""
RESULTS = Path(__file__).resolve().parent / "results"


def _build(folder: Path, rows: int) -> None:
    """Write the files, and a register that knows the station and has no data."""
    from steadyhead.register import open_register
    from steadyhead.services.logs.known import known_of
    from steadyhead.services.stations.saving import save
    from steadyhead.station.examples import read

    with (
        (folder / "clean.csv").open("wb") as clean,
        (folder / "comma.csv").open("wb") as comma,
        (folder / "words.csv").open("wb") as words,
    ):
        comma.write(b"Logger;K1\nNumber;4711\n\n")
        for first in range(0, rows, PIECE):
            frame = _samples(first, min(PIECE, rows - first))
            head = first == 0
            frame.write_csv(clean, datetime_format="%Y-%m-%d %H:%M:%S", include_header=head)
            frame.write_csv(words, datetime_format="%Y-%m-%d %H:%M:%S", include_header=head)
            words.write(b"chamber opened,,,\n")
            frame.write_csv(
                comma,
                separator=";",
                decimal_comma=True,
                datetime_format="%d.%m.%Y %H:%M:%S",
                include_header=head,
            )
    register = open_register(folder / "empty")
    save(register, read("dunmarrow-bottom"), WHO)
    known_of(register, KEY)
    register.close()


def _samples(first: int, rows: int):  # type: ignore[no-untyped-def]
    import numpy as np
    import polars as pl

    chance = np.random.default_rng([1, first])
    start = pl.datetime(2027, 1, 1) + pl.duration(seconds=first)
    columns = (
        pl.datetime_range(start, start + pl.duration(seconds=rows - 1), "1s", eager=True),
        np.round(8.0 + 0.1 * chance.standard_normal(rows), 3),
        np.round(4.0 + 0.05 * chance.standard_normal(rows), 3),
        np.round(20.0 + 3.0 * chance.standard_normal(rows), 2),
    )
    return pl.DataFrame(dict(zip(HEADS, columns, strict=True)))


def _bare(folder: Path, _: int) -> None:
    import polars as pl

    stamp = pl.col(HEADS[0]).str.to_datetime("%Y-%m-%d %H:%M:%S")
    pl.scan_csv(folder / "clean.csv").with_columns(stamp).sink_parquet(folder / "bare.parquet")


def _take_in(folder: Path, rows: int, name: str) -> None:
    from steadyhead.laws import compiling
    from steadyhead.register import open_register
    from steadyhead.register.logs import logs_folder
    from steadyhead.services.logs.importing import read_files
    from steadyhead.services.logs.proposing import Given

    compiling.choose("plain")  # as the command does
    register = open_register(folder / "register")
    try:
        view = read_files(register, logs_folder(register), Given(KEY, (folder / name,), "kiosk"), WHO)
    finally:
        register.close()
    if {one.count for one in view.channels} != {rows}:
        raise RuntimeError(f"{name}: {[one.count for one in view.channels]} samples of {rows} came in")


def _measured(what: str, folder: Path, rows: int) -> dict[str, float]:
    """Run one candidate in a process of its own and return wall time, processor time [s] and peak [MB]."""
    words = [sys.executable, "-m", "bench.logger_length", what, str(folder), str(rows)]
    done = subprocess.run(words, capture_output=True, text=True, check=True)
    return dict(json.loads(done.stdout.splitlines()[-1]))


def logger_length() -> int:
    """Measure a short and a long file; 0 where each is within its times of the bare scan and 1 GB."""
    lines: dict[str, dict[str, float]] = {}
    missed = 0
    for rows in LENGTHS:
        folder = Path(tempfile.mkdtemp(prefix="steadyhead-bench-length-"))
        try:
            _measured("build", folder, rows)
            base = _measured("scan and sink", folder, rows)
            lines[f"{rows} scan and sink"] = base
            _say(f"{rows:,} rows, scan and sink", base, 1.0)
            for name, (_, most) in SHAPES.items():
                shutil.rmtree(folder / "register", ignore_errors=True)
                shutil.copytree(folder / "empty", folder / "register")
                one = _measured(name, folder, rows)
                lines[f"{rows} {name}"] = one
                _say(f"{rows:,} rows, {name}", one, one["wall_s"] / base["wall_s"])
                missed |= one["wall_s"] > most * base["wall_s"] or one["peak_mb"] > 1000.0
        finally:
            shutil.rmtree(folder, ignore_errors=True)
    RESULTS.mkdir(parents=True, exist_ok=True)
    told = {"benchmark": "logger-length", "cores": os.cpu_count(), "load": os.getloadavg(), "figures": lines}
    (RESULTS / "logger-length.json").write_text(json.dumps(told, indent=1) + "\n", "utf-8")
    return int(missed)


def _say(what: str, one: dict[str, float], ratio: float) -> None:
    words = f"{one['wall_s']:8.1f} s wall {one['cpu_s']:8.1f} s processor {one['peak_mb']:6.0f} MB"
    print(f"  {what:44} {words}   ×{ratio:.2f}", flush=True)


SUITES = {"logger-length": logger_length}


def main(what: str, folder: str, rows: str) -> None:
    """Run one candidate and print what it took as a line of JSON."""
    begun = time.monotonic()
    place, count = Path(folder), int(rows)
    if what == "build":
        _build(place, count)
    elif what == "scan and sink":
        _bare(place, count)
    else:
        _take_in(place, count, SHAPES[what][0])
    wall = time.monotonic() - begun
    used = resource.getrusage(resource.RUSAGE_SELF)
    cpu, peak = used.ru_utime + used.ru_stime, used.ru_maxrss / 1e3
    print(json.dumps({"wall_s": round(wall, 2), "cpu_s": round(cpu, 2), "peak_mb": round(peak)}))


if __name__ == "__main__":
    main(*sys.argv[1:])
