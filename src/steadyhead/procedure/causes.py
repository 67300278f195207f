"""Weighs the causes of a step by what was read there; the same text in JavaScript stands in js/causes.js.

For each cause, and each span of its severity, the readings are held against one straight model:

    reading = expected + t × (next grade − this grade) + supply × a + setting × b + own error

with t anywhere between 0 and 1, a and b normal with standard deviation one, and the own error of a reading
made up of the half width of the curve and the instrument's tolerance (taken as ± a bound, so over √3). Flow
enters as its square: losses are straight in it. The weight of a span is

    exp(−½ Σz² at the best t) ÷ √(determinant of the covariance) × the share of the span that fits as well

and that of a cause its prior times the mean over its spans.

A reading that lies clear of the sound station has a direction. A span counts only where it moves one of
these readings the way it lies, and none of them the other way: what lowers an outlet never stands behind a
high one.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import exp, isfinite, log, pi, sqrt

from steadyhead.records.signature import (
    AS_EXPECTED,
    EACH,
    Axis,
    Cause,
    Curve,
    Grade,
    Reads,
    Signature,
    Weighed,
)

FAR = 3.0
"""A cause fits while no reading lies further from it than this many half widths."""
FAR_HEALTHY, FAR_MORE = 2.2, 0.3
"""The healthy state fits up to the first, of one reading, and with the second more by the logarithm of their
number: about the edge of a band of 95 %. Own estimate."""
MOST_LISTED = 5
LEAST_SHARE = 0.01
"""A cause below this share is not listed."""
LIKELY, POSSIBLE = 0.5, 0.15
"""Shares from which a cause is called likely, and possible; own estimate."""
FLOW_SHARE = 0.05
"""Half width of a flow that is noted, over it; own estimate: between meter and bucket."""
FLOW_LEAST = 0.02
"""The same for small flows, over the flow the step asks for; own estimate."""
LOW_FLOW, LACKS = 0.5, 2.0
"""A flow below this share of the one asked for, and of what can pass, lies off; at none by so many half
widths. Own estimate."""
BENT = 0.08
"""What a straight line between two grades may miss, over their distance; own estimate."""
BENT_STEEP, STEEP = 0.3, 1.5
"""The same where the flow times the second passes all that can run."""
LEAST_WIDTH = 500.0
"""No pressure is known better than this. [Pa]"""
LEAST_SHARE_WIDTH = 0.005
"""No other reading is known better than this share of what is expected. [1]"""

CLEAR = 1.96
"""A reading lies off the sound station beyond so many standard deviations: the edge of a band of 95 %."""
RIGHT, WRONG = 0.05, 0.25
"""A cause moves a reading its way from the first share of how far it lies off, and the other way beyond the
second. Own estimate."""

NEVER = -1e300
"""Logarithm of no weight at all."""

Flow = float | Mapping[str, float] | None
Row = tuple[float, float, float, float]
"""Expected, from the supply, from the setting, half width."""
_SOUND = Grade()


@dataclass(slots=True)
class _Given:
    """One reading of the step with all that is known of how it was taken."""

    reads: Reads
    flows: tuple[float, ...]
    value: float
    tolerance: float
    flow: float | None
    sound: float = 0.0
    """What the sound station shows there."""
    off: float = 0.0
    """How far the reading lies from that; 0 where it is not clear of it."""


def weigh(
    signature: Signature,
    readings: Mapping[str, tuple[float, float]],
    flow: Flow = None,
    chosen: Mapping[str, str] | None = None,
) -> tuple[Weighed, ...]:
    """Return the plausible causes of what was read at a step, weightiest first, no more than five.

    Parameters
    ----------
    signature
        Of the step.
    readings
        By input: value and tolerance ± [SI of the quantity]. Inputs the step does not weigh, and what is no
        number, are passed over.
    flow
        At that time [m³/s]: one for all readings; or by the name of the reading it was noted with, or of the
        input that carries it.
    chosen
        Option taken at each choice of the plan.

    Returns
    -------
    tuple
        Empty without a reading that can be weighed. The healthy state is among them where it fits. One entry
        with an empty id, first, where nothing comes within three half widths.
    """
    given = _given(signature, readings, flow, chosen)
    if not given:
        return ()
    rows = [(cause, _weighed(signature, cause, given)) for cause in signature.causes]
    within = [row for row in rows if row[1][1] <= _far(row[0], len(given))]
    if not within:
        return (Weighed("", "", 0.0, 0.0, "none fits", min(row[1][1] for row in rows)),)
    return _told(within)


def _far(cause: Cause, count: int) -> float:
    """Return how far a reading may lie from a cause that fits; the more readings, the farther one of them."""
    if cause.id != AS_EXPECTED:
        return FAR
    return min(FAR, FAR_HEALTHY + FAR_MORE * log(count))


def _told(rows: Sequence[tuple[Cause, tuple[float, float, str]]]) -> tuple[Weighed, ...]:
    """Return the weightiest of the causes that fit, each with its share of them all."""
    top = max(found[0] for _, found in rows)
    total = 0.0
    for _, found in rows:
        total += exp(found[0] - top)
    shares = [(exp(found[0] - top) / total, cause, found) for cause, found in rows]
    shares.sort(key=lambda row: -row[0])
    listed = [row for row in shares if row[0] >= LEAST_SHARE]
    further = max(len(listed) - MOST_LISTED, 0)
    return tuple(
        Weighed(cause.id, where, share, _tenths(share), _word(cause, share), misfit, further)
        for share, cause, (_, misfit, where) in listed[:MOST_LISTED]
    )


def _tenths(share: float) -> float:
    return int(share * 10.0 + 0.5) / 10.0


def _word(cause: Cause, share: float) -> str:
    if cause.id == AS_EXPECTED:
        return "as expected"
    if share >= LIKELY:
        return "likely"
    return "possible" if share >= POSSIBLE else "less likely"


def _given(
    signature: Signature,
    readings: Mapping[str, tuple[float, float]],
    flow: Flow,
    chosen: Mapping[str, str] | None,
) -> list[_Given]:
    axes: dict[str, Axis] = {axis.state: axis for axis in signature.axes}
    found: dict[str, _Given] = {}
    for reads in signature.reads:
        if reads.input not in readings or reads.input in found:
            continue
        if reads.choice is not None and chosen is not None:
            choice, option = reads.choice
            if chosen.get(choice, option) != option:
                continue
        value, tolerance = readings[reads.input]
        if not (isfinite(value) and isfinite(tolerance)):
            continue
        axis = axes[reads.state]
        noted = _noted(flow, reads) if axis.flows else None
        found[reads.input] = _beside_sound(signature, _Given(reads, axis.flows, value, tolerance, noted))
    return list(found.values())


def _beside_sound(signature: Signature, one: _Given) -> _Given:
    """Return a reading with what the sound station shows there, and how far it lies off."""
    value, supply, setting, half = _expected(signature, _SOUND, one, slips=False)
    square = half * half + supply * supply + setting * setting + one.tolerance * one.tolerance / 3.0
    off = one.value - value
    one.sound, one.off = value, off if abs(off) > CLEAR * sqrt(square) else 0.0
    return one


def _is_in_play(
    signature: Signature, first: Grade, second: Grade, given: Sequence[_Given], hit: Sequence[bool]
) -> bool:
    """Return whether a span moves a reading that lies off the way it lies, and none the other way."""
    is_off = is_right = False
    for one, slips in zip(given, hit, strict=True):
        if one.off == 0.0:
            continue
        is_off = True
        moved = [
            (_expected(signature, grade, one, slips=slips)[0] - one.sound) / one.off
            for grade in (first, second)
        ]
        if max(moved) > RIGHT:
            is_right = True
        elif min(moved) < -WRONG:
            return False
    return is_right or not is_off


def _noted(flow: Flow, reads: Reads) -> float | None:
    noted = flow
    if isinstance(flow, Mapping):
        noted = flow[reads.input] if reads.input in flow else flow.get(reads.flow)
    return noted if isinstance(noted, int | float) and isfinite(noted) and noted >= 0.0 else None


def _weighed(signature: Signature, cause: Cause, given: Sequence[_Given]) -> tuple[float, float, str]:
    """Return the logarithm of a cause's weight, its misfit, and at which place or input it would be.

    Only spans that fit count; where none does, the misfit is that of the nearest.
    """
    best, misfit, where, count = NEVER, -NEVER, "", 0
    weights = []
    for name, hit in _targets(cause, given):
        for first, second in cause.spans:
            count += 1
            ends = cause.grades[first], cause.grades[second]
            if cause.id != AS_EXPECTED and not _is_in_play(signature, *ends, given, hit):
                continue
            weight, off = _span(signature, *ends, given, hit)
            if off <= FAR:
                weights.append(weight)
            if weight > best if off <= FAR else not weights and off < misfit:
                best, misfit, where = (weight if off <= FAR else NEVER), off, name
    total = 0.0
    for weight in weights:
        total += exp(weight - best)
    return (log(cause.prior) + best + log(total / count) if weights else NEVER), misfit, where


def _targets(cause: Cause, given: Sequence[_Given]) -> Iterator[tuple[str, tuple[bool, ...]]]:
    """Yield the readings a slip may be in: every one at its place, or at each tap, or each one alone."""
    if cause.on != EACH:
        hit = tuple(cause.on == one.reads.place for one in given)
        if any(hit) or not cause.on:
            yield "", hit
        return
    places = []
    for one in given:
        if one.reads.place.startswith("T") and one.reads.place not in places:
            places.append(one.reads.place)
    for place in places:
        hit = tuple(one.reads.place == place for one in given)
        yield place, hit
        if sum(hit) > 1:
            for index, one in enumerate(given):
                if one.reads.place == place:
                    yield one.reads.input, tuple(other == index for other in range(len(given)))


def _span(
    signature: Signature, first: Grade, second: Grade, given: Sequence[_Given], hit: Sequence[bool]
) -> tuple[float, float]:
    """Return the logarithm of a span's weight and its misfit at the best severity."""
    rows = _rows(signature, first, second, given, hit)
    rr = rd = dd = det = 0.0
    pr, pd = [0.0, 0.0], [0.0, 0.0]
    m11, m12, m22 = 1.0, 0.0, 1.0
    for off, step, a, b, width in rows:
        over = 1.0 / (width * width)
        rr += off * off * over
        rd += off * step * over
        dd += step * step * over
        det += 2.0 * log(width)
        pr[0] += off * a * over
        pr[1] += off * b * over
        pd[0] += step * a * over
        pd[1] += step * b * over
        m11 += a * a * over
        m12 += a * b * over
        m22 += b * b * over
    under = m11 * m22 - m12 * m12
    det += log(under)

    def shared(one: Sequence[float], other: Sequence[float]) -> float:
        taken = m22 * one[0] * other[0] - m12 * (one[0] * other[1] + one[1] * other[0])
        return (taken + m11 * one[1] * other[1]) / under

    rr, rd, dd = rr - shared(pr, pr), rd - shared(pr, pd), dd - shared(pd, pd)
    free = dd > 1e-12
    at = min(max(rd / dd, 0.0), 1.0) if free else 0.0
    square = max(rr - 2.0 * at * rd + at * at * dd, 0.0)
    share = min(1.0, sqrt(2.0 * pi / dd)) if free else 1.0
    left = (pr[0] - at * pd[0], pr[1] - at * pd[1])
    supply = (m22 * left[0] - m12 * left[1]) / under
    setting = (m11 * left[1] - m12 * left[0]) / under
    misfit = max(abs(supply), abs(setting))
    for off, step, a, b, width in rows:
        misfit = max(misfit, abs(off - at * step - supply * a - setting * b) / width)
    return -0.5 * square - 0.5 * det + log(share), misfit


