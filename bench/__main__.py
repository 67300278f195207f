"""Run all benchmarks, or the named one, and keep the figures in `bench/results`."""

from __future__ import annotations

import importlib
import pkgutil
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType

from bench.harness import Benchmark, as_text, measure, write

HERE = Path(__file__).resolve().parent
MACHINERY = {"harness", "__main__"}


def benchmarks() -> Iterator[Benchmark]:
    """Yield the `BENCHMARKS` of every module in this folder."""
    for module in _modules():
        yield from getattr(module, "BENCHMARKS", ())


def suites() -> dict[str, Callable[[], int]]:
    """Return the `SUITES` of every module: what measures by itself, tells, and returns 0 where it held."""
    return {name: suite for module in _modules() for name, suite in getattr(module, "SUITES", {}).items()}


def _modules() -> Iterator[ModuleType]:
    for found in pkgutil.iter_modules([str(HERE)]):
        if found.name not in MACHINERY:
            yield importlib.import_module(f"bench.{found.name}")


def main() -> int:
    """Measure and tell; return 2 for a name that is not known, 1 where a suite did not hold."""
    wanted = sys.argv[1:]
    known = {one.name: one for one in benchmarks()}
    apart = suites()
    unknown = [name for name in wanted if name not in known and name not in apart]
    if unknown:
        print(f"bench: {unknown[0]!r} is not known. Known: {', '.join([*known, *apart])}.")
        return 2
    missed = 0
    for name in wanted or [*known, *apart]:
        if name in apart:
            missed |= apart[name]()
            continue
        figures = measure(known[name])
        print(as_text(known[name], figures), flush=True)
        write(known[name], figures, HERE / "results")
    return missed


if __name__ == "__main__":
    sys.exit(main())
