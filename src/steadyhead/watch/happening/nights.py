"""Night creep: at the lowest flow the outlet climbs above what it was there."""

from __future__ import annotations

from collections.abc import Sequence

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
from steadyhead.watch.happening.event import Event, Happening, NotSeen
from steadyhead.watch.happening.nightly import Nights, alike, per_night
from steadyhead.watch.happening.usual import Spans, deviation, fit_rise, grown, rank_with_time

MIDDLE = 0.15
"""Share of the rise that the middle of the lowest flows must show: a swing moves no middle."""
LEAST_NIGHTS = 4
FEW = 1.0 / 3.0
"""Other nights over those of a run below which its own course of the flow is looked at. Own estimate."""
OVERSHOT = 1.1
"""Rise of the curve over that of the highest nights from which it is none of theirs: the nights tell."""
CLEAR = 3.0
"""Scatters of the nights before over their middle from which a night is none of them."""
FLOOR = 0.003e5
"""Least scatter assumed for a night's value. [Pa]"""


def found(scene: Scene, context: Context, aside: Spans) -> list[Happening]:
    """Return the nights in which the outlet climbs.

    Method (design handbook 6.4): outlet at the lowest flows of each night less that of the day, the droop
    taken out; nights above the lower half of all by more than their scatter, hanging together, while the day
    keeps its level. Where the nights of a record draw at several levels, and all of them together tell
    nothing, those of about the same lowest flow are held against each other. A leak smaller than the
    night's demand is not seen.
    """
    outlet, flow, nights = _nights(scene, context, aside)
    if outlet is None or flow is None or nights is None:
        return []
    got = _raised(nights)
    if got is not None and _known(nights, got):
        return [_told(outlet, flow, nights, got)]
    out = [_told(outlet, flow, part, one) for part, one in _of_parts(nights)]
    return out if out or got is not None else _from_the_start(nights, outlet, flow, context)


def untold(scene: Scene, context: Context, aside: Spans, told: Sequence[Happening]) -> list[NotSeen]:
    """Return nights that stand higher and draw so much less that no other night says what is usual there.

    told: the night creeps that are called; what meets one of them needs no words.
    """
    _, flow, nights = _nights(scene, context, aside)
    got = _raised(nights) if nights is not None else None
    if flow is None or nights is None or got is None or _known(nights, got):
        return []
    first, last, rise = got
    start, end = moment(float(nights.first[first])), moment(float(nights.last[last]))
    if any(one.start <= end and one.end >= start for one in told) or _others_alike(nights, first, last):
        return []
    inside, outside = _sides(nights, first, last)
    now, usual = (value(flow, float(np.median(nights.flow[at]))) for at in (inside, outside))
    words = (
        f"Cannot see {Event.CREEP} from {start:%Y-%m-%d} to {end:%Y-%m-%d}: the outlet stands {bar(rise)} "
        f"above the other nights, but draws {now} where they draw {usual}: none to compare with. "
        "A test at zero flow would tell."
    )
    return [NotSeen(Event.CREEP, words)]


def _nights(
    scene: Scene, context: Context, aside: Spans
) -> tuple[Series | None, Series | None, Nights | None]:
    """Return outlet, flow and the nights; the nights None where there are too few."""
    outlet, flow = scene.level(scene.outlet), scene.flow
    if outlet is None or flow is None or outlet.t.size < 100:
        return outlet, flow, None
    nights = per_night(outlet, flow, context, aside)
    return outlet, flow, nights if nights is not None and nights.t.size >= LEAST_NIGHTS else None


Run = tuple[int, int, float]
"""First and last night, rise over the others. [Pa]"""


def _raised(nights: Nights) -> Run | None:
    return _growing(nights) or _higher(nights)


def _known(nights: Nights, got: Run) -> bool:
    """Return whether the nights stand higher than less flow alone may lift them."""
    return got[2] >= CREEP_LEAST.si + _by_less_flow(nights, *got[:2])


def _of_parts(nights: Nights) -> list[tuple[Nights, Run]]:
    """Return what is raised among nights of about the same lowest flow, each time once."""
    out: list[tuple[Nights, Run]] = []
    for part in alike(nights):
        got = _raised(part)
        if got is None or got[2] < CREEP_LEAST.si + max(
            _by_less_flow(part, *got[:2]), _by_course(part, *got[:2])
        ):
            continue
        start, end = part.first[got[0]], part.last[got[1]]
        if not any(start <= p.last[b] and end >= p.first[a] for p, (a, b, _) in out):
            out.append((part, got))
    return out


def _by_course(part: Nights, first: int, last: int) -> float:
    """Return what the outlet may rise because its highest nights draw a little less than its others. [Pa]

    A flow that falls with the season lifts the nights as a creep does; the less it falls, the less it may.
    """
    inside, others = _sides(part, first, last)
    middle = float(np.median(part.over[inside]))
    low = others if np.count_nonzero(others) >= LEAST_NIGHTS else inside & (part.over < middle)
    if not low.any():
        return CREEP_UNSEEN.si
    before = max(float(np.median(part.flow[low])), 1e-9)
    lost = 1.0 - float(np.median(part.flow[inside & (part.over >= middle)])) / before
    return CREEP_UNSEEN.si * min(max(lost / (1.0 - CREEP_FLOW.si), 0.0), 1.0)


def _sides(nights: Nights, first: int, last: int) -> tuple[Marks, Marks]:
    """Return the nights of a run, and the others."""
    inside = np.zeros(nights.t.size, dtype=bool)
    inside[first : last + 1] = True
    return inside, ~inside


def _others_alike(nights: Nights, first: int, last: int) -> bool:
    """Return whether there are other nights that draw about as little as those of a run."""
    inside, outside = _sides(nights, first, last)
    most = float(np.median(nights.flow[inside])) / CREEP_FLOW.si
    return bool(np.count_nonzero(nights.flow[outside] <= most) >= LEAST_NIGHTS)


def _growing(nights: Nights) -> Run | None:
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
    inside, others = _sides(nights, first, last)
    if np.count_nonzero(others) < max(LEAST_NIGHTS, FEW * np.count_nonzero(inside)):
        return _by_course(nights, first, last)
    now, before = (max(float(np.median(nights.flow[at])), 0.0) for at in (inside, others))
    more = max(-nights.droop * float(np.sqrt(before) - np.sqrt(now)), 0.0)
    return max(more, CREEP_UNSEEN.si) if now < CREEP_FLOW.si * before else more


def _higher(nights: Nights) -> Run | None:
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
    inside, others = _sides(nights, first, last)
    if inside.all():
        return False
    day = float(np.median(nights.day[inside]) - np.median(nights.day[others]))
    top = float(np.quantile(nights.top[inside], 0.75) - np.median(nights.top[others]))
    middle, over = (float(np.median(x[inside]) - np.median(x[others])) for x in (nights.middle, nights.over))
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
    return [_told(outlet, flow, nights, (0, nights.t.size - 1, rise), known=True)]


def _told(outlet: Series, flow: Series, nights: Nights, got: Run, *, known: bool = False) -> Happening:
    first, last, rise = got
    start, end = float(nights.first[first]), float(nights.last[last])
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