def _rows(
    signature: Signature, first: Grade, second: Grade, given: Sequence[_Given], hit: Sequence[bool]
) -> list[tuple[float, float, float, float, float]]:
    """Return for each reading: how far off, the step of the severity, two loadings, its own width."""
    found = []
    noted: list[tuple[str, str]] = []
    for one, slips in zip(given, hit, strict=True):
        low = _expected(signature, first, one, slips=slips)
        high = low if second is first else _expected(signature, second, one, slips=slips)
        step, half = high[0] - low[0], 0.5 * (low[3] + high[3])
        tolerance = one.tolerance * (0.5 * (abs(first.factor) + abs(second.factor)) if slips else 1.0)
        bent = (BENT_STEEP if _is_steep(first, second, one) else BENT) * step
        width = sqrt(half * half + tolerance * tolerance / 3.0 + bent * bent)
        least = LEAST_WIDTH if one.reads.place.startswith("T") else LEAST_SHARE_WIDTH * abs(low[0])
        loads = 0.5 * (low[1] + high[1]), 0.5 * (low[2] + high[2])
        found.append((one.value - low[0], step, *loads, max(width, least, 1e-9)))
        mark = (one.reads.state, one.reads.flow or one.reads.input)
        if one.flow is not None and mark not in noted:
            noted.append(mark)
            found.append(_flow_row(first, second, one, one.flow))
    return found


