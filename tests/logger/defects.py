"""Defects of data (design handbook 6.2), planted into what a logger stored, each with its truth."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from tests.logger.measuring import Seen, Trace, round_to
from tests.logger.truth import BAR, DAY, HOUR, Happened

Rng = np.random.Generator
PRESSURES = ("in", "out")
_DISTURBED = ("trip", "supply loss", "burst")


def _note(seen: Seen, kind: str, trace: Trace | None, start: float, end: float, size: float | None) -> None:
    seen.happened.append(Happened(kind, trace.quantity if trace else "", start, end, size))


def _span(rng: Rng, seen: Seen, hours: float) -> tuple[float, float]:
    """Return a span of `hours` away from the ends and, where possible, from trips and the like."""
    t = seen.traces["in"].t
    start = float(t[0])
    for _ in range(50):
        start = float(rng.uniform(t[0] + 0.08 * DAY, max(t[-1] - hours * HOUR, t[0] + 0.1 * DAY)))
        end = start + hours * HOUR
        if not any(
            h.kind in _DISTURBED and h.start < end + HOUR and h.end > start - HOUR for h in seen.happened
        ):
            break
    return start, start + hours * HOUR


def _pick(rng: Rng, seen: Seen, among: tuple[str, ...]) -> Trace:
    return seen.traces[str(rng.choice([name for name in among if name in seen.traces]))]


def _inside(trace: Trace, start: float, end: float) -> np.ndarray:
    return np.asarray((trace.t >= start) & (trace.t < end))


def spike(rng: Rng, seen: Seen) -> None:
    """One to five single samples far off in one channel."""
    trace = _pick(rng, seen, ("in", "out", "flow"))
    inside = np.arange(10, trace.t.size - 10)
    for _ in range(int(rng.integers(1, 6))):
        i = int(rng.choice(inside))
        if any(h.kind in _DISTURBED and h.start - HOUR < trace.t[i] < h.end + HOUR for h in seen.happened):
            continue
        high = (
            rng.uniform(1.0, 6.0) * BAR
            if trace.quantity != "flow"
            else rng.uniform(1.5, 6.0) * seen.flow_about
        )
        if trace.quantity != "flow" and rng.random() < 0.3:
            high = -0.8 * trace.v[i]
        trace.v[i] = round_to(trace.v[i : i + 1] + high, trace.resolution)[0]
        _note(seen, "spike", trace, trace.t[i], trace.t[i], float(high))


def stuck(rng: Rng, seen: Seen) -> None:
    """The last value again and again for hours, while the others move."""
    trace = _pick(rng, seen, ("in", "out", "flow"))
    start, end = _span(rng, seen, float(rng.uniform(5.0, 30.0)))
    at = _inside(trace, start, end)
    trace.v[at] = trace.v[at][0]
    _note(seen, "stuck", trace, start, end, None)


def quantisation(rng: Rng, seen: Seen) -> None:
    """A coarse resolution through the whole file."""
    trace = _pick(rng, seen, PRESSURES)
    step = float(rng.choice([0.05, 0.1, 0.2])) * BAR
    trace.v[:] = round_to(trace.v, step)
    _note(seen, "quantisation", trace, trace.t[0], trace.t[-1], step)


def clipping(rng: Rng, seen: Seen) -> None:
    """Values cut at the top of the range."""
    trace = _pick(rng, seen, ("in", "flow"))
    top = float(round_to(np.quantile(trace.v, rng.uniform(0.75, 0.97), keepdims=True), trace.resolution)[0])
    at = np.flatnonzero(trace.v >= top)
    trace.v[at] = top
    _note(seen, "clipping", trace, trace.t[at[0]], trace.t[at[-1]], top)


def clock_offset(rng: Rng, seen: Seen) -> None:
    """All stamps off by a constant."""
    off = float(rng.choice([-1.0, 1.0]) * rng.choice([rng.uniform(240.0, 1800.0), HOUR]))
    for trace in seen.traces.values():
        trace.t += off
    for visit in seen.visits:
        visit["clock"] = (visit["clock"] or 0.0) + off
    _note(seen, "clock offset", None, seen.traces["in"].t[0], seen.traces["in"].t[-1], off)


def clock_offset_of_flow(rng: Rng, seen: Seen) -> None:
    """The flow is on another logger whose clock is off by a constant: no visit noted it."""
    trace = seen.traces["flow"]
    off = float(rng.choice([-1.0, 1.0]) * rng.choice([rng.uniform(1200.0, 2400.0), HOUR]))
    trace.t += off
    _note(seen, "clock offset", trace, trace.t[0], trace.t[-1], off)


def clock_while(rng: Rng, seen: Seen) -> None:
    """The flow's clock is off for a part of the record: changed by an hour, or set wrong and right again."""
    trace = seen.traces["flow"]
    first, last = float(trace.t[0]), float(trace.t[-1])
    if last - first < 14.0 * DAY:  # too short to tell a part from the rest
        clock_offset_of_flow(rng, seen)
        return
    off = float(rng.choice([-1.0, 1.0]) * rng.choice([rng.uniform(1500.0, 2400.0), HOUR]))
    start = float(rng.uniform(first + 6.0 * DAY, last - 7.5 * DAY))
    end = last if rng.random() < 0.5 else float(min(last, start + rng.uniform(6.0, 9.0) * DAY))
    inside = _inside(trace, start, end + 1.0)
    trace.t[inside] += off
    trace.t, kept = np.unique(trace.t, return_index=True)
    trace.v = trace.v[kept]
    _note(seen, "clock offset for a time", trace, start, end, off)


