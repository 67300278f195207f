"""Pressures against the test gauge of visits: gauge or absolute, offset of height, a zero that walks away."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from steadyhead.records.logger import Context, GaugeVisit
from steadyhead.watch.defects.defaults import ATMOSPHERE, ATMOSPHERE_BAND, DRIFT_SEEN, OFFSET
from steadyhead.watch.defects.episode import Code, Episode, moment
from steadyhead.watch.defects.levels import hourly
from steadyhead.watch.defects.saying import bar
from steadyhead.watch.defects.series import Floats, Series, one_of, shut_or_still, within

SIX_HOURS = 21_600.0
QUARTER = 900.0
GAUGE = 0.02e5
"""What a good test gauge and its reader are off. [Pa]"""
ALIKE = 0.35
"""Spread of several visits' offsets over their middle up to which they are one offset."""


@dataclass(frozen=True, slots=True)
class Compared:
    """Record less gauge at one visit, and how far the record itself moves about then. [s, Pa]"""

    when: float
    off: float
    doubt: float


def compared(one: Series, context: Context) -> list[Compared]:
    """Return the record less the gauge at each visit that read this pressure and has samples about it."""
    out = []
    for visit in context.visits:
        gauge = _gauge(one, visit)
        when = visit.when.timestamp() + (visit.clock or 0.0)
        reach = max(2.0 * one.step, 300.0)
        part = within(one, when - reach, when + reach)
        if gauge is None or part.size < 2:
            continue
        low, high = np.quantile(part, (0.1, 0.9))
        out.append(Compared(when, float(np.median(part)) - gauge, 0.5 * float(high - low)))
    return out


BEFORE_STRAINER = "T0"
"""A visit reads the inlet at T1; ahead of the strainer the record stands above it by what that loses."""


def _gauge(one: Series, visit: GaugeVisit) -> float | None:
    if one.channel.place == BEFORE_STRAINER:
        return None
    return {"inlet pressure": visit.inlet, "outlet pressure": visit.outlet}.get(one.quantity)


def against_gauges(one: Series, every: Sequence[Series], context: Context) -> list[Episode]:
    """Return offset, absolute pressure or drift, told by the gauge readings of visits.

    Method (own): record less gauge at each visit. Alike at all visits and near one atmosphere: absolute;
    alike and too large for two gauges: an offset of height or zero; growing between visits, and the record
    itself less its course with flow and inlet shows it: drift. Without a visit none of these is called: a
    reducer's setting and a supply wander too.
    """
    seen = [c for c in compared(one, context) if c.doubt < 3.0 * OFFSET.si]
    if not seen or one.channel.absolute:
        return []
    off = np.array([c.off for c in seen])
    doubt = np.array([c.doubt for c in seen])
    limit = OFFSET.si + float(np.max(doubt))
    middle, apart = float(np.median(off)), float(np.ptp(off))
    if off.size > 1 and apart > max(0.5 * limit, ALIKE * abs(middle)):
        return _moving(one, every, seen) if float(np.max(np.abs(off))) > limit else []
    if abs(middle) < limit:
        return []
    start, end = moment(one.t[0]), moment(one.t[-1])
    why = (f"{off.size} reading{'s' if off.size > 1 else ''} of a test gauge",)
    if abs(abs(middle) - ATMOSPHERE.si) < ATMOSPHERE_BAND.si:
        words = f"The record stands {bar(middle)} off the test gauge: absolute where gauge is declared."
        return [Episode(Code.ABSOLUTE, start, end, (one.id,), middle, "Pa", words, why)]
    if off.size == 1:
        moved = _course(one, every)
        hinge = _hinge(*moved) if moved is not None else None
        if hinge is not None and abs(hinge.size) > OFFSET.si and hinge.clear:
            return _moving(one, every, [Compared(float(one.t[0]), 0.0, 0.0), *seen])
    if off.size == 1:
        words = f"At one reading the record stands {bar(middle)} off the test gauge: sensor's height or zero."
        return [Episode(Code.DATUM, start, end, (one.id,), middle, "Pa", words, why, "likely")]
    words = f"The record stands {bar(middle)} off the test gauge throughout: sensor's height or zero."
    return [Episode(Code.DATUM, start, end, (one.id,), middle, "Pa", words, why)]


