"""Downstream burst: flow jumps, stays, and ends, unlike other days."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from steadyhead.watch.defects.episode import moment
from steadyhead.watch.defects.saying import lasting, value
from steadyhead.watch.defects.series import Floats, Marks, Series, stretches, within
from steadyhead.watch.happening.believing import Scene
from steadyhead.watch.happening.defaults import (
    BURST_LONGEST,
    BURST_OTHERS,
    BURST_REPEATS,
    BURST_SHARE,
    BURST_SIGMAS,
    BURST_TIME,
)
from steadyhead.watch.happening.event import Event, Happening
from steadyhead.watch.happening.usual import (
    DAY,
    Spans,
    blocks,
    by_day,
    deviation,
    is_weekend,
    slots,
    usual_day,
)

BLOCK = 300.0
HOUR = 3600.0
FEW_DAYS = 3.5
"""Below this there is no usual day to compare with, and jumps must be larger."""
BACK, HELD = 0.4, 0.35
"""Share of the jump left after the end at most; share held in between at least."""
SHORT = 1.4
"""Factor on the limit of those shorter than an hour and a half: demand swings so long by itself."""
ALIKE = 0.45
"""Sizes within this factor of each other are of one habit: one field valve or two."""
RARE = 1.5
"""Factor on the limits on days of a kind that the record has fewer than three of."""
SHARP = 0.6
"""Jump between quarters of an hour over the change between half hours that lie one further out."""
WITH_CHANGE = 1.5 * HOUR
"""An extra flow this near to a step of the demand is its first hours. [s]"""
ENDING = 0.4
"""Least fall at the end over the jump."""


@dataclass(frozen=True, slots=True)
class Draw:
    """An extra flow: places in the blocks, its size and that of its first jump. [m³/s]"""

    first: int
    after: int
    extra: float
    jump: float


def found(scene: Scene, changed: Sequence[Happening], aside: Spans) -> list[Happening]:
    """Return the extra flows that jump, stay for half an hour to days, and end with a fall.

    Method (own; design handbook 6.5): flow in blocks of five minutes less the usual of the hour; a jump from
    one quarter of an hour to the next far beyond the usual jumps at this flow and beyond any of another day
    about this hour; then the first fall after which the flow is back. Three alike or more are a habit of the
    zone (field valves, tanks) and are not told. `changed`: steps of the demand, after which another day is
    usual.
    """
    flow = scene.flow
    if flow is None or flow.t.size < 50 or flow.step > 0.5 * HOUR:
        return []
    block = max(BLOCK, flow.step)
    t, v = blocks(flow, block, aside)
    if t.size < 50:
        return []
    mean = float(np.mean(v))
    if mean <= 0.0:
        return []
    few = t[-1] - t[0] < FEW_DAYS * DAY
    level = _level(t, changed)
    usual = np.full(v.shape, float(np.median(v))) if few else usual_day(t, v / level, block) * level
    rest = v - usual
    jump = _jumps(t, rest, block)
    size = np.maximum(usual, 0.3 * mean)
    spread = deviation(jump[np.isfinite(jump)] / size[np.isfinite(jump)])
    limit = np.maximum(BURST_SHARE.si * mean * (2.5 if few else 1.0), BURST_SIGMAS.si * spread * size)
    limit = np.where(_rare_kind(t), RARE, 1.0) * limit
    every = _paired(t, rest, jump, limit)
    if not few:
        limit = np.maximum(limit, BURST_OTHERS.si * _of_others(t, jump, block))
    jump = np.where(jump >= SHARP * _wide(rest, jump, block), jump, np.minimum(jump, 0.0))
    draws = _paired(t, rest, jump, limit)
    alike = [
        1 + sum(ALIKE < a.extra / b.extra < 1.0 / ALIKE and b.first != a.first for b in every) for a in draws
    ]
    rare = [one for one, n in zip(draws, alike, strict=True) if n < BURST_REPEATS.si]
    clear = [b for b in rare if t[b.after] - t[b.first] >= 1.5 * HOUR or b.jump >= SHORT * limit[b.first]]
    told = [_told(scene, flow, t, block, one) for one in clear]
    long = [h for h in told if (h.end - h.start).total_seconds() >= BURST_TIME.si]
    return [h for h in long if not _of_change(h, changed)]


def _of_change(one: Happening, changed: Sequence[Happening]) -> bool:
    """Return whether an extra flow begins where the demand steps up for good: it is that step."""
    near = [c for c in changed if abs((c.start - one.start).total_seconds()) <= WITH_CHANGE]
    return any((c.magnitude or 0.0) > 1.0 for c in near)


def _level(t: Floats, changed: Sequence[Happening]) -> Floats:
    """Return the demand at each block over that at first, by the steps found."""
    out = np.ones(t.shape)
    for one in changed:
        out[t >= one.start.timestamp()] *= one.magnitude or 1.0
    return out


def _rare_kind(t: Floats) -> Marks:
    """Return the blocks on days of a kind (weekend, workday) of which there are fewer than three."""
    day = np.floor(t / DAY)
    off = is_weekend(day)
    few = [np.unique(day[off == kind]).size < 3 for kind in (False, True)]
    return np.where(off, few[1], few[0])


def _wide(rest: Floats, jump: Floats, block: float) -> Floats:
    """Return the change over a longer time about each jump: a ramp goes on, a jump does not."""
    n = 3 if block <= BLOCK else 2
    rows = np.median(np.lib.stride_tricks.sliding_window_view(rest, 2 * n), axis=1)
    out = np.array(jump)
    i = np.arange(3 * n, rest.size - 3 * n)
    out[i] = rows[i + n] - rows[i - 3 * n]
    return out


def _jumps(t: Floats, rest: Floats, block: float) -> Floats:
    """Return at each block the median of the next blocks less that of the last ones; NaN at gaps."""
    n = 3 if block <= BLOCK else 2
    out = np.full(rest.shape, np.nan)
    rows = np.lib.stride_tricks.sliding_window_view(rest, n)
    middle = np.median(rows, axis=1)
    out[n : rest.size - n + 1] = middle[n:] - middle[:-n]
    near = np.full(rest.shape, np.inf)
    near[n : rest.size - n + 1] = t[2 * n - 1 :] - t[: rest.size - 2 * n + 1]
    return np.where(near <= (2 * n - 1) * block * 1.01, out, np.nan)


def _of_others(t: Floats, jump: Floats, block: float, reach: float = HOUR) -> Floats:
    """Return the largest rise of any other day within an hour of the same time of day."""
    table = np.nan_to_num(by_day(t, np.maximum(jump, 0.0), block))
    k = max(1, round(reach / block))
    wide = table.copy()
    for shift in range(-k, k + 1):
        wide = np.maximum(wide, np.roll(table, shift, axis=1))
    order = np.sort(wide, axis=0)
    top, second = order[-1], order[-2] if wide.shape[0] > 1 else np.zeros(wide.shape[1])
    others = np.where(wide >= top, second, top)
    day, place = slots(t, block)
    return np.asarray(others[day, np.minimum(place, table.shape[1] - 1)])


def _paired(t: Floats, rest: Floats, jump: Floats, limit: Floats) -> list[Draw]:
    """Return jumps with the first fall after which the flow is back."""
    level = np.nan_to_num(jump)
    out: list[Draw] = []
    for first, after in stretches(level > limit):
        i = first + int(np.argmax(level[first:after]))
        if out and i < out[-1].after:
            continue
        one = _ended(t, rest, level, i)
        if one is not None:
            out.append(one)
    return out


def _ended(t: Floats, rest: Floats, level: Floats, i: int) -> Draw | None:
    size = float(level[i])
    base = float(np.median(rest[(t >= t[i] - HOUR) & (t < t[i])]))
    until = int(np.searchsorted(t, t[i] + BURST_LONGEST.si))
    for j in (i + 1 + np.flatnonzero(level[i + 1 : until] < -ENDING * size)).tolist():
        if level[j] > np.min(level[j : j + 3]):
            continue
        later = rest[j : int(np.searchsorted(t, t[j] + HOUR))]
        if float(np.median(later)) - base > BACK * size:
            continue
        inside = rest[i:j] - base
        if t[j] - t[i] < BURST_TIME.si or float(np.mean(inside >= HELD * size)) < 0.7:
            return None
        extra = float(np.median(inside)) - 0.5 * (float(np.median(later)) - base)
        return Draw(i, j, extra, size) if extra > 0.5 * size else None
    return None


def _edge(flow: Series, about: float, block: float, sign: float) -> float:
    """Return the time of the sample after the largest step of the flow near a time. [s]"""
    first = int(np.searchsorted(flow.t, about - 1.6 * block))
    last = int(np.searchsorted(flow.t, about + 1.6 * block))
    if last - first < 2:
        return about
    apart = sign * np.diff(flow.v[first:last])
    return float(flow.t[first + 1 + int(np.argmax(apart))])


def _told(scene: Scene, flow: Series, t: Floats, block: float, one: Draw) -> Happening:
    start = _edge(flow, float(t[one.first]) - 0.5 * block, block, 1.0)
    end = _edge(flow, float(t[one.after]) - 0.5 * block, block, -1.0)
    end = max(end, start)
    ids, why = [flow.id], ["flow jumps beyond any of other days at this hour, and falls back"]
    for other in (scene.inlet, scene.outlet):
        if other is not None:
            before = within(other, start - HOUR, start - 1.5 * other.step)
            during = within(other, start + other.step, min(end, start + HOUR))
            if before.size and during.size and np.median(during) < np.median(before) - 2.0 * other.scatter:
                ids.append(other.id)
                why.append(f"{other.quantity} sags")
    size = f"{value(flow, one.extra)} for {lasting(end - start)}"
    words = f"Extra flow of {size}: a burst downstream or a large draw."
    return Happening(
        Event.BURST, moment(start), moment(end), tuple(ids), one.extra, "m3/s", words, tuple(why), "likely"
    )
