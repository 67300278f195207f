"""Hunting: how much, how fast and at which flow the outlet swings, or that the sampling cannot show it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from steadyhead.watch.counting import counted
from steadyhead.watch.defects.saying import bar
from steadyhead.watch.defects.series import Floats
from steadyhead.watch.happening.defaults import SWING, SWING_OVER_USUAL, SWING_SAMPLES, SWING_SHORTEST
from steadyhead.watch.happening.swings import OF_SINE, SWING_LONGEST
from steadyhead.watch.measures.day import Day, Days, measured
from steadyhead.watch.measures.defaults import LEAST_IN_BIN, SWING_DAYS, SWING_SHARE
from steadyhead.watch.measures.grid import BINS, LEAST_FLOW
from steadyhead.watch.measures.measure import Measure, Measured, Trust
from steadyhead.watch.measures.parts import EIGHTH, PERIODS, WINDOW

NEAR = 2
"""Bins of period on either side that belong to a swing: a third to either side."""
FEW = 3
"""Windows or samples below which a flow of a day says nothing."""
BESIDE = 0.2
"""Weight of a bin of period over that of the strongest from which the period may lie in it, too."""
OWN = 1.5
"""Swing of the outlet over that of the inlet below which it comes from the supply."""


@dataclass(frozen=True, slots=True)
class Hunting:
    """Swing peak to peak; period [s], band of flow [m³/s], days with it and days that could show it.

    `seen`: ``all`` periods from 3 to 60 s, ``slow`` ones only, or ``none`` at this sampling. `shortest`:
    shortest period seen [s]. `periods`: borders between which the period lies, as finely as days keep it [s].
    """

    measured: Measured
    period: float | None
    flows: tuple[float, float] | None
    days: int
    of_days: int
    seen: str
    shortest: float
    periods: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class _Cell:
    """A flow of one day: bin, swing peak to peak [Pa], its bin of period, whether it is the outlet's own."""

    day: int
    flow: int
    size: float
    period: int
    swings: bool


def hunting(days: Days) -> Hunting:
    """Return the hunting of a period.

    Method (design handbook 6.4): windows of 256 s, straight line taken out, power by period from 3 to 60 s,
    by flow; the power that is about one period over what most flows show there; the size is that of the flow
    that swings most, for at the ends of the band a window swings in part. Four samples a period are
    needed; at slower sampling nothing is said but that a wide scatter at some flow is a hint.
    """
    step = max((d.more.steps[1] for d in days.days), default=0.0)
    shortest = max(SWING_SHORTEST.si, SWING_SAMPLES.si * step)
    fast = [d for d in days.days if d.more.swings]
    if not fast:
        return _not_seen(days, step, shortest)
    cells = _cells(fast)
    band = _band(cells)
    seen = "all" if shortest <= SWING_SHORTEST.si else "slow"
    part = "" if seen == "all" else f" Periods below {shortest:.0f} s cannot be seen at this sampling."
    assumed = ("swings of 3 to 60 s", "windows of 256 s", "power over that of most flows", "a sine")
    if band is None:
        largest = float(np.quantile([c.size for c in cells], 0.95)) if cells else 0.0
        within = counted(len(fast), "day")
        words = f"No hunting is seen in {within}: the outlet swings by less than {bar(SWING.si)}.{part}"
        if largest >= SWING.si:
            words = f"No lasting swing is seen in {within}; single hours swing by {bar(largest)}.{part}"
        trust: Trust | None = "fair" if part else None
        value = (largest, 0.0, largest)
        found = measured(days, Measure.HUNTING, "Pa", words, value, assumed, trust)
        return Hunting(found, None, None, 0, len(fast), seen, shortest)
    return _told(days, cells, band, (seen, shortest, part), assumed)


def _told(
    days: Days, cells: list[_Cell], band: list[int], seen: tuple[str, float, str], assumed: tuple[str, ...]
) -> Hunting:
    core = [c for c in cells if c.swings and c.flow in band]
    sizes = np.array([c.size for c in core])
    by_flow = {flow: [c.size for c in core if c.flow == flow] for flow in {c.flow for c in core}}
    strongest = max(by_flow.values(), key=lambda part: float(np.median(part)))
    value, low, high = (float(np.quantile(strongest, share)) for share in (0.5, 0.05, 0.95))
    weights = np.bincount([c.period for c in core], weights=sizes)
    period, periods = _period(weights.astype(np.float64))
    flows = (_edge(min(band)), _edge(max(band) + 1)) if min(band) >= 0 else None
    at = f" at flows of {_flow(flows[0])} to {_flow(flows[1])}" if flows is not None else ""
    n, of = len({c.day for c in core}), len({c.day for c in cells if c.flow in band})
    words = (
        f"The outlet swings by {bar(value)} peak to peak{at}, period {said_period(periods)}, "
        f"on {n} of {counted(of, 'day')} with these flows.{seen[2]}"
    )
    trust: Trust | None = "fair" if seen[2] or n < FEW else None
    found = measured(days, Measure.HUNTING, "Pa", words, (value, low, high), assumed, trust)
    return Hunting(found, period, flows, n, len({c.day for c in cells}), seen[0], seen[1], periods)


