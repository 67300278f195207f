"""What each channel shows about an event: when it leaves what was normal, and the signs of the table."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import numpy as np

from steadyhead.watch.defects.episode import moment
from steadyhead.watch.defects.saying import bar, lasting, value
from steadyhead.watch.defects.saying import unit as unit_of
from steadyhead.watch.defects.series import Floats, Series, within
from steadyhead.watch.happening.believing import Scene
from steadyhead.watch.happening.event import Event, Happening
from steadyhead.watch.happening.usual import deviation
from steadyhead.watch.incident import defaults as limits
from steadyhead.watch.incident.incident import Step

HOUR = 3600.0
STAMP = 1.0
"""Stamps of a switch that reports its changes are as fine as this, at worst. Own estimate. [s]"""
LEAST = 3
"""Samples before the closing from which a rise that stays is told from a spike."""
STAYS_OPEN = "The switch of the shut-off stays at open: it contradicts."
STOPS, FALLS = "The flow stops.", "The flow falls"


@dataclass(frozen=True, slots=True)
class Span:
    """The times of an event: first sign, closing (None: the shut-off stayed open) and end. [s since 1970]"""

    start: float
    closing: float | None
    end: float
    event: Event

    @property
    def until(self) -> float:
        """End of what leads to it: the closing, or an hour at most."""
        return self.closing if self.closing is not None else min(self.end, self.start + HOUR)


@dataclass(frozen=True, slots=True)
class Normal:
    """What a channel was before: middle, and the change that counts."""

    middle: float
    limit: float


def span_of(event: Happening) -> Span:
    """Return the times of an event."""
    is_trip = event.code in (Event.TRIP, Event.TRIPPED_AGAIN)
    closing = event.times[1].timestamp() if is_trip and len(event.times) > 1 else None
    return Span(event.start.timestamp(), closing, event.end.timestamp(), event.code)


def normal(one: Series | None, span: Span, least: float) -> Normal | None:
    """Return what a channel was in the hours before; None: it is not there, or held too few samples."""
    if one is None:
        return None
    last = span.start - 0.5 * one.step
    for long in (limits.CALM.si, 6.0 * HOUR):
        part = within(one, span.start - long, last)
        if part.size >= 5:
            spread = max(deviation(part), one.scatter, one.grain)
            return Normal(float(np.median(part)), max(least, limits.SIGMAS.si * spread))
    return None


def steps_of(scene: Scene, span: Span) -> list[Step]:
    """Return what the channels show from the first sign on, in order of time, each with its span."""
    out: list[Step | None] = []
    for one, name in (
        (scene.upstream, "pressure upstream"),
        (scene.inlet, "inlet"),
        (scene.outlet, "outlet"),
    ):
        out.append(_leaves(one, span, limits.LEAVES.si, name))
    out.append(_leaves(scene.middle, span, limits.LEAVES.si, "pressure between the valves"))
    if scene.flow is not None:
        usual = float(np.median(scene.flow.v))
        out.append(_leaves(scene.flow, span, limits.FLOW_RISES.si * usual, "flow"))
    out.append(_leaves(scene.travel, span, limits.OPENS.si, "travel"))
    if span.closing is not None:
        out += [_peak(scene.outlet, span), *_closings(scene, span)]
        ends = {one.by for one in out if one is not None and one.words == STOPS}
        out = [one for one in out if one is None or not (one.by in ends and one.words.startswith(FALLS))]
    found = sorted((one for one in out if one is not None), key=lambda one: (one.by, one.after))
    return _in_order(found)


def _in_order(found: list[Step]) -> list[Step]:
    out: list[Step] = []
    for one in found:
        sure = not out or one.after >= max(each.by for each in out)
        out.append(Step(one.after, one.by, one.channel, one.words, one.value, one.unit, sure))
    return out


def _leaves(one: Series | None, span: Span, least: float, name: str) -> Step | None:
    before = normal(one, span, least)
    if one is None or before is None:
        return None
    first = int(np.searchsorted(one.t, span.start - max(600.0, 1.5 * one.step)))
    last = int(np.searchsorted(one.t, span.until + 1.5 * one.step, side="right"))
    off = one.v[first:last] - before.middle
    out = np.flatnonzero(np.abs(off) > before.limit)
    if not out.size:
        return None
    at = first + int(out[0])
    way = "rises" if off[out[0]] > 0.0 else "falls"
    words = f"The {name} {way} from {value(one, before.middle)}."
    return _step(one, at, words)


def _step(one: Series, at: int, words: str) -> Step:
    after = one.t[at - 1] if at else one.t[at]
    if _on_change(one):
        after = max(after, one.t[at] - STAMP)
    if one.channel.statistic == "mean":
        after -= one.step  # the sample holds what came before its stamp
    return Step(moment(after), moment(one.t[at]), one.id, words, float(one.v[at]), unit_of(one))


def _on_change(one: Series) -> bool:
    """Return whether a switch reports its changes only, each with its own stamp (design handbook 6.1)."""
    return one.quantity == "shut-off closed" and one.v.size > 1 and bool(np.all(np.diff(one.v) != 0.0))


def _peak(outlet: Series | None, span: Span) -> Step | None:
    if outlet is None or span.closing is None:
        return None
    first = int(np.searchsorted(outlet.t, span.start))
    last = int(np.searchsorted(outlet.t, span.closing + 1.5 * outlet.step, side="right"))
    if last - first < 1:
        return None
    at = first + int(np.argmax(outlet.v[first:last]))
    before = normal(outlet, span, limits.LEAVES.si)
    if before is not None and outlet.v[at] <= before.middle + before.limit:
        return None
    found = _step(outlet, at, f"The outlet stands highest: {bar(float(outlet.v[at]))}.")
    later = outlet.t[min(at + 1, outlet.t.size - 1)]
    return Step(found.after, moment(later), found.channel, found.words, found.value, found.unit)


def _closings(scene: Scene, span: Span) -> list[Step]:
    out = []
    closing = span.closing if span.closing is not None else span.start
    if scene.closed is not None:
        at = int(np.searchsorted(scene.closed.t, closing))
        if at < scene.closed.t.size and scene.closed.v[at] > 0.5:
            out.append(_step(scene.closed, at, "The switch of the shut-off says closed."))
        if _contradicts(scene.closed, span):
            out.append(_step(scene.closed, at, STAYS_OPEN))
            opened = None
        else:
            opened = _first(scene.closed, closing, span.end + scene.closed.step, lambda v: v < 0.5)
        if opened is not None:
            out.append(_step(scene.closed, opened, "The switch says open: it was reset."))
    flow = scene.flow
    if flow is not None:
        none = limits.FLOW_NONE.si * float(np.median(flow.v))
        stops = _first(flow, closing - flow.step, closing + 4.0 * flow.step, lambda v: v <= none)
        if stops is not None:
            out.append(_step(flow, stops, STOPS))
            back = _first(flow, float(flow.t[stops]), span.end + 6.0 * flow.step, lambda v: v > none)
            if back is not None:
                out.append(_step(flow, back, "Flow passes again."))
    return out


def _contradicts(closed: Series, span: Span) -> bool:
    """Return whether samples of the switch say open from the closing to the end of the event, and only so."""
    start = span.closing if span.closing is not None else span.start
    part = within(closed, start - 1e-3, span.end)
    return closed.regular and part.size > 0 and not bool(np.any(part > 0.5))


def _first(one: Series, start: float, end: float, asked: Callable[[float], bool]) -> int | None:
    first, last = np.searchsorted(one.t, start), np.searchsorted(one.t, end, side="right")
    return next((k for k in range(int(first), int(last)) if asked(float(one.v[k]))), None)


@dataclass(frozen=True, slots=True)
class Shown:
    """One channel over the time that leads to the event: before, part, changes; None: not recorded."""

    one: Series
    before: Normal
    part: Floats

    @property
    def up(self) -> float:
        """Highest over before."""
        return float(np.max(self.part)) - self.before.middle

    @property
    def grew(self) -> float:
        """Highest over the first sample, that just before the first sign."""
        return float(np.max(self.part) - self.part[0])

    @property
    def down(self) -> float:
        """Before over lowest."""
        return self.before.middle - float(np.min(self.part))


def shown(one: Series | None, span: Span, least: float) -> Shown | None:
    """Return a channel from just before the first sign to the closing; None: nothing of it can be told."""
    before = normal(one, span, least)
    if one is None or before is None:
        return None
    # What stands at a closing shows what came of it: no flow, a higher inlet. The outlet's peak is its cause.
    late = 0.5 if span.closing is None or one.quantity == "outlet pressure" else -0.5
    first = span.start - 1.5 * one.step
    part = within(one, first, span.until + late * one.step)
    part = part if part.size else within(one, first, span.until + 0.5 * one.step)
    return Shown(one, before, part) if part.size else None


def hour_of(when: datetime, zone: str) -> float | None:
    """Return the hour of the day on a wall clock; None: the zone is not known."""
    try:
        local = when.astimezone(ZoneInfo(zone))
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return None
    return local.hour + local.minute / 60.0


def longest_above(outlet: Series, span: Span, high: float) -> float | None:
    """Return how long the outlet stood over a height before the shut-off closed [s].

    None: fewer than three samples lie there.
    """
    first = int(np.searchsorted(outlet.t, span.start - 0.5 * outlet.step))
    last = int(np.searchsorted(outlet.t, span.until + 1e-3, side="right"))
    above = np.flatnonzero(outlet.v[first:last] > high)
    if last - first < LEAST or not above.size:
        return None
    low = np.flatnonzero(outlet.v[first + above[0] : last] <= high)
    end = first + above[0] + (int(low[0]) if low.size else last - first - above[0])
    return float(outlet.t[end - 1] - outlet.t[first + above[0]])


def rise_time(outlet: Shown, span: Span) -> float:
    """Return how long the outlet rose [s].

    From the first sign on; of a level a little over the usual one that ends in a jump, as a fast failure at
    night is, and of a rise that stays for a while, the jump alone: from the last sample below a fifth of the
    rise to the first over nine tenths. What stays is as high as its middle: its top comes with the hours.
    """
    took, one = span.until - span.start, outlet.one
    first = int(np.searchsorted(one.t, span.start - 1.5 * one.step))
    off = outlet.part - outlet.before.middle
    stayed = span.event is Event.RAISED and outlet.up > 0.0
    high = float(np.median(off[off > 0.5 * outlet.up])) if stayed else outlet.up
    top = int(np.argmax(off >= 0.9 * high))
    under = np.flatnonzero(off[:top] < 0.2 * high)
    if not under.size:
        return one.step if stayed else took
    jump = float(one.t[first + top] - one.t[first + int(under[-1])])
    return jump if stayed or jump < limits.JUMP.si * took else took


def rise_words(outlet: Shown, span: Span) -> str:
    """Return how long the outlet rose, as far as the samples tell."""
    took, jump = span.until - span.start, rise_time(outlet, span)
    if took < outlet.one.step:
        return f"it rose within {lasting(outlet.one.step)}, between two samples"
    if jump < took:
        return f"nearly all of it within {lasting(jump)}"
    return f"it rose over {lasting(took)}"
