"""Droop and lock-up of service against those as left, and against the twin at the same flow and inlet."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import hypot

import numpy as np

from steadyhead.watch.counting import counted
from steadyhead.watch.defects.saying import bar
from steadyhead.watch.defects.series import Floats
from steadyhead.watch.measures.day import Day, Days, measured
from steadyhead.watch.measures.defaults import LEAST_IN_BIN, LEAST_NIGHTS
from steadyhead.watch.measures.droop import FEW, SPREAD, Point, droop_curve, middle, sen
from steadyhead.watch.measures.grid import GRAIN, flow_at
from steadyhead.watch.measures.lockup import LAST
from steadyhead.watch.measures.measure import Measure, Measured, Trust

OF_95 = SPREAD / 1.96
"""Half-width of 90 % over that of 95 %, normal law. Analytic."""
ENOUGH = 0.5
"""Share of the flows as left (by their roots) that service must have met. Own estimate."""
BESIDE = 1.25
"""How far over the highest flow met the duty flow may lie. Own estimate."""
DAY = 86_400.0
LEAST_DAYS = 14
"""Days below which there is no trend of the outlet at equal flow. Own estimate."""
LEAST_DRIFT = 0.03e5
"""Change over the period from which a trend is told: days differ by less. [Pa] Own estimate."""
Asked = Sequence[tuple[float, float | None]]
"""Flows [m³/s], each with the inlet [Pa] at its gauge; None: not recorded, the twin takes its usual one."""


@dataclass(frozen=True, slots=True)
class Stood:
    """A fall or rise of the outlet as left: value, half-width of 95 % [Pa], flows it belongs to [m³/s].

    flows: of a droop from which to which; of a rise the duty flow, twice.
    """

    value: float
    within: float
    flows: tuple[float, float]


@dataclass(frozen=True, slots=True)
class AsLeft:
    """What the chosen baseline says of the reducer: its day in words; droop and lock-up rise, if fitted."""

    day: str
    droop: Stood | None = None
    rise: Stood | None = None


@dataclass(frozen=True, slots=True)
class Twin:
    """The steady twin: `outlet` gives the outlet at its gauge [Pa] or None for each flow and inlet.

    source: by what it goes, in words.
    """

    outlet: Callable[[Asked], Sequence[float | None]]
    source: str


@dataclass(frozen=True, slots=True)
class Beside:
    """One flow [m³/s]: inlet met (None: not recorded), outlet in service and of the twin [Pa], samples."""

    flow: float
    inlet: float | None
    outlet: float
    twin: float
    n: int


@dataclass(frozen=True, slots=True)
class DroopAsLeft:
    """Droop over that as left; the flows held against each other [m³/s] and the fall as left there. [Pa]

    None: not held.
    """

    measured: Measured
    flows: tuple[float, float] | None = None
    then: float | None = None


@dataclass(frozen=True, slots=True)
class AgainstTwin:
    """Level, droop and outlet at the lowest flow over the twin's; `beside`: flow by flow."""

    level: Measured
    droop: Measured
    lockup: Measured
    beside: tuple[Beside, ...]


def droop_as_left(days: Days, as_left: AsLeft) -> DroopAsLeft:
    """Return how much more the outlet falls in service than it fell as left, over the same flows. [Pa]

    Method (design handbook 6.4, droop curve against the flow test as left): fall of the fitted line of the
    outlet on the root of flow over the flows of that test that service has met; where it met a part of them,
    the fall as left is shared out by the roots. low, high: both uncertainties, 90 %.
    """
    stood = as_left.droop
    code, unit = Measure.DROOP_AS_LEFT, "Pa"
    if stood is None:
        words = f"The baseline of {as_left.day} has no droop: its flow test determined none."
        return DroopAsLeft(measured(days, code, unit, words))
    first, last = stood.flows
    inside = [p for p in droop_curve(days).points if 0.9 * first <= p.flow <= 1.1 * last]
    root = np.sqrt([p.flow for p in inside])
    share = float(root[-1] - root[0]) / (last**0.5 - first**0.5) if len(inside) >= FEW else 0.0
    if share < ENOUGH:
        words = (
            f"The droop is not held against that as left on {as_left.day}: too little of its flows, "
            f"{_flow(first)} to {_flow(last)}, was met."
        )
        return DroopAsLeft(measured(days, code, unit, words))
    slope, low, high = (
        -one * float(root[-1] - root[0]) for one in sen(root, np.array([p.outlet for p in inside]))
    )
    then, sure = share * stood.value, share * stood.within * OF_95
    ends = (slope - then, hypot(slope - high, sure), hypot(low - slope, sure))
    value = (ends[0], ends[0] - ends[1], ends[0] + ends[2])
    words = (
        f"From {_flow(inside[0].flow)} to {_flow(inside[-1].flow)} the outlet falls by {bar(slope)}; "
        f"as left on {as_left.day} by {bar(then)}{_more(value)}."
    )
    assumed = ["outlet on a line over the root of flow", "gauge of the flow test and logger keep one scale"]
    if share < 0.95:
        assumed.append(f"{100.0 * share:.0f} % of the flows of the test met, its fall shared by the roots")
    found = measured(days, code, unit, words, value, tuple(assumed))
    return DroopAsLeft(found, (inside[0].flow, inside[-1].flow), then)


