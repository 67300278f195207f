"""Judging stations: the largest example, and a thousand stations in one process."""

from __future__ import annotations

import json
import resource
import sys
from typing import Any

from bench.harness import Benchmark

STATIONS = 1000
MB_PER_UNIT = 1.0 / 1024.0 if sys.platform != "darwin" else 1.0 / 1024.0**2


def _largest() -> bytes:
    from steadyhead.station.examples import names, read

    return max((read(name) for name in names()), key=len)


def _judge_largest() -> None:
    from steadyhead.services.judging import judge_file, sheet_data

    json.dumps(sheet_data(judge_file(_largest())))


def _memory() -> float:
    """Return the most memory this process has held so far. [MB]"""
    return float(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss) * MB_PER_UNIT


def _judge_thousand() -> None:
    from steadyhead.services.judging import judge_file, sheet_data
    from steadyhead.station.examples import names, read

    sources = [read(name).decode() for name in names()]
    told: list[Any] = []
    for number in range(STATIONS):
        source = sources[number % len(sources)].replace("\n  id: ", f"\n  id: N{number}-", 1)
        json.dumps(sheet_data(judge_file(source.encode())))
        if number + 1 in (STATIONS // 4, STATIONS):
            told.append(f"{number + 1} stations {_memory():.0f} MB")
    print(f"  most memory held: {', '.join(told)}")


BENCHMARKS = (
    Benchmark(
        name="check",
        about="judge the largest example and write the full result",
        candidates={"largest example": _judge_largest},
    ),
    Benchmark(
        name="stations",
        about=f"judge {STATIONS} stations in one process and write each full result",
        candidates={f"{STATIONS} stations": _judge_thousand},
        rounds=1,
    ),
)
