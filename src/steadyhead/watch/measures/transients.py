"""Transients: fast changes counted by hour, and rainflow cycles of inlet and outlet."""

from __future__ import annotations

from dataclasses import dataclass
from functools import reduce
from itertools import pairwise
from typing import Literal

import numpy as np

from steadyhead.watch.counting import counted, often
from steadyhead.watch.defects.saying import bar
from steadyhead.watch.measures.day import Days, measured
from steadyhead.watch.measures.defaults import LEAP, LEAP_SEEN, LEAST_CYCLE
from steadyhead.watch.measures.grid import GRAIN
from steadyhead.watch.measures.measure import Measure, Measured, Trust
from steadyhead.watch.measures.rainflow import Counted, joined, with_halves

Side = Literal["inlet", "outlet"]
EDGES = tuple(x * 1e5 for x in (0.1, 0.2, 0.3, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 5.0, 8.0, 12.0, 20.0))
"""Borders of the rows of the table of cycles. [Pa]"""


@dataclass(frozen=True, slots=True)
class Leaps:
    """Fast changes of one hour of the day: hour, rises, falls, largest change [Pa]."""

    hour: int
    rises: int
    falls: int
    largest: float


@dataclass(frozen=True, slots=True)
class Transients:
    """Of one side: number a day of fast changes and of cycles over 0.10 bar; rows by hour and by range.

    `by_range`: lower and upper border [Pa], cycles (half ones for what is never closed).
    """

    leaps: Measured
    cycles: Measured
    by_hour: tuple[Leaps, ...]
    by_range: tuple[tuple[float, float, float], ...]
    side: Side = "outlet"


def transients(days: Days, side: Side, zone: str = "UTC") -> Transients:
    """Return the transients of a side; zone: the one whose hours and days these are.

    Method: a fast change is one of 0.3 bar or more within 10 s or two samples, the next counts a minute
    later; by hour of the day, since pumps and tanks have theirs. Cycles: rainflow of the pressure in grains
    of 0.01 bar (ASTM E1049-85, 5.4.4), days joined end to end, what is never closed as half cycles. Times
    of trips are counted: the pipes feel them.
    """
    place = 0 if side == "inlet" else 1
    known = [d for d in days.days if d.more.cycles[place] is not None]
    if not known:
        words = f"Transients are not known: there is no believed {side} pressure in this period."
        none = [measured(days, code, "per day", words) for code in (Measure.LEAPS, Measure.CYCLES)]
        return Transients(none[0], none[1], (), (), side)
    step = max(d.more.steps[place] for d in known)
    by_hour = _by_hour([row for d in known for row in d.more.leaps[place]])
    table = with_halves(reduce(joined, (d.more.cycles[place] or Counted() for d in known)))
    length = sum(d.n_valid * d.step for d in known) / 86_400.0 or float(len(known))
    return Transients(
        _leaps(days, by_hour, side, (length, step), zone),
        _cycles(days, table, side, (length, step)),
        by_hour,
        _by_range(table),
        side,
    )


def _by_hour(rows: list[tuple[int, int, int, int]]) -> tuple[Leaps, ...]:
    out = []
    for hour in sorted({row[0] for row in rows}):
        part = [row for row in rows if row[0] == hour]
        largest = max(row[3] for row in part) * GRAIN
        out.append(Leaps(hour, sum(row[1] for row in part), sum(row[2] for row in part), largest))
    return tuple(out)


def _by_range(table: dict[int, float]) -> tuple[tuple[float, float, float], ...]:
    sizes = np.array([*table], dtype=float) * GRAIN
    counts = np.array([*table.values()], dtype=float)
    rows = pairwise(EDGES)
    out = ((a, b, float(counts[(sizes > a - 1.0) & (sizes < b - 1.0)].sum())) for a, b in rows)
    return tuple(row for row in out if row[2])


def _leaps(
    days: Days, by_hour: tuple[Leaps, ...], side: Side, of: tuple[float, float], zone: str
) -> Measured:  # fmt: skip
    length, step = of
    number = sum(row.rises + row.falls for row in by_hour)
    assumed = (f"{bar(LEAP.si)} or more within 10 s or two samples", "one a minute at most", "trips counted")
    if step > LEAP_SEEN.si:
        words = (
            f"Cannot count fast changes of the {side} at this sampling: samples lie {step:g} s apart. "
            f"{counted(number, 'change')} from sample to sample of {bar(LEAP.si)} or more."
        )
        return measured(days, Measure.LEAPS, "per day", words, None, assumed)
    rate = number / max(length, 1e-9)
    low, high = _poisson(number)
    words = f"The {side} changes fast {often(number)} in {counted(round(length), 'day')}."
    if number:
        top = max(by_hour, key=lambda row: row.rises + row.falls)
        largest = max(row.largest for row in by_hour)
        hour = f"{top.hour:02d}:00–{top.hour + 1:02d}:00"
        words += f" The largest is {bar(largest)}; most fall into {hour}, clock of {zone}."
    trust: Trust | None = "fair" if step > 5.0 else None
    span = max(length, 1e-9)
    return measured(days, Measure.LEAPS, "per day", words, (rate, low / span, high / span), assumed, trust)


def _poisson(number: int) -> tuple[float, float]:
    """Return where the mean of a count may lie (90 %), by the square root of the count."""
    root = np.sqrt(number + 0.375)
    return float(max(root - 0.82, 0.0) ** 2), float((root + 0.82) ** 2)


def _cycles(days: Days, table: dict[int, float], side: Side, of: tuple[float, float]) -> Measured:
    length, step = of
    least = round(LEAST_CYCLE.si / GRAIN)
    number = sum(n for size, n in table.items() if size >= least)
    largest = max(table, default=0) * GRAIN
    words = (
        f"The {side} runs through {counted(round(number), 'cycle')} of {bar(LEAST_CYCLE.si)} or more in "
        f"{counted(round(length), 'day')}; "
        f"the largest is {bar(largest)}."
    )
    blind = step > LEAP_SEEN.si
    if blind:
        words += f" Samples lie {step:g} s apart: faster cycles are not in it."
    assumed = ("rainflow after ASTM E1049-85, 5.4.4", "grains of 0.01 bar", "days joined end to end")
    trust: Trust | None = "poor" if blind else None
    rate = number / max(length, 1e-9)
    return measured(days, Measure.CYCLES, "per day", words, (rate, None, None), assumed, trust)
