"""A sensor cut off from the water: it shows a trapped pressure and answers nothing."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from steadyhead.watch.defects.alive import QUIET, dead_of
from steadyhead.watch.defects.defaults import (
    CALM,
    CALM_SIGNAL,
    DAMPED_SIGNAL,
    DAMPED_SLOPE,
    DAMPED_TIME,
    MAD_TO_DEVIATION,
    NOISE,
)
from steadyhead.watch.defects.episode import Code, Episode, moment
from steadyhead.watch.defects.levels import hourly
from steadyhead.watch.defects.saying import lasting
from steadyhead.watch.defects.series import (
    PRESSURES,
    Floats,
    Marks,
    Series,
    one_of,
    scatter_of,
    shut_or_still,
    stretches,
    within,
)

BLOCK = 900.0
WINDOW = 6 * 3600.0
HALF_DAY = 12 * 3600.0
MOST = 0.6
"""Beyond this share of the record there is no usual behaviour to compare with."""


def cock_shut(one: Series, every: Sequence[Series]) -> list[Episode]:
    """Return the times at which a pressure answers nothing while the others move.

    Method (own; design handbook 6.2: compare bandwidth): what flow, travel and hour of the day usually make
    of this pressure, over windows of six hours: where that asks for a clear movement and the record stays
    on a straight line, the sensor is cut off. Also where half a day is far calmer than any half day of this
    channel, the others as lively as ever. A pressure that hardly moves by nature shows nothing of this: not
    seen. One that hardly moves any more but still meets the water (`alive`) is no call: a reducer was mended.
    """
    if one.quantity not in PRESSURES or one.channel.statistic not in ("spot", "mean") or one.t.size < 200:
        return []
    use = ~shut_or_still([s for s in every if s.quantity != one.quantity], one.t)
    block = max(BLOCK, one.step)
    if block > WINDOW / 6.0:
        return []
    t, v = hourly(one.t[use], one.v[use], block)
    dead = _calm(t, v, one, every, block)
    wished = _expected(t, v, one, every, block)
    n = int(WINDOW / block)
    if wished is not None and t.size >= 12 * n:
        dead |= _dead(t, v, one, (wished[0], max(wished[1], one.grain)), block)
    if not dead.any():
        return []
    out: list[Episode] = []
    spells = [_ends(one, float(t[first]), float(t[last - 1]), block) for first, last in stretches(dead)]
    for a, b in dead_of(one, every, spells):
        if b - a < DAMPED_TIME.si or b - a > MOST * (one.t[-1] - one.t[0]):
            continue
        if (out and a <= out[-1].end.timestamp()) or _on_stairs(one, a, b):
            continue
        words = f"The pressure answers nothing for {lasting(b - a)}, the others move: cock shut or frozen."
        why = ("movement usual at this flow and hour", "record on a straight line")
        out.append(Episode(Code.COCK_SHUT, moment(a), moment(b), (one.id,), None, "", words, why, "likely"))
    return out


def _expected(
    t: Floats, v: Floats, one: Series, every: Sequence[Series], block: float
) -> tuple[Floats, float] | None:
    """Return what the others make of this pressure, and the usual error; None where they explain little."""
    if t.size < 96:
        return None
    columns = [np.ones(t.size)]
    for quantity in ("flow", "travel"):
        other = one_of(every, quantity)
        if other is not None:
            x = np.interp(t, *hourly(other.t, other.v, block)) / max(float(np.mean(np.abs(other.v))), 1e-30)
            columns += [x, x**2]
    if len(columns) == 1:
        return None
    for k in (1, 2, 3):
        columns += [np.sin(2.0 * np.pi * k * t / 86_400.0), np.cos(2.0 * np.pi * k * t / 86_400.0)]
    terms = np.stack(columns, axis=1)
    keep = np.ones(t.size, dtype=bool)
    line: Floats = np.zeros(terms.shape[1])
    for _ in range(4):
        line = np.asarray(np.linalg.lstsq(terms[keep], v[keep], rcond=None)[0], dtype=np.float64)
        keep = np.abs(terms @ line - v) <= np.quantile(np.abs(terms @ line - v), 0.85)
    w: Floats = np.asarray(terms @ line, dtype=np.float64)
    error = float(MAD_TO_DEVIATION * np.median(np.abs(v - w)))
    return w, error


def _calm(t: Floats, v: Floats, one: Series, every: Sequence[Series], block: float) -> Marks:
    """Return the blocks in half days far calmer than the channel's usual ones, others as lively."""
    n = int(HALF_DAY / block)
    out = np.zeros(v.size, dtype=bool)
    if v.size < 8 * n:
        return out
    moved = _straight(v, n).std(axis=1)
    usual = float(np.median(moved))
    if usual <= 0.0 or usual < CALM_SIGNAL.si * max(one.scatter, one.grain):
        return out
    lively = np.zeros(moved.size, dtype=bool)
    for quantity in ("flow", "travel", *PRESSURES):
        other = one_of(every, quantity)
        if other is not None and quantity != one.quantity:
            there = _straight(np.interp(t, *hourly(other.t, other.v, block)), n).std(axis=1)
            lively |= there > 0.5 * float(np.median(there))
    calm = (moved < CALM.si * usual) & lively
    for i in np.flatnonzero(calm).tolist():
        of_noise = moved[i] < _of_noise(one, float(t[i]), float(t[i + n - 1]), block)
        calm[i] = of_noise and moved[i] < CALM.si * _about(moved, i, n)
    for first, last in stretches(calm):
        if last - first >= n // 6:
            out[first : last + n - 1] = True
    return out


