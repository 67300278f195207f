"""Defects of single samples and of the scale's end and steps: spike, stuck, clipping, quantisation."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from steadyhead.watch.defects import apart
from steadyhead.watch.defects.defaults import (
    CLIP_OVER_NEXT,
    CLIP_SAMPLES,
    CLIP_VALUES,
    GRAIN_FLOW,
    GRAIN_PRESSURE,
    GRAIN_REPEATS,
    MAD_TO_DEVIATION,
    OTHERS_MOVE,
    SPIKE_ALONE,
    SPIKE_FLOW,
    SPIKE_OVER_STEPS,
    SPIKE_PRESSURE,
    SPIKE_SIGMAS,
    STUCK_OVER_USUAL,
    STUCK_SAMPLES,
    STUCK_TIME,
    WITNESS_DOWN,
    WITNESS_SHARE,
    WITNESS_SIGMAS,
)
from steadyhead.watch.defects.episode import Code, Episode, moment
from steadyhead.watch.defects.saying import lasting, unit, value
from steadyhead.watch.defects.series import (
    JUDGED_QUANTITIES,
    PRESSURES,
    Floats,
    Series,
    grain_of,
    of_arrays,
    portion,
    runs,
    shut_or_still,
    stretches,
    within,
)

DAY = 86_400.0
MOSTLY_EQUAL = 0.85
"""Share of equal neighbours beyond which a channel's own stairs hide a standing value."""
OF_EVENTS = 15
"""Largest held steps that may belong to a trip, a burst or a set change."""
LONGEST = 8
"""Longest runs looked at."""
NEAR = 25
"""Samples on either side that tell the scatter at a place."""


def spikes(one: Series, others: Sequence[Series]) -> list[Episode]:
    """Return the lone samples far off in this channel alone.

    Method: height over the median of the four neighbours (a Hampel filter of width five: R. K. Pearson,
    Outliers in process modeling and identification, 2002, DOI 10.1109/87.974338; limits own estimate), many
    times the scatter at that place, far beyond the spread of the neighbours. A real surge also looks so:
    where another channel moves in the same sample or the next, by as much as goes with it, it is none, by the
    clock of its own logger where that stands apart (`apart`). Minima and maxima of intervals are not judged,
    they hold real surges.
    """
    if one.quantity not in (*PRESSURES, "flow") or one.channel.statistic not in ("spot", "mean"):
        return []
    if one.v.size < 4 * NEAR or not one.regular or one.channel.hold == "step":
        return []
    off, spread = _off(one.v)
    usual = float(MAD_TO_DEVIATION * np.median(np.abs(portion(off))))
    floor = (
        SPIKE_PRESSURE.si if one.quantity in PRESSURES else SPIKE_FLOW.si * float(np.median(portion(one.v)))
    )
    high = max(SPIKE_SIGMAS.si * usual, floor, 4.0 * one.grain, SPIKE_OVER_STEPS.si * _own_steps(one.v))
    places = 2 + np.flatnonzero((np.abs(off) > high) & (np.abs(off) > SPIKE_ALONE.si * spread))
    lags = _lags(one, others) if places.size else {}
    out = []
    for i in places.tolist():
        around = np.delete(off[max(0, i - 2 - NEAR) : i - 2 + NEAR + 1], min(i - 2, NEAR))
        here = float(MAD_TO_DEVIATION * np.median(np.abs(around)))
        wild = float(np.quantile(np.abs(around), 0.9))
        height = float(off[i - 2])
        if abs(height) <= max(SPIKE_SIGMAS.si * here, 3.0 * wild) or _witnessed(one, i, height, others, lags):
            continue
        words = f"A single sample stands {value(one, height)} off its neighbours; no other channel shows it."
        when = moment(one.t[i])
        why = ("height over neighbours", "other channels quiet")
        out.append(Episode(Code.SPIKE, when, when, (one.id,), height, unit(one), words, why, times=(when,)))
    return out


