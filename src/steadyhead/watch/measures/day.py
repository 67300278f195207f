"""What one day of a station gives to its measures; days merge in any order and any grouping.

A day holds whole numbers (counts by hour, way of the flow, flow and outlet; sums) and a few values of its
own. A measure over a year reads 365 of them, never the samples. A day that is read again replaces the old one
where it holds more: the greater of two days stands, so merging is associative, commutative and idempotent.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime

import numpy as np

from steadyhead.watch.defects.series import Floats, Series, at_times
from steadyhead.watch.happening.believing import Scene
from steadyhead.watch.happening.straining import (
    LAGS,
    QUICK,
    changes,
    losses,
    slope_of,
    stepped_slope,
    through,
    together,
)
from steadyhead.watch.happening.usual import Spans, outside
from steadyhead.watch.measures import parts
from steadyhead.watch.measures.defaults import INLET_STEP, STEADY_FLOW, TURNING
from steadyhead.watch.measures.grid import GRAIN, Counts, Midnights, flow_bins
from steadyhead.watch.measures.measure import Measure, Measured, Rows, Trust

LAG = 1200.0
GOOD, FAIR = 0.9, 0.5
"""Shares of valid samples from which a measure is good, and fair."""
LEAST_ROWS = 30
LEAST_HIGH = 12
"""Blocks of a quarter of an hour at high flow from which a day has a resistance over the shut-off."""
QUIET = 0.15
"""Share of the day with its lowest flow."""


@dataclass(frozen=True, slots=True)
class Night:
    """The lowest flow of a day: flow [m³/s], outlet and its top, inlet (None: not recorded) [Pa]."""

    flow: float
    outlet: float
    top: float
    inlet: float | None


@dataclass(frozen=True, slots=True)
class Sums:
    """Changes at steady flow: number, and sums of inlet², inlet·outlet, outlet² [Pa²] in whole numbers."""

    n: int
    xx: int
    xy: int
    yy: int


@dataclass(frozen=True, slots=True, eq=False)
class Day:
    """One day of one station in its zone.

    Parameters
    ----------
    number
        Days since 1970 of the zone's calendar.
    start, end
        Its midnights. [s since 1970 UTC]
    step
        Time that one count stands for. [s]
    n_valid, n_total
        Counts used and counts there should be.
    cells
        Rows of hour, way of the flow (-1, 0, 1), bin of flow (-1: none passes), bin of outlet, count.
    night
        At the lowest flow; None: no flow or no outlet.
    steps
        For the supply sensitivity.
    resistance
        Before the first valve, its standard error, and, where strainer and line are one, the same by quick
        changes alone [Pa s²/m⁶]; None: not to be had.
    alone
        Whether that is the strainer's alone (gauges on both sides).
    shut_off
        Resistance over the shut-off, as `resistance`; None: no gauge behind it.
    more
        What the measures of swings, cycles, peaks, cavitation and demand need.
    channels
        Ids of the channels used.
    inlets
        Rows of bin of flow, samples, and sum of the inlet there in grains of 0.01 bar.
    """

    number: int
    start: float
    end: float
    step: float
    n_valid: int
    n_total: int
    cells: Counts
    night: Night | None
    steps: Sums
    resistance: tuple[float, ...] | None
    alone: bool
    shut_off: tuple[float, float] | None
    more: parts.More
    channels: tuple[str, ...]
    inlets: Counts = field(default_factory=lambda: np.empty((0, 3), np.int32))

    @property
    def key(self) -> tuple[int, float, bytes, str]:
        """Order of readings of the same day: more samples first, then anything that is always the same."""
        rest = f"{self.night} {self.steps} {self.resistance} {self.shut_off} {self.more} {self.channels}"
        return (self.n_valid, -self.step, self.cells.tobytes() + self.inlets.tobytes(), rest)


@dataclass(frozen=True, slots=True)
class Days:
    """Days of one station in order."""

    days: tuple[Day, ...] = ()

    def __eq__(self, other: object) -> bool:
        """Return whether both hold the same days with the same content."""
        if not isinstance(other, Days):
            return NotImplemented
        return [(d.number, d.key) for d in self.days] == [(d.number, d.key) for d in other.days]

    __hash__ = None  # type: ignore[assignment]

    def between(self, first: date, last: date) -> Days:
        """Return the days of a period, both ends included."""
        zero = date(1970, 1, 1)
        low, high = (first - zero).days, (last - zero).days
        return Days(tuple(d for d in self.days if low <= d.number <= high))


def merge(a: Days, b: Days) -> Days:
    """Return the days of both; of a day that both hold the greater reading."""
    out = {d.number: d for d in a.days}
    for d in b.days:
        if d.number not in out or d.key > out[d.number].key:
            out[d.number] = d
    return Days(tuple(out[n] for n in sorted(out)))


def of_day(fast: Scene, slow: Scene, when: Midnights, doubtful: frozenset[str], aside: Spans) -> Day | None:
    """Return one day; None where it holds no sample of outlet, inlet and flow."""
    number, start, end, hours = when.number, when.start, when.end, when.hours
    outlet = slow.outlet if slow.outlet is not None and slow.outlet.id not in doubtful else None
    inlet = slow.inlet if slow.inlet is not None and slow.inlet.id not in doubtful else None
    lead = outlet or inlet or slow.flow
    if lead is None or lead.step <= 0.0:
        return None
    t = _inside(lead, start, end, aside)
    if not t.size:
        return None
    flow = slow.flow
    q = at_times(flow, t) if flow is not None else np.full(t.shape, np.nan)
    p = at_times(outlet, t) if outlet is not None else np.full(t.shape, np.nan)
    cells = _cells(t, start, hours, p, q, flow)
    resistance, alone = _resistance(slow, start, end, aside)
    more, used = parts.of_day(fast, slow, when, doubtful, aside)
    used = (inlet, outlet, flow, slow.upstream, slow.middle, *used)
    return Day(
        number,
        start,
        end,
        lead.step,
        int(np.count_nonzero(np.isfinite(p))),
        round((end - start) / lead.step),
        cells,
        _night(t, p, q, inlet),
        _steps(t, p, q, inlet),
        resistance,
        alone,
        _shut_off(slow, start, end, aside),
        more,
        tuple(dict.fromkeys(s.id for s in used if s is not None)),
        _inlets(t, p, q, inlet),
    )


def _inside(one: Series, start: float, end: float, aside: Spans) -> Floats:
    t = one.t[(one.t >= start) & (one.t < end)]
    return np.asarray(t[outside(t, aside)])


def _cells(t: Floats, start: float, hours: Counts, p: Floats, q: Floats, flow: Series | None) -> Counts:
    ok = np.isfinite(p)
    if not ok.any():
        return np.empty((0, 5), np.int32)
    hour = hours[np.floor((t[ok] - start) / 3600.0).astype(np.intp)]
    rows = np.stack(
        [hour, _way(t[ok], q[ok], flow), flow_bins(q[ok]), np.floor(p[ok] / GRAIN).astype(np.int32)], axis=1
    )
    kinds, counts = np.unique(rows, axis=0, return_counts=True)
    return np.concatenate([kinds, counts[:, None]], axis=1).astype(np.int32)


def _inlets(t: Floats, p: Floats, q: Floats, inlet: Series | None) -> Counts:
    """Return bin of flow, samples and sum of the inlet there [grains], where the outlet is known too."""
    x = at_times(inlet, t) if inlet is not None else np.full(t.shape, np.nan)
    ok = np.isfinite(p) & np.isfinite(x)
    places, which = np.unique(flow_bins(q[ok]), return_inverse=True)
    sums = np.bincount(which, weights=np.floor(x[ok] / GRAIN), minlength=places.size)
    return np.stack([places, np.bincount(which, minlength=places.size), sums], axis=1).astype(np.int32)


def _way(t: Floats, q: Floats, flow: Series | None) -> Counts:
    """Return 1 where the flow has risen in the last twenty minutes or two samples, -1 where it has fallen."""
    if flow is None:
        return np.zeros(t.shape, np.int32)
    before = at_times(flow, t - max(LAG, 2.0 * flow.step))
    change = (q - before) / np.maximum(np.maximum(np.abs(q), np.abs(before)), 1e-12)
    return np.where(np.abs(np.nan_to_num(change)) > TURNING.si, np.sign(np.nan_to_num(change)), 0.0).astype(
        np.int32
    )


def _night(t: Floats, p: Floats, q: Floats, inlet: Series | None) -> Night | None:
    ok = np.isfinite(p) & np.isfinite(q)
    if np.count_nonzero(ok) < 24:
        return None
    low = ok & (q <= np.quantile(q[ok], QUIET))
    there = at_times(inlet, t[low]) if inlet is not None else np.empty(0)
    there = there[np.isfinite(there)]
    return Night(
        float(np.median(q[low])),
        float(np.median(p[low])),
        float(np.quantile(p[low], 0.95)),
        float(np.median(there)) if there.size else None,
    )


def _steps(t: Floats, p: Floats, q: Floats, inlet: Series | None) -> Sums:
    """Return changes from one sample to the next but one at steady flow while the inlet moves."""
    if inlet is None or t.size < 6:
        return Sums(0, 0, 0, 0)
    x = at_times(inlet, t)
    dx, dy = x[2:] - x[:-2], p[2:] - p[:-2]
    moves = np.abs(q[2:] - q[:-2]) / np.maximum(np.abs(q[2:]), 1e-12)
    near = t[2:] - t[:-2] < 3.0 * float(np.median(np.diff(t)))
    ok = np.isfinite(dx + dy) & near & (np.abs(dx) >= INLET_STEP.si) & (np.abs(dy) < np.abs(dx))
    ok &= ~(moves > STEADY_FLOW.si)
    a, b = np.round(dx[ok]).astype(np.int64), np.round(dy[ok]).astype(np.int64)
    return Sums(int(a.size), int(np.sum(a * a)), int(np.sum(a * b)), int(np.sum(b * b)))


def _resistance(slow: Scene, start: float, end: float, aside: Spans) -> tuple[tuple[float, ...] | None, bool]:
    if slow.inlet is None or slow.flow is None:
        return None, False
    rest = [(-np.inf, start - 1e-3), *aside, (end, np.inf)]
    if slow.upstream is not None:
        _, y, x = losses(slow, rest)
        return (slope_of(x, y) if x.size >= LEAST_ROWS else None), True
    shared = together(slow.inlet, slow.flow, rest)
    (_, y, x), (_, y1, x1) = (changes(shared, lags) for lags in (LAGS, QUICK))
    if x.size < LEAST_ROWS or not x1.size:
        return None, False
    return (*stepped_slope(x, y), stepped_slope(x1, y1)[0]), False


def _shut_off(slow: Scene, start: float, end: float, aside: Spans) -> tuple[float, float] | None:
    """Return the resistance from the inlet to between the valves, at high flow."""
    if slow.inlet is None or slow.middle is None or slow.flow is None:
        return None
    rest = [(-np.inf, start - 1e-3), *aside, (end, np.inf)]
    _, y, x = through(slow.inlet, slow.middle, slow.flow, rest)
    return slope_of(x, y) if x.size >= LEAST_HIGH else None


def cells(days: Sequence[Day]) -> tuple[Counts, Floats]:
    """Return all rows of cells, and the seconds each stands for."""
    if not days:
        return np.empty((0, 5), np.int32), np.empty(0)
    rows: Counts = np.concatenate([d.cells for d in days])
    seconds = np.concatenate([d.cells[:, 4] * d.step for d in days])
    return rows, np.asarray(seconds, dtype=np.float64)


def with_flow(days: Days) -> int:
    """Return how many samples have both outlet and flow; of a day whose flow is there, all with an outlet."""
    return sum(
        d.n_valid if d.more.flow is not None else int(d.cells[d.cells[:, 2] >= 0, 4].sum()) for d in days.days
    )


def measured(
    days: Days,
    code: Measure,
    unit: str,
    words: str,
    value: tuple[float, float | None, float | None] | None = None,
    assumptions: tuple[str, ...] = (),
    trust: Trust | None = None,
    n_valid: int | None = None,
) -> Measured:
    """Return a measure of these days.

    `value`: with low and high; None: not known. `trust`: by the share of valid samples where not given.
    `n_valid`: of the samples it uses; None: those with an outlet.
    """
    n_valid = sum(d.n_valid for d in days.days) if n_valid is None else n_valid
    n_total = sum(d.n_total for d in days.days)
    ids = dict.fromkeys(c for d in days.days for c in d.channels)
    start = datetime.fromtimestamp(days.days[0].start, tz=UTC) if days.days else None
    end = datetime.fromtimestamp(days.days[-1].end, tz=UTC) if days.days else None
    size, low, high = value if value is not None else (None, None, None)
    share = n_valid / max(n_total, 1)
    by_share: Trust = "good" if share >= GOOD else "fair" if share >= FAIR else "poor" if n_valid else "none"
    sure = "none" if value is None else trust or by_share
    return Measured(
        code, size, unit, low, high, start, end, n_valid, n_total, tuple(ids), assumptions, sure, words,
        rows_of(days),
    )  # fmt: skip


def rows_of(days: Days) -> tuple[Rows, ...]:
    """Return which rows of which channels these days come from; days in a row as one."""
    open_: dict[str, Rows] = {}
    out: list[Rows] = []
    for d in days.days:
        start, end = datetime.fromtimestamp(d.start, tz=UTC), datetime.fromtimestamp(d.end, tz=UTC)
        for name in d.channels:
            before = open_.get(name)
            if before is not None and before.end != start:
                out.append(before)
                before = None
            open_[name] = Rows(name, before.start if before is not None else start, end)
    return tuple(sorted([*out, *open_.values()], key=lambda r: (r.channel, r.start)))