def _period(weights: Floats) -> tuple[float, tuple[float, float]]:
    """Return the middle period and the borders of the bins next to each other that hold it. [s]

    Lines of the spectrum of a window lie apart; half of that is added on either side.
    """
    low = high = int(np.argmax(weights))
    least = BESIDE * float(weights[low])
    while low > 0 and weights[low - 1] >= least:
        low -= 1
    while high + 1 < weights.size and weights[high + 1] >= least:
        high += 1
    middles = np.log(np.sqrt(PERIODS[low : high + 1] * PERIODS[low + 1 : high + 2]))
    middle = float(np.exp(np.average(middles, weights=weights[low : high + 1])))
    first, last = float(PERIODS[low]), float(PERIODS[high + 1])
    return middle, (first * (1.0 - 0.5 * first / WINDOW), last * (1.0 + 0.5 * last / WINDOW))


def said_period(periods: tuple[float, float]) -> str:
    """Return the borders of a period in words."""
    return f"{periods[0]:.1f} to {periods[1]:.1f} s"


def _flow(q: float) -> str:
    return f"{1e3 * q:.2f} L/s"


def _edge(flow: int) -> float:
    return float(LEAST_FLOW * 10.0 ** (flow * EIGHTH / BINS))


def _not_seen(days: Days, step: float, shortest: float) -> Hunting:
    why = f"samples lie {step:g} s apart, its period is {SWING_SHORTEST.si:.0f} to {SWING_LONGEST:.0f} s"
    if not days.days or step <= 0.0:
        words = "Hunting is not known: there is no believed outlet pressure in this period."
    elif any(d.more.by_exception for d in days.days):
        words = "Cannot see hunting: the outlet is reported by exception."
    elif step * SWING_SAMPLES.si <= SWING_LONGEST:
        words = "Hunting is not known: the outlet is no record of single samples without gaps."
    else:
        words = f"Cannot see hunting at this sampling: {why}."
    words += _hint(days.days)
    return Hunting(measured(days, Measure.HUNTING, "Pa", words), None, None, 0, 0, "none", shortest)


def _hint(days: tuple[Day, ...]) -> str:
    """Return where single samples scatter far beyond the other flows: no more than a hint."""
    rows = [row for d in days for row in d.more.scatter if row[1] >= FEW]
    if not rows:
        return ""
    table: dict[int, tuple[float, float]] = {}
    for flow, n, rms in rows:
        a, b = table.get(flow, (0.0, 0.0))
        table[flow] = (a + n, b + n * float(rms) ** 2)
    by_flow = {k: float(np.sqrt(b / a)) for k, (a, b) in table.items() if k >= 0 and a >= LEAST_IN_BIN.si}
    if len(by_flow) < 4:
        return ""
    top = max(by_flow, key=lambda k: by_flow[k])
    rest = float(np.median([v for k, v in by_flow.items() if k != top]))
    if by_flow[top] < SWING_OVER_USUAL.si * rest or by_flow[top] * OF_SINE < SWING.si:
        return ""
    return (
        f" At flows about {_flow(_edge(top))} to {_flow(_edge(top + 1))} single samples scatter "
        f"{by_flow[top] / max(rest, 1.0):.1f} times as much as at others: a hint; a record at 1 s shows it."
    )


def _cells(days: list[Day]) -> list[_Cell]:
    """Return the swing of each flow of each day, over the power that most flows have at that period."""
    rows = [(d.number, s) for d in days for s in d.more.swings if s.windows >= FEW]
    if not rows:
        return []
    power = np.array([s.outlet for _, s in rows], dtype=float)
    usual = (
        np.quantile(power, 0.3, axis=0) if len({s.flow for _, s in rows}) > 3 else np.zeros(power.shape[1])
    )
    out = []
    for (day, s), whole, own in zip(rows, power, np.maximum(power - usual, 0.0), strict=True):
        k = int(np.argmax(_about(own)))
        near = slice(max(0, k - NEAR), k + NEAR + 1)
        size = OF_SINE * float(np.sqrt(own[near].sum()))
        supply = OF_SINE * float(np.sqrt(sum(s.inlet[near]))) if s.inlet else 0.0
        narrow = float(own[near].sum()) > SWING_SHARE.si * float(whole.sum())
        peak = int(np.argmax(own[near])) + near.start
        out.append(_Cell(day, s.flow, size, peak, size >= SWING.si and narrow and size > OWN * supply))
    return out


def _about(power: Floats) -> Floats:
    return np.convolve(power, np.ones(2 * NEAR + 1), mode="same")


def _band(cells: list[_Cell]) -> list[int] | None:
    """Return the flows that swing on enough of their days, in one piece; None: none does."""
    share: dict[int, float] = {}
    for flow in {c.flow for c in cells}:
        part = [c for c in cells if c.flow == flow]
        share[flow] = sum(c.swings for c in part) / len(part)
    hot = {flow for flow, s in share.items() if s >= SWING_DAYS.si}
    if not hot:
        return None
    weight = {f: sum(c.size for c in cells if c.flow == f and c.swings) for f in hot}
    top = max(hot, key=lambda f: weight[f])
    low = high = top
    while low - 1 in hot:
        low -= 1
    while high + 1 in hot:
        high += 1
    return list(range(low, high + 1))
