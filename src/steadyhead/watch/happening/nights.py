"""Night creep: at the lowest flow the outlet climbs above what it was there."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np

from steadyhead.records.logger import Context
from steadyhead.watch.defects.episode import Confidence, moment
from steadyhead.watch.defects.saying import bar, value
from steadyhead.watch.defects.series import Floats, Marks, Series
from steadyhead.watch.happening.believing import Scene
from steadyhead.watch.happening.defaults import (
    CREEP_ABOVE,
    CREEP_FLOW,
    CREEP_LEAST,
    CREEP_SIGMAS,
    CREEP_UNSEEN,
)
from steadyhead.watch.happening.event import Event, Happening
from steadyhead.watch.happening.usual import (
    DAY,
    Spans,
    blocks,
    deviation,
    droop,
    fit_rise,
    grown,
    rank_with_time,
)

BLOCK = 900.0
LOW, HIGH = 0.15, 0.5
"""Quantiles of a day's flow: its lowest, and from where on it is day."""
BY_DAY = 0.3
"""Quantile of the flow from which on the droop is taken: a creep is none of it."""
TOP = 0.9
MIDDLE = 0.15
"""Share of the rise that the middle of the lowest flows must show: a swing moves no middle."""
LEAST_NIGHTS = 4
OVERSHOT = 1.1
"""Rise of the curve over that of the highest nights from which it is none of theirs: the nights tell."""
CLEAR = 3.0
"""Scatters of the nights before over their middle from which a night is none of them."""
FLOOR = 0.003e5
"""Least scatter assumed for a night's value. [Pa]"""


@dataclass(frozen=True, slots=True)
class Nights:
    """The fall of the outlet per root of flow [Pa s^½/m^1.5], and one row a night.

    Middle of its lowest flow [s], outlet there over the day's at equal flow (high and middle), the day's own
    level, highest outlet there [Pa], lowest flow [m³/s], first and last block of it [s].
    """

    droop: float
    t: Floats
    over: Floats
    middle: Floats
    day: Floats
    top: Floats
    flow: Floats
    first: Floats
    last: Floats


def found(scene: Scene, context: Context, aside: Spans) -> list[Happening]:
    """Return the nights in which the outlet climbs.

    Method (design handbook 6.4): outlet at the lowest flows of each night less that of the day, the droop
    taken out; nights above the lower half of all by more than their scatter, hanging together, while the day
    keeps its level. A leak smaller than the night's demand is not seen.
    """
    outlet, flow = scene.level(scene.outlet), scene.flow
    if outlet is None or flow is None or outlet.t.size < 100:
        return []
    nights = per_night(outlet, flow, context, aside)
    if nights is None or nights.t.size < LEAST_NIGHTS:
        return []
    got = _growing(nights) or _higher(nights)
    if got is not None and got[2] < CREEP_LEAST.si + _by_less_flow(nights, *got[:2]):
        return []
    if got is None:
        return _from_the_start(nights, outlet, flow, context)
    first, last, rise = got
    span = (float(nights.first[first]), float(nights.last[last]), last)
    return [_told(outlet, flow, nights, span, rise)]


def _growing(nights: Nights) -> tuple[int, int, float] | None:
    """Return first and last night and the rise where the nights climb to the end of the record."""
    fit = grown(nights.t, nights.over)
    spread = max(1.3 * deviation(nights.over - fit.at(nights.t)), FLOOR)
    first = min(int(np.searchsorted(nights.t, fit.start)), nights.t.size - 1)
    part = nights.over[first:]
    if (
        fit.rise < max(CREEP_LEAST.si, CREEP_SIGMAS.si * spread)
        or part.size < 3
        or rank_with_time(part) < 0.8
    ):
        return None
    day = fit_rise(nights.t, nights.day, fit)
    middle, top = fit_rise(nights.t, nights.middle, fit), fit_rise(nights.t, nights.top, fit)
    if abs(day) > 0.4 * fit.rise or middle < MIDDLE * fit.rise or top < 0.45 * fit.rise:
        return None
    base = float(np.median(nights.over[:first])) if first > 2 else fit.base
    own = max(1.5 * deviation(nights.over[:first]), FLOOR) if first > 4 else spread
    top = float(np.sort(nights.over[first:])[-2:].mean()) - base
    if fit.rise < OVERSHOT * top:
        return first, nights.t.size - 1, fit.rise
    first = _seen_from(nights.over, first, base + max(0.5 * CREEP_LEAST.si, CLEAR * own))
    return first, nights.t.size - 1, top


