"""Time in band: how long the outlet stands within its limits, by hour of the day and by flow."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from steadyhead.watch.defects.saying import bar
from steadyhead.watch.defects.series import Floats, Marks
from steadyhead.watch.measures.day import Days, cells, measured
from steadyhead.watch.measures.grid import GRAIN, Counts, flow_at
from steadyhead.watch.measures.measure import Measure, Measured


@dataclass(frozen=True, slots=True)
class Share:
    """One row: hour or middle flow [m³/s], share within, under and over [fraction], hours counted."""

    at: float
    within: float
    under: float
    over: float
    hours: float


@dataclass(frozen=True, slots=True)
class InBand:
    """Share of the time within the band; rows by hour of the day and by flow (0: none passes)."""

    measured: Measured
    by_hour: tuple[Share, ...]
    by_flow: tuple[Share, ...]


def time_in_band(days: Days, low: float, high: float) -> InBand:
    """Return how long the outlet stands from `low` to `high`. [Pa]

    Method (design handbook 6.4): share of the time, by hour of the day and by bin of flow, from counts in
    bins of 0.01 bar; times aside (trips) and what the judgement of the data refuses are not counted.
    """
    rows, seconds = cells(days.days)
    if not rows.size:
        words = "Time in band is not known: there is no believed outlet pressure in this period."
        return InBand(measured(days, Measure.IN_BAND, "fraction", words), (), ())
    middle = (rows[:, 3] + 0.5) * GRAIN
    under, over = middle < low, middle > high
    flows = _shares(rows[:, 2], seconds, under, over)
    value = 1.0 - float(seconds[under | over].sum() / seconds.sum())
    words = (
        f"Trips and lost supply aside, the outlet stands from {bar(low)} to {bar(high)} "
        f"for {100.0 * value:.1f} % of the time; "
        f"under it for {_hours(seconds[under])}, over it for {_hours(seconds[over])}."
    )
    assumed = (
        "pressure in bins of 0.01 bar",
        "a sample stands for its interval",
        "gaps, trips and lost supply are not counted",
    )
    return InBand(
        measured(days, Measure.IN_BAND, "fraction", words, (value, None, None), assumed),
        tuple(_shares(rows[:, 0], seconds, under, over)),
        tuple(replace(s, at=flow_at(int(s.at))) for s in flows),
    )


def _hours(seconds: Floats) -> str:
    return f"{float(seconds.sum()) / 3600.0:.1f} h"


def _shares(kind: Counts, seconds: Floats, under: Marks, over: Marks) -> Sequence[Share]:
    names, place = np.unique(kind, return_inverse=True)
    every = np.bincount(place, weights=seconds)
    low = np.bincount(place, weights=seconds * under)
    high = np.bincount(place, weights=seconds * over)
    return [
        Share(float(name), float((a - b - c) / a), float(b / a), float(c / a), float(a / 3600.0))
        for name, a, b, c in zip(names, every, low, high, strict=True)
    ]
