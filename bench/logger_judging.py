"""What it costs to judge a stored station-year at one sample a second, and many of them at one a minute.

Each candidate is a process of its own, so that its peak of memory is its own: `python -m bench.logger_judging
WHAT FOLDER`. Ratios are to a bare scan of the same stored samples in the same run.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

RESULTS = Path(__file__).resolve().parent / "results"
WHO = "Ilse Marrow"
KEY = "DMB-01"
START = 1_798_761_600.0
"""1 January 2027, 00:00 UTC. [s]"""
DAY = 86_400
YEAR = 365
FEW_STATIONS, STATIONS, ALL_STATIONS = 6, 20, 200
CHANNELS = (("inlet", "inlet pressure", "T1"), ("outlet", "outlet pressure", "T3"), ("flow", "flow", None))


def _frames(first: int, days: int, step: int, seed: int) -> dict[str, Any]:
    """Return samples of some days from a day of the year on: demand of the day, droop, a swinging supply."""
    import numpy as np
    import polars as pl

    chance = np.random.default_rng([seed, first])
    t = START + first * DAY + np.arange(days * DAY // step) * float(step)
    hour = t % DAY / 3600.0
    flow = 0.006 * (0.4 + np.exp(-(((hour - 7.5) / 1.6) ** 2)) + 0.8 * np.exp(-(((hour - 19.0) / 2.2) ** 2)))
    flow *= np.exp(0.03 * _slow(chance, t, 900.0) + 0.03 * _slow(chance, t, 90.0))
    inlet = 8e5 + 0.3e5 * np.sin(t / 5e4) + 4e3 * _slow(chance, t, 600.0) - 2e8 * flow**2
    outlet = 4e5 - 1.5e4 * np.sqrt(flow / 0.006) + 0.02 * (inlet - 8e5) + 500.0 * _slow(chance, t, 300.0)
    values = {"inlet": inlet, "outlet": outlet, "flow": flow}
    micros = pl.Series("t", (t * 1e6).astype("int64")).cast(pl.Datetime("us", "UTC"))
    out = {}
    for name, v in values.items():
        fine = 1e-5 if name == "flow" else 100.0
        noisy = np.round((v + chance.standard_normal(v.size) * (2e-5 if name == "flow" else 300.0)) / fine)
        rows = pl.int_range(1, v.size + 1, dtype=pl.UInt64, eager=True)
        flags = pl.zeros(v.size, dtype=pl.UInt32, eager=True)
        out[name] = pl.DataFrame({"t": micros, "v": noisy * fine, "flag": flags, "row": rows})
    return out


def _slow(chance: Any, t: Any, every: float) -> Any:
    import numpy as np

    at = np.arange(t[0] - every, t[-1] + 2.0 * every, every)
    return np.interp(t, at, chance.standard_normal(at.size))


def _channel(name: str, quantity: str, place: str | None) -> Any:
    from steadyhead.records.logger import Channel

    unit = "m3/s" if quantity == "flow" else "bar"
    return Channel(
        name, place, quantity, "spot", unit, 1.0, 0.0, False, None, "UTC", "linear", (), name,  # type: ignore[arg-type]
    )  # fmt: skip


def _take(register: Any, logs: Any, key: str, samples: dict[str, Any]) -> None:
    from steadyhead.register.logs import Manifest, commit, staged, state_of

    with staged(register, logs) as one:
        parts = one.write(key, [(_channel(*told), samples[told[0]].lazy()) for told in CHANNELS])
        with register.reading() as connection:
            state = state_of(connection, key)
        commit(register, one, Manifest(one.token, key, "bench", (), parts), WHO, state)


def _open(folder: str | Path) -> tuple[Any, Any]:
    from steadyhead.register import open_register
    from steadyhead.register.logs import logs_folder

    register = open_register(folder)
    return register, logs_folder(register)


def _a_year(folder: Path) -> None:
    """Store a year at one a second, month by month, all but the last day."""
    from steadyhead.services.stations.saving import save
    from steadyhead.station.examples import read

    register, logs = _open(folder)
    save(register, read("dunmarrow-bottom"), WHO)
    for first in range(0, YEAR - 1, 28):
        _take(register, logs, KEY, _frames(first, min(28, YEAR - 1 - first), 1, 1))
    register.close()


def _stations(folder: Path, count: int) -> None:
    """Store stations that have a year at one a minute each."""
    from steadyhead.services.stations.saving import save
    from steadyhead.station.examples import read

    register, logs = _open(folder)
    text = read("dunmarrow-bottom").decode()
    for number in range(count):
        key = f"BNC-{number:03d}"
        save(register, text.replace(KEY, key).encode(), WHO)
        _take(register, logs, key, _frames(0, YEAR, 60, number))
    register.close()


def _scan(folder: str) -> None:
    """Read every stored sample once and add it up; as lean as can be."""
    import polars as pl

    for path in sorted(Path(folder).glob("logs/samples/**/*.parquet")):
        pl.scan_parquet(path).select(pl.all().sum()).collect(engine="streaming")


def _judge(folder: str) -> None:
    from steadyhead.services.logs.judging import judge_period

    register, logs = _open(folder)
    judge_period(register, logs, KEY)
    register.close()


def _add(folder: str) -> None:
    register, logs = _open(folder)
    _take(register, logs, KEY, _frames(YEAR - 1, 1, 1, 1))
    register.close()


def _many(folder: str, cluster: str = "") -> None:
    from steadyhead.services.cluster import Cluster
    from steadyhead.services.logs.judging_many import judge_many, with_data

    register, logs = _open(folder)
    made = Cluster(cluster, 2, batch=1) if cluster else None
    try:
        with Path(folder, f"told{'-cluster' * bool(cluster)}.jsonl").open("w", encoding="utf-8") as out:
            for one in judge_many(register, logs, with_data(register), executor=made):
                out.write(json.dumps(None if one.judged is None else one.judged.model_dump(mode="json")))
                out.write("\n")
    finally:
        if made is not None:
            made.close()
        register.close()


WHAT: dict[str, Callable[[str], None]] = {
    "build a year": lambda folder: _a_year(Path(folder)),
    "build few stations": lambda folder: _stations(Path(folder), FEW_STATIONS),
    "build stations": lambda folder: _stations(Path(folder), STATIONS),
    "build all stations": lambda folder: _stations(Path(folder), ALL_STATIONS),
    "bare scan": _scan,
    "judged": _judge,
    "judged again": _judge,
    "a day more": _add,
    "judged with a day more": _judge,
    "stations here": _many,
    "stations on two workers": lambda folder: _many(folder, "local"),
}


def _measured(what: str, folder: Path) -> dict[str, float]:
    """Run one candidate in a process of its own and return wall time, processor time [s] and peak [MB]."""
    words = [sys.executable, "-m", "bench.logger_judging", what, str(folder)]
    done = subprocess.run(words, capture_output=True, text=True, check=True)
    return dict(json.loads(done.stdout.splitlines()[-1]))


def _told(name: str, lines: dict[str, dict[str, float]], base: str, more: dict[str, Any]) -> None:
    for what, one in lines.items():
        ratio = one["wall_s"] / lines[base]["wall_s"]
        words = f"{one['wall_s']:8.1f} s wall {one['cpu_s']:8.1f} s processor {one['peak_mb']:6.0f} MB"
        print(f"  {what:28} {words}   ×{ratio:.1f}", flush=True)
    RESULTS.mkdir(parents=True, exist_ok=True)
    plain = {"benchmark": name, "cores": os.cpu_count(), "load": os.getloadavg(), "figures": lines, **more}
    (RESULTS / f"{name}.json").write_text(json.dumps(plain, indent=1, ensure_ascii=False) + "\n", "utf-8")


def logger_year() -> int:
    """Measure a station-year at 1 Hz; 0 where it is judged within 20 s and 1 GB."""
    name = "logger-year"
    with _folder() as folder:
        _measured("build a year", folder)
        print(f"{name}: {YEAR} days at 1 s, {len(CHANNELS)} channels", flush=True)
        order = ("bare scan", "judged", "judged again", "a day more", "judged with a day more")
        lines = {what: _measured(what, folder) for what in order}
        _told(name, lines, "bare scan", {"rows": YEAR * DAY * len(CHANNELS)})
    one = lines["judged"]
    return 0 if one["wall_s"] < 20.0 and one["peak_mb"] < 1000.0 else 1


def _logger_stations(count: int, which: str = "") -> int:
    """Measure station-years at 1 min, here and on two workers; 0 where both say the same within 1 GB."""
    name = f"logger-stations-{count}"
    with _folder() as folder:
        _measured(f"build {which} stations".replace("  ", " "), folder)
        print(f"{name}: {count} station-years at 1 min, {len(CHANNELS)} channels each", flush=True)
        lines = {"bare scan": _measured("bare scan", folder)}
        for what in ("stations here", "stations on two workers"):
            shutil.rmtree(folder / "logs" / "worked", ignore_errors=True)
            lines[what] = _measured(what, folder)
        told = [(folder / f"told{end}.jsonl").read_text("utf-8") for end in ("", "-cluster")]
        _told(name, lines, "bare scan", {"stations": count, "same": told[0] == told[1]})
    print(f"  the same to the last digit: {told[0] == told[1]}")
    return 0 if told[0] == told[1] and lines["stations here"]["peak_mb"] < 1000.0 else 1


@contextmanager
def _folder() -> Iterator[Path]:
    """Give a folder that is gone afterwards."""
    path = Path(tempfile.mkdtemp(prefix="steadyhead-bench-judging-"))
    try:
        yield path
    finally:
        shutil.rmtree(path, ignore_errors=True)


SUITES: dict[str, Callable[[], int]] = {
    "logger-year": logger_year,
    "logger-stations-few": lambda: _logger_stations(FEW_STATIONS, "few"),
    "logger-stations": lambda: _logger_stations(STATIONS),
    "logger-stations-all": lambda: _logger_stations(ALL_STATIONS, "all"),
}


def main(what: str, folder: str) -> None:
    """Run one candidate and print what it took as a line of JSON; its children count."""
    import resource

    begun = time.monotonic()
    WHAT[what](folder)
    wall = time.monotonic() - begun
    every = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    cpu = sum(one.ru_utime + one.ru_stime for one in every)
    peak = max(one.ru_maxrss for one in every) / 1e3
    print(json.dumps({"wall_s": round(wall, 2), "cpu_s": round(cpu, 2), "peak_mb": round(peak)}))


if __name__ == "__main__":
    main(*sys.argv[1:])