def _more(value: tuple[float, float, float]) -> str:
    middle_, low, high = value
    if low > 0.0:
        return f", {bar(middle_)} more now"
    return f", {bar(-middle_)} less now" if high < 0.0 else ": the readings do not tell them apart"


def lockup_as_left(days: Days, as_left: AsLeft) -> Measured:
    """Return the rise from the duty flow to the lowest flow of the nights, less that to lock-up as left. [Pa]

    At some flow a sound reducer stands below its lock-up: the value is then negative. Above it more closes
    the reducer later than it did: seat, pilot or their friction. Rises are compared, so a gauge that stands
    off by the same everywhere does not matter.
    """
    stood = as_left.rise
    code, unit = Measure.LOCKUP_AS_LEFT, "Pa"
    if stood is None:
        words = f"The baseline of {as_left.day} has no lock-up rise: its readings determined none."
        return measured(days, code, unit, words)
    duty = stood.flows[0]
    nights, points = _nights(days), droop_curve(days).points
    at_duty = _at(points, duty)
    if len(nights) < LEAST_NIGHTS.si or at_duty is None:
        lacks = (
            "too few nights" if len(nights) < LEAST_NIGHTS.si else f"{_flow(duty)}, its duty flow, not met"
        )
        words = f"The rise at the lowest flow is not held against that as left on {as_left.day}: {lacks}."
        return measured(days, code, unit, words)
    outlets = np.array([d.night.outlet for d in nights if d.night is not None]) - at_duty
    low, now, high = (float(one) for one in np.quantile(outlets, (0.05, 0.5, 0.95)))
    sure = stood.within * OF_95
    over = now - stood.value
    value = (over, over - hypot(now - low, sure), over + hypot(high - now, sure))
    said = "no more than then"
    if value[1] > 0.0:
        said = f"{bar(over)} more now"
    elif over > 0.0:
        said = "the readings do not tell them apart"
    words = (
        f"At the lowest flow of {counted(len(nights), 'night')} the outlet stands {bar(now)} over that at "
        f"{_flow(duty)}; the lock-up as left on {as_left.day} stood {bar(stood.value)} over it: {said}."
    )
    assumed = (
        "at some flow the outlet stands below lock-up",
        "a leak below the night's flow is not seen",
        "gauge of the run and logger keep one scale",
    )
    return measured(days, code, unit, words, value, assumed)


def against_twin(days: Days, twin: Twin) -> AgainstTwin:
    """Return the outlet in service over that of the twin at the same flow and inlet. [Pa]

    Medians of the outlet in bins of flow (see `droop_curve`) less the steady outlet of the twin at the middle
    of the bin and the mean inlet there. The level is their middle (weighted median), the droop the fall of
    their line over the root of flow, lowest flow: nights one by one, the last ones. Quasi-steady: what swings
    or fills is in the medians as it was.
    """
    points = droop_curve(days).points
    met = _inlets(days)
    asked = [(p.flow, met.get(round(p.flow, 12))) for p in points]
    outlets = twin.outlet(asked) if asked else ()
    beside = tuple(
        Beside(p.flow, at[1], p.outlet, float(outlet), p.n)
        for p, at, outlet in zip(points, asked, outlets, strict=True)
        if outlet is not None and np.isfinite(outlet)
    )
    return AgainstTwin(_level(days, beside, twin), _droop(days, beside, twin), _lockup(days, twin), beside)


def _level(days: Days, beside: Sequence[Beside], twin: Twin) -> Measured:
    if len(beside) < FEW:
        return measured(days, Measure.TWIN_LEVEL, "Pa", _too_few("outlet", beside))
    value = middle([(b.outlet - b.twin, b.n) for b in beside])
    words = f"At equal flow and inlet the outlet stands {_over(value[0])} that of the twin."
    return measured(days, Measure.TWIN_LEVEL, "Pa", words, value, _assumed(beside, twin))


def _droop(days: Days, beside: Sequence[Beside], twin: Twin) -> Measured:
    if len(beside) < FEW:
        return measured(days, Measure.TWIN_DROOP, "Pa", _too_few("droop", beside))
    root = np.sqrt([b.flow for b in beside])
    span = float(root[-1] - root[0])
    slope, low, high = sen(root, np.array([b.outlet - b.twin for b in beside]))
    value = (-slope * span, -high * span, -low * span)
    side = "more" if value[0] > 0.0 else "less"
    words = (
        f"From {_flow(beside[0].flow)} to {_flow(beside[-1].flow)} the outlet falls by "
        f"{bar(abs(value[0]))} {side} than that of the twin."
    )
    clear = value[1] > 0.0 or value[2] < 0.0
    trust: Trust | None = None if clear else "poor"
    return measured(days, Measure.TWIN_DROOP, "Pa", words, value, _assumed(beside, twin), trust)