def _own_steps(v: Floats) -> float:
    """Return the size of the steps the channel makes and holds (pumps), a few events left out."""
    part = v[:200_000]
    low, high = np.minimum(part[:-2], part[1:-1]), np.maximum(part[:-2], part[1:-1])
    three = np.maximum(low, np.minimum(high, part[2:]))
    held = np.abs(three[4:] - three[:-4])
    place = held.size - OF_EVENTS
    return float(np.partition(held, place)[place]) if held.size > 10 * OF_EVENTS else 0.0


def _off(v: Floats) -> tuple[Floats, Floats]:
    """Return each sample's height over the median of its four neighbours, and their spread."""
    a, b, c, d = v[:-4], v[1:-3], v[3:-1], v[4:]
    low = np.minimum(np.minimum(a, b), np.minimum(c, d))
    high = np.maximum(np.maximum(a, b), np.maximum(c, d))
    return v[2:-2] - 0.5 * (a + b + c + d - low - high), high - low


def _lags(one: Series, others: Sequence[Series]) -> dict[str, float]:
    """Return by channel of another logger how far its stamps stand after those of this one. [s]"""
    found = {other.id: apart.between(one, other) for other in others if other.id != one.id}
    return {name: each.lag for name, each in found.items() if each is not None}


def _witnessed(
    one: Series, i: int, height: float, others: Sequence[Series], lags: Mapping[str, float]
) -> bool:
    """Return whether another channel moves there or beside, two a little, or a shut-off switches.

    A movement too small to go with one of that height is none.
    """
    start, end = float(one.t[i - 1]), float(one.t[i + 1])
    little = 0
    for other in others:
        if other.id == one.id or other.v.size < 10:
            continue
        if other.quantity == "shut-off closed":
            if np.ptp(within(other, start - 2.0 * one.step, end + 2.0 * one.step)) > 0.0:
                return True
        elif other.quantity in JUDGED_QUANTITIES:
            least = _least(one, height, other)
            beside, there = _moves(other, start, float(one.t[i]), end, least)
            if (late := lags.get(other.id)) is not None:
                beside = max(
                    beside, _moves(other, start + late, float(one.t[i]) + late, end + late, least)[0]
                )
            if beside > WITNESS_SIGMAS.si:
                return True
            little += there > 0.6 * WITNESS_SIGMAS.si
    return little >= 2


def _least(one: Series, height: float, other: Series) -> float:
    """Return by how much another channel moves at least where what stands in this one is true. [SI]

    A surge that comes from above passes the reducer weakened, to the outlet's sensitivity; one from below is
    seen above it, or in the flow that was stopped. Of a flow and of a position no size is asked: what moves
    a pressure by much may be small there.
    """
    if one.quantity not in PRESSURES or other.quantity not in PRESSURES:
        return 0.0
    down = other.quantity == "outlet pressure"
    return (WITNESS_DOWN if down else WITNESS_SHARE).si * abs(height)


def _moves(other: Series, start: float, at: float, end: float, least: float) -> tuple[float, float]:
    """Return how far a channel stands off its neighbours over its scatter: in the span, and at a time.

    Less than `least` [SI] is none.
    """
    first = int(np.searchsorted(other.t, start - 0.5 * other.step))
    last = int(np.searchsorted(other.t, end + 0.5 * other.step, side="right"))
    wide = slice(max(0, first - NEAR), last + NEAR)
    part = other.v[wide]
    if part.size < 8 or last <= first:
        return 0.0, 0.0
    off = np.abs(_off(part)[0])
    scatter = max(float(MAD_TO_DEVIATION * np.median(off)), 0.375 * other.grain, 1e-12)
    inner = off[max(0, first - wide.start - 2) : max(0, last - wide.start - 2)]
    near = int(np.argmin(np.abs(other.t[wide] - at))) - 2
    there = float(off[near]) if 0 <= near < off.size else 0.0
    beside = float(np.max(inner, initial=0.0))
    return (beside if beside >= least else 0.0) / scatter, (there if there >= least else 0.0) / scatter