def _is_steep(first: Grade, second: Grade, one: _Given) -> bool:
    """Return whether the flow comes near all that can pass: there readings fall off fast."""
    flow, state = one.reads.usual if one.flow is None else one.flow, one.reads.state
    return any(state in grade.most and grade.most[state] <= STEEP * flow for grade in (first, second))


def _flow_row(
    first: Grade, second: Grade, one: _Given, flow: float
) -> tuple[float, float, float, float, float]:
    """Return the row of a flow that was noted: no more than can pass, no less than the step asks for."""
    usual = one.reads.usual
    width = max(FLOW_SHARE * flow + FLOW_LEAST * usual, 1e-9)
    bounds = []
    for grade in (first, second):
        most = grade.most.get(one.reads.state, 1e300)
        asked = LOW_FLOW * min(usual, most)
        lack = 1.0 - flow / asked if flow < asked else 0.0
        bounds.append(min(flow, most) + LACKS * width * lack)
    step = bounds[1] - bounds[0]
    return flow - bounds[0], step, 0.0, 0.0, sqrt(width * width + BENT * BENT * step * step)


def _expected(signature: Signature, grade: Grade, one: _Given, *, slips: bool) -> Row:
    key = one.reads.key
    curve = grade.curves[key] if key in grade.curves else signature.healthy[key]
    flow = one.reads.usual if one.flow is None else one.flow
    value, supply, setting, half = _at(curve, one.flows, flow)
    if one.reads.state in grade.most:  # beyond what can pass the curve goes on below nothing
        value = max(value, 0.0)
    if not slips:
        return value, supply, setting, half
    factor = grade.factor
    return factor * value + grade.offset, factor * supply, factor * setting, abs(factor) * half


def _at(curve: Curve, flows: Sequence[float], flow: float) -> Row:
    """Return a curve at a flow, straight in its square between the flows of the axis, level beyond."""
    last = len(flows) - 1
    if last < 1 or flow <= flows[0]:
        return curve.value[0], curve.supply[0], curve.setting[0], curve.half[0]
    if flow >= flows[last]:
        return curve.value[last], curve.supply[last], curve.setting[last], curve.half[last]
    i = 0
    while flows[i + 1] < flow:
        i += 1
    low, high = flows[i] * flows[i], flows[i + 1] * flows[i + 1]
    share = (flow * flow - low) / (high - low)

    def between(row: Sequence[float]) -> float:
        return row[i] + share * (row[i + 1] - row[i])

    return between(curve.value), between(curve.supply), between(curve.setting), between(curve.half)


__all__ = ["FAR", "MOST_LISTED", "weigh"]