def _seen_from(over: Floats, first: int, limit: float) -> int:
    """Return the first of two neighbouring nights over a limit: a curve through all begins earlier."""
    above = over > limit
    both = np.flatnonzero(above[first:-1] & above[first + 1 :])
    return first + int(both[0]) if both.size else first


def _by_less_flow(nights: Nights, first: int, last: int) -> float:
    """Return what the outlet may rise because less is drawn in these nights than in the others. [Pa]

    Below the flows that are known the droop goes on by a law nobody has seen: as much again as the root
    tells, and near the lock-up more.
    """
    others = np.ones(nights.t.size, dtype=bool)
    others[first : last + 1] = False
    if not others.any():
        return 0.0
    now, before = (max(float(np.median(nights.flow[at])), 0.0) for at in (~others, others))
    more = max(-nights.droop * float(np.sqrt(before) - np.sqrt(now)), 0.0)
    return max(more, CREEP_UNSEEN.si) if now < CREEP_FLOW.si * before else more


def _higher(nights: Nights) -> tuple[int, int, float] | None:
    """Return first and last night and the rise of nights above the others, the day unmoved."""
    order = np.sort(nights.over)
    calm = order[: max(2, nights.t.size // 2)]
    base = float(np.median(calm))
    own = float(np.ptp(calm)) / 2.0 if calm.size < 5 else 1.5 * deviation(calm)
    spread = max(own, _jitter(nights.over), FLOOR)
    span = _run(nights.over > base + max(CREEP_LEAST.si * 0.7, 0.7 * CREEP_SIGMAS.si * spread))
    if span is None:
        return None
    first, last = span
    rise = float(np.sort(nights.over[first : last + 1])[-min(2, last - first + 1) :].mean()) - base
    if rise < max(CREEP_LEAST.si, CREEP_SIGMAS.si * spread) or not _day_keeps(nights, first, last, rise):
        return None
    return first, last, rise


def per_night(outlet: Series, flow: Series, context: Context, aside: Spans) -> Nights | None:
    """Return the nights of the record, noon to noon in its zone."""
    t, p = blocks(outlet, BLOCK, aside)
    tq, q = blocks(flow, max(BLOCK, outlet.step), aside)
    common, a, b = np.intersect1d(t, tq, return_indices=True)
    if common.size < 96:
        return None
    p, q = p[a], q[b]
    night = np.floor((common + _ahead(context, float(common[0])) - 0.5 * DAY) / DAY).astype(np.intp)
    by_day = q >= np.quantile(q, BY_DAY)
    slope, _ = droop(q[by_day], p[by_day], night[by_day])
    over = _smooth(p - slope * np.sqrt(np.maximum(q, 0.0)), common)
    rows = [
        _one(common[night == n], over[night == n], p[night == n], q[night == n]) for n in np.unique(night)
    ]
    kept = [row for row in rows if row is not None]
    if not kept:
        return None
    return Nights(slope, *np.array(kept).T)


def _smooth(over: Floats, t: Floats) -> Floats:
    """Return running medians of five blocks: what swings from sample to sample is no creep."""
    if over.size < 5:
        return over
    rows = np.lib.stride_tricks.sliding_window_view(over, 5)
    near = t[4:] - t[:-4] < 6.0 * float(np.median(np.diff(t)))
    out = over.copy()
    out[2:-2] = np.where(near, np.median(rows, axis=1), over[2:-2])
    return out


def _ahead(context: Context, at: float) -> float:
    try:
        offset = datetime.fromtimestamp(at, tz=UTC).astimezone(ZoneInfo(context.zone or "UTC")).utcoffset()
    except (KeyError, ValueError, OSError):
        return 0.0
    return offset.total_seconds() if offset is not None else 0.0


def _one(t: Floats, over: Floats, p: Floats, q: Floats) -> tuple[float, ...] | None:
    if t.size < 0.6 * DAY / max(float(np.median(np.diff(t))) if t.size > 1 else DAY, 1.0):
        return None
    low = q <= np.quantile(q, LOW)
    high = q >= np.quantile(q, HIGH)
    if np.count_nonzero(low) < 4:
        return None
    day = float(np.median(over[high]))
    return (
        float(np.median(t[low])),
        float(np.quantile(over[low], TOP)) - day,
        float(np.median(over[low])) - day,
        day,
        float(np.quantile(p[low], 0.95)),
        float(np.median(q[low])),
        float(np.min(t[low])),
        float(np.max(t[low])),
    )


def _jitter(x: Floats) -> float:
    """Return the scatter of nights by the differences of neighbours; a walk takes no part."""
    return deviation(np.diff(x)) / np.sqrt(2.0) if x.size > 3 else 0.0


def _run(hot: Marks) -> tuple[int, int] | None:
    """Return the longest run of such nights, single others within it allowed; it must hold most of them."""
    places = np.flatnonzero(hot)
    if places.size < 2:
        return None
    cuts = np.flatnonzero(np.diff(places) > 2)
    groups = np.split(places, cuts + 1)
    best = max(groups, key=len)
    if best.size < 2 or best.size < 0.7 * places.size:
        return None
    return int(best[0]), int(best[-1])


def _day_keeps(nights: Nights, first: int, last: int, rise: float) -> bool:
    inside = np.zeros(nights.t.size, dtype=bool)
    inside[first : last + 1] = True
    if inside.all():
        return False
    day = float(np.median(nights.day[inside]) - np.median(nights.day[~inside]))
    top = float(np.quantile(nights.top[inside], 0.75) - np.median(nights.top[~inside]))
    middle, over = (float(np.median(x[inside]) - np.median(x[~inside])) for x in (nights.middle, nights.over))
    return abs(day) < 0.5 * rise and top > 0.4 * rise and middle > MIDDLE * over


def _from_the_start(nights: Nights, outlet: Series, flow: Series, context: Context) -> list[Happening]:
    """Return nights above the known lock-up where the whole record has them: no night to compare with."""
    lockup = context.known.lockup
    if lockup is None:
        return []
    above = nights.top > lockup + CREEP_ABOVE.si
    below = float(np.median(nights.day)) < lockup + 0.5 * CREEP_ABOVE.si
    if not below or float(np.mean(above)) < 0.7 or float(np.median(nights.over)) < CREEP_ABOVE.si:
        return []
    rise = float(np.median(nights.top)) - lockup
    last = nights.t.size - 1
    span = (float(nights.first[0]), float(nights.last[-1]), last)
    return [_told(outlet, flow, nights, span, rise, known=True)]


def _told(
    outlet: Series,
    flow: Series,
    nights: Nights,
    span: tuple[float, float, int],
    rise: float,
    *,
    known: bool = False,
) -> Happening:
    start, end, last = span
    against = "the lock-up on record" if known else "the nights before"
    words = (
        f"At the lowest flow, about {value(flow, float(nights.flow[last]))}, the outlet stands up to "
        f"{bar(rise)} above {against}; by day it keeps its level. "
        "Seat or pilot may leak; a test at zero flow shows it."
    )
    why = (f"{nights.t.size} nights compared", "day level unmoved", "droop taken out")
    sure: Confidence = "likely"
    ids = (outlet.id, flow.id)
    return Happening(Event.CREEP, moment(start), moment(end), ids, rise, "Pa", words, why, sure)