@dataclass(frozen=True, slots=True)
class Hinge:
    """A level that holds until `start` [s] and then walks by `size` [Pa] until the end of the record."""

    start: float
    size: float
    clear: bool
    scatter: float = 0.0

    def at(self, when: float, end: float) -> float:
        """Return the share of the walk done at a time."""
        return float(np.clip((when - self.start) / max(end - self.start, 1.0), 0.0, 1.0))


def _moving(one: Series, every: Sequence[Series], seen: Sequence[Compared]) -> list[Episode]:
    moved = _course(one, every)
    hinge = _hinge(*moved) if moved is not None else None
    end = float(one.t[-1])
    if hinge is None or moved is None:
        return []
    first, last = seen[0], seen[-1]
    told = last.off - first.off
    shown = hinge.size * (hinge.at(last.when, end) - hinge.at(first.when, end))
    if told * shown <= 0.0 or abs(shown) < DRIFT_SEEN.si * abs(told) or not hinge.clear:
        return _stepping(one, moved, first, last)
    joint = _with_visits(*moved, seen, hinge.scatter)
    size = joint.size
    words = (
        f"The zero walks away: {bar(size)} by the end of the record, against the test gauge of the visits."
    )
    why = ("record less gauge at two visits", "course of the record at equal flow")
    return [Episode(Code.DRIFT, moment(joint.start), moment(end), (one.id,), size, "Pa", words, why)]


def _stepping(one: Series, moved: tuple[Floats, Floats], first: Compared, last: Compared) -> list[Episode]:
    """Return an offset that begins or ends with a step of the record between two visits."""
    t, v = moved
    inside = np.flatnonzero((t > first.when) & (t < last.when))
    inside = inside[(inside >= 4) & (inside <= t.size - 4)]
    if not inside.size:
        return []
    sizes = np.array([float(np.median(v[k:]) - np.median(v[:k])) for k in inside.tolist()])
    left = [
        float(np.sum(np.abs(v[:k] - np.median(v[:k]))) + np.sum(np.abs(v[k:] - np.median(v[k:]))))
        for k in inside
    ]
    best = int(np.argmin(left))
    told, size = last.off - first.off, float(sizes[best])
    scatter = left[best] / t.size
    if abs(size - told) > 0.25 * abs(told) or abs(size) < 4.0 * scatter:
        return []
    begins = abs(last.off) > abs(first.off)
    at = _sample_of_step(one, float(t[inside[best]]) - 0.5 * SIX_HOURS, size)
    start, end = (at, float(one.t[-1])) if begins else (float(one.t[0]), at)
    off = last.off if begins else first.off
    absolute = abs(abs(off) - ATMOSPHERE.si) < ATMOSPHERE_BAND.si
    code = Code.ABSOLUTE if absolute else Code.DATUM
    what = "absolute where gauge is declared" if absolute else "sensor's height or zero"
    words = (
        f"The record stands {bar(off)} off the test gauge {'from' if begins else 'until'} a step on: {what}."
    )
    why = ("record less gauge at two visits", "step of the record between them")
    return [Episode(code, moment(start), moment(end), (one.id,), off, "Pa", words, why, "likely")]


def _sample_of_step(one: Series, about: float, size: float) -> float:
    """Return the time of the sample at which the record steps by nearest to `size` within nine hours. [s]"""
    places = np.flatnonzero(np.abs(one.t[3:-2] - about) <= 1.5 * SIX_HOURS) + 3
    if not places.size:
        return about
    v = one.v
    before = np.median(np.stack([v[places - 3], v[places - 2], v[places - 1]]), axis=0)
    after = np.median(np.stack([v[places], v[places + 1], v[places + 2]]), axis=0)
    miss = np.abs(after - before - size) + np.abs(v[places] - v[places - 1] - size)
    return float(one.t[places[int(np.argmin(miss))]])


