"""Samples of long files in order of time: what stands twice, and what of it says something else."""

from __future__ import annotations

from dataclasses import replace

import polars as pl

from steadyhead.records.logger import Fact
from steadyhead.watch.counting import counted
from steadyhead.watch.reading.joining import FILE_BITS

TWICE = [
    Fact("overlap", "Samples stand out of order or twice; they are put in order, repeats left out."),
]


def steps_of(lazy: pl.LazyFrame, descending: bool = False) -> tuple[int, int]:
    """Return how often the times step back in the order of logging, and how often they stand still."""
    steps = pl.col("t").diff().dt.total_microseconds() * (-1 if descending else 1)
    counted = lazy.select((steps < 0).sum().alias("back"), (steps == 0).sum().alias("same"))
    back, same = counted.collect(engine="streaming").row(0)
    return int(back or 0), int(same or 0)


def ordered(
    lazy: pl.LazyFrame, met: tuple[int, int], mixed: bool
) -> tuple[pl.LazyFrame, list[Fact], int, set[int]]:
    """Return the samples in order of time without duplicates; sorted only where they are not so already.

    Beside them what was met, how many were left out, and the rows of those with another value than the one
    kept.
    """
    back, same = met
    if not back and not same and not mixed:
        return lazy, [], 0, set()
    out = lazy.sort("t", pl.col("v").is_null(), "row", maintain_order=True)
    again = (pl.col("t") == pl.col("t").shift(1)).fill_null(False)
    beside = again | again.shift(-1, fill_value=False)
    some = out.filter(beside).select("t", "v", "row").collect(engine="streaming")
    first = pl.when(~again).then("v").forward_fill()
    rows = some.filter(again & (pl.col("v") != first))["row"].to_list()
    told = [replace(TWICE[0], code="out of order")] if back else TWICE if same else []
    return out.filter(~again), told, int(some.select(again.sum()).item()), set(rows)


def other_facts(rows: set[int]) -> list[Fact]:
    """Return what is told of rows with another value at a time that has one."""
    words = f"{counted(len(rows), 'row')} with another value for a time that has one; the first is kept."
    shown = tuple(row & (1 << FILE_BITS) - 1 for row in sorted(rows)[:5])
    return [Fact("same stamp, other value", words, shown)] if rows else []
