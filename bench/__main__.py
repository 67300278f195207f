"""Run all benchmarks, or the named one, and keep the figures in `bench/results`."""

from __future__ import annotations

import importlib
import pkgutil
import sys
from collections.abc import Iterator
from pathlib import Path

from bench.harness import Benchmark, as_text, measure, write

HERE = Path(__file__).resolve().parent
MACHINERY = {"harness", "__main__"}


def benchmarks() -> Iterator[Benchmark]:
    """Yield the `BENCHMARKS` of every module in this folder."""
    for found in pkgutil.iter_modules([str(HERE)]):
        if found.name not in MACHINERY:
            yield from importlib.import_module(f"bench.{found.name}").BENCHMARKS


def main() -> int:
    """Measure and tell; return 2 for a name that is not known."""
    wanted = sys.argv[1:]
    known = {one.name: one for one in benchmarks()}
    unknown = [name for name in wanted if name not in known]
    if unknown:
        print(f"bench: {unknown[0]!r} is not known. Known: {', '.join(known)}.")
        return 2
    for name in wanted or known:
        figures = measure(known[name])
        print(as_text(known[name], figures), flush=True)
        write(known[name], figures, HERE / "results")
    return 0


if __name__ == "__main__":
    sys.exit(main())
