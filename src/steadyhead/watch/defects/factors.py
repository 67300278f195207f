"""Wrong factors: another unit than declared, a wrong pulse value; told by steps and by visits."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from steadyhead.records.logger import Context, GaugeVisit
from steadyhead.units import to_si
from steadyhead.watch.defects.defaults import (
    FACTOR_CLOSE,
    FACTOR_CLOSE_FLOW,
    LEVEL_STEP,
    LEVEL_TIME,
    RELATION,
    VISIT_RATIO,
)
from steadyhead.watch.defects.episode import Code, Confidence, Episode, moment
from steadyhead.watch.defects.levels import HOUR, Level, edge, hourly, steps, without_shape
from steadyhead.watch.defects.series import Floats, Series, at_times, one_of, shut_or_still, within

PRESSURE_UNITS = ("bar", "kPa", "psi", "m head", "mbar", "MPa")
FLOW_UNITS = ("m³/h", "L/s", "L/min", "US gpm", "m³/d", "L/h")
PULSES = (10.0, 0.1, 100.0, 0.01, 2.0, 0.5, 4.0, 0.25, 5.0, 0.2)
"""Recorded over true where a pulse value or a divider of a meter is set wrongly. Own list."""
ODD = 0.5
"""Logarithm of the least factor called that is none of the known ones."""
USUAL = 6
"""Number of these that are the usual ones."""
REACH = 150.0
"""How far the ends found in medians of minutes may be from the true ones. [s]"""
FAR = 4.5
"""Factor that no demand has; beyond it no other channel need be asked."""
SHORT = 1.0 / 3.0
"""Length over that of the longest level from which on a level may be the right one by what is known of the
station's flow; a shorter one may be a draw. Own estimate."""


@dataclass(frozen=True, slots=True)
class Wrong:
    """A factor found: episode, and what to divide by from `start` to `end` [s] in a working copy."""

    episode: Episode
    start: float
    end: float
    factor: float


def unit_factors(one: Series) -> list[tuple[float, str]]:
    """Return recorded over true for each unit the numbers may carry instead of the declared one."""
    kind, units = ("flow", FLOW_UNITS) if one.quantity == "flow" else ("pressure", PRESSURE_UNITS)
    found = one.channel.unit_as_found
    declared = [found] if found in units else ["bar", "psi"] if kind == "pressure" else ["m³/h", "L/s"]
    out = {}
    for name in declared:
        for other in units:
            factor = _size(kind, name) / _size(kind, other)
            if abs(np.log(factor)) > 0.2:
                out[round(factor, 9)] = f"{other} under the name {name}"
    return list(out.items())


def _size(kind: str, unit: str) -> float:
    return to_si(1.0, kind, unit) - to_si(0.0, kind, unit)


def at_visit(one: Series, visit: GaugeVisit) -> float | None:
    """Return the record at a visit (the logger's clock set right where the visit read it), or None."""
    when = visit.when.timestamp() + (visit.clock or 0.0)
    reach = max(2.0 * one.step, 600.0) if one.regular else 3600.0
    part = within(one, when - reach, when + reach)
    return float(np.median(part)) if part.size >= 2 else None


def of_flow(one: Series, every: Sequence[Series], context: Context) -> list[Wrong]:
    """Return the times at which the flow is recorded by a wrong factor.

    Method (own): hourly logarithms less the daily course, cut where the level steps and stays; a step is a
    defect where travel, inlet and outlet do not answer as they answer the flow elsewhere, or where the
    factor is one of units and far beyond any demand. The meter of the visits says which level is right.
    """
    usual = float(np.median(one.v)) if one.v.size else 0.0
    use = (one.v > 0.002 * usual) & ~shut_or_still([s for s in every if s.quantity != "flow"], one.t)
    t, v = hourly(one.t[use], one.v[use])
    if t.size < 30 or usual <= 0.0:
        return []
    rest = without_shape(t, np.log(v))
    levels = steps(t, rest, LEVEL_STEP.si, int(LEVEL_TIME.si / HOUR))
    ratios = {
        k: _visit_logs(one, level, context, first=k == 0, last=k == len(levels) - 1)
        for k, level in enumerate(levels)
    }
    right, base = _right_level(levels, ratios, context, v)
    out = []
    for k, level in enumerate(levels):
        size = float(np.exp(level.level - levels[right].level + base))
        same_as_right = k == right or abs(level.level - levels[right].level) < LEVEL_STEP.si
        wrong_here = base != 0.0 if same_as_right else _step_is_wrong(one, every, levels[right], level, size)
        if not wrong_here:
            continue
        start, end = _ends(one, levels, k)
        read = len(ratios[right]) if same_as_right else len(ratios[k])
        told = _flow_told(one, size, start, end, read)
        if told is not None:
            out.append(told)
    right_spans = [(x.start, x.end) for x in levels if abs(x.level - levels[right].level) < LEVEL_STEP.si]
    return _joined(out, right_spans if base == 0.0 else [])


