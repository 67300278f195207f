"""The outlet in service beside that of the steady twin at the same flow and inlet."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import hypot

import numpy as np

from steadyhead.watch.counting import counted
from steadyhead.watch.defects.saying import bar
from steadyhead.watch.measures.as_left import around_middle
from steadyhead.watch.measures.day import Day, Days, Night, measured, with_flow
from steadyhead.watch.measures.defaults import LEAST_NIGHTS
from steadyhead.watch.measures.droop import FEW, droop_curve, middle, sen
from steadyhead.watch.measures.grid import GRAIN, flow_at
from steadyhead.watch.measures.levels import Levelled, levelled
from steadyhead.watch.measures.lockup import LAST
from steadyhead.watch.measures.measure import Measure, Measured, Trust

Asked = Sequence[tuple[float, float | None]]
"""Flows [m³/s], each with the inlet [Pa] at its gauge; None: not recorded, the twin takes its usual one."""


@dataclass(frozen=True, slots=True)
class Twin:
    """The steady twin: `outlet` gives the outlet at its gauge [Pa] or None for each flow and inlet.

    source: by what it goes, in words; takes_inlet: its file has the tap at which the inlet was recorded.
    """

    outlet: Callable[[Asked], Sequence[float | None]]
    source: str
    takes_inlet: bool = True


@dataclass(frozen=True, slots=True)
class Beside:
    """One flow [m³/s]: inlet met (None: not known), outlet in service and of the twin [Pa], samples."""

    flow: float
    inlet: float | None
    outlet: float
    twin: float
    n: int


@dataclass(frozen=True, slots=True)
class AgainstTwin:
    """Level, droop and rise to the lowest flow over the twin's; `beside`: flow by flow."""

    level: Measured
    droop: Measured
    lockup: Measured
    beside: tuple[Beside, ...]


def against_twin(days: Days, twin: Twin, found: Levelled | None = None) -> AgainstTwin:
    """Return the outlet in service over that of the twin at the same flow and inlet. [Pa]

    Medians of the outlet in bins of flow (see `droop_curve`) less the steady outlet of the twin at the middle
    of the bin and the mean inlet there. Level: their middle (weighted median). Droop: the fall of their line
    over the root of flow, each day's own level taken out. Rise to the lowest flow: of each of the last nights
    over its own day, less that of the twin. Quasi-steady: what swings or fills is in the medians as it was.
    days: those to be told of, of a long record the last thirty. found: their levels, where known already.
    """
    points, met = droop_curve(days).points, _inlets(days) if twin.takes_inlet else {}
    asked = [(p.flow, met.get(round(p.flow, 12))) for p in points]
    outlets = twin.outlet(asked) if asked else ()
    beside = tuple(
        Beside(p.flow, at[1], p.outlet, float(outlet), p.n)
        for p, at, outlet in zip(points, asked, outlets, strict=True)
        if outlet is not None and np.isfinite(outlet)
    )
    found = found or levelled(days)
    return AgainstTwin(
        _level(days, beside, twin),
        _droop(days, beside, found, twin),
        _lockup(days, beside, found, twin),
        beside,
    )


def _level(days: Days, beside: Sequence[Beside], twin: Twin) -> Measured:
    code, seen = Measure.TWIN_LEVEL, with_flow(days)
    if len(beside) < FEW:
        return measured(days, code, "Pa", _too_few("outlet", beside), n_valid=seen)
    value, low, high = middle([(b.outlet - b.twin, b.n) for b in beside])
    low, high = value - hypot(value - low, GRAIN), value + hypot(high - value, GRAIN)
    words = (
        "At equal flow and inlet the outlet stands where that of the twin does, as far as this record tells."
    )
    if low > 0.0 or high < 0.0:
        side = "over" if value > 0.0 else "below"
        words = f"At equal flow and inlet the outlet stands {bar(abs(value))} {side} that of the twin."
    return measured(days, code, "Pa", words, (value, low, high), _assumed(beside, twin), n_valid=seen)