def _lockup(days: Days, twin: Twin) -> Measured:
    code = Measure.TWIN_LOCKUP
    nights = _nights(days)
    there = [d.night for d in nights if d.night is not None and d.night.flow > 0.0]
    outlets = twin.outlet([(one.flow, one.inlet) for one in there]) if there else ()
    over = [
        one.outlet - outlet
        for one, outlet in zip(there, outlets, strict=True)
        if outlet is not None and np.isfinite(outlet)
    ]
    if len(over) < LEAST_NIGHTS.si:
        words = "The outlet at the lowest flow is not held against the twin: too few nights with flow."
        return measured(days, code, "Pa", words)
    low, now, high = (float(one) for one in np.quantile(over, (0.05, 0.5, 0.95)))
    nights_seen = counted(len(over), "night")
    words = f"At the lowest flow of {nights_seen} the outlet stands {_over(now)} that of the twin."
    assumed = (twin.source, "a leak below the night's flow is not seen")
    return measured(days, code, "Pa", words, (now, low, high), assumed)


def level_trend(days: Days) -> Measured:
    """Return the trend of the outlet at equal flow. [Pa per day]

    Each day's outlet less the period's own droop curve at the same flows (weighted median), its trend by
    Theil-Sen with Sen's interval. It shows what settles or is turned step by step; a logger that drifts looks
    the same until a visit's gauge is read beside it.
    """
    code, unit = Measure.LEVEL_TREND, "Pa per day"
    points = droop_curve(days).points
    by_day = [(d, level) for d in days.days if (level := _level_of(d, points)) is not None]
    if len(by_day) < LEAST_DAYS or len(points) < FEW:
        words = f"The outlet at equal flow has no trend: {len(by_day)} days with outlet and flow."
        return measured(days, code, unit, words)
    t = np.array([0.5 * (d.start + d.end) for d, _ in by_day]) / DAY
    slope, low, high = sen(t, np.array([level for _, level in by_day]))
    clear = (low > 0.0 or high < 0.0) and abs(slope) * float(t[-1] - t[0]) >= LEAST_DRIFT
    words = "At equal flow the outlet shows no trend."
    if clear:
        move = f"{'rises' if slope > 0.0 else 'falls'} by {bar(abs(slope) * float(t[-1] - t[0]))}"
        words = (
            f"At equal flow the outlet {move} over the period; a gauge read beside the logger tells whether "
            "it is the logger."
        )
    assumed = ("droop of the period taken out", f"Theil-Sen over {counted(len(by_day), 'day')}")
    trust: Trust | None = None if clear else "poor"
    return measured(days, code, unit, words, (slope, low, high), assumed, trust)


def _level_of(day: Day, points: Sequence[Point]) -> float | None:
    """Return the middle of a day's outlet over the curve of the period. [Pa]"""
    rows = day.cells[day.cells[:, 2] >= 0]
    if not points or int(rows[:, 4].sum()) < LEAST_IN_BIN.si:
        return None
    flows = np.array([flow_at(int(place)) for place in rows[:, 2]])
    inside = (flows >= points[0].flow * 0.999) & (flows <= points[-1].flow * 1.001)
    if not inside.any():
        return None
    curve = np.interp(np.sqrt(flows[inside]), np.sqrt([p.flow for p in points]), [p.outlet for p in points])
    over: Floats = (rows[inside, 3] + 0.5) * GRAIN - curve
    return middle(list(zip(over.tolist(), rows[inside, 4].tolist(), strict=True)))[0]


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


def _nights(days: Days) -> list[Day]:
    """Return the last days that have a lowest flow."""
    return [d for d in days.days if d.night is not None][-LAST:]


def _at(points: Sequence[Point], flow: float) -> float | None:
    """Return the outlet of the curve at a flow; None where it lies beside the flows met. [Pa]"""
    if len(points) < FEW or not points[0].flow <= flow <= BESIDE * points[-1].flow:
        return None
    root = np.sqrt([p.flow for p in points])
    y = np.array([p.outlet for p in points])
    if flow <= points[-1].flow:
        return float(np.interp(flow**0.5, root, y))
    slope = sen(root, y)[0]
    return float(np.median(y - slope * root)) + slope * float(flow**0.5)


def _assumed(beside: Sequence[Beside], twin: Twin) -> tuple[str, ...]:
    inlet = "mean inlet of each flow" if all(b.inlet is not None for b in beside) else "the usual inlet"
    return (twin.source, inlet, "logger at the height of its tap")


def _too_few(what: str, beside: Sequence[Beside]) -> str:
    return (
        f"The {what} is not held against the twin: {counted(len(beside), 'flow')} to compare, {FEW} needed."
    )


def _over(pascal: float) -> str:
    return f"{bar(abs(pascal))} {'over' if pascal >= 0.0 else 'below'}"


def _flow(si: float) -> str:
    return f"{1e3 * si:.2f} L/s"