def _visit_logs(one: Series, level: Level, context: Context, *, first: bool, last: bool) -> list[float]:
    out = []
    for visit in context.visits:
        when = visit.when.timestamp()
        inside = (first or when >= level.start) and (last or when <= level.end)
        got = at_visit(one, visit) if inside and visit.flow and visit.flow > 0.0 else None
        if got is not None and got > 0.0 and visit.flow:
            out.append(float(np.log(got / visit.flow)))
    return out


def _right_level(
    levels: list[Level], ratios: dict[int, list[float]], context: Context, v: Floats
) -> tuple[int, float]:
    """Return the level taken as right, and the logarithm of its own factor (0: right)."""
    long = sorted(range(len(levels)), key=lambda k: levels[k].first - levels[k].last)
    agree = [k for k in long if ratios[k] and abs(float(np.median(ratios[k]))) < VISIT_RATIO.si]
    if agree:
        return agree[0], 0.0
    told = [k for k in long if ratios[k]]
    if told:
        logs = ratios[told[0]]
        alike = max(logs) - min(logs) < VISIT_RATIO.si
        return told[0], float(np.median(logs)) if alike else 0.0
    if context.known.flow:
        about = {
            k: abs(float(np.log(np.mean(v[levels[k].first : levels[k].last]) / context.known.flow)))
            for k in long
        }
        length = {k: levels[k].last - levels[k].first for k in long}
        enough = [k for k in long if length[k] >= SHORT * length[long[0]]]
        best = min(enough, key=lambda k: about[k])
        return (best if about[best] < about[long[0]] - 0.5 else long[0]), 0.0
    return long[0], 0.0


def _step_is_wrong(one: Series, every: Sequence[Series], right: Level, level: Level, size: float) -> bool:
    """Return whether the record changed, not the flow, by the other channels' answer from either side."""
    usual, then = (right.start, right.end), (level.start, level.end)
    answer = relation(one, every, usual, then, size)
    if answer is None:
        answer = relation(one, every, then, usual, 1.0 / size)
    if answer is not None:
        return answer < RELATION.si
    return max(size, 1.0 / size) > FAR and _nearest(one, size, FACTOR_CLOSE_FLOW.si / 2.0) is not None


def relation(
    one: Series, every: Sequence[Series], usual: tuple[float, float], then: tuple[float, float], size: float
) -> float | None:
    """Return how well the other channels fit the flow divided by `size`, over how well they fit it as it is.

    Below one: the flow's record changed, not the flow. None where no channel shows the flow.
    """
    best: tuple[float, float] | None = None
    laws: tuple[tuple[str, Callable[[Floats], Floats]], ...] = (
        ("travel", np.sqrt), ("inlet pressure", np.square), ("outlet pressure", np.sqrt),
    )  # fmt: skip
    for quantity, law in laws:
        other = one_of(every, quantity)
        if other is None:
            continue
        t, q, w = _together(one, other)
        known, new = (t >= usual[0]) & (t <= usual[1]), (t >= then[0]) & (t <= then[1])
        if known.sum() < 20 or new.sum() < 5:
            continue
        line, fit = _line(_terms(q[known], law), w[known])
        as_is = float(np.median(np.abs(_terms(q[new], law) @ line - w[new])))
        undone = float(np.median(np.abs(_terms(q[new] / size, law) @ line - w[new])))
        if fit > 0.15 and (best is None or fit > best[0]):
            best = (fit, undone / max(as_is, 1e-12))
    return None if best is None else best[1]