def clock_drift_of_flow(rng: Rng, seen: Seen) -> None:
    """The flow is on another logger whose clock runs away: no visit noted it."""
    trace = seen.traces["flow"]
    end = float(rng.choice([-1.0, 1.0]) * rng.uniform(1500.0, 3600.0))
    first, last = trace.t[0], trace.t[-1]
    trace.t += np.round(end * (trace.t - first) / (last - first))
    _note(seen, "clock drift", trace, first, last, end)


def clock_drift(rng: Rng, seen: Seen) -> None:
    """The stamps run away."""
    first, last = seen.traces["in"].t[0], seen.traces["in"].t[-1]
    end = float(rng.choice([-1.0, 1.0]) * rng.uniform(300.0, 1500.0))
    for visit in seen.visits:
        visit["clock"] = (visit["clock"] or 0.0) + end * ((visit["when"] or 0.0) - first) / (last - first)
    for trace in seen.traces.values():
        trace.t += np.round(end * (trace.t - first) / (last - first))
    _note(seen, "clock drift", None, first, last, end)


def unit_confusion(rng: Rng, seen: Seen) -> None:
    """From a date on (or for some days, or always) the numbers carry another unit than declared."""
    trace = _pick(rng, seen, ("in", "out", "flow"))
    factors: tuple[float, ...] = (10.1972, 14.5038, 100.0, 0.1)
    if trace.quantity == "flow":
        seen.flow_unit = str(rng.choice(["L/s", "m³/h"]))
        factors = (3.6, 15.8503) if seen.flow_unit == "L/s" else (1 / 3.6, 4.40287, 16.6667)
    factor = float(rng.choice(factors))
    span = float(trace.t[-1] - trace.t[0])
    start = float(trace.t[0] + rng.uniform(0.2, 0.7) * span)
    end = float(trace.t[-1]) if rng.random() < 0.6 else start + rng.uniform(0.15, 0.25) * span
    if rng.random() < 0.3:
        start, end = float(trace.t[0]), float(trace.t[-1])
    trace.v[_inside(trace, start, end + 1.0)] *= factor
    _note(seen, "unit confusion", trace, start, end, factor)


def gauge_absolute(rng: Rng, seen: Seen) -> None:
    """Absolute pressure where gauge is declared, in one channel or in both."""
    size = 1.013 * BAR + rng.normal(0.0, 0.008) * BAR
    for name in [str(rng.choice(PRESSURES))] if rng.random() < 0.5 else PRESSURES:
        trace = seen.traces[name]
        trace.v += round_to(np.array([size]), trace.resolution)[0]
        _note(seen, "gauge or absolute", trace, trace.t[0], trace.t[-1], size)


def datum_offset(rng: Rng, seen: Seen) -> None:
    """A sensor at another height than its place says: a constant offset."""
    trace = _pick(rng, seen, PRESSURES)
    size = float(rng.choice([-1.0, 1.0]) * rng.uniform(0.15, 0.6)) * BAR
    trace.v += round_to(np.array([size]), trace.resolution)[0]
    _note(seen, "datum offset", trace, trace.t[0], trace.t[-1], size)


def offset_drift(rng: Rng, seen: Seen) -> None:
    """A sensor's zero walks away, from a date on or from the start."""
    trace = _pick(rng, seen, PRESSURES)
    span = float(trace.t[-1] - trace.t[0])
    start = float(trace.t[0] + rng.choice([0.0, rng.uniform(0.1, 0.4)]) * span)
    size = float(rng.choice([-1.0, 1.0]) * rng.uniform(0.25, 0.8)) * BAR
    walk = size * np.clip((trace.t - start) / (trace.t[-1] - start), 0.0, 1.0)
    trace.v[:] = round_to(trace.v + walk, trace.resolution)
    _note(seen, "offset drift", trace, start, trace.t[-1], size)


