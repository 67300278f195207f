"""Benchmarks by name: things that take turns, told as text and kept as JSON.

How it is measured fairly on a machine that is never quiet: `steadyhead.services.speed.timing`.
"""

from __future__ import annotations

import json
import os
import platform
import time
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass
from pathlib import Path

from steadyhead.services.speed.timing import Figure, interleaved


@dataclass(frozen=True)
class Benchmark:
    """A name, and the things to compare; the first is what the others are held against."""

    name: str
    about: str
    candidates: Mapping[str, Callable[[], object]]
    rounds: int = 15


def measure(benchmark: Benchmark, clock: Callable[[], float] = time.perf_counter) -> dict[str, Figure]:
    """Run a benchmark and return one figure for each candidate."""
    return interleaved(benchmark.candidates, benchmark.rounds, clock)


def as_text(benchmark: Benchmark, figures: Mapping[str, Figure]) -> str:
    """Return the figures as lines a person reads."""
    lines = [f"{benchmark.name}: {benchmark.about} ({benchmark.rounds} rounds)"]
    for name, one in figures.items():
        time_told = f"{one.median_s * 1e3:9.2f} ms ±{one.spread:4.0%}"
        lines.append(f"  {name:32} {time_told}   ×{one.ratio:.2f} ±{one.ratio_spread:.0%}")
    return "\n".join(lines)


def write(benchmark: Benchmark, figures: Mapping[str, Figure], folder: Path) -> Path:
    """Write the figures as JSON and return the file."""
    folder.mkdir(parents=True, exist_ok=True)
    target = folder / f"{benchmark.name}.json"
    record = {
        "benchmark": benchmark.name,
        "about": benchmark.about,
        "rounds": benchmark.rounds,
        "python": platform.python_version(),
        "machine": f"{platform.system()} {platform.machine()}, {os.cpu_count()} cores",
        "figures": {name: asdict(one) for name, one in figures.items()},
    }
    target.write_text(json.dumps(record, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    return target