def stuck(one: Series, others: Sequence[Series]) -> list[Episode]:
    """Return the times at which the value stood to the last digit while another channel moved.

    Method (own): runs of equal samples, held against the longest run the channel shows elsewhere, which is
    what its own resolution makes; another channel must move meanwhile. No flow, an end stop and what stands
    behind a closed shut-off are none. Reports by exception are not judged: they repeat nothing.
    """
    if one.quantity not in JUDGED_QUANTITIES or not one.regular or one.channel.hold == "step":
        return []
    first, length = runs(one.v)
    if length.size < 10:
        return []
    at_least = np.cumsum(np.bincount(length)[::-1])[::-1]
    order = np.flatnonzero(length >= int(np.flatnonzero(at_least >= LONGEST)[-1]))
    order = order[np.argsort(-length[order], kind="stable")]
    repeats = 1.0 - first.size / one.v.size
    spare = 1 if repeats > GRAIN_REPEATS.si else 6
    usual = int(length[order[min(spare, order.size - 1)]])
    if repeats > MOSTLY_EQUAL or usual * one.step > 4.0 * STUCK_TIME.si:
        return []
    out = []
    for k in order[:spare].tolist():
        i, n = int(first[k]), int(length[k])
        start, end = float(one.t[i]), float(one.t[i + n - 1])
        if n < max(STUCK_SAMPLES.si, STUCK_OVER_USUAL.si * usual) or end - start < STUCK_TIME.si:
            break
        if _may_stand(one, i, n, others) or not _others_move(start, end, one, others):
            continue
        words = (
            f"The value stands at {value(one, float(one.v[i]))} for {lasting(end - start)} while others move."
        )
        why = (f"{n} equal samples; {usual} are usual", "another channel moves")
        out.append(Episode(Code.STUCK, moment(start), moment(end), (one.id,), None, "", words, why))
    return out


def _may_stand(one: Series, i: int, n: int, others: Sequence[Series]) -> bool:
    held = float(one.v[i])
    rest = np.delete(one.v, np.arange(i, i + n))
    low, high = np.quantile(rest, (0.005, 0.995))
    if held == 0.0 or not low <= held <= high or (one.quantity == "travel" and held >= 0.99):
        return True
    if one.quantity == "inlet pressure" or one.quantity == "flow":
        return False
    still = shut_or_still([s for s in others if s.id != one.id], one.t[i : i + n])
    return bool(np.mean(still) > 0.3)


def _others_move(start: float, end: float, one: Series, others: Sequence[Series]) -> bool:
    for other in others:
        if other.id == one.id or other.quantity not in JUDGED_QUANTITIES or other.quantity == one.quantity:
            continue
        part = within(other, start, end)
        if part.size < 5:
            continue
        low, high = np.quantile(part, (0.05, 0.95))
        if high - low > OTHERS_MOVE.si * max(other.scatter, other.grain):
            return True
    return False


def clipping(one: Series) -> list[Episode]:
    """Return the flat tops of a channel at exactly its highest value.

    Method (own): more samples at the highest value than at the next ones below could be there by chance, in
    at least two runs longer than the channel's other runs. Stairs are not judged.
    """
    if one.quantity not in (*PRESSURES, "flow") or one.v.size < 100:
        return []
    top = float(np.max(one.v))
    if top <= 0.0:
        return []
    small = 1e-9 * top
    at = one.v >= top - small
    count = int(np.count_nonzero(at))
    if count < CLIP_SAMPLES.si or not _many_values(one.v[~at]):
        return []
    width = max(one.grain, 0.25 * one.scatter)
    below = int(np.count_nonzero((one.v < top - small) & (one.v > top - 1.5 * width)))
    first, length = runs(one.v)
    tops = length[at[first]]
    rest = np.sort(length[~at[first] & (one.v[first] != 0.0)])
    usual = int(rest[int(0.999 * (rest.size - 1))]) if rest.size else 1
    flat = tops.size >= 2 and int(np.max(tops)) >= max(5, 2 * usual)
    if count < CLIP_OVER_NEXT.si * below or not flat:
        return []
    places = np.flatnonzero(at)
    start, end = moment(one.t[places[0]]), moment(one.t[places[-1]])
    words = f"Values are cut at {value(one, top)}: {count} samples stand exactly there. True ones are higher."
    return [
        Episode(
            Code.CLIPPING, start, end, (one.id,), top, unit(one), words, ("flat tops at the highest value",)
        )
    ]


