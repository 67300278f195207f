"""Strainer and supply line as one, where no gauge stands before the strainer: what of them can be told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

from steadyhead.watch.counting import signed
from steadyhead.watch.defects.series import Floats
from steadyhead.watch.happening.straining import at_once, goes_with, grows_with
from steadyhead.watch.happening.usual import DAY, deviation

WITH_GAUGE = "a gauge at T0 would tell"
KNOWN = 2.0
"""Resistance over the error of a day from which the inlet shows it."""
LEAST = 5
"""Days from which quick changes say something."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """Why the course of the resistance tells no trend, a sentence; from which day on it is level again."""

    words: str
    since: int = 0


def untold(resistances: Sequence[tuple[float, ...]]) -> str:
    """Return why the resistance is not measured, a sentence; empty where it is.

    resistances: of days in order; resistance, error, and by quick changes where known. [Pa s²/m⁶]
    """
    k, error, quick = _columns(resistances)
    if float(np.median(k)) < KNOWN * min(float(np.median(error)), max(deviation(k), 1e-300)):
        return f"Strainer and supply line are not measured: the inlet does not show the flow; {WITH_GAUGE}."
    some = np.isfinite(quick)
    if np.count_nonzero(some) >= LEAST and not goes_with(k[some], quick[some]):
        return (
            "Strainer and supply line are not measured: the inlet moves with the hours of the day more than "
            f"with the flow, as where others draw from the line or the supply follows them; {WITH_GAUGE}."
        )
    return ""


def doubt(t: Floats, resistances: Sequence[tuple[float, ...]]) -> Doubt | None:
    """Return what keeps the resistance of these days from a trend; None: nothing.

    t: middles of the days. [days since 1970]
    """
    k, _, quick = _columns(resistances)
    step = at_once(t * DAY, k)
    if step is not None:
        since = int(np.searchsorted(t * DAY, step))
        change = float(np.median(k[since:])) / float(np.median(k[:since])) - 1.0
        return Doubt(
            f"The resistance of strainer and supply line steps by {signed(f'{100.0 * change:+.0f}')} % about "
            f"{datetime.fromtimestamp(step, tz=UTC):%Y-%m-%d}, as where a main or a valve before them is "
            f"moved: no trend is told; {WITH_GAUGE}.",
            since,
        )
    some = np.isfinite(quick)
    if np.count_nonzero(some) >= LEAST and not grows_with(k[some], quick[some]):
        return Doubt(
            "The resistance of strainer and supply line has no trend that can be told: quick changes of the "
            f"flow do not show it, as where others draw more from the line; {WITH_GAUGE}."
        )
    return None


def _columns(resistances: Sequence[tuple[float, ...]]) -> tuple[Floats, Floats, Floats]:
    table = np.array([(*row, np.nan)[:3] for row in resistances], dtype=np.float64)
    return table[:, 0], table[:, 1], table[:, 2]