def channel_swap(rng: Rng, seen: Seen) -> None:
    """Inlet and outlet exchanged for some hours or days."""
    start, end = _span(rng, seen, float(rng.uniform(6.0, 60.0)))
    one, two = seen.traces["in"], seen.traces["out"]
    at = _inside(one, start, end)
    one.v[at], two.v[at] = two.v[at].copy(), one.v[at].copy()
    _note(seen, "channel swap", one, start, end, None)


def pulse_scaling(rng: Rng, seen: Seen) -> None:
    """A wrong pulse value from a date on, or always."""
    trace = seen.traces["flow"]
    factor = float(rng.choice([10.0, 0.1, 2.0, 0.5]))
    start = float(trace.t[0] + rng.uniform(0.25, 0.7) * (trace.t[-1] - trace.t[0]))
    if rng.random() < 0.3:
        start = float(trace.t[0])
    trace.v[trace.t >= start] *= factor
    _note(seen, "pulse scaling", trace, start, trace.t[-1], factor)


def gap(rng: Rng, seen: Seen) -> None:
    """No rows for some hours, in all channels; at times for exactly one."""
    start, end = _span(rng, seen, 1.0 if rng.random() < 0.2 else float(rng.uniform(1.0, 30.0)))
    before, after = start, end
    for trace in seen.traces.values():
        keep = ~_inside(trace, start, end)
        before = float(trace.t[trace.t < start][-1])
        after = float(trace.t[trace.t >= end][0]) if (trace.t >= end).any() else end
        trace.t, trace.v = trace.t[keep], trace.v[keep]
    _note(seen, "gap", None, before, after, after - before)


def clock_hour(rng: Rng, seen: Seen) -> None:
    """The clock of all channels is set an hour ahead, on no day on which its zone's clocks change."""
    first, last = seen.traces["in"].t[0], seen.traces["in"].t[-1]
    if last - first < 12.0 * DAY:  # too short to tell it from rows that were lost
        gap(rng, seen)
        return
    start = float(rng.uniform(first + 5.5 * DAY, last - 5.5 * DAY))
    before = after = start
    for trace in seen.traces.values():
        before = float(trace.t[trace.t < start][-1])
        trace.t[trace.t >= start] += HOUR
        after = float(trace.t[trace.t >= start][0])
    for visit in seen.visits:
        visit["clock"] = None  # read on either side of it they would tell two clocks
    _note(seen, "clock change hour", None, before, after, HOUR)


def cock_shut(rng: Rng, seen: Seen) -> None:
    """A sensor's cock is shut: it shows the trapped pressure, which sinks a little, and its own noise."""
    trace = _pick(rng, seen, PRESSURES)
    start, end = _span(rng, seen, float(rng.uniform(16.0, 60.0)))
    at = _inside(trace, start, end)
    held = trace.v[at][0] * np.exp(-(trace.t[at] - start) / HOUR * rng.uniform(0.0, 2e-4))
    noise = float(np.std(np.diff(trace.v))) * 0.15
    trace.v[at] = round_to(
        held + min(noise, 0.01 * BAR) * rng.standard_normal(int(at.sum())), trace.resolution
    )
    _note(seen, "sensor cock shut", trace, start, end, None)


def by_exception(rng: Rng, seen: Seen) -> None:
    """No defect: a report only where a value moved, or an hour has passed."""
    for trace in seen.traces.values():
        band = {"flow": 0.08 * seen.flow_about, "travel": 0.01, "shut-off closed": 0.5}.get(
            trace.quantity, 0.03 * BAR
        )
        keep, last_v, last_t = [], np.inf, -np.inf
        for i, (t, v) in enumerate(zip(trace.t.tolist(), trace.v.tolist(), strict=True)):
            if abs(v - last_v) > band or t - last_t >= HOUR:
                keep.append(i)
                last_v, last_t = v, t
        trace.t, trace.v, trace.hold = trace.t[keep], trace.v[keep], "step"


def missing_marks(rng: Rng, seen: Seen) -> None:
    """No defect of ours: marks for missing values in single cells."""
    for trace in seen.traces.values():
        trace.v[rng.integers(0, trace.v.size, size=5)] = np.nan


DEFECTS: dict[str, Callable[[Rng, Seen], None]] = {
    "spike": spike,
    "stuck": stuck,
    "quantisation": quantisation,
    "clipping": clipping,
    "clock offset": clock_offset,
    "clock offset of the flow": clock_offset_of_flow,
    "clock offset for a time": clock_while,
    "clock drift": clock_drift,
    "clock drift of the flow": clock_drift_of_flow,
    "unit confusion": unit_confusion,
    "gauge or absolute": gauge_absolute,
    "datum offset": datum_offset,
    "offset drift": offset_drift,
    "channel swap": channel_swap,
    "pulse scaling": pulse_scaling,
    "gap": gap,
    "clock change hour": clock_hour,
    "sensor cock shut": cock_shut,
}
"""All defects by name; those *of the flow* count as the plain kind."""