def _together(one: Series, other: Series) -> tuple[Floats, Floats, Floats]:
    there = at_times(other, one.t)
    ok = np.isfinite(there)
    t, q = hourly(one.t[ok], one.v[ok])
    return t, q, hourly(one.t[ok], there[ok])[1]


def _terms(q: Floats, law: Callable[[Floats], Floats]) -> Floats:
    return np.stack([np.ones(q.size), law(np.maximum(q, 0.0))], axis=1)


def _line(terms: Floats, w: Floats) -> tuple[Floats, float]:
    """Return a least-squares line without the worst tenth, and the share it explains."""
    line = np.linalg.lstsq(terms, w, rcond=None)[0]
    off = np.abs(terms @ line - w)
    keep = off <= np.quantile(off, 0.9)
    line = np.linalg.lstsq(terms[keep], w[keep], rcond=None)[0]
    left = float(np.var(terms[keep] @ line - w[keep]))
    return line, 1.0 - left / max(float(np.var(w[keep])), 1e-30)


def _nearest(one: Series, size: float, close: float) -> tuple[Code, float, str] | None:
    """Return the code, the factor and its words that lie nearest to `size`, units first among equals."""
    rows = [(Code.UNIT, f, words) for f, words in unit_factors(one)]
    if one.quantity == "flow":
        rows += [(Code.PULSES, f, "a pulse value or divider of the meter") for f in PULSES]
    best = min(rows, key=lambda row: abs(np.log(size / row[1])) + _rare(row[0], row[1]))
    return best if abs(np.log(size / best[1])) < close else None


def _rare(code: Code, factor: float) -> float:
    """Return by how much a factor must lie nearer than a unit's to be taken."""
    if code is Code.UNIT:
        return 0.0
    return 0.01 if factor in PULSES[:USUAL] else 0.06


def _flow_told(one: Series, size: float, start: float, end: float, visits: int) -> Wrong | None:
    best = _nearest(one, size, FACTOR_CLOSE_FLOW.si)
    if abs(np.log(size)) < VISIT_RATIO.si or (best is None and (visits < 2 or abs(np.log(size)) < ODD)):
        return None
    code, factor, what = best if best is not None else (Code.PULSES, size, "no factor of units")
    why = ("meter at the visit",) if visits else ("step of the level", "other channels do not answer")
    sure: Confidence = "certain" if visits and best is not None else "likely"
    words = f"The recorded flow is {factor:.3g} times the true one ({what})."
    episode = Episode(code, moment(start), moment(end), (one.id,), factor, "ratio", words, why, sure)
    return Wrong(episode, start, end, factor)


def _ends(one: Series, levels: list[Level], k: int) -> tuple[float, float]:
    start, end = float(one.t[0]), float(one.t[-1])
    if k > 0:
        start = edge(one, levels[k].start - 0.5 * HOUR, float(np.exp(levels[k].level - levels[k - 1].level)))
    if k + 1 < len(levels):
        after = edge(one, levels[k].end + 0.5 * HOUR, float(np.exp(levels[k + 1].level - levels[k].level)))
        end = float(one.t[max(int(np.searchsorted(one.t, after)) - 1, 0)])
    return start, end


def _joined(found: list[Wrong], right: Sequence[tuple[float, float]]) -> list[Wrong]:
    """Return those of the same code and factor as one where no right level lies between."""
    out: list[Wrong] = []
    for one in found:
        last = out[-1] if out else None
        same = last is not None and last.episode.code is one.episode.code and last.factor == one.factor
        if last is not None and same and not any(last.end < b and a < one.start for a, b in right):
            out[-1] = Wrong(replace(last.episode, end=one.episode.end), last.start, one.end, one.factor)
        else:
            out.append(one)
    return out