def _about(moved: Floats, i: int, n: int) -> float:
    """Return the movement of the calmer windows of the days before or after, whichever is less."""
    sides = (moved[max(0, i - 8 * n) : max(0, i - n)], moved[i + n : i + 8 * n])
    return min((float(np.quantile(side, 0.25)) for side in sides if side.size > 2 * n), default=0.0)


def _of_noise(one: Series, start: float, end: float, block: float) -> float:
    """Return the most movement of block medians that noise and resolution make. [Pa]"""
    noise = scatter_of(within(one, start, end))
    of_blocks = float(np.sqrt(max(block / one.step, 1.0)))
    return float(max(NOISE.si * noise / of_blocks, 0.35 * one.grain))


def _straight(x: Floats, n: int) -> Floats:
    """Return the windows of `n` blocks less their own straight lines."""
    rows = np.lib.stride_tricks.sliding_window_view(x, n)
    place = np.arange(n) - 0.5 * (n - 1)
    slope = rows @ place / float(place @ place)
    return np.asarray(rows - rows.mean(axis=1, keepdims=True) - slope[:, None] * place)


def _dead(t: Floats, v: Floats, one: Series, wished: tuple[Floats, float], block: float) -> Marks:
    """Return the blocks in windows that ask for movement and show none."""
    n, error = int(WINDOW / block), wished[1]
    real, ask = _straight(v, n), _straight(wished[0], n)
    moved, asked = real.std(axis=1), ask.std(axis=1)
    answer = np.sum(real * ask, axis=1) / np.maximum(np.sum(ask**2, axis=1), 1e-30)
    hit = (
        (np.abs(answer) < DAMPED_SLOPE.si)
        & (asked > DAMPED_SIGNAL.si * error)
        & (moved < 0.15 * np.minimum(asked, float(np.median(moved))) + 1e-9)
    )
    out = np.zeros(v.size, dtype=bool)
    if float(np.median(moved)) <= 0.3 * one.grain:
        return out
    for i in np.flatnonzero(hit).tolist():
        start, end = float(t[i]), float(t[i + n - 1])
        quiet = scatter_of(within(one, start, end)) < QUIET * one.scatter
        hit[i] = quiet and moved[i] < _of_noise(one, start, end, block)
    for first, last in stretches(hit):
        if last - first >= n // 6:
            out[first : last + n - 1] = True
    return out


def _on_stairs(one: Series, start: float, end: float) -> bool:
    """Return whether the record moves there by far coarser steps than elsewhere: stairs."""
    apart = np.abs(np.diff(within(one, start - 2.0 * one.step, end + 2.0 * one.step)))
    moves = apart[apart > 1e-6 * max(float(np.max(np.abs(one.v))), 1e-12)]
    return moves.size > 0 and float(np.min(moves)) > 5.0 * max(one.grain, one.scatter)


def _ends(one: Series, start: float, end: float, block: float) -> tuple[float, float]:
    """Return the ends moved outwards as long as the record stays on the straight line of the inside."""
    inside = (one.t >= start) & (one.t <= end)
    line = np.polyfit(one.t[inside] - start, one.v[inside], 1)
    off = np.abs(one.v - np.polyval(line, one.t - start))
    wide = 4.0 * float(MAD_TO_DEVIATION * np.median(off[inside])) + 1.5 * one.grain
    on = off <= wide
    first = int(np.flatnonzero(inside)[0])
    last = int(np.flatnonzero(inside)[-1])
    while first > 0 and np.mean(on[max(0, first - 4) : first]) >= 0.75:
        first -= 1
    while last < one.t.size - 1 and np.mean(on[last + 1 : last + 5]) >= 0.75:
        last += 1
    return float(one.t[first]), float(one.t[last])
