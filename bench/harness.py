"""Measure fairly on a machine that is never quiet.

The things to compare take turns within one run (a, b, c, then a, b, c again, in changing order), so that
a slow minute hits all of them alike. Told are the median, the spread (half the distance between the
quartiles, as a share of the median), and the ratio to the first one, taken round by round.
"""

from __future__ import annotations

import json
import os
import platform
import statistics
import time
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass
from pathlib import Path


@dataclass(frozen=True)
class Benchmark:
    """A name, and the things to compare; the first is what the others are held against."""

    name: str
    about: str
    candidates: Mapping[str, Callable[[], object]]
    rounds: int = 15


@dataclass(frozen=True)
class Figure:
    """What was measured of one candidate: seconds, spread, and ratio to the first."""

    median_s: float
    least_s: float
    spread: float
    ratio: float
    ratio_spread: float


def measure(benchmark: Benchmark, clock: Callable[[], float] = time.perf_counter) -> dict[str, Figure]:
    """Run a benchmark and return one figure for each candidate."""
    names = list(benchmark.candidates)
    for name in names:
        benchmark.candidates[name]()
    times: dict[str, list[float]] = {name: [] for name in names}
    for number in range(benchmark.rounds):
        turn = number % len(names)
        for name in [*names[turn:], *names[:turn]]:
            started = clock()
            benchmark.candidates[name]()
            times[name].append(clock() - started)
    return {name: _figure(times[name], times[names[0]]) for name in names}


def _figure(own: list[float], first: list[float]) -> Figure:
    ratios = [mine / theirs for mine, theirs in zip(own, first, strict=True)]
    return Figure(
        median_s=statistics.median(own),
        least_s=min(own),
        spread=_spread(own),
        ratio=statistics.median(ratios),
        ratio_spread=_spread(ratios),
    )


def _spread(values: list[float]) -> float:
    """Return half the distance between the quartiles as a share of the median."""
    if len(values) < 2:
        return 0.0
    low, middle, high = statistics.quantiles(values, n=4, method="inclusive")
    return (high - low) / 2.0 / middle


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