def of_pressure(one: Series, every: Sequence[Series], context: Context) -> list[Wrong]:
    """Return the times at which a pressure carries another unit than declared.

    Method (own): hourly levels against what is known of the station, the gauge of a visit, or else the
    record's own longest level. Smaller levels count only while flow passes as usual: a drained zone is no
    unit.
    """
    up = one.v > 0.0
    t, v = hourly(one.t[up], one.v[up])
    if t.size < 4:
        return []
    about, known = _about(one, context, float(np.median(v)))
    levels = steps(t, np.log(v / about), 1.2, 4)
    fine = [level for level in levels if abs(level.level) < np.log(3.0)]
    base = max(fine, key=lambda level: level.last - level.first).level if fine else 0.0
    out = []
    for k, level in enumerate(levels):
        if level in fine or (not fine and not known):
            continue
        beside = _beside(t, np.log(v / about), levels, k, base, fine)
        close = FACTOR_CLOSE.si if fine else 0.16
        sizes = (float(np.exp(level.level - beside)), float(np.exp(level.level - base)))
        best = next((b for b in (_nearest(one, size, close) for size in sizes) if b is not None), None)
        start, end = _ends(one, levels, k)
        if best is None or (best[1] < 1.0 and _drained(every, start, end)):
            continue
        code, factor, what = best
        why = (
            ("level against the rest of the record",)
            if fine
            else ("level against what is known of the station",)
        )
        words = f"The recorded pressure is {factor:.3g} times the true one ({what})."
        sure: Confidence = "certain" if fine else "likely"
        episode = Episode(code, moment(start), moment(end), (one.id,), factor, "ratio", words, why, sure)
        out.append(Wrong(episode, start, end, factor))
    return _joined(out, [(level.start, level.end) for level in fine])


def _beside(t: Floats, log: Floats, levels: list[Level], k: int, base: float, fine: list[Level]) -> float:
    """Return the right level beside a wrong one, set for how the wrong one differs there from its median."""
    for other, back in ((k - 1, True), (k + 1, False)):
        if not 0 <= other < len(levels) or levels[other] not in fine:
            continue
        near, far = (levels[other], levels[k]) if back else (levels[k], levels[other])
        before = float(np.median(log[max(near.first, near.last - 6) : near.last]))
        after = float(np.median(log[far.first : min(far.last, far.first + 6)]))
        return levels[k].level - ((after - before) if back else (before - after))
    return base


def _about(one: Series, context: Context, middle: float) -> tuple[float, bool]:
    read = [v.outlet if one.quantity == "outlet pressure" else v.inlet for v in context.visits]
    gauges = [value for value in read if value is not None and value > 0.0]
    if gauges and one.quantity != "pressure between the valves":
        return float(np.median(gauges)), True
    told = {"outlet pressure": context.known.lockup, "inlet pressure": context.known.inlet}.get(one.quantity)
    return (told, True) if told else (middle, False)


def _drained(every: Sequence[Series], start: float, end: float) -> bool:
    flow = one_of(every, "flow")
    if flow is not None:
        part = within(flow, start, end)
        return not part.size or float(np.median(part)) < 0.3 * float(np.median(flow.v))
    return any(
        s.quantity == "shut-off closed" and np.mean(within(s, start, end) > 0.5) > 0.2
        for s in every
        if within(s, start, end).size
    )


def undone(one: Series, found: Sequence[Wrong]) -> Series:
    """Return a working copy with the factors taken out; the record itself stays as it is."""
    if not found:
        return one
    v = one.v.copy()
    for wrong in found:
        v[(one.t >= wrong.start) & (one.t <= wrong.end)] /= wrong.factor
    return one.with_values(v)


def refined(one: Series, found: Sequence[Wrong]) -> list[Wrong]:
    """Return the factors with their ends moved from minutes to single samples of the full record."""
    out = []
    for wrong in found:
        start, end = wrong.start, wrong.end
        if start > one.t[0] + REACH:
            start = edge(one, start, wrong.factor, REACH)
        if end < one.t[-1] - REACH:
            after = edge(one, end, 1.0 / wrong.factor, REACH)
            end = float(one.t[max(int(np.searchsorted(one.t, after)) - 1, 0)])
        else:
            end = float(one.t[-1])
        out.append(
            Wrong(replace(wrong.episode, start=moment(start), end=moment(end)), start, end, wrong.factor)
        )
    return out