def _course(one: Series, every: Sequence[Series]) -> tuple[Floats, Floats] | None:
    """Return medians of six hours of the record less what flow and hour of the day explain."""
    use = ~shut_or_still(every, one.t)
    t, v = hourly(one.t[use], one.v[use], QUARTER)
    if t.size < 96:
        return None
    columns = [np.ones(t.size), (t - t[0]) / (t[-1] - t[0])]
    flow = one_of(every, "flow")
    if flow is not None:
        q = np.interp(t, *hourly(flow.t, flow.v, QUARTER))
        columns.append(
            q**2 / max(float(np.mean(q**2)), 1e-30)
            if one.quantity == "inlet pressure"
            else np.sqrt(np.maximum(q, 0.0) / max(float(np.mean(q)), 1e-30))
        )
    hour = 2.0 * np.pi * t / 86_400.0
    columns += [np.sin(hour), np.cos(hour), np.sin(2.0 * hour), np.cos(2.0 * hour)]
    terms = np.stack(columns, axis=1)
    keep = np.ones(t.size, dtype=bool)
    line = np.zeros(terms.shape[1])
    for _ in range(3):
        line = np.linalg.lstsq(terms[keep], v[keep], rcond=None)[0]
        off = np.abs(terms @ line - v)
        keep = off <= np.quantile(off, 0.95)
    rest = v - terms[:, 2:] @ line[2:]
    return hourly(t, rest, SIX_HOURS)


def _hinge(t: Floats, v: Floats) -> Hinge | None:
    """Return the hinge of least squared error; `clear`: no step fits much better, it stands out."""
    if t.size < 8:
        return None
    errors: list[tuple[float, float, float]] = []
    for i in range(int(0.8 * t.size)):
        ramp = np.clip((t - t[i]) / (t[-1] - t[i]), 0.0, 1.0)
        terms = np.stack([np.ones(t.size), ramp], axis=1)
        line = np.linalg.lstsq(terms, v, rcond=None)[0]
        errors.append((float(np.sum((terms @ line - v) ** 2)), float(t[i]), float(line[1])))
    error, start, size = min(errors)
    step = min(
        float(np.sum((v[:k] - v[:k].mean()) ** 2) + np.sum((v[k:] - v[k:].mean()) ** 2))
        for k in range(2, t.size - 1)
    )
    scatter = float(np.sqrt(error / t.size))
    return Hinge(start, size, error < 1.15 * step and abs(size) > 1.2 * scatter, scatter)


def _with_visits(t: Floats, v: Floats, seen: Sequence[Compared], scatter: float) -> Hinge:
    """Return the hinge that fits the course and the gauge readings, each by its weight.

    Medians of six hours hang together for about half a day and more, so each counts a third.
    """
    weight = 1.0 / (3.0 * max(scatter, 1.0))
    best: tuple[float, float, float] | None = None
    when, off = np.array([c.when for c in seen]), np.array([c.off for c in seen])
    doubt = np.array([c.doubt for c in seen]) + GAUGE
    for i in range(int(0.8 * t.size)):
        ramp = np.clip((t - t[i]) / (t[-1] - t[i]), 0.0, 1.0)
        there = np.clip((when - t[i]) / (t[-1] - t[i]), 0.0, 1.0)
        course = np.stack([np.ones(t.size), ramp], axis=1) * weight
        read = np.stack([np.zeros(when.size), there], axis=1) / doubt[:, None]
        terms, wished = np.concatenate([course, read]), np.concatenate([v * weight, off / doubt])
        line = np.linalg.lstsq(terms, wished, rcond=None)[0]
        error = float(np.sum((terms @ line - wished) ** 2))
        if best is None or error < best[0]:
            best = (error, float(t[i]), float(line[1]))
    return Hinge(best[1], best[2], True, scatter) if best is not None else Hinge(float(t[0]), 0.0, False)