def _many_values(v: Floats) -> bool:
    """Return whether a channel takes many values; a part of it tells where it does."""
    return any(np.unique(np.round(part, 9)).size >= CLIP_VALUES.si for part in (v[:20_000], v))


def quantisation(one: Series) -> list[Episode]:
    """Return whether the channel shows coarse stairs through the record, or for some days of it.

    Method (own): the step of which nearly all differences of neighbours are multiples, where it is coarse
    for the quantity and a good part of neighbours are equal. Where the whole record shows none, the same by
    days; two days in a row at least, moved outwards as far as the values stay on the stairs.
    """
    if one.quantity not in (*PRESSURES, "flow") or one.v.size < 100 or one.channel.hold == "step":
        return []
    limit = GRAIN_PRESSURE.si if one.quantity in PRESSURES else GRAIN_FLOW.si * float(np.median(one.v))
    if _stairs(one.v, one.grain, limit):
        return [_in_steps(one, 0, one.t.size - 1, one.grain)]
    if one.grain >= limit or one.step > 1800.0:
        return []
    edges = np.searchsorted(one.t, np.arange(one.t[0], one.t[-1] + DAY, DAY))
    grains = [grain_of(one.v[a:b]) if b - a >= 40 else 0.0 for a, b in pairwise(edges.tolist())]
    coarse = [
        _stairs(one.v[a:b], g, limit) for (a, b), g in zip(pairwise(edges.tolist()), grains, strict=True)
    ]
    out = []
    for first, last in stretches(np.array(coarse, dtype=bool)):
        grain = float(np.median(grains[first:last]))
        if last - first >= 2 and np.ptp(grains[first:last]) < 0.1 * grain:
            out.append(
                _in_steps(one, *_on_stairs(one.v, int(edges[first]), int(edges[last]) - 1, grain), grain)
            )
    return out


def _stairs(v: Floats, grain: float, limit: float) -> bool:
    if grain < limit or grain <= 0.0:
        return False
    moving = np.diff(v)[(v[1:] != 0.0) | (v[:-1] != 0.0)]
    return moving.size > 0 and float(np.mean(np.abs(moving) < 0.1 * grain)) >= GRAIN_REPEATS.si


def _on_stairs(v: Floats, first: int, last: int, grain: float) -> tuple[int, int]:
    """Return the places moved outwards as long as the values stay on the stairs of the inside."""
    rest = (v - v[first]) / grain
    off = np.flatnonzero(np.abs(rest - np.round(rest)) > 0.05)
    before, after = off[off < first], off[off > last]
    return (int(before[-1]) + 1 if before.size else 0), (int(after[0]) - 1 if after.size else v.size - 1)


def _in_steps(one: Series, first: int, last: int, grain: float) -> Episode:
    start, end = moment(one.t[first]), moment(one.t[last])
    words = f"The record goes in steps of {value(one, grain)}."
    why = ("differences of neighbours", "equal neighbours")
    return Episode(Code.QUANTISATION, start, end, (one.id,), grain, unit(one), words, why)


def without(one: Series, episodes: Sequence[Episode]) -> Series:
    """Return a working copy without the samples of the episodes; the record itself stays as it is."""
    if not episodes:
        return one
    keep = np.ones(one.t.size, dtype=bool)
    for episode in episodes:
        keep &= (one.t < episode.start.timestamp() - 1e-3) | (one.t > episode.end.timestamp() + 1e-3)
    return replace(of_arrays(one.channel, one.t[keep], one.v[keep], one.stamps), regular=one.regular)