def _droop(days: Days, beside: Sequence[Beside], found: Levelled, twin: Twin) -> Measured:
    code, seen = Measure.TWIN_DROOP, with_flow(days)
    curve = {round(p.flow, 12): p.outlet for p in found.points}
    pairs = [(b, curve[name] - b.twin) for b in beside if (name := round(b.flow, 12)) in curve]
    if len(pairs) < FEW:
        return measured(days, code, "Pa", _too_few("droop", beside), n_valid=seen)
    root = np.sqrt([b.flow for b, _ in pairs])
    span = float(root[-1] - root[0])
    slope, low, high = sen(root, np.array([over for _, over in pairs]))
    now, ends = -slope * span, (hypot((high - slope) * span, GRAIN), hypot((slope - low) * span, GRAIN))
    value = (now, now - ends[0], now + ends[1])
    reach = f"From {_flow(pairs[0][0].flow)} to {_flow(pairs[-1][0].flow)} the outlet falls"
    clear = (value[1] > 0.0 or value[2] < 0.0) and abs(value[0]) >= 0.5 * GRAIN
    words = f"{reach} as that of the twin does."
    if clear:
        words = (
            f"{reach} by {bar(abs(value[0]))} {'more' if value[0] > 0.0 else 'less'} than that of the twin."
        )
    trust: Trust | None = None if clear else "poor"
    assumed = (*_assumed(beside, twin), "each day's own level taken out")
    return measured(days, code, "Pa", words, value, assumed, trust, seen)


def _lockup(days: Days, beside: Sequence[Beside], found: Levelled, twin: Twin) -> Measured:
    code, seen = Measure.TWIN_LOCKUP, with_flow(days)
    nights = [(d, d.night) for d in days.days if d.night is not None and d.night.flow > 0.0][-LAST:]
    each = _rises(nights, found, twin)
    upper = [b for b in beside if b.flow >= found.floor]
    curve = {round(p.flow, 12): p.outlet for p in found.points}
    by_day = [(curve[name] - b.twin, b.n) for b in upper if (name := round(b.flow, 12)) in curve]
    if len(each) < LEAST_NIGHTS.si or not by_day:
        words = "The rise at the lowest flow is not held against the twin: too few nights with flow."
        return measured(days, code, "Pa", words, n_valid=seen)
    over = np.sort(each) - middle(by_day)[0]
    low, now, high = around_middle(over)
    low, high = now - hypot(now - low, GRAIN), now + hypot(high - now, GRAIN)
    words = (
        f"To the lowest flow of {counted(over.size, 'night')} the outlet rises by {bar(abs(now))} "
        f"{'more' if now >= 0.0 else 'less'} than that of the twin."
    )
    if low <= 0.0 <= high:
        words = (
            f"To the lowest flow of {counted(over.size, 'night')} the outlet rises as that of the twin does."
        )
    assumed = (
        twin.source, "each night over its own day", "a leak below the night's flow is not seen",
        "near closing a real reducer rises over a wider range of flow than the twin",
    )  # fmt: skip
    return measured(days, code, "Pa", words, (now, low, high), assumed, n_valid=seen)


def _rises(nights: Sequence[tuple[Day, Night]], found: Levelled, twin: Twin) -> list[float]:
    """Return the nights' outlets less their days' own levels less the twin's. [Pa]"""
    asked = [(night.flow, night.inlet if twin.takes_inlet else None) for _, night in nights]
    outlets = twin.outlet(asked) if asked else ()
    return [
        night.outlet - found.levels[d.number] - outlet
        for (d, night), outlet in zip(nights, outlets, strict=True)
        if outlet is not None and np.isfinite(outlet) and d.number in found.levels
    ]


def _inlets(days: Days) -> dict[float, float]:
    """Return the mean inlet [Pa] by the middle flow of its bin."""
    rows = [d.inlets for d in days.days if d.inlets.size]
    if not rows:
        return {}
    every = np.concatenate(rows).astype(np.int64)
    found: dict[float, float] = {}
    for place in np.unique(every[:, 0]).tolist():
        part = every[every[:, 0] == place]
        found[round(flow_at(place), 12)] = (float(part[:, 2].sum()) / float(part[:, 1].sum()) + 0.5) * GRAIN
    return found


def _assumed(beside: Sequence[Beside], twin: Twin) -> tuple[str, ...]:
    inlet = "mean inlet of each flow" if all(b.inlet is not None for b in beside) else "the usual inlet"
    return (twin.source, inlet, "logger at the height of its tap")


def _too_few(what: str, beside: Sequence[Beside]) -> str:
    met = counted(len(beside), "flow")
    return f"The {what} is not held against the twin: {met} to compare, {FEW} needed."


def _flow(si: float) -> str:
    return f"{1e3 * si:.2f} L/s"
